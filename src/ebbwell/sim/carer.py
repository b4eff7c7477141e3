"""A carer at a real store on a disk: does deeds, and tells the oracle of each acknowledgement.

Slips and faults are put on top by ``ebbwell.sim.faults``.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import EbbwellError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, night, record, setup
from ebbwell.deeds.desk import Desk, Done
from ebbwell.house import House
from ebbwell.journal.envelope import Entry
from ebbwell.journal.errors import EntryHeld, EntryUnknown, RecordError
from ebbwell.journal.kinds import Body
from ebbwell.journal.store.base import Taken
from ebbwell.procedure.holds import Status
from ebbwell.sim import hands
from ebbwell.sim.checker.world import START, World
from ebbwell.sim.elsewhere import START_OF_CHAIN, written_elsewhere
from ebbwell.sim.homes import HOMES, USUAL_HOME
from ebbwell.sim.household import BRAM, ZONE
from ebbwell.sim.oracle import Broken, Ledger, WatchedIds, check_chain, check_state, open_holds
from ebbwell.state.night import Phase, first_blood

LONGEST = 400
"""Moves and waits within which a set-up without a slip has to end."""
AGAIN = (Status.BARRED, Status.NOT_KNOWN, Status.UNSETTLED)


class WatchedHouse(House):
    """A house that tells the ledger what was acknowledged, and looks that a refusal changed nothing."""

    ledger: Ledger
    alone = True

    def do(
        self,
        deed: Callable[..., None],
        /,
        *,
        by: str = "bedside",
        key: str | None = None,
        treatment: str | None = None,
        **inputs: Any,
    ) -> Done:
        """As the house does it. Raises Broken where an acknowledgement or a refusal isn't what it says."""
        if not isinstance(self.ids, WatchedIds):
            raise TypeError("a watched house needs watched ids")
        before = self.store.last_row()
        given = self.ids.given = []
        try:
            done = super().do(deed, by=by, key=key, treatment=treatment, **inputs)
        except (EntryHeld, EntryUnknown) as why:
            raise Broken(f"a deed met the store's own check: {why}") from why
        except RecordError:
            self.ledger.unsure(given if key is None else [key, *given])
            raise
        except EbbwellError as why:
            if self.alone and self.store.last_row() != before:
                raise Broken(f"refused, and written all the same: {why}") from why
            raise
        self.ledger.acknowledge(done.entries)
        if self.alone:
            new = list(self.store.after(before))
            expected = [] if done.repeated else list(done.entries)
            if [entry.id for entry in new] != expected:
                raise Broken(f"acknowledged {len(expected)} entries; {len(new)} were written")
            self.ledger.saw(new)
        return done

    def take_in(self, entries: Any) -> Taken:
        """As the house does it; what was taken is acknowledged."""
        arrivals: list[Entry] = list(entries)
        taken = super().take_in(arrivals)
        refused = {id_ for id_, _ in taken.refused}
        self.ledger.acknowledge(entry.id for entry in arrivals if entry.id not in refused)
        return taken

    def erase(self, of: str, *, ground: str, authority: str, by: str = "bedside") -> Done:
        """As the house does it; of what was erased all but the body has to stay."""
        self.ledger.check(self.store)
        entry = self.store.held(of)
        done = super().erase(of, ground=ground, authority=authority, by=by)
        if entry is not None:
            self.ledger.erase(of, entry)
        self.ledger.acknowledge(done.entries)
        return done


class Tried(EbbwellError):
    """A deed was only tried: nothing is to be kept."""


def only_try(deed: Callable[..., None]) -> Callable[..., None]:
    """The deed, taken back at its end."""

    def tried(desk: Desk, **inputs: Any) -> None:
        deed(desk, **inputs)
        raise Tried("only tried")

    return tried


