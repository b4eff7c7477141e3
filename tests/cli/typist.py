"""A person at the keyboard: reads the question on the screen and types the answer; time goes by while they wait."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from datetime import datetime, timedelta

from ebbwell.cli.session import Session
from ebbwell.core.clock import Clock, SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.procedure.load import load_procedure
from ebbwell.rulebook.load import load_rulebook
from ebbwell.sim.household import LOTS, PRESCRIPTION, READING, USUAL

Answer = str | list[str] | Callable[[str], str]


MOST = 900
"""Lines that a whole night may take; a walk that goes round in circles ends here."""


OPTION = re.compile(r"^  ?1  ", re.MULTILINE)
"""Where the first of a question's options stands."""


class Unasked(AssertionError):
    """The screen asks something that this typist has no answer for."""


class Typist(io.TextIOBase):
    """Standard input of a session. answers: part of a question to what is typed; a list is used up, its last stays.

    typed: what was typed so far. most: lines after which no more comes, as when the window is shut.
    """

    def __init__(self, out: io.StringIO, clock: SetClock, answers: dict[str, Answer]) -> None:
        self.out = out
        self.clock = clock
        self.answers = answers
        self.typed: list[tuple[str, str]] = []
        self.most: int | None = None
        self._seen = 0

    def readline(self, size: int = -1, /) -> str:
        text = self.out.getvalue()
        asked = text[self._seen :].removesuffix("> ")
        self._seen = len(text)
        if self.most is not None and len(self.typed) >= self.most:
            return ""
        if len(self.typed) > MOST:
            raise Unasked(f"no end after {MOST} lines; the last: {asked[-400:]}")
        self.clock.pass_time(timedelta(seconds=3))
        answer = self._answer(asked)
        self.typed.append((asked, answer))
        return "" if answer == "EOF" else answer + "\n"

    def _answer(self, asked: str) -> str:
        """The answer to the question that stands last; of two that fit there, the longer one's."""
        question = " ".join(OPTION.split(asked, maxsplit=1)[0].split())
        best, end = "", -1
        for part in self.answers:
            at = question.rfind(part)
            if at >= 0 and (at + len(part), len(part)) > (end, len(best)):
                best, end = part, at + len(part)
        if end < 0:
            raise Unasked(asked[-400:])
        found = self.answers[best]
        if isinstance(found, list):
            return found.pop(0) if len(found) > 1 else found[0]
        return found(" ".join(asked.split())) if callable(found) else found


NOT_HERE = ("S10b", "S18b", "S18c", "S28b", "S29d", "S30c", "S33c", "C5b", "C7b", "C10b")
"""Steps of other homes: their questions are worded like those of this one, their answers differ."""


def words(key: str) -> str:
    """The words of a key as they stand on the screen, up to the first thing filled in."""
    return say(key).partition("{")[0].strip()


def _pressed(clock: SetClock, key: str) -> Callable[[str], str]:
    """Minutes of bleeding, typed once they have passed."""

    def answer(_: str) -> str:
        clock.pass_time(timedelta(minutes=float(USUAL[key])))
        return USUAL[key]

    return answer


