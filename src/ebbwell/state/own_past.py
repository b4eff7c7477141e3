"""This person's own past: one short summary a treatment, for comparing tonight with other nights."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Iterator, Mapping, MutableMapping
from datetime import datetime
from decimal import Decimal
from itertools import islice

import msgspec

from ebbwell.core.clock import elapsed
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.journal.kinds.orders import Pinned, SecondCheck
from ebbwell.state.calls import Advised, Told, advice_of, told_of, tried_of
from ebbwell.state.facts import Facts, differ
from ebbwell.state.membrane import values_by_form
from ebbwell.state.night import Phase, first_blood, phase, pump_stopped, start_known
from ebbwell.state.night_fluid import NightFluid, night_fluid
from ebbwell.state.night_thinner import NightThinner, night_thinner
from ebbwell.state.noted import Noted, noes_of, noted_of, strips_of

TESTED = ("total_chlorine",)
"""Quantities whose failed test is remembered into the next night: the same water runs on. Source: fluids:1.3."""

_MAY_TEST = frozenset({Measured.KIND, SecondCheck.KIND})
"""Kinds of entry that may hold a water test."""


class Tested(msgspec.Struct, frozen=True, kw_only=True):
    """One water test as read, whatever became of it: also replaced, taken back, or a second reader's.

    id: of the entry. value: in the quantity's unit. at: when it was drawn; recorded_at, boot, mono: of its writing.
    """

    id: str
    quantity: str
    place: str
    value: str
    below: bool
    method: str
    at: datetime
    recorded_at: datetime
    boot: str
    mono: int


class NightSummary(msgspec.Struct, frozen=True, kw_only=True):
    """What later nights ask of this one. values: quantity@place to the value that holds; first: the first reading.

    packs: item, code, lot and expiry of each one opened, in the order of writing. rows: minutes after first blood and
    values of each reading with any, the pressure across the membrane under the name of its form. unsettled: two values
    for one thing; then that thing is left out of values.
    tests: the water tests that the next night asks about too. told: what asks for a call; advice: the unit's words;
    tried: calls that nobody answered.
    noted: what somebody may look for later; strips: quantity, place, lot and expiry of what was tested with; noes: when
    each "not tonight" of this night was written. fluid: what was removed and went in.
    thinner: what thinned the blood, and what was seen of clots.
    """

    treatment: str
    night: str
    phase: str
    opened_at: datetime
    first_blood: datetime | None
    pump_stopped: datetime | None
    values: dict[str, str]
    first: dict[str, str]
    packs: tuple[tuple[str, str, str, str], ...]
    unsettled: bool
    rows: tuple[tuple[int, dict[str, str]], ...] = ()
    tests: tuple[Tested, ...] = ()
    told: tuple[Told, ...] = ()
    advice: tuple[Advised, ...] = ()
    tried: tuple[Advised, ...] = ()
    noted: tuple[Noted, ...] = ()
    strips: tuple[tuple[str, str, str, str], ...] = ()
    noes: tuple[datetime, ...] = ()
    fluid: NightFluid = NightFluid()
    thinner: NightThinner = NightThinner()


NEAR_HOUR = 45
"""Minutes within which a reading of another night counts as read at the same hour after first blood. Own choice."""

ENDED = frozenset({Phase.CLOSED.value, Phase.CALLED_OFF.value})


class _PutOff:
    """The summary of a night that goes on, made when somebody asks for it; the facts stay as they are till then."""

    __slots__ = ("_facts", "_made", "_treatment", "opened_at")

    def __init__(self, treatment: str, facts: Facts, opened_at: datetime) -> None:
        self._treatment, self._facts, self.opened_at = treatment, facts, opened_at
        self._made: NightSummary | None = None

    def made(self) -> NightSummary:
        """The summary; made once, also for copies of the past."""
        if self._made is None:
            self._made = summarise(self._treatment, self._facts)
        if self._made is None:
            raise KeyError(self._treatment)
        return self._made


class Past(MutableMapping[str, NightSummary]):
    """Treatment id to its summary, kept in order of opening, so that ten years needn't be sorted at each look.

    Treatments opened at the same instant stand in the order of their ids. A night that goes on changes with every
    entry, so its summary is made when it is asked for.
    """

    __slots__ = ("_found", "_open", "_order")

    def __init__(self, found: Mapping[str, NightSummary] | None = None) -> None:
        given = dict(found or {})
        self._found: dict[str, NightSummary | _PutOff] = {**given}
        self._order = sorted((s.opened_at, name) for name, s in given.items())
        self._open = {name for name, s in given.items() if s.phase not in ENDED}

    def copy(self) -> Past:
        """A copy that can be changed on its own."""
        other = Past()
        other._found, other._order, other._open = dict(self._found), self._order[:], set(self._open)
        return other

    def __getitem__(self, treatment: str) -> NightSummary:
        found = self._found[treatment]
        return found.made() if isinstance(found, _PutOff) else found

    def __setitem__(self, treatment: str, summary: NightSummary) -> None:
        self._put(treatment, summary)
        (self._open.discard if summary.phase in ENDED else self._open.add)(treatment)

    def goes_on(self, treatment: str, facts: Facts) -> bool:
        """Put a night that was opened and hasn't ended; False, with nothing put, for any other.

        facts: of the night. Whoever steps them on puts the night anew.
        """
        pinned = facts.of("pinned")
        if not pinned or not isinstance(pinned[0].body, Pinned) or phase(facts).value in ENDED:
            return False
        self._put(treatment, _PutOff(treatment, facts, pinned[0].at))
        self._open.add(treatment)
        return True

    def _put(self, treatment: str, summary: NightSummary | _PutOff) -> None:
        before = self._found.get(treatment)
        if before is None or before.opened_at != summary.opened_at:
            if before is not None:
                del self[treatment]
            insort(self._order, (summary.opened_at, treatment))
        self._found[treatment] = summary

    def __contains__(self, treatment: object) -> bool:
        return treatment in self._found

    def __delitem__(self, treatment: str) -> None:
        summary = self._found.pop(treatment)
        del self._order[bisect_left(self._order, (summary.opened_at, treatment))]
        self._open.discard(treatment)

    def __iter__(self) -> Iterator[str]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)

    def open_ones(self) -> tuple[str, ...]:
        """Ids of treatments not ended, oldest first."""
        return tuple(sorted(self._open, key=lambda name: (self._found[name].opened_at, name)))

    def opened_before(self, instant: datetime) -> Iterator[NightSummary]:
        """Summaries of treatments opened before an instant, newest first."""
        for place in range(bisect_left(self._order, (instant, "")) - 1, -1, -1):
            yield self[self._order[place][1]]

    def opened_from(self, instant: datetime) -> Iterator[NightSummary]:
        """Summaries of treatments opened at an instant or later, oldest first."""
        for place in range(bisect_left(self._order, (instant, "")), len(self._order)):
            yield self[self._order[place][1]]


def summarise(treatment_id: str, treatment: Facts) -> NightSummary | None:
    """The summary of one treatment; None until it was opened."""
    pinned = treatment.of("pinned")
    if not pinned or not isinstance(pinned[0].body, Pinned):
        return None
    values = {}
    for slot, facts in treatment.slots.items():
        if slot[0] != "measured" or differ(facts):
            continue
        body = facts[0].body
        if isinstance(body, Measured) and body.value:
            values[_key(body.quantity, body.place)] = ("<" if body.below else "") + body.value
    readings = [f.body for f in treatment.of("reading") if isinstance(f.body, Reading)]
    start = first_blood(treatment) if start_known(treatment) else None
    opened = [f.body for f in treatment.of("lot_used") if isinstance(f.body, LotUsed)]
    told = told_of(treatment)
    return NightSummary(
        treatment=treatment_id,
        night=pinned[0].body.night,
        phase=phase(treatment).value,
        opened_at=pinned[0].at,
        first_blood=start,
        pump_stopped=pump_stopped(treatment),
        values=values,
        first=values_by_form(readings[0]) if readings else {},
        packs=tuple((b.item, b.code, b.lot, b.expiry) for b in opened),
        unsettled=bool(treatment.disagreements()),
        rows=() if start is None else _rows(treatment, start),
        tests=tests_of(treatment),
        told=told,
        advice=advice_of(treatment),
        tried=tried_of(treatment),
        noted=noted_of(treatment, {one.id for one in told}),
        strips=strips_of(treatment),
        noes=noes_of(treatment),
        fluid=night_fluid(treatment),
        thinner=night_thinner(treatment),
    )


def tests_of(treatment: Facts) -> tuple[Tested, ...]:
    """Every water test of a night, by the order of writing; of a second reader's only what differed from the first."""
    found = []
    entries = [e for e in treatment.entries.values() if e.envelope.kind in _MAY_TEST]
    for entry in sorted(entries, key=lambda entry: entry.id):
        body, e = entry.body, entry.envelope
        read: dict[tuple[str, str], tuple[str, bool, str]] = {}
        if isinstance(body, Measured) and body.value:
            read[body.quantity, body.place] = (body.value, body.below, body.method)
        elif isinstance(body, SecondCheck) and not body.agrees:
            firsts = [fact.body for fact in map(treatment.fact, body.of) if fact is not None]
            for name, text in body.values.items():
                quantity, _, place = name.partition("@")
                method = next(
                    (b.method for b in firsts if isinstance(b, Measured) and b.quantity == quantity), ""
                )
                if text:
                    read[quantity, place] = (text.removeprefix("<"), text.startswith("<"), method)
        for (quantity, place), (value, below, method) in read.items():
            if quantity in TESTED:
                found.append(
                    Tested(
                        id=entry.id,
                        quantity=quantity,
                        place=place,
                        value=value,
                        below=below,
                        method=method,
                        at=e.at,
                        recorded_at=e.recorded_at,
                        boot=e.boot,
                        mono=e.mono,
                    )
                )
    return tuple(found)


