"""The played night: the invented household's evening of 29 April 2026, through the real deeds on a real store.

Nobody in it exists. The clock is set, not read, and time is told: nothing waits.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from ebbwell.core.clock import SetClock
from ebbwell.core.findings import Finding, Grade, say_finding, say_grade
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, night, plan, record, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Asked, Desk, Refused
from ebbwell.house import House
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.describe import describe
from ebbwell.papers.words import figure_value, figure_words, line_words, steps_words
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.model import Evidence, Step
from ebbwell.rulebook.typed import say_question
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, PRESCRIPTION, READING, USUAL, ZONE, move_in
from ebbwell.state.standing import people

STARTS: Final = datetime(2026, 4, 29, 16, 0, tzinfo=UTC)
"""17:00 in the household's zone. Source: scenario."""

OPENS: Final = datetime(2026, 4, 29, 20, 0, tzinfo=UTC)
FIRST_BLOOD: Final = datetime(2026, 4, 29, 21, 0, tzinfo=UTC)
SEED: Final = 29

TAKES: Final = timedelta(seconds=25)
"""How long a move takes here."""

VALUES: Final = {**USUAL, "treatment_minutes": "450", "fluid_removed": "2.30", "weight_after": "64.9"}

ROWS: Final = {
    "start": {"systolic": "136", "diastolic": "75", "venous_pressure": "112", "fluid_removed": "0.00"},
    "min5": {"systolic": "134", "diastolic": "74", "fluid_removed": "0.03"},
    "min15": {"systolic": "133", "diastolic": "74", "fluid_removed": "0.08"},
    "": {"systolic": "128", "diastolic": "71", "venous_pressure": "122", "fluid_removed": "0.31"},
    "before_off": {"systolic": "126", "diastolic": "70", "pulse": "68", "fluid_removed": "2.30"},
}
"""Readings by name: what differs from the usual row."""

LOOKS: Final = {"start": timedelta(minutes=3), "min5": timedelta(minutes=5), "min15": timedelta(minutes=15)}
"""Time after first blood of the first looks."""

POSTURES: Final = {
    "lying": {"systolic": "128", "diastolic": "71", "pulse": "68"},
    "sitting": {"systolic": "124", "diastolic": "70", "pulse": "72"},
    "standing": {"systolic": "121", "diastolic": "70", "pulse": "76"},
}

ORDER_SHOWN: Final = (
    "treatment_minutes",
    "target_weight",
    "blood_flow",
    "dialysate_flow",
    "removal_cap",
    "heparin_strength",
    "heparin_first_dose",
    "heparin_rate",
)

PLAN_SHOWN: Final = (
    "removal_volume",
    "cap_volume",
    "remains_after",
    "removal_rate",
    "heparin_rate_ml",
    "finish_at",
)


@dataclass(frozen=True)
class Told:
    """One thing that happened. at: on the set clock. kind: for a program. words: for people."""

    at: datetime
    kind: str
    words: str


