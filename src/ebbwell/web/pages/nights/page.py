"""Past nights, newest first: length, fluid removed, weights, and what wasn't as planned; found by words or by month."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from heapq import merge
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from starlette.responses import Response

from ebbwell.house import House
from ebbwell.papers.evenings import Evening, evening_lines, evenings
from ebbwell.papers.exceptions import exceptions
from ebbwell.papers.own_figures import own_text
from ebbwell.papers.sheet import as_it_stood
from ebbwell.papers.words import day, span
from ebbwell.rulebook.own_units import Units, in_units
from ebbwell.state.night import run_time
from ebbwell.state.own_past import NightSummary, Past
from ebbwell.state.standing import people
from ebbwell.web.pages.nights.asked import Asked, asked_for
from ebbwell.web.pages.nights.search import match, matches
from ebbwell.web.visit import ALL, Visit, Way

A_PAGE = 12
"""Nights on one page."""

A_LOOK = 400
"""Nights that words are looked for in before a page is shown; a link goes on from there. Own choice: about a year."""

MATCHED = 3
"""Lines that match shown with each night; how many more is said. Own choice."""

TOLD = 2
"""Lines that weren't as planned shown with each night; how many more is said. Own choice."""

WIDE = 90
"""Characters of each such line; the sheet has it whole. Own choice."""

VALUES = (
    ("fluid_removed", "L"),
    ("weight_before", "kg"),
    ("weight_after", "kg"),
)
"""What of each night is shown, with its unit."""


@dataclass(frozen=True)
class Read:
    """What was read off one night's entries. summary: as it was then; another one means that it was touched since.
    units: in which it was said."""

    summary: NightSummary
    odd: tuple[str, ...]
    length: timedelta | None
    units: Units


_read: WeakKeyDictionary[House, dict[str, Read]] = WeakKeyDictionary()
"""What was read already, by house and treatment."""


@dataclass(frozen=True)
class Row:
    """One night. length: how long blood ran, in words; "" where it isn't known. values: name, and value with unit.

    odd: the first lines that weren't as planned, in short; more: how many others the sheet has. found: the lines that
    match what was looked for, or all that is worth finding where only a month was picked; found_more: how many others.
    """

    summary: NightSummary
    length: str
    odd: tuple[str, ...]
    more: int
    values: tuple[tuple[str, str], ...]
    found: tuple[str, ...] = ()
    found_more: int = 0


@dataclass(frozen=True)
class NoNight:
    """An evening on which "not tonight" was said and no night was opened."""

    day: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Found:
    """rows: in the order of the page. more: where the ones before them begin; "" where there are none.

    looked: nights that words were looked for in; back_to: the date of the oldest, "" where all were looked through.
    """

    rows: list[Row | NoNight]
    more: str = ""
    looked: int = 0
    back_to: str = ""


def show(visit: Visit) -> Response:
    """A page of nights, or of those that match; ``?before=`` an id leads to the ones before it."""
    past = visit.desk.past
    ordered = past if isinstance(past, Past) else Past(past)
    alone = evenings(visit.desk)
    years = _years(visit, ordered, alone)
    asked = asked_for(visit, years)
    found = _find(visit, asked, _newest_first(ordered, alone, _until(visit, ordered, alone)))
    return visit.show(
        "pages/nights/page.html",
        rows=found.rows,
        more=asked.address(found.more) if found.more else "",
        found=found,
        asked=asked,
        years=years,
        count=len(past),
        a_look=A_LOOK,
    )


def _years(visit: Visit, past: Past, alone: tuple[Evening, ...]) -> list[int]:
    """The years that something is on record of, newest first."""
    zone = ZoneInfo(visit.desk.now.zone)
    first = next(past.opened_from(datetime.min.replace(tzinfo=UTC)), None)
    oldest = [first.opened_at] if first is not None else []
    oldest += [alone[-1].at] if alone else []
    if not oldest:
        return []
    return list(range(visit.desk.now.at.astimezone(zone).year, min(oldest).astimezone(zone).year - 1, -1))