def _rows(treatment: Facts, start: datetime) -> tuple[tuple[int, dict[str, str]], ...]:
    rows = [
        (round(elapsed(start, f.at).total_seconds() / 60), values_by_form(f.body))
        for f in treatment.of("reading")
        if isinstance(f.body, Reading) and f.body.values
    ]
    return tuple(sorted(rows, key=lambda row: row[0]))


def _key(quantity: str, place: str) -> str:
    return f"{quantity}@{place}" if place else quantity


def latest(past: Mapping[str, NightSummary], *, before: datetime, nights: int = 20) -> list[NightSummary]:
    """The last treatments that were opened before an instant, newest first; nights called off are left out."""
    ordered = past if isinstance(past, Past) else Past(past)
    ran = (s for s in ordered.opened_before(before) if s.phase != Phase.CALLED_OFF.value)
    return list(islice(ran, nights))


def values_of(nights: Iterable[NightSummary], quantity: str, *, most: int = 10) -> tuple[Decimal, ...]:
    """The values of a quantity on the nights given, in their order; censored values and words are left out.

    Source: practice:section a0 ("own" = the last 10 nights).
    """
    found = []
    for summary in nights:
        text = summary.values.get(quantity) or summary.first.get(quantity)
        if text and _is_number(text):
            found.append(Decimal(text))
            if len(found) == most:
                break
    return tuple(found)


def recent(past: Mapping[str, NightSummary], quantity: str, *, before: datetime) -> tuple[Decimal, ...]:
    """The values of a quantity on the last nights before an instant, newest first."""
    return values_of(latest(past, before=before), quantity)


def at_hour(
    past: Mapping[str, NightSummary], quantity: str, minutes: int, *, before: datetime, most: int = 10
) -> tuple[Decimal, ...]:
    """This person's own values at the same time after first blood on the last nights, newest first.

    minutes: after first blood [min]. Of each night the reading nearest to it counts, within ``NEAR_HOUR``.
    Source: practice:section a0 ("own" = the last 10 nights).
    """
    found: list[Decimal] = []
    for summary in latest(past, before=before):
        near = [
            (abs(at - minutes), values[quantity])
            for at, values in summary.rows
            if abs(at - minutes) <= NEAR_HOUR and _is_number(values.get(quantity, ""))
        ]
        if near:
            found.append(Decimal(min(near)[1]))
            if len(found) == most:
                break
    return tuple(found)


def _is_number(text: str) -> bool:
    return text.lstrip("-").replace(".", "", 1).isdecimal()
