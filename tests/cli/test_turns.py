"""The words and choices of a night that doesn't go as usual: not tonight, samples, off and on, a new set, by hand."""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import night as deeds
from ebbwell.deeds.connect import connect
from ebbwell.house import House
from ebbwell.journal.kinds.bedside import BloodByHand
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.journal.kinds.night import Event, Given, NewSet, Off
from ebbwell.sim import hands
from ebbwell.sim.homes import HOMES, USUAL_HOME, Home
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


LOW = "catheter, low molecular heparin"


def _running_with(clock: SetClock, home: str, name: str = LOW, **lines: str) -> None:
    """Blood runs at a home of the list; what came before was done by other hands."""
    there = HOMES[name]
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


def _in_the_night(clock: SetClock, home: str) -> str:
    """What the keyboard shows at the menu of the night."""
    answers = usual_answers(clock)
    answers[say("walk.night_running")] = "leave"
    answers[say("walk.night_paused")] = "leave"
    return " ".join(night(clock, answers, home).out.getvalue().split())


def _stop_in(text: str) -> tuple[str, str]:
    found = re.search(r"The pump stops at (\d\d:\d\d), in ([^.]+)\.", text)
    assert found is not None, text
    return found[1], found[2]


@pytest.mark.source(
    "arithmetic",
    detail="7.5 h with a stop 60 min before the end: 6 h 30 min after first blood; 20 min off move it by 20 min; "
    "2 h of 0.9 mL/h are 1.8 mL",
)
def test_the_stop_of_the_heparin_pump_is_shown_and_moves_with_the_end(clock: SetClock, home: str) -> None:
    _running_with(clock, home, USUAL_HOME)
    record = Path(home) / "record.ebbwell"
    start = clock.now().at
    zone = ZoneInfo("Europe/Dublin")

    def at(minutes: int) -> str:
        return f"{(start + timedelta(minutes=minutes)).astimezone(zone):%H:%M}"

    clock.pass_time(timedelta(hours=2))
    text = _in_the_night(clock, home)
    assert "By now the pump should have given 1.80 mL" in text
    assert _stop_in(text)[0] == at(390)
    with House.open(record, clock, SeededIds(6), create=False) as house:
        house.do(deeds.go_off, by=BRAM)
        clock.pass_time(timedelta(minutes=10))
    assert _stop_in(_in_the_night(clock, home))[0] == at(400), "while off it moves with the clock"
    clock.pass_time(start + timedelta(minutes=140) - clock.now().at)
    with House.open(record, clock, SeededIds(7), create=False) as house:
        house.do(deeds.go_on, by=BRAM)
    assert _stop_in(_in_the_night(clock, home))[0] == at(410)
    clock.pass_time(timedelta(minutes=290))
    text = _in_the_night(clock, home)
    assert f"The pump was to stop at {at(410)}, 20 min ago. Look: has it stopped?" in text


@pytest.mark.parametrize("name", [LOW, "fistula, no heparin, liquid, a chemical used"])
def test_without_a_heparin_pump_the_keyboard_speaks_of_none(clock: SetClock, home: str, name: str) -> None:
    _running_with(clock, home, name)
    clock.pass_time(timedelta(hours=2))
    text = _in_the_night(clock, home)
    assert say("heparin.now.title") not in text
    assert "The pump stops" not in text


@pytest.mark.hazard("H29")
def test_a_strength_that_is_none_is_asked_for_again_at_the_keyboard(clock: SetClock, home: str) -> None:
    field = "Heparin strength [units/mL]"
    answers = up_to(clock, home, field)
    answers[field] = ["1 mL", "5,000", "1000 units", "leave"]
    text = " ".join(night(clock, answers, home).out.getvalue().split())
    assert "1 mL is no strength. Read how many units each mL holds, and type that number." in text
    assert "5,000 can be read two ways: 5 or 5000." in text
    assert "1000 units is no strength." in text
    house, desk = look(home, clock)
    with house:
        assert not desk.treatment.at_slot("measured", "heparin_strength", "")


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "arithmetic",
    detail="5 h and a little: 0.9 mL/h x 5 h = 4.5 mL; mL x 5,000 = units; 1.5 mL x 5,000 = 7,500; both together",
)
def test_another_strength_found_in_the_night_is_typed_with_fix_and_counted(
    clock: SetClock, home: str
) -> None:
    _running_with(clock, home, USUAL_HOME)
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(6), create=False) as house:
        house.do(deeds.give, by=BRAM, what="heparin_first_dose", typed="1500", unit="units")
    clock.pass_time(timedelta(hours=5))

    def which(asked: str) -> str:
        found = re.search(r"(\d+) \d\d:\d\d heparin strength: 1000", asked)
        more = re.search(r"(\d+) " + say("walk.fix_more", count=0).partition("0")[0].strip(), asked)
        chosen = found or more
        assert chosen is not None, asked
        return chosen[1]

    answers = usual_answers(clock)
    answers[say("walk.night_running")] = ["fix", "leave"]
    answers[say("walk.fix_which")] = which
    answers[say("walk.fix_how")] = "1"
    answers[say("walk.fix_new")] = "5000"
    answers[say("walk.fix_reason")] = "the vial in the bin says 5000"
    text = " ".join(night(clock, answers, home).out.getvalue().replace("\u00a0", " ").split())
    assert "Counted with 5000 units/mL, as the vial was read. The order is for 1000." in text
    pumped = re.search(r"given (4\.5\d) mL, which is (\d\d) (\d{3}) units", text)
    summed = re.search(r"it was 7500 units\. Then it makes (\d\d) (\d{3}) units in all by now", text)
    assert pumped is not None, text
    assert summed is not None, text
    units = int(pumped[2] + pumped[3])
    assert abs(Decimal(pumped[1]) * 5000 - units) <= 25, "the mL are shown with two places"
    assert int(summed[1] + summed[2]) == units + 7500
    assert "Nobody measured these units. Call your unit now." in text