def _until(visit: Visit, past: Past, alone: tuple[Evening, ...]) -> datetime:
    before = visit.query.get("before", "")
    if before in past:
        return past[before].opened_at
    at = next((one.at for one in alone if one.id == before), None)
    return at if at is not None else visit.desk.now.at + timedelta(days=1)


def _newest_first(
    past: Past, alone: tuple[Evening, ...], until: datetime
) -> Iterator[NightSummary | Evening]:
    return merge(past.opened_before(until), (one for one in alone if one.at < until), key=_at, reverse=True)


def _at(one: NightSummary | Evening) -> datetime:
    return one.at if isinstance(one, Evening) else one.opened_at


def _id(one: NightSummary | Evening) -> str:
    return one.id if isinstance(one, Evening) else one.treatment


def _date(one: NightSummary | Evening) -> date:
    """Its date; of a night whose date can't be read the day of its opening."""
    if isinstance(one, Evening):
        return one.day
    try:
        return date.fromisoformat(one.night)
    except ValueError:
        return one.opened_at.date()


def _find(visit: Visit, asked: Asked, items: Iterator[NightSummary | Evening]) -> Found:
    """The first ``A_PAGE`` that match; words are looked for in ``A_LOOK`` of them at most."""
    rows: list[Row | NoNight] = []
    looked, last, shown = 0, "", ""
    back_to = ""
    for one in items:
        if asked.timed and not asked.in_time(_date(one)):
            continue
        if asked.words and looked == A_LOOK:
            return Found(rows, last, looked, back_to)
        lines = _lines(visit, asked, one)
        looked, last, back_to = looked + 1, _id(one), day(_date(one).isoformat())
        if asked.words and not lines:
            continue
        if len(rows) == A_PAGE:
            return Found(rows, shown, looked, back_to)
        rows.append(_row(visit, one, asked, lines))
        shown = last
    return Found(rows, "", looked)


def _lines(visit: Visit, asked: Asked, one: NightSummary | Evening) -> list[str]:
    """The lines that match the words asked for; of an evening without a night all of them."""
    if isinstance(one, Evening):
        lines = evening_lines(visit.desk, one)
        return lines if match(" ".join(lines), asked.words) else []
    return matches(visit.house, visit.desk, one, asked.words) if asked.any else []


def _row(visit: Visit, one: NightSummary | Evening, asked: Asked, lines: list[str]) -> Row | NoNight:
    if isinstance(one, Evening):
        return NoNight(day(one.day.isoformat()), tuple(lines))
    values = tuple(
        (name, own_text(f"{one.values[name]} {unit}")) for name, unit in VALUES if name in one.values
    )
    if asked.any:
        return Row(one, "", (), 0, values, tuple(lines[:MATCHED]), max(len(lines) - MATCHED, 0))
    read = _read_night(visit, one)
    length = span(read.length) if read.length is not None else ""
    odd = tuple(textwrap.shorten(words, WIDE, placeholder=" ...") for words in read.odd[:TOLD])
    return Row(one, length, odd, len(read.odd) - len(odd), values)


def _read_night(visit: Visit, summary: NightSummary) -> Read:
    held = _read.setdefault(visit.house, {})
    known = held.get(summary.treatment)
    units = visit.desk.rulebook.units
    if known is not None and known.summary is summary and known.units == units:
        return known
    desk = as_it_stood(visit.house.look(by=visit.who, treatment=summary.treatment))
    desk = replace(desk, rulebook=in_units(desk.rulebook, units))
    names = {person: one.name for person, one in people(desk.standing).items()}
    made = Read(summary, tuple(exceptions(desk, names)), run_time(desk.treatment), units)
    held[summary.treatment] = made
    return made


WAYS = (Way("GET", "/nights", show, ALL),)
