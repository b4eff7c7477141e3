"""Each substance with its newest figure, its ranges, its earlier figures and its picture; and the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from markupsafe import Markup

from ebbwell.core.text import language, say
from ebbwell.core.when import day
from ebbwell.deeds.bloods_now import in_both, laboratory_words, short, shown_line
from ebbwell.deeds.bloods_odd import pair_notes
from ebbwell.deeds.bloods_typed import sampled
from ebbwell.deeds.desk import Desk
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Band, Chart, Level, Line, Mark, Points
from ebbwell.draw.palette import Palette
from ebbwell.papers.describe import describe
from ebbwell.papers.described_bloods import drawn_words, line_words
from ebbwell.rulebook.substances import (
    Substance,
    blood_unit,
    load_substances,
    range_words,
    substance_title,
    substance_words,
)
from ebbwell.state.bloods import (
    BloodFigure,
    BloodView,
    Target,
    blood_results,
    body_figures,
    targets,
    urine,
)
from ebbwell.state.facts import Fact
from ebbwell.state.water import said_about, today

SIZES: dict[str, dict[str, Any]] = {
    "on-wide": {"name": "wide", "width": 640, "height": 200, "size": 13},
    "on-narrow": {"name": "narrow", "width": 300, "height": 200, "size": 14},
}
"""For a wide and for a narrow screen, as on the sheet."""

APART = timedelta(days=100)
"""Results further apart aren't joined: nobody looked in between. Own choice: monthly and three-monthly tests join."""

LEAST = 2
"""Figures that make a picture."""

COLLECTIONS = 2
"""Collections of urine that are shown."""

DRAWN = 26
"""Results in a picture and a table: two years of monthly ones. Own choice."""

SORTS = (
    ("before", False, ""),
    ("after", True, ""),
    ("below", False, "<"),
    ("below_after", True, "<"),
    ("above", False, ">"),
    ("above_after", True, ">"),
)
"""Marks of a picture: name, whether drawn at the end, sign before the figure."""

Row = tuple[BloodView, BloodFigure]
Dated = tuple[datetime, BloodView, BloodFigure]