def usual_answers(clock: SetClock) -> dict[str, Answer]:
    """What a carer types on a usual night of the invented household."""
    from ebbwell.cli.walk.prescribe import line_question
    from ebbwell.cli.walk.reading import READING_ORDER, field_label
    from ebbwell.deeds.desk import Desk

    book, procedure = load_rulebook(), load_procedure()
    found: dict[str, Answer] = {}

    class _Book:
        rulebook = book

    desk: Desk = _Book()  # type: ignore[assignment]
    for line in book.lines():
        found[line_question(line)] = PRESCRIPTION.get(line.id, "")
    for step in procedure.steps:
        if step.id in NOT_HERE:
            continue
        for evidence in step.evidence:
            name = evidence.name
            if evidence.form in ("choice", "answer"):
                kind = "choice" if evidence.form == "choice" else "ask"
                right = (step.wants.get(name) or step.options[name])[0]
                found[say(f"{kind}.{name}")] = say(f"option.{name}.{right}")
            elif evidence.form == "measured":
                key = f"{name}@{evidence.place}" if evidence.place else name
                found[field_label(desk, name, evidence.place)] = (
                    _pressed(clock, key) if name == "bleeding_minutes" else USUAL.get(key, "")
                )
    for name in READING_ORDER:
        found.setdefault(field_label(desk, name), READING.get(name, "0.4"))
    found[field_label(desk, "treatment_minutes")] = "450"
    found[field_label(desk, "fluid_removed")] = "2.3"
    found["for fluid removed so far."] = "2.3"
    settings = {
        **PRESCRIPTION,
        "fluid_to_remove": "2.3",
        "removal_rate": "307",
        "heparin_rate_ml": "0.9",
    }
    for name in settings:
        key = f"setting.{name}"
        if key in {f"setting.{e.name}" for s in procedure.steps for e in s.evidence if e.form == "setting"}:
            found[f"{words('walk.setting')} {say(key)}"] = settings[name]
    lots = {"chlorine_test": ("CT-1", "CT7712"), "tubing": ("T-H2", "T6605"), **LOTS}
    state = {"item": ""}

    def code() -> str:
        return lots.get(state["item"], ("X-1", "X1"))[0]

    for step in procedure.steps:
        for evidence in step.evidence:
            if evidence.form == "lot":
                item = evidence.name
                asked = f"{words('walk.lot')} {say(f'item.{item}')} {say('walk.lot_code_ask')}"

                def take(_: str, item: str = item) -> str:
                    state["item"] = item
                    return code()

                found[asked] = take
    found[say("walk.lot_lot_ask")] = lambda _: lots.get(state["item"], ("", "L-77"))[1]
    found[say("walk.lot_expiry_ask")] = "2027-06"
    found[say("walk.lot_intact_ask")] = "yes"
    found["Keep it as that one? If not, pick another."] = "keep"
    found["Heparin stops before the end [min] (Enter"] = "60"

    def wait(_: str) -> str:
        clock.pass_time(timedelta(minutes=5))
        return ""

    def ready(_: str) -> str:
        clock.pass_time(timedelta(seconds=25))
        return ""

    looked: dict[str, datetime] = {}

    def run(asked: str) -> str:
        """The next thing while there is one; then sleep until morning."""
        if " 1 S3" in asked:
            return "1"
        if "waited" not in looked:
            looked["waited"] = clock.now().at
            clock.pass_time(timedelta(minutes=6))
            return "tonight"
        clock.pass_time(timedelta(hours=7))
        return "Coming off now"

    found["Press Enter to look again."] = wait
    found[say("walk.enter_when_ready")] = ready
    found |= {
        "first.zone": "",
        words("first.zone_offered"): "Europe/Dublin",
        say("first.household"): "Saltmarsh Row",
        say("first.tanks"): "1",
        say("first.person"): "Ilka Venn",
        say("first.carer"): "Bram Venn",
        say("first.another"): ["yes", "no"],
        say("first.role"): "1",
        say("first.name"): "Tove Sallow",
        say("walk.who"): "Bram Venn",
        say("walk.order_number"): "3",
        say("walk.order_giver"): "Northmere Kidney Unit, the home team",
        say("walk.order_valid_from"): "2026-04-29",
        say("walk.second_how"): "2",
        say("walk.second_who"): "Tove Sallow",
        say("walk.photo_name"): "photo 1",
        say("walk.what_now"): "1",
        say("walk.paper_number"): "3",
        say("walk.tick"): "1",
        say("walk.start"): "1",
        say("walk.method"): "meter",
        say("walk.plan_drink"): "0.2",
        say("walk.plan_saline"): "0",
        say("walk.plan_losses"): "0",
        say("walk.plan_start"): "",
        say("walk.plan_leaves"): "",
        say("walk.plan_agree"): "yes",
        say("walk.connect"): "1",
        say("walk.night_running"): run,
        "First heparin dose [units]": "1500",
        "Saline used to give the blood back [L]": "0.3",
        say("walk.pump_stopped"): "",
        say("walk.blood_back"): "all",
        say("walk.agent"): "heat",
        say("walk.clean_ended"): "",
        say("walk.clean_minutes"): "40",
        say("walk.when"): "",
        say("walk.close_words"): "",
        "Leftover disinfectant": "Negative",
    }
    return {part: answer for part, answer in found.items() if part}


def session(clock: SetClock, answers: dict[str, Answer], home: str, seed: int = 7) -> tuple[Session, Typist]:
    """A session whose keyboard is a typist, on a clock that is set."""
    out, err = io.StringIO(), io.StringIO()
    typist = Typist(out, clock, answers)

    def give_clock(zone: str) -> Clock:
        return clock

    made = Session(
        stdin=typist,
        out=out,
        err=err,
        environ={"EBBWELL_HOME": home, "TZ": "Europe/Dublin", "HOME": home},
        clock=give_clock,
        ids=SeededIds(seed, start_ms=round(clock.now().at.timestamp() * 1000)),
    )
    return made, typist


def evening(at: datetime) -> SetClock:
    """The set clock of the invented household."""
    return SetClock(at, "Europe/Dublin", boot="test")
