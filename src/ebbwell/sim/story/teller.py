"""The teller: plays nights and days of the story through the house's own deeds, on a clock that is set."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping
from datetime import datetime, timedelta
from decimal import ROUND_FLOOR, Decimal
from pathlib import Path
from typing import Any

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.numbers import plain
from ebbwell.deeds import comeoff, night, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Asked, Done
from ebbwell.house import House
from ebbwell.journal.kinds.orders import Plan
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.procedure.evidence import most_by_cap, number_in
from ebbwell.sim.hands import Move
from ebbwell.sim.household import BRAM, LOTS, ZONE
from ebbwell.sim.story import cupboard
from ebbwell.sim.story.calendar import FIRST_DAY, Eve, instant
from ebbwell.sim.story.moves import Part, usual_moves
from ebbwell.sim.story.usual import RINSE_BACK, SEED, Night, usual_night

OPENS = timedelta(minutes=78)
"""How long before first blood a night is opened. Invented."""
WEIGHS = timedelta(minutes=24)
NEEDLES = timedelta(minutes=8)
LOOKS = {"start": 2, "min5": 5, "min15": 15}
"""Reading to its minutes after first blood."""
DRINK_AT, WAKING, LAST_READING = 70, 35, 3
"""Minutes after first blood of the drink; minutes before the end of waking, and of the last reading."""
STANDS_UP = {"sitting": 10, "standing": 12}
"""Reading to its minutes after the end."""
RINSE_MINUTES, NEEDLES_OUT = 8, 14
"""Minutes after the end at which the blood is back, and at which the needles are out."""
LEAST_CHLORINE = 2
"""What a new carbon tank lets through [0.01 mg/L]."""
DISINFECTS = timedelta(minutes=95)
"""How long after coming off the machine has been disinfected."""
SHOWN_PLACES = {"fluid_to_remove": 2, "removal_rate": 0}
"""Setting to the decimals that the machine shows."""


class Teller:
    """House, clock and what is remembered from night to night. Raises the deeds' refusals: a story has none by chance.

    path: of the store to write to; without it the entries are kept in memory, the same ones with the same hashes.
    weight: what the scale said after the last night [kg]. number: of the prescription in force. asked: key of a
    question to how often it was answered "as typed". nights: day to treatment id. carbon_nights: nights that the first
    carbon tank has stood; carbon_lasts: nights after which 0.01 mg/L more gets through. called_off: days on which
    nothing ran.
    """

    def __init__(self, path: Path | None = None) -> None:
        starts = instant(FIRST_DAY, 9)
        self.clock = SetClock(starts, ZONE, boot="story-1")
        ids = SeededIds(SEED, start_ms=round(starts.timestamp() * 1000))
        if path is None:
            self.house = House(MemoryStore(ids), self.clock, ids)
        else:
            self.house = House.open(path, self.clock, ids)
        self.weight: Decimal | None = None
        self.number = ""
        self.asked: Counter[str] = Counter()
        self.nights: dict[str, str] = {}
        self.called_off: list[str] = []
        self.carbon_nights, self.carbon_lasts = 0, 4

    def until(self, at: datetime) -> None:
        """Let time pass up to an instant; nothing when it is past."""
        wait = at - self.clock.now().at
        if wait > timedelta():
            self.clock.pass_time(wait)

    def do(self, deed: Callable[..., None], by: str = BRAM, **inputs: Any) -> Done:
        """One deed; a question is answered "as typed"."""
        try:
            return self.house.do(deed, by=by, **inputs)
        except Asked as asked:
            keys = tuple(q.key for q in asked.questions)
            self.asked.update(keys)
            return self.house.do(deed, by=by, **{**inputs, "sure": keys})

    def usual(self, eve: Eve) -> Night:
        """The usual night of an eve, to be changed or played."""
        self.carbon_nights += 1
        chlorine = LEAST_CHLORINE + self.carbon_nights // self.carbon_lasts
        return usual_night(eve, self.weight, chlorine)

    def play(self, of: Night) -> None:
        """A whole night, from opening to the closed sheet."""
        self.set_up(of)
        self.run(of)
        self.come_off(of)
        self.close(of)

    def open(self, of: Night) -> None:
        """Open the night."""
        self.until(of.first_blood - OPENS)
        self.do(setup.open_night, by=of.by("questions"))
        opened = self.house.look().treatment_id
        self.nights[of.eve.day.isoformat()] = opened or ""

    def set_up(self, of: Night) -> None:
        """From opening to first blood."""
        self.open(of)
        self.walk(of, "questions")
        self.walk(of, "setup")
        self.until(of.first_blood - WEIGHS)
        self.walk(of, "before_needles")
        self.until(of.first_blood - NEEDLES)
        self.walk(of, "needles")
        self.until(of.first_blood)
        self.do(connect, by=of.by("connect"))

    def run(self, of: Night) -> None:
        """From first blood until shortly before the end."""
        self.first_hour(of)
        if of.small is not None:
            minutes, (what, words, done) = of.small
            self.until(of.first_blood + timedelta(minutes=minutes))
            self.do(night.note_event, by=of.by("run"), what=what, words=words, done=done)
        self.read(of, "waking", of.minutes - WAKING, by=of.by("run"))

    def first_hour(self, of: Night) -> None:
        """The looks of the first hour, the heparin, and the drink before sleep."""
        self.walk(of, "settle")
        self.read(of, "min60", 60, by=of.by("run"))
        if of.drink:
            self.until(of.first_blood + timedelta(minutes=DRINK_AT))
            self.do(night.give, by=of.by("run"), what="drink", typed=str(int(of.drink * 1000)), unit="mL")

    def read(self, of: Night, when: str, minutes: int, by: str = BRAM) -> None:
        """A reading at so many minutes after first blood."""
        self.until(of.first_blood + timedelta(minutes=minutes))
        self.do(night.read, by=by, values=self.row(of, when), when=when)

    def end(self, of: Night) -> None:
        """The last reading with the pump running, and the end of the ordered time."""
        self.read(of, "before_off", of.minutes - LAST_READING, by=of.by("come_off"))
        self.until(of.end)

    def come_off(self, of: Night) -> None:
        """From the end of the ordered time to the person being safe."""
        self.end(of)
        self.walk(of, "come_off", skip=("C2",))
        self.do(comeoff.person_safe, by=of.by("come_off"))
        self.weight = Decimal(of.values["weight_after"])

    def close(self, of: Night, because: Mapping[str, str] | None = None) -> None:
        """Clean up and close the sheet."""
        self.until(of.end + DISINFECTS)
        self.walk(of, "after")
        self.do(comeoff.close, by=of.by("after"), because=because or {}, words=of.words.get("closed", ""))

    def walk(self, of: Night, stage: str, skip: Collection[str] = (), before: str = "") -> None:
        """The usual moves of a stage with tonight's figures. skip: ids of steps left out; before: the step to end at."""
        parts = [part for part in usual_moves()[stage] if part.move.step not in skip]
        steps = [part.move.step for part in parts]
        if before:
            parts = parts[: steps.index(before)]
        for place, part in enumerate(parts):
            name = part.evidence.name if part.evidence is not None else ""
            if stage == "settle" and name in LOOKS:
                self.until(of.first_blood + timedelta(minutes=LOOKS[name]))
            else:
                self.clock.pass_time(part.wait * of.pace)
            if name in STANDS_UP and not of.paper:
                self.until(of.end + timedelta(minutes=STANDS_UP[name]))
            if name == "bleeding_minutes":
                pressed = int(of.values["bleeding_minutes@venous"])
                self.until(of.end + timedelta(minutes=NEEDLES_OUT + pressed))
            move = self.fill(of, part)
            by = of.second_by if part.evidence is None and of.second_by else of.by(stage)
            self.do(move.deed, by=by, **move.inputs)
            following = parts[place + 1].move.step if place + 1 < len(parts) else ""
            if following != part.move.step and part.move.step in of.then:
                of.then[part.move.step]()

    def removed(self, of: Night) -> Decimal:
        """What the machine took by the end [L]."""
        return self.planned("fluid_to_remove", Decimal("0.01")) * of.minutes / 450 - of.short

    def planned(self, figure: str, step: Decimal) -> Decimal:
        """A figure of tonight's plan, rounded to a step; down where the nearest one is over the cap."""
        desk = self.house.look(by=BRAM)
        plan = desk.treatment.last("plan")
        if plan is None or not isinstance(plan.body, Plan):
            raise RuntimeError("no plan was agreed")
        value = number_in(plan.body.figures[figure])
        if value is None:
            raise RuntimeError(f"the plan has no figure for {figure}")
        most, nearest = most_by_cap(desk.scene.order, figure), value.quantize(step)
        over = most is not None and value <= most < nearest
        return value.quantize(step, ROUND_FLOOR) if over else nearest

    def row(self, of: Night, when: str, at: datetime | None = None) -> dict[str, str]:
        """A row of values as they are now, or were at an earlier time."""
        share = min(
            max(((at or self.clock.now().at) - of.first_blood) / timedelta(minutes=of.minutes), 0.0), 1.0
        )
        removed = (self.removed(of) * Decimal(round(share * 450)) / 450).quantize(Decimal("0.01"))
        return of.row(when, removed, share)

    def fill(self, of: Night, part: Part) -> Move:
        """A usual move with tonight's figures in it."""
        move, evidence = part.move, part.evidence
        inputs = {name: value for name, value in move.inputs.items() if name != "instead_of"}
        if evidence is None:
            inputs["values"] = {name: of.values[name] for name in inputs["values"]}
            if "photo" in inputs:
                inputs["photo"] = f"{of.eve.day.isoformat()}-{move.step}"
            if of.second_by:
                inputs |= {"how": "person", "photo": ""}
            return Move(move.deed, inputs, step=move.step)
        form, name = evidence.form, evidence.name
        key = f"{name}@{evidence.place}" if evidence.place else name
        if form == "measured":
            inputs["typed"] = self._measured(of, key)
            if "lot" in inputs:
                inputs["lot"] = cupboard.lot("chlorine_test", of.eve.day)[0]
        elif form == "setting" and name in SHOWN_PLACES:
            inputs["typed"] = str(self.planned(name, Decimal(1).scaleb(-SHOWN_PLACES[name])))
        elif form == "lot":
            lot, expiry = cupboard.lot(name, of.eve.day)
            inputs |= {"code": LOTS[name][0], "lot": lot, "expiry": expiry}
        elif form == "readback":
            inputs["version_read"] = self.number
        elif form == "plan":
            inputs |= {"drink": plain(of.drink), "start_at": of.first_blood}
        elif form == "reading":
            inputs["values"] = self.row(of, name, of.paper.get(name))
        elif form == "answer":
            inputs |= {"answer": of.answers.get(name, inputs["answer"]), "words": of.words.get(name, "")}
        elif form == "choice":
            inputs["option"] = of.choices.get(name, inputs["option"])
        elif form == "came_off":
            self.until(of.end + timedelta(minutes=RINSE_MINUTES))
            inputs["times"] = {
                "removal_ended": of.end,
                "pump_stopped": of.end,
                "rinse_back_ended": of.paper.get("blood_back", self.clock.now().at),
            }
        elif form == "disinfected":
            ended = self.clock.now().at
            inputs |= {"started_at": ended - timedelta(minutes=40), "ended_at": ended}
        if key in of.paper:
            inputs["at"] = of.paper[key]
        return Move(move.deed, inputs, step=move.step)

    def _measured(self, of: Night, key: str) -> str:
        if key == "treatment_minutes":
            return str(of.minutes)
        if key == "fluid_removed":
            return f"{self.removed(of):.2f}"
        if key == "weight_after":
            should = Decimal(of.values["weight_before"]) - self.removed(of) + RINSE_BACK + of.drink
            of.values[key] = str((should + of.off_target).quantize(Decimal("0.1")))
        return of.values[key]
