"""A world of the model checker: a house in memory with its own clock, cheap to copy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from ebbwell.core.clock import Moment, SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.setup import open_night
from ebbwell.deeds.upkeep import disinfect
from ebbwell.house import House
from ebbwell.journal.envelope import Entry, Envelope, seal
from ebbwell.journal.kinds import Body, encode_body, kind_of, known_kinds, must_understand
from ebbwell.journal.kinds.orders import Plan, Readback, SecondCheck
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.procedure.model import Procedure
from ebbwell.procedure.scene import undone
from ebbwell.sim.checker.raw import Record, read
from ebbwell.sim.checker.spec import Spec
from ebbwell.sim.household import BRAM, PRESCRIPTION, ZONE, move_in
from ebbwell.state.facts import Fact

START = datetime(2026, 4, 29, 17, 0, tzinfo=UTC)
KNOWN = frozenset(known_kinds())
RESTING = ("second_check", "plan", "readback")
"""Kinds that say something of other entries, by their ids."""

ELSEWHERE = "018bcfe5-0000-7000-8000-00000000abcd"
"""Writer id of another store of the same household."""


@dataclass(frozen=True)
class Home:
    """A way to run the night. lines: of the prescription; chemical: whether the machine was last cleaned with one."""

    lines: Mapping[str, str]
    chemical: bool = False


USUAL_HOME = Home(PRESCRIPTION)


class World:
    """A house, a clock that can be copied, and how many boots and foreign entries there were."""

    def __init__(self, house: House, clock: SetClock, foreign: int = 0) -> None:
        self.house = house
        self.clock = clock
        self.foreign = foreign
        self._desk: Desk | None = None

    @classmethod
    def fresh(cls, procedure: Procedure | None = None, home: Home = USUAL_HOME, seed: int = 1) -> World:
        """Moved in, with a night just opened."""
        clock = SetClock(START, ZONE)
        ids = SeededIds(seed)
        house = House(MemoryStore(ids), clock, ids, procedure=procedure)
        move_in(house, clock, home.lines)
        if home.chemical:
            now = clock.now().at
            house.do(disinfect, by=BRAM, what="machine", agent="hypochlorite", started_at=now, ended_at=now)
        house.do(open_night, by=BRAM)
        return cls(house, clock)

    def fork(self) -> World:
        """A copy; what is done in one isn't seen in the other."""
        m = self.clock.now()
        clock = SetClock(m.at, m.zone, m.boot, m.mono)
        store = self.house.store
        if not isinstance(store, MemoryStore):
            raise TypeError("only a house in memory can be forked")
        house = House(
            store.fork(),
            clock,
            self.house.ids,
            rulebook=self.house.rulebook,
            procedure=self.house.procedure,
            state=self.house.state.copy(),
            household=self.house.household,
        )
        house.looked = self.house.looked
        return World(house, clock, self.foreign)

    @property
    def desk(self) -> Desk:
        """The desk as it stands; looked at once."""
        if self._desk is None:
            self._desk = self.house.look(by=BRAM)
        return self._desk

    def moved(self) -> World:
        """Say that something was done, so that the next look is fresh."""
        self._desk = None
        return self

    def spec(self, procedure: Procedure) -> Spec:
        """The second opinion, by an unmutated procedure."""
        return Spec(procedure, self.record(), self.clock.now(), self.house.store.writer)

    def record(self) -> Record:
        """The raw entries, read anew."""
        return read(list(self.house.store.after(0)), KNOWN)

    def from_elsewhere(self, body: Body, *, strange_kind: str = "", back: timedelta = timedelta(0)) -> bool:
        """Merge an entry that another store of the household wrote about this treatment. True when it was new."""
        now: Moment = self.clock.now()
        kind, version = kind_of(body)
        self.foreign += 1
        envelope = Envelope(
            id=self.house.ids.new(),
            kind=strange_kind or kind,
            version=version,
            household=self.house.household,
            treatment=self.desk.treatment_id,
            at=now.at - back,
            zone=now.zone,
            offset=now.offset,
            recorded_at=now.at,
            boot="elsewhere",
            mono=now.mono,
            by="someone",
            must_understand=bool(strange_kind) or must_understand(body),
        )
        prev = self.foreign.to_bytes(32, "big")
        entry: Entry = seal(envelope, encode_body(body), bytes(16), ELSEWHERE, self.foreign, prev)
        taken = self.house.take_in([entry])
        self.moved()
        return taken.new == 1

    def signature(self) -> int:
        """What makes two worlds the same state: the words that hold, five minutes of time, clock and order.

        Ids and exact seconds are left out; of a check or a plan it counts whether what it rests on still holds.
        """
        now = self.clock.now()
        treatment, standing = self.desk.treatment, self.desk.standing

        def age(fact: Fact) -> int:
            return int((now.at - fact.at).total_seconds() // 300)

        happened = treatment.of("happened") + treatment.of("disinfected")
        words = frozenset(
            (
                fact.kind,
                fact.slot,
                fact.says,
                age(fact),
                ELSEWHERE in (fact.writer, fact.first.writer),
                any(undone(fact, event) for event in happened),
            )
            for kind, facts in treatment.live.items()
            if kind not in RESTING
            for fact in facts
        )
        dead = treatment.replaced.keys() | standing.replaced.keys()
        resting = tuple(
            (
                kind,
                getattr(fact.body, "step", ""),
                getattr(fact.body, "agrees", True),
                dead.isdisjoint(_rests(fact)),
            )
            for kind in RESTING
            for fact in treatment.of(kind)
        )
        skew = round((now.at - START).total_seconds() / 300 - now.mono / 300_000)
        order = self.desk.scene.order
        lines = None if order is None else (tuple(sorted(order.lines.items())), bool(order.waiting))
        return hash(
            (words, resting, skew, now.boot, lines, self.desk.phase, len(standing.of("lot_recalled")))
        )


def _rests(fact: Fact) -> tuple[str, ...]:
    body = fact.body
    if isinstance(body, SecondCheck):
        return body.of
    if isinstance(body, Plan):
        return body.rests_on
    return (body.prescription, *body.amendments) if isinstance(body, Readback) else ()
