"""Questions for the clinic: patterns of nights beside each other, in the order they were typed. No verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say
from ebbwell.draw.palette import PALETTES
from ebbwell.draw.spans import Span, Spans, svg_of_spans
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import day
from ebbwell.review.basis import Basis
from ebbwell.review.own_numbers import OwnNumbers, own_numbers
from ebbwell.review.patterns import FIGURES, LEVELS, Compared, Reckoned, compare, one_reason
from ebbwell.rulebook.substances import substance_title
from ebbwell.state.water import today
from ebbwell.web.pages.adequacy.figures import age_words, gap_words
from ebbwell.web.pages.compare.form import NUMBERS, Typed, names_twice, pattern_of, typed_rows
from ebbwell.web.pages.compare.words import drawn_ends, figure_words, pattern_words, source_words
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Trouble, Visit, Way

DRAWN = (
    "standard_dose",
    "urea_mean",
    "urea_peak",
    "urea_before",
    "phosphate_before",
    "beta_2_before",
    "removal_rate",
    "removal_rate_per_kg",
)
"""Figures with a picture: those with a band."""

Pictures = list[tuple[str, list[tuple[str, Markup]]]]


def numbers_of(visit: Visit) -> OwnNumbers:
    """What the record says of this person's own numbers; the present pattern by its name on the pages."""
    desk = visit.desk
    own = own_numbers(desk.standing, desk.past, desk.scene.order, desk.now)
    if own.basis is None:
        return own
    present = replace(own.basis.present, name=say("web.compare.now"))
    return replace(own, basis=replace(own.basis, present=present))


def show(visit: Visit) -> Response:
    """The form with what was typed, the present pattern's figures, and those of the typed ones beside them."""
    own = numbers_of(visit)
    rows = typed_rows(visit.query)
    found = () if own.basis is None else _compared(visit, own.basis, rows)
    return visit.show(
        "pages/compare/page.html",
        gaps=[gap_words(gap) for gap in own.gaps],
        rows=rows,
        numbers=tuple(NUMBERS),
        bloods=_bloods(visit, own),
        now_words="" if own.basis is None else pattern_words(own.basis.present),
        found=found,
        names=[one.pattern.name for one in found],
        said=[pattern_words(one.pattern) for one in found],
        lines=[line_cells(key, found) for key in FIGURES] if found else [],
        drawn=_pictures(visit, found),
        rests=_rests(found[0]) if found else [],
    )


def drawn_words(visit: Visit, on: date) -> dict[str, str]:
    """The day of a blood result and its age, for the words about it."""
    return {"day": day(on.isoformat()), "age": age_words((today(visit.desk.now) - on).days)}


def _bloods(visit: Visit, own: OwnNumbers) -> str:
    """How many pairs it all rests on, what stands for the levels beside urea, and how old each is; "" for none."""
    if own.basis is None or not own.used:
        return ""
    key = "web.compare.from_one" if len(own.used) == 1 else "web.compare.from"
    words = [say(key, count=len(own.used), **drawn_words(visit, own.months[own.used[-1]].night))]
    words += [
        say("web.compare.level_from", what=substance_title(name), **drawn_words(visit, night))
        for name, night in own.carried(LEVELS).items()
    ]
    return " ".join(words)


def _compared(visit: Visit, basis: Basis, rows: Sequence[Typed]) -> tuple[Compared, ...]:
    """The present pattern, then the typed ones; the present one alone where any of those can't be read."""
    patterns = []
    for row in rows:
        if row.used:
            pattern, troubles = pattern_of(row, basis.present)
            visit.troubles += troubles
            patterns += [pattern] if pattern is not None else []
    visit.troubles += names_twice(rows, basis.present.name)
    try:
        present = compare(basis, [basis.present])
        return present if visit.troubles or not patterns else present + compare(basis, patterns)
    except EbbwellError as why:
        visit.troubles.append(Trouble(error_words(why)))
        return ()


def line_cells(key: str, found: Sequence[Compared]) -> tuple[str, list[str]]:
    """A figure's name with its unit, and what it is under each pattern; one cell where none is told for one reason."""
    told = found[:1] if one_reason(key, found) else found
    return _title(key), [figure_words(one.figures[key]) for one in told]


def _title(key: str) -> str:
    return say("web.compare.with_unit", name=say(f"web.compare.figure.{key}"), unit=FIGURES[key])


def _pictures(visit: Visit, found: Sequence[Compared]) -> Pictures:
    """A picture for each figure with a band, for both widths; none where it is known of no pattern."""
    made: Pictures = []
    for key in DRAWN:
        figures = [one.figures[key] for one in found]
        if any(figure.band is not None for figure in figures):
            rows = tuple(_span(one.figures[key], one.pattern.name) for one in found)
            spans = Spans(_title(key), FIGURES[key], rows)
            made.append((spans.title, [(shown, _svg(spans, visit.look, shown, key)) for shown in SIZES]))
    return made


def _span(figure: Reckoned, name: str) -> Span:
    words = figure_words(figure)
    return Span(name, words) if figure.band is None else Span(name, words, *drawn_ends(figure.band))


def _svg(spans: Spans, look: str, shown: str, key: str) -> Markup:
    sizes = SIZES[shown]
    name = f"{key.replace('_', '-')}-{sizes['name']}"
    return Markup(svg_of_spans(spans, PALETTES[look], name=name, width=sizes["width"], size=sizes["size"]))


def _rests(one: Compared) -> list[tuple[str, list[str], list[str]]]:
    """Figures that rest on the same, by name; what that is; and the sources."""
    alike: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for key, figure in one.figures.items():
        if figure.rests:
            alike.setdefault((figure.rests, figure.sources), []).append(say(f"web.compare.figure.{key}"))
    return [
        (", ".join(names), [say(key) for key in rests], source_words(sources))
        for (rests, sources), names in alike.items()
    ]


WAYS = (Way("GET", "/review/questions", show, ALL),)
