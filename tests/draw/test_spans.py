"""Bands side by side: lawful SVG for any words, places in proportion, words beside every bar, nothing ranked."""

from __future__ import annotations

from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.draw.palette import DAY, NIGHT, PALETTES, PRINT, Palette
from ebbwell.draw.spans import BOLD, Span, Spans, svg_of_spans
from ebbwell.draw.svg import width_of

SVG = "{http://www.w3.org/2000/svg}"
NOW = Span("Now", "3.3 to 3.5, middle 3.4", Decimal("3.3"), Decimal("3.4"), Decimal("3.5"))
MORE = Span("six nights", "5.6 to 5.8, middle 5.7", Decimal("5.6"), Decimal("5.7"), Decimal("5.8"))
NONE = Span("once", "not known: no blood result")
SPANS = Spans("Weekly dose", "/week", (NOW, MORE, NONE))


def tree(spans: Spans = SPANS, palette: Palette = DAY, **how: float) -> ElementTree.Element:
    return ElementTree.fromstring(svg_of_spans(spans, palette, **how))  # type: ignore[arg-type]


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [one for one in root.iter() if name in (one.get("class") or "").split()]


def texts(root: ElementTree.Element, name: str) -> list[str]:
    return [one.text or "" for one in of_class(root, name)]


@pytest.mark.parametrize("palette", PALETTES.values(), ids=lambda one: one.name)
def test_every_row_has_its_words_and_those_with_figures_a_bar(palette: Palette) -> None:
    root = tree(palette=palette)
    assert texts(root, "draw-name") == ["Now", "six nights", "once"]
    assert texts(root, "draw-said") == [NOW.said, MORE.said, NONE.said]
    assert len(of_class(root, "draw-span")) == len(of_class(root, "draw-middle")) == 2
    assert len(of_class(root, "draw-end")) == 4


def test_bars_lie_in_proportion_on_a_scale_that_begins_at_nothing() -> None:
    root = tree()
    grid = [float(one.get("x1", "")) for one in of_class(root, "draw-grid")]
    labels = [float(one.split()[0]) for one in texts(root, "draw-soft")]
    assert labels[0] == 0
    unit = (grid[-1] - grid[0]) / (labels[-1] - labels[0])
    for span, bar in zip((NOW, MORE), of_class(root, "draw-span"), strict=True):
        assert span.low is not None
        assert span.high is not None
        assert float(bar.get("x", "")) == pytest.approx(grid[0] + unit * float(span.low), abs=0.02)
        assert float(bar.get("width", "")) == pytest.approx(unit * float(span.high - span.low), abs=0.02)


def test_rows_stay_in_order_and_look_alike() -> None:
    root = tree(Spans("Weekly dose", "/week", (MORE, NOW)))
    assert texts(root, "draw-name") == ["six nights", "Now"]
    looks = [{k: one.get(k) for k in ("fill", "stroke", "height")} for one in of_class(root, "draw-span")]
    assert looks[0] == looks[1]


def test_it_is_read_out_in_full_even_where_words_are_cut() -> None:
    long = Span(
        "every other night and each second Sunday as the unit once said",
        NOW.said,
        NOW.low,
        NOW.middle,
        NOW.high,
    )
    root = tree(Spans("Weekly dose", "/week", (long,)), width=300, size=14)
    (name,), (said,) = texts(root, "draw-name"), texts(root, "draw-said")
    assert name.endswith("\N{HORIZONTAL ELLIPSIS}")
    assert width_of(name, 14) + width_of(said, 14) <= 300
    (desc,) = [one.text for one in root.iter(f"{SVG}desc")]
    assert desc == f"{long.name}: {long.said}."
    assert root.get("role") == "img"
    ids = {one.get("id") for one in root.iter() if one.get("id")}
    assert set((root.get("aria-labelledby") or "").split()) == ids


def test_a_figure_without_doubt_and_one_of_nothing_are_drawn() -> None:
    sure = Span("sure", "8", Decimal(8), Decimal(8), Decimal(8))
    none = Span("none", "0", Decimal(0), Decimal(0), Decimal(0))
    assert len(of_class(tree(Spans("h", "h", (sure, none))), "draw-span")) == 2
    assert len(of_class(tree(Spans("h", "h", (none,))), "draw-span")) == 1
    assert of_class(tree(Spans("h", "h", (NONE,))), "draw-span") == []


@given(
    st.text(max_size=60), st.text(max_size=60),
    st.lists(st.decimals(0, 10**6, places=3), min_size=3, max_size=3), st.sampled_from([DAY, NIGHT, PRINT]),
    st.sampled_from([(300.0, 14.0), (640.0, 13.0)]),
)  # fmt: skip
def test_any_words_and_figures_make_lawful_svg(
    name: str, said: str, ends: list[Decimal], palette: Palette, sizes: tuple[float, float]
) -> None:
    low, middle, high = sorted(ends)
    root = tree(
        Spans(name, "mmol/L", (Span(name, said, low, middle, high),)), palette, width=sizes[0], size=sizes[1]
    )
    for bar in of_class(root, "draw-span"):
        assert float(bar.get("x", "")) >= 0
        assert float(bar.get("x", "")) + float(bar.get("width", "")) <= sizes[0]


def test_what_cannot_be_drawn_is_refused() -> None:
    one, two, three = Decimal(1), Decimal(2), Decimal(3)
    for ends in ((three, two, one), (one, None, three), (one, two, Decimal("NaN"))):
        with pytest.raises(ValueError, match="three figures"):
            Span("wrong", "", *ends)
    with pytest.raises(ValueError, match="nothing to draw"):
        Spans("none", "", ())
    with pytest.raises(ValueError, match="begin an id"):
        svg_of_spans(SPANS, DAY, name="1")
    with pytest.raises(ValueError, match="too small"):
        svg_of_spans(SPANS, DAY, width=100)


def test_a_long_bold_name_leaves_room_for_its_figures_on_a_narrow_picture() -> None:
    ends = (Decimal("17.3"), Decimal("19.2"), Decimal("21.3"))
    row = Span("three long nights of the week", "17.3 to 21.3, middle 19.2", *ends)
    root = ElementTree.fromstring(svg_of_spans(Spans("Urea", "mmol/L", (row,)), DAY, width=300, size=14))
    by_class = {one.get("class"): one.text or "" for one in root.iter(f"{SVG}text")}
    name, said = by_class["draw-name"], by_class["draw-said"]
    assert width_of(name, 14) * BOLD + width_of(said, 14) < 300
