"""Charts: lawful SVG for any words, gaps where nothing was read, and the same numbers in the table behind."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.draw.chart import DASHES, SHAPES, spread, svg_of
from ebbwell.draw.marks import Band, Bars, Chart, Level, Line, Points
from ebbwell.draw.palette import DAY, NIGHT, PALETTES, PRINT, Palette
from ebbwell.draw.svg import escape, width_of
from ebbwell.draw.table import summary, table_of

START = datetime(2026, 4, 29, 21, 0, tzinfo=UTC)
ZONE = "Europe/Dublin"
SVG = "{http://www.w3.org/2000/svg}"


def at(minutes: int) -> datetime:
    return START + timedelta(minutes=minutes)


def series(*pairs: tuple[int, str | None]) -> tuple[tuple[datetime, Decimal | None], ...]:
    return tuple((at(m), None if v is None else Decimal(v)) for m, v in pairs)


ARTERIAL = Line("arterial", series((3, "-90"), (60, None), (120, "-96"), (180, "-101")), "arterial")
VENOUS = Line("venous", series((3, "112"), (60, "122"), (447, "120")), "venous", timedelta(hours=2))
CHART = Chart(
    "Pressures",
    "mmHg",
    at(0),
    at(450),
    ZONE,
    (
        Band("own nights", ((at(0), Decimal(108), Decimal(131)), (at(450), Decimal(110), Decimal(131)))),
        ARTERIAL,
        VENOUS,
        Level("unit's limit", Decimal(200)),
    ),
)


def tree(chart: Chart = CHART, palette: Palette = DAY) -> ElementTree.Element:
    return ElementTree.fromstring(svg_of(chart, palette))


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


def texts(root: ElementTree.Element) -> list[str]:
    return [e.text or "" for e in root.iter(f"{SVG}text")]


def test_it_says_what_it_is() -> None:
    root = tree()
    assert root.get("role") == "img"
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert title.text == "Pressures"
    assert desc.text == summary(CHART)
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"


def test_a_given_description_stands_instead_of_the_made_one() -> None:
    desc = tree(replace(CHART, desc="two lines")).find(f"{SVG}desc")
    assert desc is not None
    assert desc.text == "two lines"


def test_a_missing_value_makes_a_gap() -> None:
    drawn = [e for e in of_class(tree(), "draw-line") if "draw-arterial" in (e.get("class") or "")]
    assert [len((e.get("points") or "").split()) for e in drawn] == [2]
    marks = [e for e in of_class(tree(), "draw-mark") if "draw-arterial" in (e.get("class") or "")]
    assert len(marks) == 3


def test_readings_too_far_apart_are_not_joined() -> None:
    assert [len(run) for run in VENOUS.pieces()] == [2, 1]
    assert [len(run) for run in replace(VENOUS, join_within=None).pieces()] == [3]


def test_lines_differ_by_more_than_colour() -> None:
    lines = tuple(Line(f"line {n}", series((0, str(n)), (10, str(n)))) for n in range(len(SHAPES)))
    root = tree(replace(CHART, marks=lines), PRINT)
    drawn = of_class(root, "draw-line")
    assert len({e.get("stroke-dasharray") for e in drawn}) == len(DASHES) == len(drawn)
    kinds = {(e.tag, len((e.get("points") or "").split())) for e in of_class(root, "draw-key")}
    assert len(kinds) == len(SHAPES)
    assert {e.get("stroke") for e in drawn} == {"#000000"}


def test_the_two_pressures_keep_their_shapes_on_every_chart() -> None:
    other = Line("pulse", series((0, "70"), (10, "71")))
    for marks in ((ARTERIAL, other, VENOUS), (other, VENOUS, ARTERIAL)):
        root = tree(replace(CHART, marks=marks))
        tags = {
            (e.get("class") or "").split()[1]: e.tag.removeprefix(SVG) for e in of_class(root, "draw-mark")
        }
        assert tags == {"draw-arterial": "circle", "draw-venous": "rect", "draw-plain": "polygon"}


def test_red_and_blue_are_for_these_two_lines_only() -> None:
    plain = replace(CHART, marks=(replace(ARTERIAL, role="plain"), *CHART.marks[3:]))
    for palette in (DAY, NIGHT):
        assert palette.arterial in svg_of(CHART, palette)
        assert palette.venous in svg_of(CHART, palette)
        assert palette.arterial not in svg_of(plain, palette)
        assert palette.venous not in svg_of(plain, palette)


@pytest.mark.source("arithmetic", detail="words with the newest value stand at the end of each line")
def test_each_mark_has_its_words_at_the_end() -> None:
    said = texts(tree())
    for words in ("arterial -101", "venous 120", "own nights", "unit's limit 200", "mmHg"):
        assert words in said


def test_values_land_where_the_scale_says() -> None:
    chart = Chart("t", "L", at(0), at(100), ZONE, (Points("p", series((0, "0"), (50, "1"), (100, "2"))),))
    drawn = of_class(tree(chart), "draw-mark")
    spots = [(float(e.get("cx") or 0), float(e.get("cy") or 0)) for e in drawn]
    (x0, y0), (x1, y1), (x2, y2) = spots
    assert x1 - x0 == pytest.approx(x2 - x1, abs=0.02)
    assert y0 - y1 == pytest.approx(y1 - y2, abs=0.02)
    assert y0 > y2


def test_bars_stand_on_zero_also_below_it() -> None:
    bars = Bars("gain", series((0, "1.5"), (60, None), (120, "-0.5")), timedelta(minutes=40))
    root = tree(replace(CHART, marks=(bars,), unit="kg"))
    boxes = [(float(e.get("y") or 0), float(e.get("height") or 0)) for e in of_class(root, "draw-bar")]
    assert len(boxes) == 2
    (above_y, above), (below_y, below) = boxes
    assert above == pytest.approx(3 * below, abs=0.05)
    assert above_y + above == pytest.approx(below_y, abs=0.02)


def test_the_night_of_a_clock_change_says_so() -> None:
    night = Chart(
        "t",
        "mmHg",
        datetime(2026, 3, 28, 22, tzinfo=UTC),
        datetime(2026, 3, 29, 5, tzinfo=UTC),
        ZONE,
        (Level("unit's limit", Decimal(200)),),
    )
    assert "clocks change" in texts(tree(night))
    assert "clocks change" not in texts(tree())


def test_on_a_narrow_picture_no_label_runs_over_its_neighbour_or_the_edge() -> None:
    """January to April on a phone: the clocks change early in the stretch, and the scale has one digit."""
    begin = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)
    weeks = tuple((begin + timedelta(days=7 * n), Decimal(n % 5 + 1)) for n in range(8))
    chart = Chart("Phosphate", "mmol/L", weeks[0][0], weeks[-1][0], ZONE, (Line("before", weeks),))
    root = ElementTree.fromstring(svg_of(chart, DAY, width=300, height=200, size=14))
    boxes = []
    for one in root.iter(f"{SVG}text"):
        run = width_of(one.text or "", 14)
        x = float(one.get("x") or 0) - {"middle": run / 2, "end": run}.get(one.get("text-anchor") or "", 0)
        boxes.append((float(one.get("y") or 0), x, x + run, one.text))
    assert all(left >= -0.01 for _, left, _, text in boxes if text and text[-1].isalpha())
    top = sorted(box for box in boxes if box[3] in ("mmol/L", "clocks change"))
    assert len(top) == 2
    assert top[0][0] == top[1][0]
    assert top[0][2] < top[1][1]


def test_a_value_outside_the_asked_scale_widens_it() -> None:
    chart = replace(CHART, low=Decimal(-200), high=Decimal(250))
    assert chart.scale() == (Decimal(-200), Decimal(250))
    wide = replace(chart, marks=(Points("venous", series((0, "400"))),))
    assert wide.scale() == (Decimal(-200), Decimal(400))
    early = replace(chart, marks=(Points("venous", series((-30, "100"))),))
    assert early.stretch()[0] == at(-30)


def test_a_chart_without_values_still_has_axes_and_says_so() -> None:
    empty = replace(CHART, marks=(Line("venous", series((0, None)), "venous"), Band("own nights", ())))
    assert "venous" not in " ".join(texts(tree(empty)))
    assert summary(empty) == "venous: no value. own nights: no value."
    assert of_class(tree(empty), "draw-tick")


@given(st.text())
def test_any_words_are_escaped(text: str) -> None:
    chart = replace(CHART, title=text, desc=f"d{text}", marks=(Points(text, series((0, "1"))),))
    root = tree(chart)
    title = root.find(f"{SVG}title")
    assert title is not None
    lawful = "".join(
        c
        if c in "\t\n\r" or "\x20" <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c > "\uffff"
        else "\ufffd"
        for c in text
    )
    assert (title.text or "") == lawful
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {
        "svg", "title", "desc", "line", "text", "circle", "rect", "polygon", "polyline"
    }  # fmt: skip


def test_no_quote_ends_an_attribute() -> None:
    assert escape("a\"b'c<d>&") == "a&quot;b&#39;c&lt;d&gt;&amp;"


VALUES = st.lists(st.none() | st.decimals(-500, 500, places=2), min_size=1, max_size=12)


@given(VALUES, st.sampled_from(sorted(PALETTES)))
def test_the_same_chart_gives_the_same_text_and_every_value_a_mark(
    values: list[Decimal | None], look: str
) -> None:
    line = Line("x", tuple((at(10 * n), v) for n, v in enumerate(values)))
    chart = replace(CHART, marks=(line,))
    palette = PALETTES[look]
    assert svg_of(chart, palette) == svg_of(chart, palette)
    held = [v for v in values if v is not None]
    assert len(of_class(tree(chart, palette), "draw-mark")) == len(held)
    assert sum(len(run) for run in line.pieces()) == len(held)
    column = [row[1] for row in table_of(chart).rows]
    assert column == ["-" if v is None else format(v, "f") for v in values]


def test_the_table_behind_has_every_value_and_times_of_the_wall() -> None:
    table = table_of(CHART)
    assert table.columns == ("Time", "own nights mmHg", "arterial mmHg", "venous mmHg")
    assert table.rows[0] == ("22:00", "108 to 131", "-", "-")
    assert table.rows[1] == ("22:03", "-", "-90", "112")
    assert table.rows[2] == ("23:00", "-", "-", "122")
    assert len(table.rows) == 7
    twice = replace(CHART, marks=(Points("p", series((0, "88"), (0, "90"))),))
    assert table_of(twice).rows == (("22:00", "88 / 90"),)


def test_a_summary_counts_what_is_missing() -> None:
    assert summary(replace(CHART, marks=(ARTERIAL,))) == (
        "arterial, mmHg: values 3, lowest -101 at 01:00, highest -90 at 22:03, newest -101 at 01:00. "
        "Not measured: 1."
    )


@given(st.lists(st.floats(0, 200), max_size=12).map(sorted), st.floats(1, 30))
def test_labels_are_moved_apart_in_order(wanted: list[float], apart: float) -> None:
    places = spread(wanted, apart, 0, 200)
    assert all(b - a >= apart - 1e-6 for a, b in pairwise(places))
    if apart * (len(wanted) - 1) <= 200:
        assert all(-1e-6 <= p <= 200 + 1e-6 for p in places)


def test_labels_with_room_stay_where_they_are() -> None:
    assert spread([10, 50, 90], 12, 0, 100) == [10, 50, 90]


@pytest.mark.parametrize(
    "make",
    [
        lambda: Line("x", ((datetime(2026, 4, 29), Decimal(1)),)),  # noqa: DTZ001
        lambda: Line("x", ((START, Decimal("NaN")),)),
        lambda: Points("x", ((START, Decimal("1E400")),)),
        lambda: Band("x", ((START, Decimal(2), Decimal(1)),)),
        lambda: Bars("x", (), timedelta()),
        lambda: Level("x", Decimal("Infinity")),
        lambda: replace(CHART, end=START),
        lambda: replace(CHART, high=Decimal("NaN")),
        lambda: svg_of(CHART, DAY, name="2 bad"),
        lambda: svg_of(CHART, DAY, width=60),
    ],
)
def test_what_cannot_be_drawn_is_refused(make: object) -> None:
    assert callable(make)
    with pytest.raises(ValueError):
        make()


def _light(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_light(one), _light(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.source("from memory", detail="contrast of web content rules: 7 for words, 3 for graphic parts")
@pytest.mark.parametrize("palette", PALETTES.values(), ids=lambda p: p.name)
def test_words_stand_out_from_the_paper(palette: Palette) -> None:
    for colour in (palette.ink, palette.soft):
        assert _contrast(colour, palette.paper) >= 7
    for colour in (palette.arterial, palette.venous):
        assert _contrast(colour, palette.paper) >= (4.5 if palette.name == "day" else 7)
    assert _contrast(palette.accent, palette.paper) >= 3
    assert _contrast(palette.ink, palette.band) >= 7


def test_a_band_has_gaps_and_shows_a_single_range() -> None:
    two = (Decimal(100), Decimal(120))
    band = Band("own nights", ((at(0), *two), (at(30), *two), (at(60), None, None), (at(90), *two)))
    root = tree(replace(CHART, marks=(band,)))
    shapes = [(e.get("points") or "").split() for e in of_class(root, "draw-band") if e.get("points")]
    assert [len(points) for points in shapes] == [4, 4]
    assert len({point.split(",")[0] for point in shapes[1]}) == 2
