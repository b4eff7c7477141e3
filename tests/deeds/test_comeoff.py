"""Deeds of coming off, closing the sheet and calling a night off."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, setup
from ebbwell.deeds import night as deeds
from ebbwell.deeds.desk import Asked, Refused
from ebbwell.journal.kinds.bedside import BloodByHand
from ebbwell.journal.kinds.marks import Skipped
from ebbwell.journal.kinds.night import AlreadyRunning, CameOff, Closed, Safe
from ebbwell.state.night import Phase, pump_stopped, run_time
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, refused, rules


def test_come_off_keeps_its_times_in_utc(running: Home) -> None:
    running.clock.pass_time(timedelta(hours=7.5))
    ended = running.clock.now().at - 10 * MINUTE
    running.do(
        comeoff.come_off,
        times={"removal_ended": ended, "pump_stopped": ended + MINUTE},
        blood_returned="part",
        words="clots in the filter",
    )
    desk = running.look()
    body = desk.treatment.of("came_off")[0].body
    assert isinstance(body, CameOff)
    assert (body.blood_returned, body.words) == ("part", "clots in the filter")
    assert body.times["removal_ended"] == ended.isoformat()
    assert pump_stopped(desk.treatment) == ended + MINUTE
    assert desk.phase is Phase.OFF


def test_come_off_stops_the_pump_now_unless_told(running: Home) -> None:
    running.clock.pass_time(timedelta(hours=1))
    running.do(comeoff.come_off)
    desk = running.look()
    assert pump_stopped(desk.treatment) == desk.now.at


def test_heparin_into_the_line_is_asked_about_once_the_pump_has_stopped(running: Home) -> None:
    running.clock.pass_time(timedelta(hours=1))
    running.do(comeoff.come_off)
    dose = {"what": "heparin_first_dose", "typed": "1500", "unit": "units"}
    with pytest.raises(Asked) as caught:
        running.do(deeds.give, **dose)
    keys = tuple(q.key for q in caught.value.questions)
    assert keys == ("after_pump",)
    running.do(deeds.give, **dose, at=running.clock.now().at - timedelta(minutes=50))
    running.do(deeds.give, **dose, sure=keys)
    assert len(running.look().treatment.of("given")) == 2


def test_runs_on_takes_a_stop_as_a_note_and_nothing_else(running: Home) -> None:
    with refused("refuse.phase.running"):
        running.do(deeds.runs_on)
    running.do(deeds.stop_now)
    running.do(deeds.runs_on, words="the needle sits again")
    assert running.look().phase is Phase.RUNNING
    assert len(running.look().treatment.of("stop")) == 1


def test_runs_on_is_nothing_before_blood(night: Home) -> None:
    night.do(deeds.stop_now)
    with refused("refuse.phase.stopping"):
        night.do(deeds.runs_on)


def test_say_blood_completes_what_was_written_without_it(running: Home) -> None:
    running.do(comeoff.come_off, blood_returned="")
    with wrong("enter.option"):
        running.do(comeoff.say_blood, blood_returned="most")
    running.do(comeoff.say_blood, blood_returned="part")
    bodies = [f.body for f in running.look().treatment.of("came_off")]
    assert [b.blood_returned for b in bodies if isinstance(b, CameOff)] == ["part"]
    with refused("refuse.blood_said"):
        running.do(comeoff.say_blood, blood_returned="all")


def test_come_off_without_a_start_records_one_as_found_running(night: Home) -> None:
    done = night.do(comeoff.come_off, by="visitor")
    treatment = night.look().treatment
    body = treatment.of("already_running")[0].body
    assert isinstance(body, AlreadyRunning)
    assert "S5" in body.open_holds
    assert rules(done.findings) == ["running_with_open_holds"]
    assert treatment.of("already_running")[0].at <= treatment.of("came_off")[0].at


@pytest.mark.hazard("H56")
@pytest.mark.source(
    "practice:e", detail="H56: coming off is open from every state, to anyone, with nothing typed"
)
def test_come_off_is_never_refused_for_the_state_of_the_night(
    home: Home, night: Home, ready: Home, running: Home
) -> None:
    for place in (home, night, ready, running):
        place.do(comeoff.come_off, by="visitor")
        assert place.look().phase is Phase.OFF


def test_come_off_refuses_only_words_and_times_that_are_none(running: Home) -> None:
    with wrong("enter.option"):
        running.do(comeoff.come_off, blood_returned="most")
    with wrong("enter.option"):
        running.do(comeoff.come_off, times={"went_home": running.clock.now().at})
    assert running.look().phase is Phase.RUNNING


def test_person_safe_names_the_steps_not_yet_recorded(running: Home) -> None:
    running.do(comeoff.come_off)
    done = running.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    desk = running.look()
    body = desk.treatment.of("safe")[0].body
    assert isinstance(body, Safe)
    assert {"C7", "C10", "C11"} <= set(body.open_steps)
    assert "C8" not in body.open_steps
    assert [(f.rule, f.grade.value) for f in done.findings] == [("safe_with_open_steps", "note")]
    assert desk.phase is Phase.SAFE


def test_person_safe_refuses_a_night_that_has_not_come_off(home: Home, running: Home) -> None:
    with refused("refuse.phase.none"):
        home.do(comeoff.person_safe)
    with refused("refuse.phase.running"):
        running.do(comeoff.person_safe)
    assert running.look().phase is Phase.RUNNING


def test_person_safe_does_not_end_a_night_that_is_being_set_up(ready: Home) -> None:
    with refused("refuse.phase.setting_up"):
        ready.do(comeoff.person_safe)
    assert ready.look().phase is Phase.SETTING_UP


def _left(home: Home) -> dict[str, str]:
    views = home.look().views.values()
    return {v.step.id: "not done in this test" for v in views if v.step.gate == "close" and not v.passed}


def test_close_keeps_a_reason_for_each_step_left_open(off: Home) -> None:
    reasons = _left(off)
    done = off.do(comeoff.close, because=reasons, words="tired")
    treatment = off.look(by="bram").treatment_id
    assert treatment is None
    desk = off.house.look(treatment=next(iter(off.house.state.past)))
    closed = desk.treatment.of("closed")[0].body
    assert isinstance(closed, Closed)
    assert (closed.called_off, closed.words) == (False, "tired")
    skipped = [f.body for f in desk.treatment.of("skipped") if isinstance(f.body, Skipped)]
    assert {body.step: body.reason for body in skipped} == reasons
    assert rules(done.findings) == ["closed_with_open_steps"]
    assert desk.phase is Phase.CLOSED


def test_close_refuses_with_every_step_that_has_no_reason(off: Home) -> None:
    reasons = _left(off)
    reasons["C7"] = "  "
    del reasons["C19"]
    with pytest.raises(Refused) as caught:
        off.do(comeoff.close, because=reasons)
    assert caught.value.key == "refuse.close"
    assert [bar.step for bar in caught.value.bars] == ["C7", "C19"]
    assert off.look().phase is Phase.SAFE


def test_close_refuses_a_reason_for_a_step_that_is_none_and_writes_nothing(off: Home) -> None:
    before = len(off.entries())
    with wrong("enter.step"):
        off.do(comeoff.close, because={**_left(off), "C99": "no such step"})
    assert len(off.entries()) == before


def test_close_refuses_before_coming_off(night: Home, running: Home) -> None:
    with refused("refuse.phase.setting_up"):
        night.do(comeoff.close)
    with refused("refuse.phase.running"):
        running.do(comeoff.close)


def test_call_off_ends_a_night_on_which_nothing_ran(night: Home, ready: Home) -> None:
    for place in (night, ready):
        place.do(comeoff.call_off, words="the water is off")
        assert place.look().treatment_id is None
        assert [s.phase for s in place.house.state.past.values()] == ["called_off"]
        place.do(setup.open_night)


def test_call_off_after_stop_before_blood(night: Home) -> None:
    night.do(deeds.stop_now)
    night.do(comeoff.call_off, words="felt ill")
    assert night.look().treatment_id is None


def test_call_off_refuses_once_blood_has_run_and_without_a_reason(
    home: Home, ready: Home, running: Home
) -> None:
    with wrong("enter.reason"):
        ready.do(comeoff.call_off, words=" ")
    with refused("refuse.phase.none"):
        home.do(comeoff.call_off, words="felt ill")
    with refused("refuse.phase.running"):
        running.do(comeoff.call_off, words="felt ill")
    running.do(deeds.stop_now)
    with refused("refuse.blood_ran"):
        running.do(comeoff.call_off, words="felt ill")


def test_blood_by_hand_keeps_what_is_known_and_coming_off_follows(running: Home) -> None:
    running.clock.pass_time(timedelta(hours=3))
    now = running.clock.now().at
    done = running.do(
        comeoff.blood_by_hand,
        why="power",
        started_at=now - timedelta(minutes=12),
        ended_at=now - timedelta(minutes=2),
        amount="250",
        words="torch held by the neighbour",
    )
    assert rules(done.findings) == ["blood_by_hand"]
    (fact,) = running.look().treatment.of("blood_by_hand")
    assert fact.at == now - timedelta(minutes=12)
    assert fact.body == BloodByHand(
        why="power",
        started_at=(now - timedelta(minutes=12)).isoformat(),
        ended_at=(now - timedelta(minutes=2)).isoformat(),
        amount="250",
        words="torch held by the neighbour",
    )
    running.do(comeoff.come_off, blood_returned="part")
    assert "Blood given back by hand (power cut). About 250 mL" in running.sheet()


def test_blood_by_hand_is_never_refused_for_the_state_of_the_night(
    home: Home, night: Home, off: Home
) -> None:
    for place in (home, night, off):
        place.do(comeoff.blood_by_hand, by="somebody", why="leaving")
    assert home.look().phase is Phase.RUNNING
    assert "by hand (everyone had to leave the house). How much is not known" in off.sheet()


def test_blood_by_hand_refuses_only_what_cannot_be_read(running: Home) -> None:
    now = running.clock.now().at
    for inputs, key in (
        ({"why": "bored"}, "enter.option"),
        ({"why": "power", "amount": "-3"}, "enter.amount"),
        ({"why": "power", "amount": "some"}, "number.not_plain"),
        ({"why": "power", "started_at": now, "ended_at": now - timedelta(minutes=5)}, "enter.start_end"),
        ({"why": "power", "ended_at": now + timedelta(minutes=5)}, "enter.future"),
    ):
        with wrong(key):
            running.do(comeoff.blood_by_hand, **inputs)


def test_a_time_before_first_blood_or_still_to_come_is_asked_again(running: Home) -> None:
    now = running.clock.now().at
    for at, key in (
        (now - timedelta(hours=12), "enter.off_before"),
        (now + timedelta(hours=1), "enter.off_ahead"),
    ):
        with wrong(key):
            running.do(comeoff.come_off, times={"pump_stopped": at})
    assert running.look().phase is Phase.RUNNING
    running.do(comeoff.come_off)
    assert running.look().phase is Phase.OFF


def test_a_clock_that_went_back_keeps_nobody_on(running: Home) -> None:
    running.clock.step_wall(-timedelta(hours=5))
    running.do(comeoff.come_off, times={"rinse_back_ended": running.clock.now().at})
    assert running.look().phase is Phase.OFF
    assert run_time(running.look().treatment) is None