@dataclass(frozen=True)
class Part:
    """One substance. newest: its newest figure, as words; drawn: when that was; lines: ranges, target, notes.

    heads, rows: of the table, newest figure first. charts: for each size of screen.
    """

    name: str
    title: str
    newest: str
    drawn: str
    lines: tuple[str, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    charts: tuple[tuple[str, Markup], ...]


def parts(desk: Desk, palette: Palette) -> list[Part]:
    """Every substance that has a figure, in the order of the table of substances."""
    results = blood_results(desk.standing)
    wanted = targets(desk.standing)
    found = []
    for name, known in load_substances().items():
        rows = [(view, view.figures[name]) for view in results if name in view.figures]
        if rows or name in wanted:
            found.append(_part(desk, palette, known, rows, wanted.get(name, ())))
    return found


def _part(
    desk: Desk, palette: Palette, known: Substance, rows: Sequence[Row], wanted: Sequence[Target]
) -> Part:
    unit = rows[0][1].line.unit if rows else wanted[0].body.unit
    first = next((row for row in rows if not row[0].at_end), rows[0] if rows else None)
    lines = []
    if first is not None:
        lines.append(laboratory_words(first[1].line, first[0].body.laboratory))
        for _, advice in said_about(desk.standing, first[0].fact):
            lines.append(say("web.bloods.unit_word", who=advice.who, words=advice.words))
    lines += _wanted(wanted, known, unit)
    lines += call_lines(known, unit)
    return Part(
        name=known.key,
        title=substance_title(known.key),
        newest=shown_line(first[1]) if first is not None else say("web.bloods.no_figure"),
        drawn=drawn_line(desk, first[0]) if first is not None else "",
        lines=tuple(lines),
        heads=tuple(say(f"web.bloods.head.{name}") for name in ("day", "drawn", "value", "range")),
        rows=tuple(_cells(view, figure) for view, figure in rows[:DRAWN]),
        charts=_charts(desk, palette, known, unit, list(rows[:DRAWN]), wanted),
    )


def drawn_line(desk: Desk, view: BloodView) -> str:
    """When a sample was drawn, and how long ago."""
    return say(
        "web.bloods.drawn_on",
        drawn=drawn_words(view.body.drawn),
        day=day(view.body.sampled_on),
        age=days_ago(desk, view.on),
    )


def days_ago(desk: Desk, on: date | None) -> str:
    """How old a sample is in whole days."""
    if on is None:
        return say("web.bloods.age_unknown")
    count = (today(desk.now) - on).days
    return say(
        f"web.bloods.{'today' if count <= 0 else 'yesterday' if count == 1 else 'days_ago'}", count=count
    )


def _wanted(wanted: Sequence[Target], known: Substance, unit: str) -> list[str]:
    if not wanted:
        return [say("web.bloods.no_target")]
    found = [
        say(
            "web.bloods.target",
            range=_target_words(one, known, unit),
            who=one.body.giver,
            day=day(one.body.given_on),
        )
        for one in wanted
    ]
    return [*found, say("web.bloods.two_targets")] if len(found) > 1 else found


def _target_words(one: Target, known: Substance, unit: str) -> str:
    """A target as it was given; beside it what it is in the unit that the figures come in."""
    given = range_words(one.body.low, one.body.high, one.body.unit)
    if one.body.unit == unit or (one.low is None and one.high is None):
        return given
    low, high = (short(known.in_unit(end, unit)) if end is not None else "" for end in (one.low, one.high))
    return f"{given} ({range_words(low, high, unit)})"


def _cells(view: BloodView, figure: BloodFigure) -> tuple[str, ...]:
    line = figure.line
    return (
        day(view.body.sampled_on),
        drawn_words(view.body.drawn),
        shown_line(figure),
        range_words(line.low, line.high, line.unit) or say("web.bloods.none"),
    )


def _charts(
    desk: Desk,
    palette: Palette,
    known: Substance,
    unit: str,
    rows: list[Row],
    wanted: Sequence[Target],
) -> tuple[tuple[str, Markup], ...]:
    """The picture of a substance, in the unit that its newest figure came in; none before there are two figures."""
    dated = [(_at(desk, view), view, figure) for view, figure in reversed(rows) if view.on is not None]
    if len({at for at, _, _ in dated}) < LEAST:
        return ()

    def here(value: Decimal) -> Decimal:
        return Decimal(short(known.in_unit(value, unit)))

    marks = [
        *_laboratory(dated, here),
        *_levels(wanted, here),
        *_values(dated, lambda one: Decimal(one.line.value) if one.line.unit == unit else here(one.value)),
    ]
    chart = Chart(
        say("web.bloods.chart", substance=substance_words(known.key), count=len(dated)),
        blood_unit(unit),
        dated[0][0],
        dated[-1][0],
        desk.now.zone,
        tuple(marks),
        desc=" ".join([*(_told(view, figure) for _, view, figure in dated), *_wanted(wanted, known, unit)]),
    )
    name = known.key.replace("_", "-")
    return tuple(
        (shown, _svg(chart, palette, f"{name}-{size['name']}", shown, language()))
        for shown, size in SIZES.items()
    )


def _laboratory(dated: Sequence[Dated], here: Callable[[Decimal], Decimal]) -> list[Mark]:
    """The laboratory's ranges, where one of them has two ends."""
    ranges = tuple(
        (
            at,
            here(figure.low) if figure.low is not None else None,
            here(figure.high) if figure.high is not None else None,
        )
        for at, _, figure in dated
    )
    if not any(low is not None and high is not None for _, low, high in ranges):
        return []
    return [Band(say("web.bloods.mark.laboratory"), ranges)]


def _levels(wanted: Sequence[Target], here: Callable[[Decimal], Decimal]) -> list[Mark]:
    """The ends of what the clinic wants; none where two targets stand side by side."""
    if len(wanted) != 1:
        return []
    ends = (("low", wanted[0].low), ("high", wanted[0].high))
    return [Level(say(f"web.bloods.mark.{end}"), here(value)) for end, value in ends if value is not None]


def _values(dated: Sequence[Dated], shown: Callable[[BloodFigure], Decimal]) -> list[Mark]:
    """The figures, those before apart from those after; a figure with a sign is a point that no line joins."""
    marks: list[Mark] = []
    for name, at_end, sign in SORTS:
        values = tuple(
            (at, shown(figure))
            for at, view, figure in dated
            if view.at_end == at_end and figure.line.sign == sign
        )
        if values and sign:
            marks.append(Points(say(f"web.bloods.mark.{name}"), values))
        elif values:
            marks.append(Line(say(f"web.bloods.mark.{name}"), values, join_within=APART))
    return marks


@lru_cache(maxsize=256)
def _svg(chart: Chart, palette: Palette, name: str, shown: str, _language: str) -> Markup:
    """A picture, drawn once: results come once a month, and the page has two for each substance."""
    return Markup(svg_of(chart, palette, **{**SIZES[shown], "name": name}))


def _told(view: BloodView, figure: BloodFigure) -> str:
    """A figure of the picture for who can't see it; by its day, since the hour isn't known."""
    return say(
        "web.bloods.told",
        day=day(view.body.sampled_on),
        drawn=drawn_words(view.body.drawn),
        value=shown_line(figure),
    )


def _at(desk: Desk, view: BloodView) -> datetime:
    """As the day of drawing begins at home, for the hour isn't known. A sample at the end stands a bit later."""
    if view.on is None:
        raise ValueError("no day")
    return datetime.combine(view.on, time(1 if view.at_end else 0), ZoneInfo(desk.now.zone))


@dataclass(frozen=True)
class Sample:
    """A result as it was entered: head, figures, what is odd about it, what the unit said."""

    fact: Fact
    head: str
    lines: tuple[str, ...]
    odd: tuple[str, ...]
    words: str


def samples(desk: Desk, most: int) -> list[Sample]:
    """The results drawn last, each with all its figures."""
    return [_sample(desk, view) for view in blood_results(desk.standing)[:most]]


def last_kept(desk: Desk) -> Sample | None:
    """The result that was entered last, of whatever day; None for none."""
    held = blood_results(desk.standing)
    newest = max(held, key=lambda view: (view.fact.recorded.at, view.fact.id), default=None)
    return None if newest is None else _sample(desk, newest)


def _sample(desk: Desk, view: BloodView) -> Sample:
    lines = [f"{substance_words(line.substance)}: {line_words(line)}" for line in view.body.lines]
    odd = [say(f"web.bloods.odd.{key}", **params) for key, params in pair_notes(desk, view.fact, view.body)]
    if view.unread:
        names = ", ".join(substance_words(line.substance) for line in view.unread)
        odd.append(say("web.bloods.odd.unread", names=names))
    night = sampled(desk, view.body.night) if view.body.night else None
    belongs = say("web.bloods.belongs", day=day(night.night)) if night is not None else ""
    head = f"{drawn_line(desk, view)} {belongs}".rstrip()
    return Sample(view.fact, head, tuple(lines), tuple(odd), view.body.words)


def about_the_rest(desk: Desk) -> list[tuple[str, Fact, str]]:
    """Urine, leaflets and body: form, entry and words of each, newest collection first."""
    kept = [("urine", fact) for fact, _ in urine(desk.standing)[:COLLECTIONS]]
    kept += [("dialyser", fact) for fact in desk.standing.of("dialyser_figures")]
    kept += [("body", fact) for fact, _ in body_figures(desk.standing)]
    return [(form, fact, describe(fact.body)) for form, fact in kept]


def call_lines(known: Substance, unit: str) -> list[str]:
    """Past which figures of a substance a unit is called; none for most."""
    ends = {"under": known.call_below, "over": known.call_above}
    lines = {name: in_both(end, known, unit) for name, end in ends.items() if end is not None}
    key = "both" if len(lines) > 1 else next(iter(lines), "")
    found = [say(f"web.bloods.call_{key}", **lines)] if key else []
    return [*found, say("web.bloods.call_half")] if known.falls_by_half else found
