"""A world of the model checker: a house in memory with its own clock, cheap to copy."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.journal.kinds import Body, known_kinds
from ebbwell.journal.kinds.orders import LineAmended, Plan, Readback, SecondCheck
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.procedure.model import Procedure
from ebbwell.procedure.scene import undone
from ebbwell.procedure.two_readings import FIRSTS, found_otherwise
from ebbwell.sim.checker.raw import Record, read
from ebbwell.sim.checker.spec import Spec
from ebbwell.sim.elsewhere import ELSEWHERE, written_elsewhere
from ebbwell.sim.homes import HOMES, USUAL_HOME, Home
from ebbwell.sim.household import BRAM, ZONE
from ebbwell.state.facts import Fact

START = datetime(2026, 4, 29, 17, 0, tzinfo=UTC)
KNOWN = frozenset(known_kinds())
FIVE_MINUTES = timedelta(minutes=5)
RESTING = ("second_check", "plan", "readback")
"""Kinds that say something of other entries, by their ids."""


class World:
    """A house, a clock that can be copied, and how many boots and foreign entries there were."""

    def __init__(self, house: House, clock: SetClock, foreign: int = 0) -> None:
        self.house = house
        self.clock = clock
        self.foreign = foreign
        self._desk: Desk | None = None
        self._spec: Spec | None = None

    @classmethod
    def fresh(
        cls, procedure: Procedure | None = None, home: Home = HOMES[USUAL_HOME], seed: int = 1
    ) -> World:
        """Moved in, with a night just opened."""
        clock = SetClock(START, ZONE)
        ids = SeededIds(seed)
        house = House(MemoryStore(ids), clock, ids, procedure=procedure)
        home.open_night(house, clock)
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
        self._desk = self._spec = None
        return self

    def spec(self, procedure: Procedure) -> Spec:
        """The second opinion, by an unmutated procedure; the same one until something moves."""
        held, now = self._spec, self.clock.now()
        if held is None or held.procedure is not procedure or held.now != now:
            held = self._spec = Spec(procedure, self.record(), now, self.house.store.writer)
        return held

    def record(self) -> Record:
        """The raw entries, read anew."""
        return read(list(self.house.store.after(0)), KNOWN)

    def from_elsewhere(self, body: Body, *, strange_kind: str = "", back: timedelta = timedelta(0)) -> bool:
        """Merge an entry that another store of the household wrote about this treatment. True when it was new."""
        self.foreign += 1
        after = (self.foreign - 1, self.foreign.to_bytes(32, "big"))
        entry = written_elsewhere(
            self.house,
            self.desk.treatment_id,
            body,
            after,
            strange_kind=strange_kind,
            back=back,
        )
        taken = self.house.take_in([entry])
        self.moved()
        return taken.new == 1

    def signature(self) -> int:
        """What makes two worlds the same state: the words that hold, five minutes of time, clock and order.

        Ids and exact seconds are left out; of a check or a plan it counts whether what it rests on still holds.
        """
        now = self.clock.now()
        treatment, standing = self.desk.treatment, self.desk.standing
        happened = treatment.of("happened") + treatment.of("disinfected")
        words = frozenset(
            [
                (
                    _word(fact),
                    (now.at - fact.at) // FIVE_MINUTES,
                    bool(happened) and any(undone(fact, event) for event in happened),
                )
                for kind, facts in treatment.live.items()
                if kind not in RESTING
                for fact in facts
            ]
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
        unlike = frozenset(
            fact.slot or fact.says
            for kind in FIRSTS
            for fact in treatment.of(kind)
            if found_otherwise(treatment, (fact,)) is not None
        )
        skew = round((now.at - START).total_seconds() / 300 - now.mono / 300_000)
        order = self.desk.scene.order
        lines = None if order is None else (tuple(sorted(order.lines.items())), bool(order.waiting))
        amended = frozenset(
            (body.line, body.value, body.tonight_only)
            for body in (fact.body for fact in standing.of("line_amended"))
            if isinstance(body, LineAmended)
        )
        heard = (lines, amended)
        return hash(
            (words, resting, unlike, skew, now.boot, heard, self.desk.phase, len(standing.of("lot_recalled")))
        )


_words: dict[bytes, int] = {}


def _word(fact: Fact) -> int:
    """What a fact says and where it was said, hashed; once for each entry, save where it rests on another one."""
    word = _words.get(fact.entry.hash)
    if word is None:
        elsewhere = ELSEWHERE in (fact.writer, fact.first.writer)
        word = hash((fact.kind, fact.slot, fact.says, elsewhere))
        if fact.corrects is None:
            _words[fact.entry.hash] = word
    return word


def _rests(fact: Fact) -> tuple[str, ...]:
    body = fact.body
    if isinstance(body, SecondCheck):
        return body.of
    if isinstance(body, Plan):
        return body.rests_on
    return (body.prescription, *body.amendments) if isinstance(body, Readback) else ()
