"""Off and on again, and a new set in mid-night: what is looked at again, what it gates (nothing), what it leaves."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.core.findings import Grade
from ebbwell.deeds import again, comeoff, night, setup
from ebbwell.deeds.again import checks_again
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.papers.spoken import finding_words
from ebbwell.procedure.asides import asides
from ebbwell.state.again import rounds
from ebbwell.state.night import Phase, paused_for, ran_so_far
from tests.deeds.homes import wrong
from tests.hazards.home import Home, refused, rules

TWELVE = timedelta(minutes=12)


def _all_as_wanted(home: Home, aside: str) -> None:
    for view in checks_again(home.look(), aside):
        home.do(again.check_again, aside=aside, check=view.check.id, option=view.check.wants[0])


def test_go_off_keeps_where_the_blood_is_and_the_time_is_no_treatment_time(running: Home) -> None:
    running.clock.pass_time(timedelta(hours=2))
    before = ran_so_far(running.look().treatment, running.clock.now().at)
    running.do(night.go_off, words="toilet", blood="circulating")
    running.clock.pass_time(TWELVE)
    treatment = running.look().treatment
    ran = ran_so_far(treatment, running.clock.now().at)
    assert ran is not None
    assert before is not None
    assert ran - before < timedelta(seconds=10)
    assert paused_for(treatment, running.clock.now().at) == TWELVE
    assert "The blood goes round in the set" in running.sheet()


def test_go_off_refuses_a_word_for_the_blood_that_is_none(running: Home) -> None:
    with wrong("enter.option"):
        running.do(night.go_off, blood="gone")


def test_check_again_is_asked_for_the_time_off_that_was_begun_last(running: Home) -> None:
    assert checks_again(running.look(), "on_again") == ()
    running.do(night.go_off)
    assert {v.check.id for v in checks_again(running.look(), "on_again")} == {
        c.id for c in asides()["on_again"]
    }
    _all_as_wanted(running, "on_again")
    assert all(v.wanted for v in checks_again(running.look(), "on_again"))
    assert running.do(night.go_on).findings == ()
    running.do(night.go_off)
    assert not any(v.option for v in checks_again(running.look(), "on_again"))


def test_check_again_keeps_what_is_not_as_wanted_and_shuts_nothing(running: Home) -> None:
    running.do(night.go_off)
    done = running.do(again.check_again, aside="on_again", check="air", option="seen", words="in the chamber")
    assert [(f.rule, f.grade) for f in done.findings] == [("again_not_wanted", Grade.STOP)]
    words = finding_words(done.findings[0], running.look())
    assert "air in the lines and chambers: seen" in words
    running.do(comeoff.come_off)
    assert running.look().phase is Phase.OFF
    assert "air in the lines and chambers seen" in running.sheet()


def test_check_again_takes_the_place_of_the_word_before(running: Home) -> None:
    running.do(night.go_off)
    running.do(again.check_again, aside="on_again", check="air", option="seen")
    running.do(again.check_again, aside="on_again", check="air", option="none_seen")
    view = next(v for v in checks_again(running.look(), "on_again") if v.check.id == "air")
    assert view.wanted


def test_check_again_refuses_what_was_not_begun_and_words_it_does_not_have(home: Home, running: Home) -> None:
    with refused("refuse.not_begun.on_again"):
        running.do(again.check_again, aside="on_again", check="air", option="seen")
    with refused("refuse.not_begun.new_set"):
        home.do(again.check_again, aside="new_set", check="primed", option="no_bubbles")
    for inputs in (
        {"aside": "on_moon", "check": "air", "option": "seen"},
        {"aside": "on_again", "check": "moon", "option": "seen"},
        {"aside": "on_again", "check": "air", "option": "blue"},
    ):
        with wrong("enter.option"):
            running.do(again.check_again, **inputs)


def test_go_on_is_open_whatever_was_left_out_and_the_sheet_says_so(running: Home) -> None:
    running.do(night.go_off)
    running.do(again.check_again, aside="on_again", check="clots", option="seen")
    done = running.do(night.go_on, by="somebody nobody entered")
    assert rules(done.findings) == ["on_though_found", "on_with_open_checks"]
    assert running.look().phase is Phase.RUNNING
    text = running.sheet()
    assert "clots in the dialyser and chambers seen" in text
    assert "Not looked at: minutes off" in text


def test_change_set_asks_again_and_takes_the_new_packs_beside_the_old(running: Home) -> None:
    done = running.do(night.change_set, why="leak", blood_returned="part", words="at the header")
    assert done.findings == ()
    new = done.entries[0]
    pack = {"item": "dialyser", "code": "D-18", "lot": "D9999", "expiry": "2028-01-31"}
    running.do(setup.use_lot, **pack, new_set=new)
    bodies = [f.body for f in running.look().treatment.of("lot_used")]
    lots = [b.lot for b in bodies if isinstance(b, LotUsed) and b.item == "dialyser"]
    assert len(lots) == 2
    assert running.look().treatment.disagreements() == {}
    _all_as_wanted(running, "new_set")
    assert all(v.wanted for v in checks_again(running.look(), "new_set"))
    assert running.look().phase is Phase.RUNNING
    text = running.sheet()
    assert "A new set. The old set leaked. Blood of the old set given back: part" in text
    assert "D9999" in text


def test_a_new_set_left_unlooked_at_stands_on_the_sheet(running: Home) -> None:
    running.do(night.change_set, why="touched", blood_returned="all")
    assert "Not looked at: type of the new dialyser" in running.sheet()
    assert [r.said for r in rounds(running.look().treatment, "new_set")] == [{}]


@pytest.mark.source("practice:e", detail="C7: a clotted set: do not return blood")
def test_change_set_finds_blood_given_back_from_a_clotted_set(running: Home) -> None:
    done = running.do(night.change_set, why="clotted", blood_returned="part")
    assert rules(done.findings) == ["clotted_blood_returned"]
    assert running.do(night.change_set, why="clotted", blood_returned="none").findings == ()


def test_change_set_refuses_words_that_are_none(running: Home) -> None:
    for inputs in ({"why": "bored"}, {"blood_returned": "some"}):
        with wrong("enter.option"):
            running.do(night.change_set, **inputs)


def test_use_lot_refuses_a_change_of_set_that_is_not_on_record(ready: Home, running: Home) -> None:
    for place in (ready, running):
        with refused("refuse.no_new_set"):
            place.do(setup.use_lot, item="tubing", lot="T1", new_set="018bcfe5-6801-7226-b63c-5ab791b7584a")


def test_a_pack_of_a_new_set_meets_no_hold_point(home: Home) -> None:
    home.do(setup.open_night)
    home.until("S12")
    new = home.do(night.change_set, why="touched").entries[0]
    pack = {"item": "dialyser", "code": "D-18", "lot": "D9999", "expiry": "2028-01-31"}
    home.do(setup.use_lot, **pack, new_set=new)
    assert home.look().views["S12"].by == ()
