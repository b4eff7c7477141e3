"""The deed of agreeing tonight's plan, and the deed of connecting with its honest twin."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from ebbwell.deeds import orders, plan, setup
from ebbwell.deeds.connect import already_running, connect
from ebbwell.deeds.desk import Refused
from ebbwell.journal.kinds.night import AlreadyRunning, Connected
from ebbwell.journal.kinds.orders import Plan
from ebbwell.procedure.holds import Status
from ebbwell.sim import hands
from ebbwell.sim.household import ILKA, PRESCRIPTION, TOVE, prescribe
from ebbwell.state.night import Phase
from tests.deeds.homes import wrong
from tests.hazards.home import Home, moved_in, refused, rules


def _weighed(home: Home, kg: str = "66.3") -> None:
    home.do(setup.measure, quantity="weight_before", typed=kg)


def _plan(home: Home) -> Plan:
    fact = home.look().treatment.last("plan")
    assert fact is not None
    assert isinstance(fact.body, Plan)
    return fact.body


@pytest.mark.source(
    "arithmetic", detail="66.3 - 64.5 + 0.2 drunk + 0.3 rinse-back = 2.3 L; 2300 mL in 7.5 h = 306.7 mL/h"
)
def test_agree_plan_keeps_the_figures_as_shown(weighing: Home) -> None:
    _weighed(weighing)
    weighing.do(plan.agree_plan, drink="0.2")
    figures = _plan(weighing).figures
    volume, unit = figures["fluid_to_remove"].split()
    assert (Decimal(volume), unit) == (Decimal("2.3"), "L")
    assert figures["removal_rate"].split() == ["306.7", "mL/h"]


def test_agree_plan_rests_on_the_weight_and_the_order(weighing: Home) -> None:
    _weighed(weighing)
    weighing.do(plan.agree_plan, drink="0.2")
    desk = weighing.look()
    weight = desk.treatment.at_slot("measured", "weight_before", "")[0].id
    assert desk.scene.order is not None
    assert {weight, *(f.id for f in desk.scene.order.facts)} <= set(_plan(weighing).rests_on)


def test_agree_plan_falls_with_the_weight_it_rests_on(weighing: Home) -> None:
    weighing.until("S26")
    weighing.pass_step("S26")
    seen = tuple(f.id for f in weighing.look().treatment.at_slot("measured", "weight_before", ""))
    weighing.do(setup.measure, quantity="weight_before", typed="66.5", instead_of=seen)
    assert (weighing.status("S26"), weighing.why("S26")) == (Status.BARRED, "hold.plan_void")


def test_agree_plan_refuses_before_the_weight(night: Home, weighing: Home) -> None:
    with refused("refuse.shut"):
        weighing.do(plan.agree_plan, drink="0.2")
    with refused("refuse.shut"):
        night.do(plan.agree_plan, drink="0.2")


@pytest.mark.parametrize("drink", ["8.1", "-0.1"])
def test_agree_plan_refuses_litres_that_nobody_drinks(weighing: Home, drink: str) -> None:
    _weighed(weighing)
    with wrong("enter.litres"):
        weighing.do(plan.agree_plan, drink=drink)


def test_agree_plan_refuses_a_start_of_another_day(weighing: Home) -> None:
    _weighed(weighing)
    with wrong("enter.start_at"):
        weighing.do(plan.agree_plan, drink="0.2", start_at=weighing.clock.now().at - timedelta(hours=25))


@pytest.mark.hazard("H26")
@pytest.mark.source("practice:e", detail="H26: at 60 kg, 7 mL/kg/h and 8 h no more than 3.36 L fits")
def test_agree_plan_refuses_more_than_the_cap_and_says_what_fits() -> None:
    lines = {**PRESCRIPTION, "target_weight": "60", "treatment_minutes": "480", "removal_cap": "7"}
    home = moved_in(lines)
    home.do(setup.open_night)
    home.until("S29")
    hands.play(home.house, hands.Move(setup.measure, {"quantity": "weight_before", "typed": "65.8"}))
    with pytest.raises(Refused) as caught:
        home.do(plan.agree_plan, drink="0")
    assert caught.value.key == "refuse.plan_stop"
    assert "removal_over_cap" in str(caught.value.params["rules"])
    assert Decimal(str(caught.value.params["fits"]).split()[0]) <= Decimal("3.36")
    assert home.look().treatment.of("plan") == ()


def test_agree_plan_takes_the_units_figure_only_with_its_advice(weighing: Home) -> None:
    weighing.do(setup.measure, quantity="weight_before", not_measured="scale is broken")
    with refused("refuse.shut"):
        weighing.do(plan.agree_plan, drink="0", removal_by_unit="2")
    weighing.do(orders.advise, who="Nurse on call", words="Take 2 litres.", about=("S29",), allows=True)
    with refused("refuse.nothing_to_plan"):
        weighing.do(plan.agree_plan, drink="0")
    weighing.do(plan.agree_plan, drink="0", removal_by_unit="2")
    assert _plan(weighing).figures["fits_tonight"] == "2 L"


def test_agree_plan_refuses_the_units_figure_without_the_unit(weighing: Home) -> None:
    _weighed(weighing)
    with refused("refuse.removal_by_unit"):
        weighing.do(plan.agree_plan, drink="0", removal_by_unit="2")


def test_connect_keeps_what_met_each_hold_point(ready: Home) -> None:
    done = ready.do(connect)
    fact = ready.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert isinstance(fact.body, Connected)
    needed = {
        v.step.id
        for v in ready.look().views.values()
        if v.step.gate == "connect" and v.status is not Status.NOT_NEEDED
    }
    assert set(fact.body.satisfied) == needed
    assert all(fact.body.satisfied.values())
    assert (fact.body.shown["target_weight"], fact.body.shown["removal_cap"]) == ("64.5", "7")
    assert ready.look().phase is Phase.RUNNING


def test_connect_refuses_with_all_reasons_at_once(night: Home) -> None:
    with pytest.raises(Refused) as caught:
        night.do(connect)
    assert caught.value.key == "refuse.gate"
    assert caught.value.params["count"] == len(caught.value.bars) > 20
    assert {"S0", "S5", "S26", "S31"} <= {bar.step for bar in caught.value.bars}
    assert night.look().phase is Phase.SETTING_UP


def test_connect_refuses_in_any_other_phase(home: Home, running: Home, off: Home) -> None:
    for place, phase in ((home, "none"), (running, "running"), (off, "safe")):
        with refused(f"refuse.phase.{phase}"):
            place.do(connect)


@pytest.mark.parametrize("by", [TOVE, ILKA, "visitor"])
def test_connect_refuses_who_is_not_signed_off(ready: Home, by: str) -> None:
    with refused("refuse.skill.connect"):
        ready.do(connect, by=by)


@pytest.mark.hazard("H2")
@pytest.mark.source("practice:e", detail="H2: a plan from an older prescription can't be used")
def test_connect_refuses_after_a_newer_prescription_until_all_is_read_again(ready: Home) -> None:
    prescribe(ready.house, ready.clock, "4", {**PRESCRIPTION, "target_weight": "64.0"})
    with pytest.raises(Refused) as caught:
        ready.do(connect)
    assert {"S2", "S26"} <= {bar.step for bar in caught.value.bars}
    ready.do(orders.read_back, version_read="4")
    ready.set_up()
    ready.do(connect)
    assert _plan(ready).figures["fluid_to_remove"] == "2.80 L"


def test_already_running_is_never_refused_and_names_what_was_open(
    home: Home, night: Home, ready: Home
) -> None:
    places: list[tuple[Home, int]] = [(home, 20), (night, 20), (ready, 0)]
    for place, least in places:
        done = place.do(already_running, by="visitor", words="found it so")
        body = place.look().treatment.of("already_running")[0].body
        assert isinstance(body, AlreadyRunning)
        assert body.words == "found it so"
        assert len(body.open_holds) >= least
        assert ("running_with_open_holds" in rules(done.findings)) is bool(body.open_holds)
        assert place.look().phase is Phase.RUNNING


def test_after_blood_runs_no_mark_is_gated(night: Home) -> None:
    night.do(already_running)
    marks: list[tuple[Any, dict[str, str]]] = [
        (setup.choose, {"step": "S31", "name": "tape", "option": "no_slack"}),
        (setup.measure, {"quantity": "pulse", "typed": "70"}),
        (setup.tick, {"step": "C14"}),
    ]
    for deed, inputs in marks:
        night.do(deed, by="visitor", **inputs)
    assert night.look().treatment.at_slot("choice", "S31", "tape") != ()


def test_agree_plan_keeps_what_was_expected(weighing: Home) -> None:
    _weighed(weighing)
    begins = weighing.clock.now().at + timedelta(minutes=40)
    weighing.do(plan.agree_plan, drink="0,2", saline="0", losses="0.1", start_at=begins)
    given = _plan(weighing).given
    assert given == {"drink": "0.2 L", "saline": "0 L", "losses": "0.1 L", "start_at": begins.isoformat()}


def test_agree_plan_refuses_figures_that_moved_since_they_were_seen(weighing: Home) -> None:
    _weighed(weighing)
    begins = weighing.clock.now().at
    seen = plan.draught(weighing.look(), drink=Decimal("0.2"), start_at=begins).digest
    held = tuple(f.id for f in weighing.look().treatment.at_slot("measured", "weight_before", ""))
    weighing.do(setup.measure, quantity="weight_before", typed="66.5", instead_of=held)
    with refused("refuse.plan_moved"):
        weighing.do(plan.agree_plan, drink="0.2", start_at=begins, seen=seen)
    again = plan.draught(weighing.look(), drink=Decimal("0.2"), start_at=begins).digest
    weighing.do(plan.agree_plan, drink="0.2", start_at=begins, seen=again)
    assert _plan(weighing).figures["fluid_to_remove"] == "2.50 L"


@pytest.mark.source("fluids:5.2", detail="17 G: 200 to 250 mL/min; 15 G: 350 to 450 or more")
@pytest.mark.parametrize(
    ("gauge", "flow", "told"),
    [
        ("17", "250", False),
        ("17", "251", True),
        ("16", "350", False),
        ("16", "360", True),
        ("15", "460", False),
    ],
)
def test_a_flow_over_the_table_of_its_needle_is_a_note_of_order_and_plan(
    gauge: str, flow: str, told: bool
) -> None:
    home = moved_in({**PRESCRIPTION, "needle_gauge": gauge, "blood_flow": flow})
    found = {f.rule: f for f in plan.order_findings(home.look())}
    assert ("needle_narrow" in found) is told
    home.do(setup.open_night)
    home.until("S29")
    _weighed(home)
    draught = plan.draught(home.look(), drink=Decimal("0.2"))
    assert ("needle_narrow" in {f.rule for f in draught.findings}) is told
    assert "needle_narrow" not in {f.rule for f in draught.refused}


def test_without_a_needle_or_with_a_line_that_waits_nothing_is_said_of_the_flow() -> None:
    lines = {name: text for name, text in PRESCRIPTION.items() if name != "needle_gauge"}
    assert plan.order_findings(moved_in({**lines, "blood_flow": "400"}).look()) == ()
    home = moved_in({**PRESCRIPTION, "needle_gauge": "17"})
    home.do(orders.amend_line, line="blood_flow", value="300", giver="unit", read_back="300")
    assert plan.order_findings(home.look()) == ()
