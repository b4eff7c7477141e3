"""A home in memory with a clock that is set, and the nights that the tests of controls need."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.findings import Finding
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, night, setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Asked, Desk, Done, Refused
from ebbwell.house import House
from ebbwell.journal.envelope import Entry
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, PRESCRIPTION, READING, ZONE, move_in

EVENING = datetime(2026, 4, 29, 17, 0, tzinfo=UTC)

MINUTE = timedelta(minutes=1)


@dataclass
class Home:
    """A household that has moved in: its clock, and its house over a store in memory."""

    clock: SetClock
    house: House

    def do(self, deed: Callable[..., None], /, *, by: str = BRAM, **inputs: Any) -> Done:
        """Do a deed, a few seconds later."""
        self.clock.pass_time(timedelta(seconds=5))
        return self.house.do(deed, by=by, **inputs)

    def look(self, by: str = BRAM) -> Desk:
        """How things stand."""
        return self.house.look(by=by)

    def status(self, step: str) -> Status:
        """Where a step stands."""
        return self.look().views[step].status

    def why(self, step: str) -> str:
        """What bars a step."""
        return self.look().views[step].why

    def bars(self) -> set[str]:
        """Steps and keys that keep connecting shut."""
        return {bar.step or bar.key for bar in self.look().bars}

    def entries(self) -> list[Entry]:
        """Everything in the store."""
        return list(self.house.store.after(0))

    def until(self, step: str) -> None:
        """Set up rightly until a step is the next thing to do."""
        for _ in range(400):
            desk = self.look()
            view = desk.views[step]
            if view.status is Status.OPEN and view.missing == view.step.evidence:
                return
            self.move(step)
        raise AssertionError(f"{step} never opens: {view.status} {view.waits_for}")

    def move(self, but: str = "") -> None:
        """The next right move, of any step but one."""
        desk = self.look()
        for view in desk.views.values():
            if view.step.id != but and view.step.stage in hands.SET_UP:
                move = hands.move_for(desk, view)
                if move is not None:
                    self.clock.pass_time(move.takes)
                    hands.play(self.house, move)
                    return
        wait = hands.waits(desk)
        if wait is None:
            raise AssertionError(f"nothing moves: {desk.bars}")
        self.clock.pass_time(max(wait, timedelta(seconds=1)))

    def pass_step(self, step: str) -> None:
        """Give one step what it asks for, rightly."""
        for _ in range(12):
            desk = self.look()
            view = desk.views[step]
            move = hands.move_for(desk, view)
            if move is None:
                return
            self.clock.pass_time(move.takes)
            hands.play(self.house, move)

    def set_up(self) -> None:
        """Set up until the gate is open."""
        hands.set_up(self.house, self.clock)

    def connected(self) -> None:
        """Set up and connect."""
        self.set_up()
        self.do(connect)

    def come_off(self, hours: float = 7.5) -> None:
        """Off the machine after so many hours, and safe."""
        self.clock.pass_time(timedelta(hours=hours))
        self.do(comeoff.come_off)
        self.do(comeoff.person_safe, sure=(comeoff.UNSAID,))

    def close(self) -> None:
        """Close the sheet; what was left out gets one reason."""
        self.pass_step("C12")
        self.pass_step("C16")
        desk = self.look()
        left = [v.step.id for v in desk.views.values() if v.step.gate == "close" and not v.passed]
        self.do(comeoff.close, because=dict.fromkeys(left, "not done in this test"))

    def whole_night(self) -> str:
        """One night from open to closed. Gives its treatment."""
        self.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
        self.connected()
        treatment = self.look().treatment_id
        assert treatment is not None
        self.do(night.read, values=dict(READING), when="start")
        self.come_off()
        self.close()
        return treatment

    def sheet(self, treatment: str | None = None) -> str:
        """The sheet as text, with its line breaks taken out."""
        chosen = treatment or self.look().treatment_id
        sheet = build_sheet(self.house.look(treatment=chosen), self.house.store.heads())
        return " ".join(sheet_text(sheet).split())

    def findings(self) -> set[str]:
        """Ids of the rules that speak tonight, those without data left out."""
        scene = self.look().scene
        return {f.rule for f in evaluate(scene.rulebook, scene.facts) if f.grade.value != "unknown"}


def moved_in(lines: Mapping[str, str] = PRESCRIPTION, *, seed: int = 1) -> Home:
    """The invented household with its prescription in force; no night is open."""
    clock = SetClock(EVENING, ZONE)
    ids = SeededIds(seed)
    house = House(MemoryStore(ids), clock, ids)
    move_in(house, clock, lines)
    return Home(clock, house)


def night_open(lines: Mapping[str, str] = PRESCRIPTION, *, seed: int = 1) -> Home:
    """The same with a night open."""
    home = moved_in(lines, seed=seed)
    home.do(setup.open_night)
    return home


def beside(home: Home, *, seed: int = 99) -> Home:
    """A second program with a store of its own that has taken in all of the first one's entries."""
    ids = SeededIds(seed)
    house = House(MemoryStore(ids), home.clock, ids, household=home.house.household)
    house.take_in(home.entries())
    return Home(home.clock, house)


@contextmanager
def refused(key: str) -> Iterator[None]:
    """A deed inside is refused with this key."""
    with pytest.raises(Refused) as caught:
        yield
    assert caught.value.key == key, caught.value


@contextmanager
def asked(key: str) -> Iterator[pytest.ExceptionInfo[Asked]]:
    """A deed inside asks first, with this question among what it asks."""
    with pytest.raises(Asked) as caught:
        yield caught
    assert key in [question.key for question in caught.value.questions]


def rules(findings: tuple[Finding, ...]) -> list[str]:
    """Ids of findings."""
    return [finding.rule for finding in findings]
