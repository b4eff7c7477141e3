"""The words and choices of a night that doesn't go as usual: not tonight, samples, off and on, a new set, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.journal.kinds.bedside import BloodByHand
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.journal.kinds.night import Event, Given, NewSet, Off
from ebbwell.sim import hands
from ebbwell.sim.homes import HOMES, Home
from ebbwell.sim.household import BRAM
from ebbwell.state.again import rounds
from ebbwell.state.night import Phase
from ebbwell.state.samples import samples
from tests.cli.test_night import look, night, up_to
from tests.cli.typist import usual_answers

GAUGES = say("choice.filter_gauges")
"""A question of the set-up at which a word is typed."""


@pytest.fixture
def home(tmp_path: Path) -> str:
    """The data folder of one test."""
    return str(tmp_path / "home")


def test_not_tonight_is_one_word_and_the_person_takes_it_back(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = ["not tonight", "feels", "my note", "call", "leave"]
    answers[say("walk.stopped_before")] = say("walk.after_all")
    answers[say("walk.after_all_who")] = "Ilka Venn"
    answers[say("walk.symptom")] = say("symptom.cramp")
    answers[say("walk.symptom_words")] = "left calf"
    answers[say("walk.sheet_note")] = "tired, but I will"
    text = " ".join(night(clock, answers, home).out.getvalue().split())
    assert say("walk.not_tonight_kept") in text
    assert say("first.no_number") in text
    house, desk = look(home, clock)
    with house:
        assert desk.phase is Phase.SETTING_UP
        (said,) = desk.treatment.of("event")
        assert said.body == Event(what="cramp", symptom="cramp", words="left calf", said_by="person")
        assert len(desk.treatment.of("annotation")) == 1
        assert any(e.envelope.kind == "not_tonight" for e in desk.treatment)


def test_samples_are_marked_and_drawn(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = ["samples", "samples", "leave"]
    answers[say("walk.what_now")] = [say("walk.samples_due"), "2"]
    answers[say("walk.samples_when")] = say("sample_when.before")
    answers[say("walk.samples_which")] = "urea, potassium"
    answers[say("walk.samples_by")] = "the unit"
    answers[say("walk.sample_how")] = "1"
    answers[say("walk.sample_label")] = "12-7"
    answers[say("walk.when")] = ""
    text = " ".join(night(clock, answers, home).out.getvalue().split())
    assert say("sample.how.before") in text
    house, desk = look(home, clock)
    with house:
        views = samples(desk.treatment)
        assert [(v.sample, v.taken is not None) for v in views] == [("urea", True), ("potassium", False)]


def test_a_night_of_many_turns(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    turns = iter(
        [
            say("walk.medicine"),
            say("walk.off"),
            say("walk.new_set"),
            "by hand",
        ]
    )
    answers[say("walk.night_running")] = lambda asked: next(turns)
    answers[say("walk.night_paused")] = say("walk.on")
    answers[say("walk.medicine_what")] = "iron"
    answers[say("walk.how_much", what="iron")] = "100"
    answers[say("walk.given_unit", amount="100", what="iron")] = "mg"
    answers[say("walk.medicine_by")] = "the unit"
    answers[say("walk.when")] = ""
    answers[say("walk.why_off")] = "toilet"
    answers[say("walk.blood_while_off")] = "1"
    answers["Look again:"] = "1"
    answers[say("walk.why_new_set")] = say("why_new_set.leak")
    answers[say("walk.old_set_blood")] = "all"
    answers[say("walk.new_set_words")] = ""
    answers["Is there a new pack:"] = ["yes", "no", "later"]
    answers["Take it in your hand: blood tubing set Code on the label?"] = "T-H2"
    answers[say("walk.by_hand_why")] = say("why_by_hand.power")
    answers[say("walk.by_hand_start")] = ""
    answers[say("walk.by_hand_amount")] = "250"
    answers["Why is this still open?"] = "it was a long night"
    text = " ".join(night(clock, answers, home).out.getvalue().split())
    assert "The order says: First dose of heparin 1500 units" in text
    house, desk = look(home, clock)
    with house:
        treatment = desk.treatment
        given = [f.body for f in treatment.of("given") if isinstance(f.body, Given) and f.body.medicine]
        assert [(b.what, b.amount, b.unit, b.ordered_by) for b in given] == [
            ("iron", "100", "mg", "the unit")
        ]
        assert [f.body for f in treatment.of("off")] == [Off(words="toilet", blood="circulating")]
        (pause,) = rounds(treatment, "on_again")
        assert pause.ended is not None
        assert len(pause.said) == 9
        (changed,) = treatment.of("new_set")
        assert changed.body == NewSet(why="leak", blood_returned="all")
        lots = [f.body for f in treatment.of("lot_used") if isinstance(f.body, LotUsed)]
        assert [b.item for b in lots if b.new_set == changed.id] == ["tubing"]
        (by_hand,) = treatment.of("blood_by_hand")
        assert isinstance(by_hand.body, BloodByHand)
        assert by_hand.body.amount == "250"


def _running_with(clock: SetClock, home: str, **lines: str) -> None:
    """Blood runs at a home with one dose of low molecular heparin; what came before was done by other hands."""
    there = HOMES["catheter, low molecular heparin"]
    Path(home).mkdir(parents=True, exist_ok=True)
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(5), create=True) as house:
        Home({**there.lines, **lines}).open_night(house, clock)
        hands.set_up(house, clock)
        house.do(connect, by=BRAM)


@pytest.mark.source("fluids:3.4", detail="IU or mg as on the label, never converted; both stand side by side")
def test_a_ready_dose_is_typed_with_its_unit_its_time_and_its_line(clock: SetClock, home: str) -> None:
    _running_with(clock, home, low_molecular_dose="4000 IU at the start")
    answers = usual_answers(clock)
    answers[say("walk.night_running")] = lambda asked: "1" if " 1 S33" in asked else "leave"
    answers[say("web.marks.hint.low_molecular_dose")] = ["0.4 mL", "400 IU"]
    answers[say("walk.type_again")] = "4000 IU"
    answers[say("walk.when")] = ""
    answers[say("choice.given_into")] = say("option.given_into.arterial_line")
    typist = night(clock, answers, home)
    text = " ".join(typist.out.getvalue().split())
    assert "Low molecular heparin dose 4000 IU at the start" in text, "the order stands above the question"
    assert "You typed 0.4 mL. How many mL it is does not say how strong it is." in text
    assert "You typed 400 IU. The order says: 4000 IU at the start." in text
    house, desk = look(home, clock)
    with house:
        (fact,) = desk.treatment.of("given")
        assert isinstance(fact.body, Given)
        assert (fact.body.amount, fact.body.unit, fact.body.medicine) == ("4000", "IU", True)
        assert desk.views["S33c"].passed
