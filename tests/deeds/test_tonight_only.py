"""A line that the unit changed by phone for one night alone: that night and never another."""

from __future__ import annotations

from datetime import timedelta
from itertools import permutations

import pytest

from ebbwell.deeds import comeoff, orders, record, setup
from ebbwell.journal.kinds.orders import LineAmended, Plan
from ebbwell.papers.over_again import over_again
from ebbwell.procedure.evidence import plan_void
from ebbwell.sim.elsewhere import written_elsewhere
from ebbwell.sim.household import ILKA, UNIT
from ebbwell.state.alone import for_night
from ebbwell.state.facts import Facts
from ebbwell.state.own_past import Past, latest
from ebbwell.state.standing import Order, order, stands
from ebbwell.web.pages.tonight.rows import changed_since
from tests.deeds.homes import wrong
from tests.hazards.home import Home, moved_in, night_open

USUAL, TONIGHT = "230", "220"


def held(home: Home) -> Order:
    found = home.look().scene.order
    assert found is not None
    return found


def phoned(home: Home, value: str = TONIGHT, *, check: bool = True, tonight_only: bool = True) -> str:
    given = {"line": "blood_flow", "value": value, "giver": UNIT, "read_back": value}
    entry = home.do(orders.amend_line, **given, tonight_only=tonight_only).entries[0]
    if check:
        home.do(orders.check_order, by=ILKA, of=entry, values={"blood_flow": value}, how="person")
    return entry


def next_night(home: Home) -> None:
    """The open night is called off; the next one is opened a day later."""
    home.do(comeoff.call_off, words="the pump")
    home.clock.pass_time(timedelta(hours=22))
    home.do(setup.open_night)


@pytest.mark.hazard("H2")
def test_it_waits_for_its_second_check_and_holds_for_the_open_night() -> None:
    home = night_open()
    assert held(home).lines["blood_flow"] == USUAL
    entry = phoned(home, check=False)
    assert held(home).waiting == (entry,)
    assert "bar.no_prescription" in home.bars()
    home.do(orders.check_order, by=ILKA, of=entry, values={"blood_flow": TONIGHT}, how="person")
    now = held(home)
    assert (now.waiting, now.lines["blood_flow"], now.alone) == ((), TONIGHT, {"blood_flow": USUAL})
    assert now.unconfirmed == ()
    facts = home.look().scene.facts
    assert facts["blood_flow@prescribed"].value == int(TONIGHT)  # type: ignore[union-attr]


def test_it_stands_on_the_sheet_of_its_night_and_on_no_other() -> None:
    home = night_open()
    first = home.look().treatment_id
    phoned(home)
    home.pass_step("S0")
    assert "By phone for this night alone: Blood flow 220 mL/min." in " ".join(home.sheet().split())
    next_night(home)
    assert "for this night alone" not in " ".join(home.sheet().split())
    assert "By phone for this night alone: Blood flow 220" in " ".join(home.sheet(first).split())


@pytest.mark.hazard("H2")
def test_a_plan_agreed_before_it_is_void() -> None:
    home = night_open()
    home.set_up()
    assert home.bars() == set()
    phoned(home)
    plan = home.look().treatment.last("plan")
    assert plan is not None
    assert isinstance(plan.body, Plan)
    assert plan_void(home.look().scene, plan.body)
    assert {"S2", "S26"} <= home.bars()
    home.do(orders.read_back, version_read="3")
    home.set_up()
    assert home.bars() == set()


@pytest.mark.hazard("H2")
def test_the_next_night_goes_back_by_itself_and_says_so() -> None:
    home = night_open()
    home.connected()
    phoned(home)
    first = home.look().treatment_id
    assert first is not None
    home.come_off()
    home.close()
    home.clock.pass_time(timedelta(hours=14))
    home.do(setup.open_night)
    assert held(home).lines["blood_flow"] == USUAL
    assert held(home).waiting == ()
    told = [words for _, words in changed_since(home.look())]
    assert any(
        words.startswith("Blood flow is 230 mL/min again: 220 mL/min was for the night") for words in told
    )
    assert not any("Changed line" in words for words in told)
    before = home.house.look(treatment=first).scene.order
    assert before is not None
    assert before.lines["blood_flow"] == TONIGHT


@pytest.mark.hazard("H2")
def test_with_no_night_open_it_waits_a_day_for_the_next_one() -> None:
    home = moved_in()
    phoned(home)
    assert held(home).lines["blood_flow"] == TONIGHT
    home.clock.pass_time(timedelta(hours=23))
    home.do(setup.open_night)
    assert held(home).lines["blood_flow"] == TONIGHT
    next_night(home)
    assert held(home).lines["blood_flow"] == USUAL
    late = moved_in()
    phoned(late)
    late.clock.pass_time(timedelta(hours=24, minutes=1))
    assert held(late).lines["blood_flow"] == USUAL
    late.do(setup.open_night)
    assert held(late).lines["blood_flow"] == USUAL