class Demo:
    """The played night. ``play`` yields what happens; the house stays open for the sheet until ``close``."""

    def __init__(self, folder: Path) -> None:
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        self.path = folder / "record.ebbwell"
        self.clock = SetClock(STARTS, ZONE, boot="demo")
        ids = SeededIds(SEED, start_ms=round(STARTS.timestamp() * 1000))
        self.house = House.open(self.path, self.clock, ids)
        self._picked = 0
        self._settings = 0
        self._small: list[str] = []

    def close(self) -> None:
        """Let go of the store."""
        self.house.close()

    def play(self) -> Iterator[Told]:
        """The whole night, in order."""
        yield from self._order()
        yield from self._set_up()
        yield from self._run()
        yield from self._come_off()

    def _told(self, kind: str, words: str) -> Told:
        return Told(self.clock.now().at, kind, words)

    def _desk(self) -> Desk:
        return self.house.look(by=BRAM)

    def _until(self, at: datetime) -> None:
        wait = at - self.clock.now().at
        if wait > timedelta():
            self.clock.pass_time(wait)

    def _order(self) -> Iterator[Told]:
        move_in(self.house, self.clock)
        desk = self._desk()
        names = ", ".join(describe(body) for body in people(desk.standing).values())
        yield self._told("people", say("demo.people", names=names))
        lines = ", ".join(line_words(line, PRESCRIPTION[line]) for line in ORDER_SHOWN)
        count = len(PRESCRIPTION)
        yield self._told("prescription", say("demo.prescription", lines=lines, count=count))
        yield self._told("second_check", say("demo.second_check", count=count))

    def _set_up(self) -> Iterator[Told]:
        self._until(OPENS)
        self.house.do(setup.open_night, by=BRAM)
        yield self._told("opened", say("demo.opened"))
        yield from self._walk({"questions"})
        yield from self._too_early()
        yield from self._walk({"setup"})
        yield from self._slip()
        yield from self._walk({"before_needles"})
        yield from self._walk({"needles"})
        self._until(FIRST_BLOOD)
        self.house.do(connect, by=BRAM)
        met = sum(v.step.gate == "connect" and v.status is Status.MET for v in self._desk().views.values())
        yield self._told("connected", say("demo.connected", met=met))

    def _too_early(self) -> Iterator[Told]:
        """Connecting is tried before the water is tested: the gate says no, and why."""
        try:
            self.house.do(connect, by=BRAM)
        except Refused as why:
            shut = [bar.step for bar in why.bars if bar.step in ("S5", "S18", "S26")]
            steps = steps_words(self._desk().procedure, shut)
            words = say("demo.not_yet", count=len(why.bars), steps=steps)
            yield self._told("refused", words)

    def _slip(self) -> Iterator[Told]:
        """Two digits change places: the weight is asked about, and typed again."""
        self.clock.pass_time(TAKES)
        try:
            self.house.do(setup.measure, by=BRAM, quantity="weight_before", typed="56.3")
        except Asked as asked:
            question = say_question(asked.questions[0])
            yield self._told("asked", say("demo.asked", question=question, right=USUAL["weight_before"]))

    def _walk(self, stages: set[str]) -> Iterator[Told]:
        """Every step of some stages, told block by block."""
        block, steps, facts, found = "", dict[str, None](), list[str](), list[Finding]()
        while True:
            desk = self._desk()
            view = self._next(desk, stages)
            if view is None or view.step.block != block:
                small = not facts and not found and view is not None and not self._settings
                if steps and small:
                    self._small.append(say("demo.block", block=say(f"block.{block}"), steps=" ".join(steps)))
                elif steps:
                    yield self._block(block, list(steps), facts, found)
                block, steps, facts, found = "", dict[str, None](), [], []
            if view is None:
                wait = self._wait(desk, stages)
                if wait is None:
                    return
                self.clock.pass_time(max(wait, timedelta(seconds=1)))
                continue
            block = view.step.block
            steps[view.step.id] = None
            if view.missing and view.missing[0].name in LOOKS:
                self._until(FIRST_BLOOD + LOOKS[view.missing[0].name])
            move = self._move(desk, view)
            self.clock.pass_time(max(move.takes, TAKES))
            done = hands.play(self.house, move)
            found += done.findings
            facts += self._said(done.entries)
            if view.missing and view.missing[0].form == "plan":
                facts += self._plan()

    @staticmethod
    def _next(desk: Desk, stages: set[str]) -> StepView | None:
        shut = (Status.SHUT, Status.WAITING, Status.BARRED, Status.UNSETTLED)
        for view in desk.views.values():
            if view.step.stage in stages and not view.passed and view.status not in shut:
                return view
        return None

    @staticmethod
    def _wait(desk: Desk, stages: set[str]) -> timedelta | None:
        ends = [
            v.until - desk.now.at
            for v in desk.views.values()
            if v.step.stage in stages and v.status is Status.WAITING and v.until is not None
        ]
        return min(ends, default=None)

    def _move(self, desk: Desk, view: StepView) -> hands.Move:
        if view.status is Status.SECOND:
            return hands.second(desk, view)
        return self._give(desk, view.step, view.missing[0])

    @staticmethod
    def _give(desk: Desk, step: Step, evidence: Evidence) -> hands.Move:
        if evidence.form == "reading":
            row = POSTURES.get(evidence.name) or {**READING, **ROWS[evidence.name]}
            return hands.Move(night.read, {"values": row, "when": evidence.name}, step=step.id)
        if evidence.form == "plan":
            return hands.Move(plan.agree_plan, {"drink": "0.2", "start_at": FIRST_BLOOD}, step=step.id)
        return hands.for_evidence(desk, step, evidence, VALUES)

    def _said(self, entries: tuple[str, ...]) -> list[str]:
        """What was measured, opened or read a second time, in words; picked answers go untold."""
        treatment = self._desk().treatment
        facts = [treatment.fact(entry) for entry in entries]
        out = []
        self._picked += sum(fact is not None and fact.kind in ("answer", "choice") for fact in facts)
        for fact in facts:
            if fact is None or getattr(fact.body, "place", "") == "setting":
                self._settings += fact is not None
                continue
            if isinstance(fact.body, Reading):
                out.append(self._row(fact.body))
            elif isinstance(fact.body, Measured) or fact.kind == "given":
                out.append(describe(fact.body))
            elif isinstance(fact.body, LotUsed):
                out.append(say("demo.lot", item=say(f"item.{fact.body.item}"), lot=fact.body.lot))
            elif fact.kind == "second_check":
                out.append(say("demo.read_twice"))
        return out

    @staticmethod
    def _row(body: Reading) -> str:
        """A reading, short; the sheet has all of it."""
        value = body.values
        when = say(f"when.{body.when}") if body.when else say("demo.reading")
        both = f"{value['systolic']}/{value['diastolic']}"
        if body.when in POSTURES:
            return say("demo.row_lying", when=when, both=both, pulse=value["pulse"])
        return say(
            "demo.row",
            when=when,
            both=both,
            arterial=value["arterial_pressure"],
            venous=value["venous_pressure"],
            removed=value["fluid_removed"],
        )

    def _plan(self) -> list[str]:
        fact = self._desk().treatment.last("plan")
        figures: Mapping[str, str] = getattr(fact.body, "figures", {}) if fact is not None else {}
        return [f"{figure_words(n)} {figure_value(figures[n])}" for n in PLAN_SHOWN if n in figures]

    def _block(self, block: str, steps: list[str], facts: list[str], found: list[Finding]) -> Told:
        words = " ".join(
            [*self._small, say("demo.block", block=say(f"block.{block}"), steps=" ".join(steps))]
        )
        self._small = []
        if self._picked:
            facts = [*facts, say("demo.answers", count=self._picked)]
            self._picked = 0
        if self._settings:
            facts = [*facts, say("demo.settings", count=self._settings)]
            self._settings = 0
        if facts:
            words = f"{words} {'; '.join(facts)}."
        return self._told("steps", " ".join([words, *self._found(found)]))

    def _found(self, found: list[Finding]) -> list[str]:
        connected = bool(self._desk().treatment.of("connected"))
        grades = (Grade.STOP, Grade.CARE, Grade.NOTE)
        said = [
            f"{say_grade(f.grade, connected=connected)}: {say_finding(f)}"
            for f in found
            if f.grade in grades and f.fact
        ]
        return list(dict.fromkeys(said))

    def _do(self, kind: str, deed: Any, **inputs: Any) -> Told:
        done = hands.play(self.house, hands.Move(deed, inputs))
        fact = self._desk().treatment.fact(done.entries[0])
        words = describe(fact.body) if fact is not None else kind
        return self._told(kind, " ".join([words, *self._found(list(done.findings))]))

    def _run(self) -> Iterator[Told]:
        yield from self._walk({"settle"})
        self._until(FIRST_BLOOD + timedelta(hours=1))
        done = self.house.do(night.read, by=BRAM, values={**READING, **ROWS[""]})
        yield self._told("reading", " ".join([*self._said(done.entries), *self._found(list(done.findings))]))
        self._until(FIRST_BLOOD + timedelta(hours=4, minutes=10))
        yield self._do(
            "event",
            night.note_event,
            what=say("demo.event"),
            done=say("demo.event_done"),
        )
        self._until(FIRST_BLOOD + timedelta(minutes=446))

    def _put_right(self) -> Told:
        """A slip is corrected; both values stay."""
        self.clock.pass_time(timedelta(minutes=6))
        fact = self._desk().treatment.at_slot("measured", "weight_after", "")[0]
        self.house.do(
            record.correct,
            by=BRAM,
            of=fact.id,
            changes={"value": USUAL["weight_after"]},
            reason=say("demo.correct_reason"),
        )
        now = f"{USUAL['weight_after']} kg"
        return self._told("corrected", say("demo.corrected", was=f"{VALUES['weight_after']} kg", now=now))

    def _come_off(self) -> Iterator[Told]:
        yield from self._walk({"come_off"})
        yield self._put_right()
        self.house.do(comeoff.person_safe, sure=(comeoff.UNSAID,), by=BRAM)
        yield self._told("safe", say("demo.safe"))
        self.clock.pass_time(timedelta(hours=1, minutes=20))
        yield from self._walk({"after"})
        left = [v.step.id for v in self._desk().views.values() if v.step.gate == "close" and not v.passed]
        because = dict.fromkeys(left, say("demo.because"))
        self.house.do(comeoff.close, by=BRAM, because=because)
        yield self._told("closed", say("demo.closed"))