@lru_cache(maxsize=len(HOMES))
def script(home: str = USUAL_HOME) -> tuple[tuple[timedelta, hands.Move], ...]:
    """The moves of a set-up without a slip, up to the open gate, each with the time that passes before it."""
    world = World.fresh(None, HOMES[home])
    moves: list[tuple[timedelta, hands.Move]] = []
    waited = timedelta(0)
    for _ in range(LONGEST):
        if world.desk.gate_open:
            return tuple(moves)
        move = hands.next_move(world.desk, hands.SET_UP)
        if move is None:
            wait = hands.waits(world.desk)
            if wait is None:
                raise RuntimeError("the usual set-up gets no further")
            waited += max(wait, timedelta(seconds=1))
            world.clock.pass_time(max(wait, timedelta(seconds=1)))
        else:
            world.clock.pass_time(move.takes)
            hands.play(world.house, move)
            moves.append((waited + move.takes, move))
            waited = timedelta(0)
        world.moved()
    raise RuntimeError("the usual set-up doesn't end")


class Carer:
    """One night of one seed: the store, its clock, the chances, what was acknowledged, and the log of steps."""

    def __init__(
        self, seed: int, folder: Path, at: datetime = START, zone: str = ZONE, home: str = USUAL_HOME
    ) -> None:
        self.seed = seed
        self.chance = random.Random(seed)
        self.folder = folder
        self.path = folder / "record.ebbwell"
        self.clock = SetClock(at, zone)
        self.ids = WatchedIds(SeededIds(seed))
        self.ledger = Ledger()
        self.counts: Counter[str] = Counter()
        self.log: list[str] = []
        self.boots = 1
        self.home = home
        self.script = script(home)
        self.place = 0
        self.away = START_OF_CHAIN
        self.tell: Callable[[str], None] | None = None
        self.house = self.open()

    def say(self, words: str) -> None:
        """Put a line in the log of steps."""
        line = f"{self.clock.now().at:%d %H:%M:%S} {words}"
        self.log.append(line)
        if self.tell is not None:
            self.tell(line)

    def open(self, faults: Any = None) -> WatchedHouse:
        """Open the store as a program that starts would."""
        house = WatchedHouse.open(self.path, self.clock, self.ids, faults)
        if not isinstance(house, WatchedHouse):
            raise TypeError("a watched house expected")
        house.ledger = self.ledger
        return house

    def reopen(self, faults: Any = None) -> None:
        """Open the store anew after it was closed or lost, and look that everything is there."""
        self.house = self.open(faults)
        self.ledger.check(self.house.store)
        check_state(self.house.state, self.house.store)

    def world(self) -> World:
        """The house as the model checker's tries take it."""
        return _Joined(self)

    def begin(self) -> None:
        """Move in and open a night."""
        HOMES[self.home].open_night(self.house, self.clock)

    def attempt(
        self, deed: Callable[..., None], by: str = BRAM, key: str | None = None, **inputs: Any
    ) -> str:
        """Do a deed as one would, questions answered "as typed". Gives "" or the key of what stood against it."""
        try:
            hands.play(self.house, hands.Move(deed, inputs), by=by, key=key)
        except Broken:
            raise
        except EbbwellError as why:
            self.say(f"{deed.__name__}: {why.key}")
            return why.key
        self.say(f"{deed.__name__} {_short(inputs)}")
        return ""

    def forward(self, moves: int) -> None:
        """The next moves of the usual set-up, one after the other, without looking; not past three refusals."""
        against = 0
        for wait, move in self.script[self.place : self.place + moves]:
            self.place += 1
            self.clock.pass_time(wait)
            against = against + 1 if self.attempt(move.deed, **move.inputs) else 0
            if against == 3:
                return

    def near(self) -> frozenset[str]:
        """Ids of the steps that are open now, and of those just done."""
        desk = self.house.look(by=BRAM)
        still = {v.step.id for v in desk.views.values() if v.missing and not v.waits_for}
        return frozenset(still | {move.step for _, move in self.script[max(0, self.place - 4) : self.place]})

    def right_move(self) -> bool:
        """One right move, from looking at the desk. False when nothing helps but waiting, or not even that."""
        desk = self.house.look(by=BRAM)
        move = hands.next_move(desk, hands.SET_UP) or mend(desk, self.chance)
        if move is None:
            wait = hands.waits(desk)
            if wait is None:
                return False
            self.clock.pass_time(max(wait, timedelta(seconds=1)))
            return True
        self.clock.pass_time(move.takes)
        return not self.attempt(move.deed, **move.inputs)

    def running(self) -> bool:
        """Whether blood has run tonight."""
        return first_blood(self.house.look(by=BRAM).treatment) is not None

    def set_up(self, most: int) -> bool:
        """Go on from wherever the night stands, by looking, until the gate is open. False when it doesn't get there."""
        for _ in range(most):
            desk = self.house.look(by=BRAM)
            if desk.phase is not Phase.SETTING_UP:
                return False
            if desk.gate_open:
                return True
            if not self.right_move():
                return False
        return False

    def look_closely(self) -> None:
        """What has to hold in any state: the gate by the second opinion, and coming off and stopping one deed away."""
        desk = self.house.look(by=BRAM)
        if desk.phase is Phase.SETTING_UP and desk.gate_open and desk.treatment_id is not None:
            entries = list(self.house.store.after(0))
            left = open_holds(
                entries, desk.procedure, self.clock.now(), self.house.store.writer, desk.treatment_id
            )
            if left:
                raise Broken(f"the gate is open: {', '.join(left)}")
        for deed in (comeoff.come_off, night.stop_now):
            try:
                self.house.do(only_try(deed), by="somebody")
            except Tried:
                continue
            except RecordError:
                raise
            except EbbwellError as why:
                raise Broken(f"{deed.__name__} is refused: {why}") from why

    def check_soon(self) -> None:
        """Look, so that what another program wrote is taken in, then check everything."""
        self.house.look(by=BRAM)
        self.check()

    def check(self) -> None:
        """Everything that has to hold of the store, whatever has happened."""
        self.ledger.check(self.house.store)
        check_chain(self.house.store)
        check_state(self.house.state, self.house.store)


