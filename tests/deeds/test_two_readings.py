"""Two readings that weren't the same: both are made afresh, or somebody settles it; never one more until it fits."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import InputError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import record, rereading, setup
from ebbwell.deeds.coming_up import next_view, to_give
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.procedure.holds import Status
from ebbwell.procedure.two_readings import differing_checks, firsts_of
from ebbwell.sim.homes import HOMES, USUAL_HOME
from ebbwell.sim.household import TOVE, ZONE
from tests.hazards.home import EVENING, Home, refused

H13 = pytest.mark.source("practice:e", detail="H13: two independent readings")

NAME = {"S5": "total_chlorine@tank1", "S8": "residual_disinfectant", "S18": "heparin_strength"}
FIRST = {"S5": "0.03", "S8": "negative", "S18": "1000"}
OTHER = {"S5": "0.05", "S8": "positive", "S18": "5000"}
EACH = pytest.mark.parametrize("step", NAME)


def _home(step: str) -> Home:
    """A home at a step that is read twice, its first reading made."""
    clock, ids = SetClock(EVENING, ZONE), SeededIds(1)
    home = Home(clock, House(MemoryStore(ids), clock, ids))
    name = "fistula, no heparin, liquid, a chemical used" if step == "S8" else USUAL_HOME
    HOMES[name].open_night(home.house, clock)
    home.until(step)
    _first(home, step)
    return home


def _first(home: Home, step: str) -> str:
    quantity, _, place = NAME[step].partition("@")
    seen = tuple(f.id for f in home.look().treatment.at_slot("measured", quantity, place))
    method = "meter" if step == "S5" else ""
    done = home.do(
        setup.measure, quantity=quantity, place=place, typed=FIRST[step], method=method, instead_of=seen
    )
    home.clock.pass_time(timedelta(seconds=30))
    return done.entries[0]


def _second(home: Home, step: str, value: str) -> str:
    how = {"how": "photo", "photo": "p.jpg"} if step == "S5" else {"how": "reread"}
    done = home.do(rereading.second_check, step=step, values={NAME[step]: value}, **how)
    home.clock.pass_time(timedelta(seconds=30))
    return done.entries[0]


def _shut(home: Home, step: str) -> bool:
    view = home.look().views[step]
    return view.differed and (view.status, view.why) == (Status.BARRED, "hold.second_differs")


@H13
@EACH
def test_one_more_second_reading_does_not_undo_one_that_differed(step: str) -> None:
    home = _home(step)
    differing = _second(home, step, OTHER[step])
    assert _shut(home, step)
    _second(home, step, FIRST[step])
    assert _shut(home, step)
    _second(home, step, FIRST[step])
    assert _shut(home, step)
    assert home.look().treatment.fact(differing) is not None


@H13
@EACH
def test_a_fresh_first_and_a_fresh_second_reading_open_it(step: str) -> None:
    home = _home(step)
    _second(home, step, OTHER[step])
    _first(home, step)
    assert home.status(step) is Status.SECOND
    _second(home, step, FIRST[step])
    assert home.status(step) is Status.MET


@H13
@EACH
def test_a_fresh_first_reading_beside_the_old_one_does_not(step: str) -> None:
    home = _home(step)
    _second(home, step, OTHER[step])
    quantity, _, place = NAME[step].partition("@")
    home.do(setup.measure, quantity=quantity, place=place, typed=FIRST[step], method="meter" if place else "")
    home.clock.pass_time(timedelta(seconds=30))
    _second(home, step, FIRST[step])
    assert _shut(home, step)


@H13
@EACH
def test_taking_the_second_reading_back_or_correcting_the_first_does_not_help(step: str) -> None:
    home = _home(step)
    differing = _second(home, step, OTHER[step])
    home.do(record.withdraw, of=differing, reason="misread")
    _second(home, step, FIRST[step])
    assert _shut(home, step)
    first = home.look().views[step].by[0]
    home.do(record.correct, of=first, changes={"value": FIRST[step]}, reason="it is so")
    home.clock.pass_time(timedelta(seconds=30))
    _second(home, step, FIRST[step])
    assert _shut(home, step)


@H13
@EACH
def test_saying_that_the_first_holds_leaves_the_second_reading_to_be_made(step: str) -> None:
    home = _home(step)
    first = home.look().views[step].by[0]
    differing = _second(home, step, OTHER[step])
    with pytest.raises(InputError):
        home.do(record.settle, of=(first, differing), holds=first, reason=" ")
    with refused("refuse.nothing_to_settle"):
        home.do(record.settle, of=(differing,), holds=differing, reason="the other one was misread")
    done = home.do(record.settle, of=(first, differing), holds=first, reason="the second was typed wrong")
    assert home.status(step) is Status.SECOND
    assert not differing_checks(home.look().treatment)
    _second(home, step, FIRST[step])
    assert home.status(step) is Status.MET
    home.do(record.withdraw, of=done.entries[0], reason="not sure any more")
    assert _shut(home, step)


@H13
@EACH
def test_saying_that_the_second_holds_takes_the_first_away(step: str) -> None:
    home = _home(step)
    first = home.look().views[step].by[0]
    differing = _second(home, step, OTHER[step])
    home.do(record.settle, of=(first, differing), holds=differing, reason="the first was typed wrong")
    assert home.status(step) is Status.OPEN
    _first(home, step)
    assert home.status(step) is Status.SECOND


@H13
def test_it_is_the_next_thing_to_do_and_asks_for_the_first_reading() -> None:
    home = _home("S18")
    _second(home, "S18", OTHER["S18"])
    desk = home.look()
    view = next_view(desk)
    assert view is not None
    assert view.step.id == "S18"
    assert view.until is None
    assert [str(e) for e in to_give(desk, view)] == ["measured:heparin_strength"]
    check = differing_checks(desk.treatment)[0]
    assert firsts_of(desk.treatment, check) == view.by


@H13
def test_a_pack_whose_two_readings_differ_is_read_twice_anew() -> None:
    home = _home("S18")
    home.until("S12")
    pack = {"item": "dialyser", "code": "DX-17", "lot": "D4", "expiry": "2027-06-30"}
    order = home.look().scene.order
    assert order is not None
    pack["code"] = order.lines["dialyser"]
    first = home.do(setup.use_lot, **pack).entries[0]
    home.clock.pass_time(timedelta(seconds=30))
    home.do(rereading.second_check, step="S12", how="reread", values={"dialyser": "another"})
    home.do(rereading.second_check, step="S12", how="reread", values={"dialyser": pack["code"]})
    assert _shut(home, "S12")
    home.do(setup.use_lot, **pack, instead_of=(first,))
    home.clock.pass_time(timedelta(seconds=30))
    home.do(rereading.second_check, step="S12", how="reread", values={"dialyser": pack["code"]})
    assert home.status("S12") is Status.MET


@H13
def test_another_person_who_reads_the_same_does_not_outvote_the_one_who_did_not() -> None:
    home = _home("S5")
    _second(home, "S5", OTHER["S5"])
    home.do(rereading.second_check, by=TOVE, step="S5", how="person", values={NAME["S5"]: FIRST["S5"]})
    assert _shut(home, "S5")


@pytest.mark.parametrize("settled", [False, True])
def test_both_readings_stand_on_the_sheet(settled: bool) -> None:
    home = _home("S5")
    first = home.look().views["S5"].by[0]
    differing = _second(home, "S5", OTHER["S5"])
    if settled:
        home.do(record.settle, of=(first, differing), holds=first, reason="the meter was on hold")
    else:
        _first(home, "S5")
    _second(home, "S5", FIRST["S5"])
    text = " ".join(sheet_text(build_sheet(home.look(), home.house.store.heads())).split())
    assert "the second reading differs" in text
    assert "Second: 0.05" in text
    assert ("the meter was on hold" in text) is settled
