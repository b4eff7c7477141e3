"""Past nights, newest first: length, fluid removed, weights, and what wasn't as planned."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from datetime import timedelta
from itertools import islice
from weakref import WeakKeyDictionary

from starlette.responses import Response

from ebbwell.house import House
from ebbwell.papers.exceptions import exceptions
from ebbwell.papers.sheet import as_it_stood
from ebbwell.papers.words import span
from ebbwell.state.night import run_time
from ebbwell.state.own_past import NightSummary, Past
from ebbwell.state.standing import people
from ebbwell.web.visit import ALL, Visit, Way

A_PAGE = 12
"""Nights on one page."""

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
    """What was read off one night's entries. summary: as it was then; another one means that it was touched since."""

    summary: NightSummary
    odd: tuple[str, ...]
    length: timedelta | None


_read: WeakKeyDictionary[House, dict[str, Read]] = WeakKeyDictionary()
"""What was read already, by house and treatment."""


@dataclass(frozen=True)
class Row:
    """One night. length: how long blood ran, in words; "" where it isn't known. values: name, value and unit.

    odd: the first lines that weren't as planned, in short; more: how many others the sheet has.
    """

    summary: NightSummary
    length: str
    odd: tuple[str, ...]
    more: int
    values: tuple[tuple[str, str, str], ...]


def show(visit: Visit) -> Response:
    """A page of nights; ``?before=`` an id leads to the ones before it."""
    past = visit.desk.past
    ordered = past if isinstance(past, Past) else Past(past)
    before = past.get(visit.query.get("before", ""))
    until = before.opened_at if before is not None else visit.desk.now.at + timedelta(days=1)
    found = list(islice(ordered.opened_before(until), A_PAGE + 1))
    return visit.show(
        "pages/nights/page.html",
        rows=[_row(visit, summary) for summary in found[:A_PAGE]],
        more=found[A_PAGE - 1].treatment if len(found) > A_PAGE else "",
        count=len(past),
    )


def _row(visit: Visit, summary: NightSummary) -> Row:
    read = _read_night(visit, summary)
    values = tuple((name, summary.values[name], unit) for name, unit in VALUES if name in summary.values)
    length = span(read.length) if read.length is not None else ""
    odd = tuple(textwrap.shorten(words, WIDE, placeholder=" ...") for words in read.odd[:TOLD])
    return Row(summary, length, odd, len(read.odd) - len(odd), values)


def _read_night(visit: Visit, summary: NightSummary) -> Read:
    held = _read.setdefault(visit.house, {})
    known = held.get(summary.treatment)
    if known is not None and known.summary is summary:
        return known
    desk = as_it_stood(visit.house.look(by=visit.who, treatment=summary.treatment))
    names = {person: one.name for person, one in people(desk.standing).items()}
    made = Read(summary, tuple(exceptions(desk, names)), run_time(desk.treatment))
    held[summary.treatment] = made
    return made


WAYS = (Way("GET", "/nights", show, ALL),)