@pytest.mark.hazard("H2")
def test_an_unchecked_one_of_another_night_keeps_nothing_shut() -> None:
    home = night_open()
    phoned(home, check=False)
    next_night(home)
    assert held(home).waiting == ()


@pytest.mark.hazard("H2")
def test_a_change_from_now_on_ends_it_and_one_for_tonight_leaves_it() -> None:
    home = night_open()
    phoned(home, "240", tonight_only=False)
    phoned(home)
    assert (held(home).lines["blood_flow"], held(home).alone) == (TONIGHT, {"blood_flow": "240"})
    phoned(home, "225")
    assert held(home).lines["blood_flow"] == "225"
    phoned(home, "235", tonight_only=False)
    assert (held(home).lines["blood_flow"], held(home).alone) == ("235", {})
    next_night(home)
    assert held(home).lines["blood_flow"] == "235"


@pytest.mark.hazard("H2")
def test_a_wrong_pick_is_put_right_and_read_a_second_time() -> None:
    home = night_open()
    entry = phoned(home, tonight_only=False)
    right = home.do(record.correct, of=entry, changes={"tonight_only": "true"}, reason="for tonight only")
    assert held(home).waiting == right.entries
    home.clock.pass_time(timedelta(seconds=30))
    home.do(orders.check_order, of=right.entries[0], values={"blood_flow": TONIGHT}, how="reread")
    assert held(home).alone == {"blood_flow": USUAL}
    back = home.do(record.correct, of=right.entries[0], changes={"tonight_only": "false"}, reason="for good")
    home.clock.pass_time(timedelta(seconds=30))
    home.do(orders.check_order, of=back.entries[0], values={"blood_flow": TONIGHT}, how="reread")
    assert (held(home).alone, held(home).unconfirmed) == ({}, ("blood_flow",))
    next_night(home)
    assert held(home).lines["blood_flow"] == TONIGHT


def test_one_that_took_the_place_of_another_is_taken_down_anew() -> None:
    home = night_open()
    phoned(home, "240", tonight_only=False)
    entry = phoned(home, tonight_only=False)
    with wrong("enter.taken_down_anew"):
        home.do(record.correct, of=entry, changes={"tonight_only": "true"}, reason="for tonight only")
    with wrong("enter.option"):
        home.do(record.correct, of=entry, changes={"tonight_only": "maybe"}, reason="for tonight only")


@pytest.mark.hazard("H2")
def test_two_devices_come_to_the_same_in_any_order_of_arrival() -> None:
    home = moved_in()
    paper = home.look().standing.of("prescription")[0]
    phoned(home, check=False)
    home.clock.pass_time(timedelta(minutes=5))
    body = LineAmended(
        prescription=paper.id,
        line="blood_flow",
        value="210",
        giver=UNIT,
        read_back="210",
        written_awaited=True,
        tonight_only=True,
    )
    home.house.take_in([written_elsewhere(home.house, None, body)])
    home.clock.pass_time(timedelta(minutes=5))
    home.do(setup.open_night)
    desk = home.look()
    entries = [e for e in home.entries() if stands(e)]
    assert len(held(home).waiting) == 2
    found = set()
    for some in list(permutations(entries[-4:]))[:24]:
        standing = Facts()
        for entry in (*some, *entries[:-4]):
            standing.step(entry)
        alone = for_night(standing, desk.treatment, Past(dict(desk.past)), desk.now.at)
        one = order(standing, alone)
        assert one is not None
        found.add((tuple(sorted(one.lines.items())), one.waiting, tuple(sorted(alone))))
    assert len(found) == 1
    assert {f.id for f in desk.scene.order.facts} >= desk.scene.alone  # type: ignore[union-attr]
    assert len(desk.scene.alone) == 2


def test_one_whose_night_never_came_is_told() -> None:
    home = night_open()
    home.connected()
    home.come_off()
    home.close()
    home.clock.pass_time(timedelta(hours=2))
    phoned(home)
    home.clock.pass_time(timedelta(hours=30))
    home.do(setup.open_night)
    desk = home.look()
    nights = [n for n in latest(desk.past, before=desk.now.at) if n.treatment != desk.treatment_id]
    words = [said for _, _, said in over_again(desk, nights[0])]
    assert words
    assert words[0].startswith("Blood flow 220 mL/min")
    assert "It holds no more" in words[0]