class _Joined(World):
    """A carer's house as a world, where what comes from elsewhere is joined into a chain of its own."""

    def __init__(self, carer: Carer) -> None:
        super().__init__(carer.house, carer.clock)
        self.carer = carer

    def from_elsewhere(self, body: Body, *, strange_kind: str = "", back: timedelta = timedelta(0)) -> bool:
        """Merge an entry that another store of the household wrote about this treatment. True when it was new."""
        entry = written_elsewhere(
            self.house,
            self.desk.treatment_id,
            body,
            self.carer.away,
            strange_kind=strange_kind,
            back=back,
            salt=self.house.ids.salt(),
        )
        taken = self.house.take_in([entry])
        self.carer.away = (entry.seq, entry.hash)
        self.moved()
        return taken.new == 1


def mend(desk: Desk, chance: random.Random) -> hands.Move | None:
    """What a sure hand does about a disagreement, a barred step or a clock that isn't known: some of it again."""
    for held in desk.treatment.disagreements().values():
        ids = tuple(fact.id for fact in held)
        return hands.Move(record.settle, {"of": ids, "holds": chance.choice(ids), "reason": "looked again"})
    for view in desk.views.values():
        if view.step.gate != "connect" or view.status not in AGAIN:
            continue
        if view.status is Status.NOT_KNOWN and not desk.treatment.at_slot("answer", "clock_right"):
            return hands.Move(setup.answer, {"question": "clock_right", "answer": "yes"}, step=view.step.id)
        if view.step.evidence and not hands.rests(desk, view):
            return hands.for_evidence(desk, view.step, chance.choice(view.step.evidence))
    return None


def _short(inputs: Any) -> str:
    text = " ".join(
        f"{name}={value}" for name, value in inputs.items() if name not in ("lines", "values", "sure")
    )
    return text if len(text) <= 160 else text[:157] + "..."
