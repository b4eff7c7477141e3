"""A night typed at the keyboard: whole, broken off, with a failed test, a phone order, stop, and every word."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from ebbwell.cli.main import main
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.journal.errors import DiskFull
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import AlreadyRunning, Reading
from ebbwell.state.night import Phase
from tests.cli.typist import Answer, Typist, session, usual_answers, words

TANK1 = "Total chlorine, after tank 1 [mg/L]"


def look(home: str, clock: SetClock) -> tuple[House, Desk]:
    """The record as it lies, opened afresh; its newest treatment, ended or not."""
    house = House.open(Path(home) / "record.ebbwell", clock, SeededIds(99), create=False)
    newest = max(house.look().past.values(), key=lambda s: s.opened_at, default=None)
    return house, house.look(treatment=newest.treatment if newest is not None else None)


def night(clock: SetClock, answers: dict[str, Answer], home: str, most: int | None = None) -> Typist:
    """One sitting of ``ebbwell night``; it must end well, and keep to 80 columns and to the words."""
    made, typist = session(clock, answers, home, seed=len(home) + clock.now().mono % 9973)
    typist.most = most
    code = main(["night"], made)
    assert made.err.getvalue() == ""  # type: ignore[attr-defined]
    assert code == 0
    text = typist.out.getvalue()
    assert max(len(line) for line in text.splitlines() if home not in line) <= 80
    assert "\x1b" not in text
    for phrase in ("all clear", " OK", "safe to", "countdown"):
        assert phrase not in text
    return typist


@pytest.mark.source("arithmetic", detail="what is to be removed after the target weight changed by phone")
@pytest.mark.hazard("H2")
def test_a_whole_night_with_a_break_a_failed_test_and_a_phone_order(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[TANK1] = ["0.15", "0.03"]
    answers[say("walk.type_again")] = "0.15"
    answers[say("walk.barred")] = "1"
    answers[say("choice.medicines")] = ["phone", "As on the list"]
    answers[say("walk.phone")] = "1"
    answers[say("walk.phone_which")] = "Target weight"
    answers[say("walk.phone_giver")] = "Nurse at the home team"
    answers[say("walk.phone_lasts")] = "From now on"
    answers["Target weight [kg]"] = ["64.5", "64.5", "64.8"]
    # 66.3 - 64.8 + 0.2 drunk + 0.3 rinse-back = 2.0 L; 2.0 L in 7.5 h = 267 mL/h
    answers[f"{words('walk.setting')} {say('setting.fluid_to_remove')}"] = "2.0"
    answers[f"{words('walk.setting')} {say('setting.removal_rate')}"] = "267"
    first = night(clock, answers, home, most=140)
    assert "is kept. Go on with:" in " ".join(first.out.getvalue().split())
    house, desk = look(home, clock)
    assert desk.phase is Phase.SETTING_UP
    kept = house.store.count()
    house.close()

    clock.pass_time(timedelta(minutes=2))
    second = night(clock, answers, home)
    text = " ".join(second.out.getvalue().split())
    assert "Going on where you left" in text
    both = " ".join(first.out.getvalue().split()) + text
    assert "Not yet" in both
    assert "Written confirmation is awaited: Target weight" in text
    house, desk = look(home, clock)
    with house:
        assert house.store.count() > kept
        assert house.store.verify().holds
        assert desk.phase is Phase.CLOSED
        measured = [e.body for e in desk.treatment if isinstance(e.body, Measured)]
        chlorine = [b for b in measured if b.quantity == "total_chlorine"]
        assert [b.value for b in chlorine if b.place == "tank1"] == ["0.15", "0.03"]
        assert len(desk.treatment.of("connected")) == 1
        shown = desk.treatment.of("connected")[0].body.shown  # type: ignore[attr-defined]
        assert shown["target_weight"] == "64.8"
        assert not desk.treatment.disagreements()


@pytest.mark.parametrize("step", [41, 90])
def test_input_that_ends_anywhere_loses_nothing(clock: SetClock, home: str, step: int) -> None:
    answers = usual_answers(clock)
    counts = []
    for _ in range(40):
        night(clock, answers, home, most=step)
        if not (Path(home) / "record.ebbwell").exists():
            continue
        house, desk = look(home, clock)
        with house:
            counts.append(house.store.count())
            assert house.store.verify().holds
            if desk.phase is Phase.CLOSED:
                break
        clock.pass_time(timedelta(seconds=40))
    assert desk.phase is Phase.CLOSED
    assert counts == sorted(counts)
    assert len(counts) > 2
    assert not desk.treatment.disagreements()


def nth(part: str) -> Callable[[str], str]:
    """Picks the option that holds these words, by its number."""

    def pick(asked: str) -> str:
        found = re.search(rf"(\d+) \d\d:\d\d (?:(?! \d+ \d\d:).)*{re.escape(part)}", asked)
        assert found is not None, asked
        return found[1]

    return pick


def up_to(clock: SetClock, home: str, stage_word: str) -> dict[str, Answer]:
    """Type until a question comes up, then leave; gives the answers for going on."""
    answers = usual_answers(clock)
    keep = answers[stage_word]
    answers[stage_word] = "leave"
    night(clock, answers, home)
    answers[stage_word] = keep
    return answers


@pytest.mark.hazard("H56")
def test_stop_before_blood_then_called_off(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, say("choice.filter_gauges"))
    answers[say("choice.filter_gauges")] = "stop"
    answers[say("walk.stopped_before")] = "1"
    answers[say("walk.call_off_why")] = "Ilka feels unwell"
    typist = night(clock, answers, home)
    text = typist.out.getvalue()
    assert "stop, clamp, call as you were taught" in " ".join(text.replace("##", "").split())
    house, desk = look(home, clock)
    with house:
        assert desk.phase is Phase.CALLED_OFF
        assert len(desk.treatment.of("stop")) == 1


@pytest.mark.hazard("H56")
def test_stop_on_a_full_disk_still_says_what_to_do(
    clock: SetClock, home: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers = up_to(clock, home, say("choice.filter_gauges"))
    done = House.do

    def full(self: House, deed: Any, /, **inputs: Any) -> Any:
        if deed.__name__ == "stop_now":
            raise DiskFull("store.full", path="record")
        return done(self, deed, **inputs)

    monkeypatch.setattr(House, "do", full)
    answers[say("choice.filter_gauges")] = ["stop", "leave"]
    text = " ".join(night(clock, answers, home).out.getvalue().split())
    assert say("walk.stop_words") in text
    assert "Write on paper until then" in text
    assert say("walk.stop_kept") not in text


@pytest.mark.hazard("H56")
def test_stop_in_the_middle_of_a_reading_keeps_what_was_typed(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Pulse [/min]"] = ["72", "stop", "70"]
    answers["Why is this still open?"] = "stopped early"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        assert len(desk.treatment.of("stop")) == 1
        rows = [f.body for f in desk.treatment.of("reading") if isinstance(f.body, Reading)]
        broken = [b for b in rows if b.words == say("walk.row_broken_off")]
        assert [dict(b.values) for b in broken] == [{"systolic": "138", "diastolic": "76"}]
        assert desk.phase is Phase.CLOSED


@pytest.mark.hazard("H11")
def test_already_running_is_taken_in_before_anything_else(clock: SetClock, home: str) -> None:
    up_to(clock, home, say("walk.what_now"))
    answers = usual_answers(clock)
    answers[say("walk.what_now")] = ["running 16:30", "leave"]
    answers[say("walk.night_running")] = "leave"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        assert desk.phase is Phase.RUNNING
        body = desk.treatment.of("already_running")[0].body
        assert isinstance(body, AlreadyRunning)
        assert "S5" in body.open_holds
        assert desk.treatment.of("already_running")[0].at.isoformat() == "2026-04-29T15:30:00+00:00"


@pytest.mark.hazard("H8")
def test_connect_typed_too_early_says_why_not(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, say("choice.filter_gauges"))
    answers[say("choice.filter_gauges")] = ["connect", "leave"]
    typist = night(clock, answers, home)
    text = " ".join(typist.out.getvalue().split())
    assert "Not yet." in text
    assert "S2 Read the prescription" not in text.split("Not yet.")[-1]
    assert "S3 Turn the water on" in text
    assert re.search(r"and \d+ more \(the word everything", text)
    house, desk = look(home, clock)
    with house:
        assert not desk.treatment.of("connected")


def test_words_at_a_prompt(clock: SetClock, home: str) -> None:
    answers = up_to(clock, home, say("choice.filter_gauges"))
    gauges = say("choice.filter_gauges")
    answers[gauges] = ["?", "note", "event", "nonsense", "", "later", "leave"]
    answers[say("walk.note")] = "new jug of bleach"
    answers[say("walk.event_what")] = "a fuse blew"
    answers[say("walk.event_done")] = ""
    answers[say("walk.event_by_person")] = "no"
    answers[say("walk.when")] = "17:01"
    answers[say("choice.chlorine_kind")] = "leave"
    typist = night(clock, answers, home)
    text = " ".join(typist.out.getvalue().split())
    assert "Why: A full filter or no salt slowly harms the water unit." in text
    assert "Type one of the numbers, 1 to 2." in text
    assert say("walk.put_off") in text
    house, desk = look(home, clock)
    with house:
        events = [f.body for f in desk.treatment.of("event")]
        assert [getattr(b, "what", "") for b in events] == ["Note", "a fuse blew"]


@pytest.mark.hazard("H38")
def test_not_measured_asks_why_and_the_hold_stays_shut(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Weight before [kg / lb]"] = "not measured"
    answers[say("walk.why_not_measured")] = "the scale is broken"
    answers[say("walk.barred")] = "leave"
    answers["Press Enter to look again."] = "leave"
    typist = night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        fact = desk.treatment.at_slot("measured", "weight_before", "")[0]
        assert getattr(fact.body, "not_measured", "") == "the scale is broken"
        assert not desk.views["S29"].passed
    assert say("walk.stays_shut") in " ".join(typist.out.getvalue().split())


@pytest.mark.hazard("H5")
def test_an_odd_weight_is_asked_about_and_another_number_taken(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Weight before [kg / lb]"] = "46.8"
    answers[say("walk.type_again")] = "64.8"
    answers["Upper blood pressure [mmHg / kPa]"] = "leave"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        facts = desk.treatment.at_slot("measured", "weight_before", "")
        assert [getattr(f.body, "value", "") for f in facts] == ["64.8"]


@pytest.mark.hazard("H5")
def test_fix_corrects_an_entry_and_keeps_both(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("choice.syringe_air")] = ["fix", "leave"]
    answers[say("walk.fix_which")] = nth("weight before")
    answers[say("walk.fix_how")] = "1"
    answers[say("walk.fix_new")] = "66.4"
    answers[say("walk.fix_reason")] = "read it wrong"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        fact = desk.treatment.at_slot("measured", "weight_before", "")[0]
        assert getattr(fact.body, "value", "") == "66.4"
        values = [getattr(e.body, "value", "") for e in desk.treatment if e.envelope.kind == "measured"]
        assert "66.3" in values


def test_back_asks_the_question_before_again(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Take it in your hand: heparin vial Code on the label?"] = ["back", "leave"]
    answers["Weight before [kg / lb]"] = ["66.3", "66.5"]
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        facts = desk.treatment.at_slot("measured", "weight_before", "")
        assert [getattr(f.body, "value", "") for f in facts] == ["66.5"]


@pytest.mark.hazard("H3")
def test_a_second_check_that_differs_is_settled_by_a_third_look(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Blood flow [mL/min]"] = ["320", "230", "230"]
    answers[say("walk.what_now")] = "leave"
    typist = night(clock, answers, home)
    assert "Blood flow differs. First: Blood flow 320 mL/min." in " ".join(typist.out.getvalue().split())
    house, desk = look(home, clock)
    with house:
        order = desk.scene.order
        assert order is not None
        assert order.waiting == ()
        assert order.lines["blood_flow"] == "230"
        kinds = [e.envelope.kind for e in desk.standing]
        assert kinds.count("corrected") == 1
        assert kinds.count("second_check") == 2


def test_typed_lines_of_a_prescription_outlast_leaving(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Sodium [mmol/L]"] = "leave"
    night(clock, answers, home)
    answers = usual_answers(clock)
    answers["Blood flow [mL/min]"] = "999"
    answers[say("walk.second_how")] = "leave"
    draft = Path(home) / "prescription.draft"
    assert draft.stat().st_mode & 0o077 == 0
    second = night(clock, answers, home)
    assert "lines from last time are kept" in second.out.getvalue()
    house, desk = look(home, clock)
    with house:
        held = desk.standing.of("prescription")[0].body
        assert held.lines["blood_flow"] == "230"  # type: ignore[attr-defined]
    assert not (Path(home) / "prescription.draft").exists()


def test_bad_input_repeats_the_question(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers["Blood flow [mL/min]"] = ["1.234,5", "x" * 10_000, "😀", "9999", "230"]
    answers[say("walk.what_now")] = "leave"
    typist = night(clock, answers, home)
    asked = [q for q, _ in typist.typed if "Blood flow [mL/min]" in q]
    assert len(asked) == 6
    house, desk = look(home, clock)
    with house:
        assert desk.scene.order is not None
        assert desk.scene.order.lines["blood_flow"] == "230"


def test_names_of_any_script(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("first.household")] = "Łódź 家"
    answers[say("first.person")] = "王芳"
    answers[say("first.carer")] = "Søren Åström"
    answers[say("first.name")] = "العربية"
    answers[say("walk.who")] = "Søren Åström"
    answers[say("walk.order_number")] = "leave"
    night(clock, answers, home)
    house, desk = look(home, clock)
    with house:
        from ebbwell.state.standing import household, people

        home_entry = household(desk.standing)
        assert home_entry is not None
        assert home_entry.name == "Łódź 家"
        found = people(desk.standing)
        assert [b.name for b in found.values()] == ["王芳", "Søren Åström", "العربية"]
        assert len(found) == 3


def test_two_passphrases_that_differ(clock: SetClock, home: str) -> None:
    made, _ = session(clock, {**usual_answers(clock)}, home)
    typed = iter(["one", "two"])
    made.secret = lambda _: next(typed)
    assert main(["night", "--encrypt"], made) == 55
    assert not (Path(home) / "record.ebbwell").exists()


def test_a_locked_record_asks_for_its_passphrase(clock: SetClock, home: str) -> None:
    answers = usual_answers(clock)
    answers[say("walk.order_number")] = "leave"
    made, _ = session(clock, answers, home)
    made.secret = lambda _: "salt marsh"
    assert main(["night", "--encrypt"], made) == 0
    again, _ = session(clock, answers, home)
    again.secret = lambda _: "wrong"
    assert main(["tonight"], again) == 27
    right, typist = session(clock, answers, home)
    right.environ = {**right.environ, "EBBWELL_PASSPHRASE": "salt marsh"}
    assert main(["tonight"], right) == 0
    assert "Saltmarsh Row" in typist.out.getvalue()
    assert not (Path(home) / "prescription.draft").exists()


@pytest.mark.hazard("H8")
@pytest.mark.source("fluids:1.3", detail="rule 5: no colour counts only where tap before carbon coloured")
def test_no_colour_asks_what_tap_water_did_and_not_done_keeps_the_step_shut(
    clock: SetClock, home: str
) -> None:
    answers = usual_answers(clock)
    answers[TANK1] = ["TNTC", ">2", "0.1-0.2", "<0.1 ppm", "<0.1"]
    answers[say("walk.control")] = [say("control.not_done"), say("control.coloured")]
    answers[say("walk.barred")] = "1"
    typist = night(clock, answers, home)
    text = " ".join(typist.out.getvalue().split())
    assert "Enter the number that the test shows." in text
    assert "Is 2 itself over your limit? Then enter 2." in text
    assert "Between two steps of the test, enter the higher one. You typed 0.1-0.2" in text
    assert "<0.1 mg/L" in text
    house, desk = look(home, clock)
    with house:
        tests = [e.body for e in desk.treatment if isinstance(e.body, Measured)]
        tests = [b for b in tests if b.quantity == "total_chlorine"]
        first = [(b.typed, b.value, b.below, b.control) for b in tests if b.place == "tank1"]
        assert first == [("<0.1 ppm", "0.1", True, "not_done"), ("<0.1", "0.1", True, "coloured")]
        assert desk.phase is Phase.CLOSED
