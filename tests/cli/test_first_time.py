"""A first-time carer at the keyboard: names, words in the wrong place, leaving in the middle, the zone, help."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from ebbwell.cli.main import main
from ebbwell.cli.session import program_name
from ebbwell.core.clock import SetClock
from ebbwell.core.text import say
from ebbwell.journal.kinds.night import Reading
from ebbwell.journal.kinds.orders import Advice
from ebbwell.state.standing import household, people
from tests.cli.test_night import look, night, up_to
from tests.cli.typist import Answer, session, usual_answers, words

GAUGES = say("choice.filter_gauges")
"""A question of the set-up at which a word is typed."""


@pytest.fixture
def home(tmp_path: Path) -> str:
    """The data folder of one test."""
    return str(tmp_path / "home")


def on_screen(text: str) -> str:
    """What was printed, without line breaks and frames."""
    return " ".join(text.replace("## ", "").split())


@pytest.mark.parametrize("question", ["first.household", "first.tanks", "first.person", "first.carer"])
@pytest.mark.parametrize("word", ["back", "later", "skip", "not measured"])
def test_turning_words_at_the_first_questions_end_nothing(
    clock: SetClock, home: str, question: str, word: str
) -> None:
    answers = usual_answers(clock)
    right = answers[say(question)]
    assert isinstance(right, str)
    answers[say(question)] = [word, right]
    answers[say("walk.order_number")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    if (question, word) != ("first.tanks", "back"):
        key = "first.no_back" if word == "back" else "walk.answer_here"
        assert say(key) in text
    house, desk = look(home, clock)
    with house:
        assert [b.name for b in people(desk.standing).values()] == ["Ilka Venn", "Bram Venn", "Tove Sallow"]


def test_a_word_of_the_program_is_no_name(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("first.carer")] = ["note", "Fix.", "Bram Venn"]
    answers[say("first.household")] = ["tonight", "Saltmarsh Row"]
    answers[say("walk.order_number")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    for word in ("note", "Fix.", "tonight"):
        assert say("walk.name_is_word", word=word) in text
    house, desk = look(home, clock)
    with house:
        home_entry = household(desk.standing)
        assert home_entry is not None
        assert home_entry.name == "Saltmarsh Row"
        assert "note" not in [b.name for b in people(desk.standing).values()]


def test_a_name_typed_wrong_is_put_right_and_both_stay(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("first.carer")] = "Brem Venn"
    answers[say("first.another")] = ["names", "no"]
    answers[say("walk.names_which")] = "Brem Venn"
    answers[say("walk.names_new")] = "Bram Venn"
    answers[say("walk.fix_reason")] = "slip of the finger"
    answers[say("walk.order_number")] = "leave"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        assert [b.name for b in people(desk.standing).values()] == ["Ilka Venn", "Bram Venn"]
        names = [getattr(e.body, "name", "") for e in desk.standing]
        assert "Brem Venn" in names


@pytest.mark.hazard("H57")
def test_a_zone_typed_and_left_is_asked_for_again(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[words("first.zone_offered")] = "Europe/London"
    answers[say("first.household")] = "leave"
    night(clock, answers, home)
    answers = usual_answers(clock)
    answers[words("first.zone_offered")] = "Europe/London"
    answers[say("walk.order_number")] = "leave"
    second = night(clock, answers, home)
    assert [a for q, a in second.typed if "time zone" in q] == ["Europe/London"]
    house, desk = look(home, clock)
    with house:
        home_entry = household(desk.standing)
        assert home_entry is not None
        assert home_entry.zone == "Europe/London"
    third = on_screen(night(clock, answers, home).out.getvalue())
    assert "Clock of this home:" in third


def test_no_zone_is_told_before_one_is_known(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("first.household")] = "leave"
    night(clock, answers, home)
    made, typist = session(clock, answers, home)
    assert main(["tonight", "--json"], made) == 0
    assert json.loads(typist.out.getvalue())["zone"] is None


def test_stop_at_the_first_questions_says_what_it_did(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[words("first.zone_offered")] = ["stop", "?", "Europe/Dublin"]
    answers[say("first.carer")] = ["STOP!", "Bram Venn"]
    answers[say("walk.order_number")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("first.stop_unkept") in text
    assert say("why.zone") in text
    assert say("walk.stop_kept_alone") in text
    house, desk = look(home, clock)
    with house:
        assert [e.envelope.kind for e in desk.standing].count("stop") == 1
        assert "STOP!" not in [b.name for b in people(desk.standing).values()]


def test_help_at_the_first_questions_tells_why_and_lists_only_what_works(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("first.carer")] = ["?", "leave"]
    typist = night(clock, answers, home)
    shown = typist.typed[-1][0]
    assert " ".join(shown.split()).count(say("why.carer")) == 1
    assert say("word.stop") in shown
    for word in ("back", "later", "skip", "note", "event", "connect", "tonight"):
        assert say(f"word.{word}") not in shown


def test_help_at_the_prescription_tells_why(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Blood flow [mL/min]"] = ["?", "leave"]
    typist = night(clock, answers, home)
    shown = " ".join(typist.typed[-1][0].split())
    assert say("why.order_line") in shown
    assert say("word.back") in shown
    assert say("word.later") not in shown


@pytest.mark.hazard("H62")
def test_leaving_in_the_middle_names_what_was_not_kept(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = "event"
    answers[say("walk.event_what")] = "a fuse blew"
    answers[say("walk.event_done")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("walk.not_kept", what=say("walk.row.event")) in text
    assert say("walk.left") not in text
    house, desk = look(home, clock)
    with house:
        assert not desk.treatment.of("event")


def test_leaving_before_anything_was_answered_lost_nothing(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = "event"
    answers[say("walk.event_what")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("walk.left") in text


def test_the_command_to_go_on_is_the_one_that_works_here(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("walk.order_number")] = "leave"
    made, typist = session(clock, answers, home)
    made.program = ".venv/bin/ebbwell"
    assert main(["night"], made) == 0
    assert typist.out.getvalue().endswith(f"  EBBWELL_HOME={home} .venv/bin/ebbwell night\n")


def test_how_the_program_was_started(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("shutil.which", lambda _: None)
    assert program_name(".venv/bin/ebbwell") == ".venv/bin/ebbwell"
    assert program_name("/a b/ebbwell") == "'/a b/ebbwell'"
    monkeypatch.setattr("sys.executable", str(tmp_path / "bin/python"))
    assert program_name("/x/ebbwell/__main__.py") == f"{tmp_path}/bin/python -m ebbwell"
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin/ebbwell").touch()
    assert program_name("/x/ebbwell/__main__.py") == f"{tmp_path}/bin/ebbwell"
    monkeypatch.chdir(tmp_path)
    assert program_name("/x/ebbwell/__main__.py") == "bin/ebbwell"
    monkeypatch.setattr("shutil.which", lambda _: "/usr/bin/ebbwell")
    assert program_name("/usr/bin/ebbwell") == "ebbwell"


def test_words_for_help_are_all_there(clock: SetClock) -> None:
    from ebbwell.cli.walk.asides import HELP, WORDS

    assert set(WORDS) - {"?", "help", "stop now", "tonight after all"} <= set(HELP)
    for word in HELP:
        assert say(f"word.{word.replace(' ', '_')}")


def _night_is_running(clock: SetClock, home: str) -> dict[str, Answer]:
    """Blood runs, taken in by ``running``; gives the answers for going on."""
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = "running"
    answers[say("walk.night_running")] = "leave"
    night(clock, answers, home)
    return answers


def _rows(clock: SetClock, home: str) -> list[Reading]:
    house, desk = look(home, clock)
    with house:
        return [f.body for f in desk.treatment.of("reading") if isinstance(f.body, Reading)]


@pytest.mark.hazard("H38")
def test_what_cannot_be_read_at_a_doubt_is_asked_again_and_the_row_stays(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = ["A reading", "leave"]
    answers["Upper blood pressure [mmHg / kPa]"] = "82"
    answers["Lower blood pressure [mmHg / kPa]"] = "45"
    answers["Pulse [/min]"] = "110"
    answers["Arterial pressure [mmHg]"] = "90"

    def again(asked: str) -> str:
        return tries.pop(0) if "-90" in asked else re.findall(r"You typed ([0-9.]+) ", asked)[-1]

    answers[say("walk.type_again")] = again
    tries = ["--", "x", "-90"]
    typist = night(clock, answers, home)
    (row,) = _rows(clock, home)
    assert row.values["arterial_pressure"] == "-90"
    assert (row.values["systolic"], row.values["pulse"]) == ("82", "110")
    assert tries == []
    fields = [q for q, _ in typist.typed]
    doubt = next(n for n, q in enumerate(fields) if "minus" in q)
    assert "Arterial pressure [mmHg]" in fields[doubt - 1]


def test_both_pressures_may_be_typed_together(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = ["A reading", "leave"]
    answers["Upper blood pressure [mmHg / kPa]"] = "138/76"
    typist = night(clock, answers, home)
    (row,) = _rows(clock, home)
    assert (row.values["systolic"], row.values["diastolic"]) == ("138", "76")
    assert not any("Lower blood pressure" in q for q, _ in typist.typed)


@pytest.mark.source("arithmetic", detail="300 mL is 0.3 L")
def test_a_value_in_another_unit_is_said_back(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = ["A reading", "leave"]
    answers["Fluid removed so far [L / mL]"] = "300 mL"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("walk.taken", value="0.30 L") in text


def test_back_in_a_row_goes_to_the_field_before(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = ["A reading", "leave"]
    answers["Upper blood pressure [mmHg / kPa]"] = ["128", "138"]
    answers["Lower blood pressure [mmHg / kPa]"] = ["back", "76"]
    night(clock, answers, home)
    (row,) = _rows(clock, home)
    assert (row.values["systolic"], row.values["diastolic"]) == ("138", "76")


@pytest.mark.hazard("H38")
@pytest.mark.parametrize("word", ["later", "leave", "stop"])
def test_turning_away_from_a_row_keeps_what_was_typed(clock: SetClock, home: str, word: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = ["A reading", "leave"]
    answers[say("walk.what_now")] = "leave"
    answers[say("choice.end_reason")] = "leave"
    answers["Pulse [/min]"] = word
    night(clock, answers, home)
    (row,) = _rows(clock, home)
    assert dict(row.values) == {"systolic": "138", "diastolic": "76"}
    assert row.words == say("walk.row_broken_off")


@pytest.mark.hazard("H3")
def test_a_line_left_empty_first_is_asked_for_in_the_second_reading(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Venous pressure limit [mmHg]"] = ["", "200", "200"]
    answers[say("walk.what_now")] = "leave"
    typist = night(clock, answers, home)
    asked = [q for q, _ in typist.typed if "Venous pressure limit [mmHg]" in q]
    assert len(asked) == 3
    assert say("walk.not_on_paper") in on_screen(typist.out.getvalue())
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert (order.waiting, order.lines["venous_limit"]) == ((), "200")


@pytest.mark.hazard("H11")
def test_coming_off_is_walked_step_by_step_also_where_blood_was_found_running(
    clock: SetClock, home: str
) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = "Coming off now"
    answers[say("choice.sharps_count")] = "leave"
    typist = night(clock, answers, home)
    asked = " ".join(" ".join(q.split()) for q, _ in typist.typed)
    steps = ("C1", "C2", "C3", "C4", "C5", "C7", "C6", "C6b", "C8", "C9", "C10", "C11", "C12", "C13")
    places = [asked.find(f"] {step} ") for step in steps]
    assert -1 not in places
    assert places == sorted(places)


@pytest.mark.hazard("H56")
def test_after_stop_off_is_one_answer_away_and_the_steps_follow(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = "stop"
    answers[say("walk.blood_back")] = "part"
    answers[say("walk.what_now")] = ["1", "leave"]
    typist = night(clock, answers, home)
    at = next(n for n, (_, typed) in enumerate(typist.typed) if typed == "stop")
    assert say("walk.off_machine") in typist.typed[at + 1][0]
    assert say("walk.pump_stopped") in typist.typed[at + 2][0]
    text = on_screen(typist.out.getvalue())
    assert say("walk.blood_kept_out") in text
    assert text.index(say("walk.blood_kept_out")) < text.index("] C9 ")


@pytest.mark.hazard("H26")
@pytest.mark.source(
    "arithmetic", detail="70.0 - 64.5 + 0.2 + 0.3 = 6.0 L; 7 mL/kg/h x 64.5 kg x 7.5 h = 3.39 L fits"
)
def test_a_plan_over_the_cap_offers_what_can_be_done_and_no_yes(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Weight before [kg / lb]"] = "70.0"
    answers[say("walk.type_again")] = "70.0"
    plain = answers[say("walk.what_now")]
    assert isinstance(plain, str)
    seen: list[str] = []

    def now(asked: str) -> str:
        if say("walk.plan_refused_call") not in asked:
            return plain
        seen.append(asked)
        return ("call", say("walk.plan_refused_amounts"), say("walk.plan_refused_later"))[len(seen) - 1]

    answers[say("walk.what_now")] = now
    answers[f"{words('walk.setting')} {say('setting.heparin_rate_ml')}"] = "leave"
    typist = night(clock, answers, home)
    assert len(seen) == 3
    assert say("first.no_number") in seen[1]
    assert "3.38 L" in seen[0]
    assert not any(say("walk.plan_agree") in q for q, _ in typist.typed)
    house, desk = look(home, clock)
    with house:
        assert desk.phase.value == "setting_up"
        assert not desk.treatment.of("plan")


@pytest.mark.hazard("H26")
def test_what_the_unit_said_about_a_plan_over_the_cap_lets_it_be_agreed(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Weight before [kg / lb]"] = "70.0"
    answers[say("walk.type_again")] = "70.0"
    plain = answers[say("walk.what_now")]
    assert isinstance(plain, str)
    answers[say("walk.what_now")] = lambda asked: (
        say("walk.plan_refused_allowed") if say("walk.plan_refused_call") in asked else plain
    )
    answers[say("walk.advice_outcome")] = say("walk.advice_said")
    answers[say("walk.advice_who")] = ["4", "Nurse at the home team"]
    answers[say("walk.advice_words")] = "take what fits, the rest tomorrow"
    answers[say("walk.advice_allows")] = "yes"
    answers[f"{words('walk.setting')} {say('setting.treatment_minutes')}"] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("walk.no_name", typed="4") in text
    house, desk = look(home, clock)
    with house:
        (kept,) = desk.treatment.of("plan")
        assert getattr(kept.body, "figures", {})["fluid_to_remove"] == "3.38 L"


@pytest.mark.hazard("H5")
def test_a_setting_that_is_not_as_planned_is_named_with_both_figures(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Blood flow [mL/min]"] = ["230", "230", "330", "230"]
    heparin = f"{words('walk.setting')} {say('setting.heparin_rate_ml')}"
    answers[heparin] = ["back", "leave"]
    typist = night(clock, answers, home)
    text = on_screen(typist.out.getvalue().replace("| ", ""))
    assert "Blood flow: machine 330 mL/min, plan 230 mL/min." in text
    at = next(n for n, (_, typed) in enumerate(typist.typed) if typed == "back")
    assert "Blood flow" in typist.typed[at + 1][0]
    assert typist.typed[at + 1][1] == "230"
    house, desk = look(home, clock)
    with house:
        assert desk.views["S26"].passed


@pytest.mark.hazard("H56")
@pytest.mark.parametrize("typed", ["stop", "STOP!", "Stop now."])
def test_stop_typed_by_mistake_before_blood_is_taken_back_with_words(
    clock: SetClock, home: str, typed: str
) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = [typed, "leave"]
    answers[say("walk.stopped_before")] = say("walk.stop_mistake")
    answers[say("walk.stop_mistake_why")] = "meant the strip"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        assert desk.phase.value == "setting_up"
        assert [e.envelope.kind for e in desk.treatment].count("stop") == 1


@pytest.mark.hazard("H30")
@pytest.mark.source(
    "practice:b", detail="S0: chest pain or no breath at rest: the emergency number, no set-up"
)
def test_chest_pain_stops_the_questions_and_names_the_call(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    pain = say("ask.breathless_chest_pain")
    answers[pain] = "Yes"
    answers[say("walk.urgent")] = "leave"
    first = night(clock, answers, home)
    at = next(n for n, (q, _) in enumerate(first.typed) if pain in q)
    shown = on_screen(first.typed[at + 1][0])
    assert say("finding.chest_pain") in shown
    assert say("next.emergency_number") in shown
    assert say("first.no_number") in shown
    assert at + 2 == len(first.typed)
    answers[say("walk.urgent")] = say("walk.urgent_mistake")
    answers[say("walk.urgent_mistake_why")] = "hit the wrong key"
    answers[say("ask.ill")] = "leave"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        (fact,) = desk.treatment.at_slot("answer", "breathless_chest_pain")
        assert getattr(fact.body, "answer", "") == "no"


@pytest.mark.hazard("H30")
def test_chest_pain_is_passed_only_with_words_of_whoever_was_called(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("ask.breathless_chest_pain")] = "Yes"
    answers[say("walk.urgent")] = say("walk.urgent_said")
    said = say("walk.advice_said")
    answers[say("walk.advice_outcome")] = [
        say("walk.advice_no_answer"),
        say("walk.advice_not_called"),
        said,
        said,
    ]
    answers[say("walk.advice_called")] = "the ward"
    answers[say("walk.advice_own_words")] = ["rang for 5 minutes", ""]
    answers[say("walk.advice_who")] = "Nurse at the home team"
    answers[say("walk.advice_words")] = "seen by a doctor, go on"
    answers[say("walk.advice_allows")] = ["no", "yes"]
    answers[say("ask.ill")] = "leave"
    typist = night(clock, answers, home)
    assert [typed for _, typed in typist.typed].count(say("walk.urgent_said")) == 4
    assert say("walk.kept_call_open") in on_screen(typist.out.getvalue())
    house, desk = look(home, clock)
    with house:
        vain, none, *_ = (fact.body for fact in desk.treatment.of("advice"))
        assert vain == Advice(who="the ward", words="rang for 5 minutes", about=("S0",), outcome="no_answer")
        assert none == Advice(who="", words="", about=("S0",), outcome="not_called")


@pytest.mark.hazard("H30")
def test_an_answer_that_needs_the_unit_says_so_at_once(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("ask.fall")] = "Yes"
    answers[say("ask.operation")] = "leave"
    typist = night(clock, answers, home)
    assert say("next.call_unit") in on_screen(typist.typed[-1][0])


@pytest.mark.hazard("H24")
def test_a_pack_that_is_out_of_date_says_why_at_once_and_another_is_asked_for(
    clock: SetClock, home: str
) -> None:
    answers = usual_answers(clock)
    dates = ["2024-01", "2027-06"]
    answers[say("walk.lot_expiry_ask")] = lambda _: dates.pop(0) if len(dates) > 1 else dates[0]
    answers[say("choice.chlorine_kind")] = "leave"
    typist = night(clock, answers, home)
    text = on_screen(typist.out.getvalue())
    assert say("hold.lot.expired") in text
    packs = [q for q, _ in typist.typed if "chlorine test" in q and say("walk.lot_code_ask") in q]
    assert len(packs) == 2
    house, desk = look(home, clock)
    with house:
        assert [e.envelope.kind for e in desk.treatment].count("lot_used") == 2


def test_back_in_a_pack_goes_to_the_line_before(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("walk.lot_lot_ask")] = ["CT-WRONG", "CT7712"]
    answers[say("walk.lot_expiry_ask")] = ["back", "2027-06"]
    answers[say("choice.chlorine_kind")] = "leave"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        (pack,) = desk.treatment.of("lot_used")
        assert (getattr(pack.body, "code", ""), getattr(pack.body, "lot", "")) == ("CT-1", "CT7712")


@pytest.mark.source("arithmetic", detail="200 mL is 0.2 L")
def test_a_drink_may_be_typed_in_millilitres_and_help_tells_why(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("walk.plan_drink")] = ["?", "200 ml"]
    answers[say("walk.plan_losses")] = ["back", "0"]
    answers[say("walk.plan_saline")] = ["0.1", "0"]
    answers[say("walk.plan_agree")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("walk.taken", value="0.2 L") in text
    assert say("why.plan_drink") in text
    assert "Fluid to remove: 2.30 L" in text


@pytest.mark.hazard("H3")
def test_a_phone_order_finds_its_line_by_a_word_and_takes_no_number_for_a_name(
    clock: SetClock, home: str
) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = ["phone", "leave"]
    answers[say("walk.phone")] = "1"
    answers[say("walk.phone_which")] = "cap"
    answers[say("walk.phone_giver")] = ["4", "Nurse at the home team"]
    answers[say("walk.phone_lasts")] = "From now on"
    answers["Cap on fluid removal [mL/kg/h]"] = ["8", "8", "6", "8"]
    answers[say("walk.paper_number")] = "leave"
    typist = night(clock, answers, home)
    text = on_screen(typist.out.getvalue())
    assert "Taken: Cap on fluid removal" in text
    assert say("walk.no_name", typed="4") in text
    assert "Ask the unit, or look at what you wrote by hand" in text
    assert "from the paper a third time" not in text
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert (order.lines["removal_cap"], order.waiting) == ("8", ())


@pytest.mark.source("practice:a0", detail="heparin rate 0 to 3,000 units/h; as mL/h 0 to 5")
@pytest.mark.hazard("H29")
def test_so_few_units_that_they_are_likely_millilitres_are_asked_about(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Heparin rate [units/h]"] = ["0.9", "900"]
    answers[say("walk.type_again")] = "900"
    answers[say("walk.what_now")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert "0.9 is a figure as it is in mL/h. Look at the unit on the paper." in text
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert order.lines["heparin_rate"] == "900"


@pytest.mark.source("fluids:3.3", detail="1,000, 5,000 and 25,000 are all sold: second look if different")
@pytest.mark.hazard("H29")
def test_another_heparin_strength_by_phone_is_asked_about(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = ["phone", "leave"]
    answers[say("walk.phone")] = "1"
    answers[say("walk.phone_which")] = "Heparin strength"
    answers[say("walk.phone_giver")] = "Nurse at the home team"
    answers[say("walk.phone_lasts")] = "For tonight only"
    answers["Heparin strength [units/mL]"] = ["5000", "1000", "1000"]
    answers[say("walk.type_again")] = "1000"
    answers[say("walk.paper_number")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert "The order in force says 1000 units/mL." in text
    assert "would hold 5 times the heparin. Look at the paper." in text
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert order.lines["heparin_strength"] == "1000"


@pytest.mark.hazard("H2")
def test_a_line_for_tonight_only_at_the_keyboard(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = ["phone", "leave"]
    answers[say("walk.phone")] = "1"
    answers[say("walk.phone_which")] = "cap"
    answers[say("walk.phone_giver")] = "Nurse at the home team"
    answers[say("walk.phone_lasts")] = "For tonight only"
    answers["Cap on fluid removal [mL/kg/h]"] = ["8", "8", "8"]
    answers[say("walk.paper_number")] = "leave"
    typist = night(clock, answers, home)
    assert say("walk.phone_kept_tonight") in on_screen(typist.out.getvalue())
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert (order.lines["removal_cap"], order.alone) == ("8", {"removal_cap": "7"})
        assert (order.waiting, order.unconfirmed) == ((), ())


@pytest.mark.hazard("H3")
def test_the_paper_of_a_line_by_phone_is_kept_at_the_keyboard(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = ["phone", "leave"]
    answers[say("walk.phone")] = ["1", "The paper has come", "The paper has come"]
    answers[say("walk.phone_which")] = "cap"
    answers[say("walk.phone_giver")] = "Nurse at the home team"
    answers[say("walk.phone_lasts")] = "From now on"
    answers[say("walk.paper_giver")] = "Dr Ash"
    answers["Cap on fluid removal [mL/kg/h]"] = ["8", "8", "8", "7", "8"]
    answers[say("walk.paper_number")] = ["phone", "phone", "leave"]
    typist = night(clock, answers, home)
    text = on_screen(typist.out.getvalue())
    assert "you heard 8 mL/kg/h; the paper says 7 mL/kg/h" in text
    assert say("walk.paper_kept") in text
    assert "By phone from Nurse at the home team, taken down" in text.replace("| ", "")
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert (order.lines["removal_cap"], order.waiting, order.unconfirmed) == ("8", (), ())


def test_words_that_look_like_an_amount_are_asked_about(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Nights of the week"] = ["450 ml", "every other night"]
    answers[say("walk.type_again")] = "every other night"
    answers[say("walk.what_now")] = "leave"
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert say("walk.looks_like_amount", typed="450 ml", line="Nights of the week") in text
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert order.lines["pattern"] == "every other night"


@pytest.mark.source("arithmetic", detail="7:30 h is 450 min")
def test_a_converted_line_of_the_prescription_is_said_back(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Length of treatment [min] (or like 7:30)"] = ["7:30", "leave"]
    text = on_screen(night(clock, answers, home).out.getvalue())
    assert "Taken: 450 min" in text


def test_what_was_given_is_asked_with_its_unit(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = ["Something was given", "Something was given", "leave"]
    answers[say("walk.given_what")] = ["tea", "saline"]
    answers[say("walk.how_much", what="Tea")] = "150 mL"
    answers[say("walk.how_much", what="Saline")] = "100"
    answers[say("walk.given_unit", amount="100", what="Saline")] = "mL"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        given = [f.body for f in desk.treatment.of("given")]
        assert [(getattr(b, "amount", ""), getattr(b, "unit", "")) for b in given] == [
            ("150", "mL"),
            ("100", "mL"),
        ]


def test_fix_offers_older_entries_too(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("choice.syringe_air")] = ["fix", "leave"]
    picks = ["Older ones"]
    answers[say("walk.fix_which")] = lambda asked: picks.pop() if picks else "leave"
    typist = night(clock, answers, home)
    shown = [q for q, _ in typist.typed if say("walk.fix_which") in q]
    assert len(shown) == 2
    first, second = (set(re.findall(r"^ +\d+  \d\d:\d\d (.+)$", part, re.MULTILINE)) for part in shown)
    assert len(first) == len(second) == 12
    assert not first & second


def test_only_a_failed_test_is_told_to_wait(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("ask.fall")] = "Yes"
    answers[say("walk.barred")] = "leave"
    typist = night(clock, answers, home)
    shown = typist.typed[-1][0]
    assert say("walk.wait_then_again") not in shown
    assert say("walk.again") in shown


def test_after_off_by_stop_what_comes_after_off_is_asked_first(clock: SetClock, home: str) -> None:
    answers = _night_is_running(clock, home)
    answers[say("walk.night_running")] = "stop"
    answers[say("walk.what_now")] = ["1", "leave"]
    typist = night(clock, answers, home)
    asked = " ".join(" ".join(q.split()) for q, _ in typist.typed)
    assert "] C9 " in asked
    assert "] C2 " not in asked
    assert "C1 Is the time up?" in typist.typed[-1][0]


@pytest.mark.hazard("H62")
def test_a_prescription_typed_in_part_is_not_kept_beside_a_locked_record_and_that_is_told(
    clock: SetClock, home: str
) -> None:
    answers = usual_answers(clock)
    answers["Sodium [mmol/L]"] = "leave"
    made, typist = session(clock, answers, home)
    made.secret = lambda _: "salt marsh"
    assert main(["night", "--encrypt"], made) == 0
    assert say("walk.not_kept", what=say("walk.row.order")) in on_screen(typist.out.getvalue())


@pytest.mark.hazard("H60")
def test_a_part_of_an_option_is_taken_a_single_letter_never(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("first.another")] = ["y", "yes", "n", "no"]
    answers[GAUGES] = ["a", "As on"]
    answers[say("choice.softener_salt")] = "leave"
    typist = night(clock, answers, home)
    assert len([q for q, _ in typist.typed if say("first.another") in q]) == 4
    assert len([q for q, _ in typist.typed if GAUGES in q]) == 2


@pytest.mark.hazard("H11")
def test_found_running_names_a_few_steps_here_and_on_the_sheet_those_that_hurt_first(
    clock: SetClock, home: str
) -> None:
    answers = up_to(clock, home, GAUGES)
    answers[GAUGES] = "running"
    answers[say("walk.night_running")] = "leave"
    typist = night(clock, answers, home)
    shown = typist.typed[-1][0]
    assert len(re.findall(r"\bS\d+[a-z]? ", shown.split("Kept:")[0])) == 3
    house, desk = look(home, clock)
    with house:
        (fact,) = desk.treatment.of("already_running")
        holds = getattr(fact.body, "open_holds", ())
    assert say("walk.and_more_on_sheet", count=len(holds) - 3) in on_screen(shown)
    made, typist = session(clock, answers, home)
    assert main(["sheet"], made) == 0
    sheet = on_screen(typist.out.getvalue())
    assert "S25 " in sheet, "the air detector is among the first"
    assert re.search(r"and [0-9]+ more \(its entry names all\)", sheet)
