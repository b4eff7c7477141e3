"""A limit made stricter after the plan was agreed: told, checked again, open again before connecting, never after."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.deeds import plan
from ebbwell.deeds.connect import connect
from ebbwell.deeds.limits import change_limit
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.standing_now import findings
from ebbwell.procedure.evidence import plan_void
from ebbwell.procedure.holds import Status
from ebbwell.procedure.plan_limits import moved_limits
from tests.hazards.home import Home

D = Decimal
UNIT = {"reason": "on the sheet of May", "allowed_by": "Nurse Ann", "how": "written"}
USUAL = "2300 mL / 7.5 h = 306.7 mL/h; / 64.5 kg = 4.75 mL/kg/h"


def set_to(home: Home, limit: str, value: str) -> None:
    home.do(change_limit, limit=limit, typed=value, again=value, **UNIT)


def agreed(home: Home) -> Plan:
    fact = home.look().treatment.last("plan")
    assert fact is not None
    assert isinstance(fact.body, Plan)
    return fact.body


def told(home: Home) -> set[str]:
    return {f.rule for f in findings(home.look())}


@pytest.fixture
def planned(weighing: Home) -> Home:
    weighing.until("S26")
    weighing.pass_step("S26")
    return weighing


def test_a_plan_keeps_the_limits_that_it_was_judged_by(planned: Home) -> None:
    kept = agreed(planned).limits
    assert {name: kept[name] for name in ("removal_rate_care", "removal_large", "acid_start_up")} == {
        "removal_rate_care": "13",
        "removal_large": "3.5",
        "acid_start_up": "0.8",
    }
    assert "chlorine" not in kept


@pytest.mark.hazard("H67")
@pytest.mark.source("arithmetic", detail=f"{USUAL}, which is over 4.5")
def test_a_line_past_the_stricter_limit_opens_the_plan_again(planned: Home) -> None:
    set_to(planned, "removal_rate_care", "4.5")
    assert (planned.status("S26"), planned.why("S26")) == (Status.BARRED, "hold.plan_limit")
    assert "S26" in planned.bars()
    assert told(planned) >= {"plan_older_limit", "removal_rate_high"}
    (moved,) = moved_limits(planned.look().rulebook, agreed(planned))
    assert (moved.limit.id, moved.older, moved.opens) == ("removal_rate_care", D(13), True)
    planned.do(plan.agree_plan, drink="0.2")
    assert planned.why("S26") != "hold.plan_limit"
    assert "removal_rate_high" in agreed(planned).findings
    assert "plan_older_limit" not in told(planned)


@pytest.mark.source("arithmetic", detail=f"{USUAL}, which is under 5")
def test_a_line_within_the_stricter_limit_leaves_the_plan_and_says_the_older_one(planned: Home) -> None:
    set_to(planned, "removal_rate_care", "5")
    assert planned.why("S26") != "hold.plan_limit"
    found = next(f for f in findings(planned.look()) if f.rule == "plan_older_limit")
    assert dict(found.params)["older"] == "13 mL/kg/h"
    assert dict(found.params)["now"] == "5 mL/kg/h"
    assert "removal_rate_high" not in told(planned)


@pytest.mark.source("arithmetic", detail=f"{USUAL}: shown as 4.8, which may be 4.75 to 4.85")
def test_a_figure_that_its_last_digit_cannot_tell_from_the_limit_opens_the_plan(planned: Home) -> None:
    shown = D(agreed(planned).figures["removal_rate_per_kg"].split()[0])
    set_to(planned, "removal_rate_care", str(shown))
    assert planned.why("S26") == "hold.plan_limit"


@pytest.mark.source(
    "arithmetic", detail="the acid needed holds the start-up: 0.9 L for 0.8 L makes it 0.1 L more"
)
def test_a_stricter_figure_that_the_sums_go_by_opens_the_plan(planned: Home) -> None:
    before = D(agreed(planned).figures["acid_needed"].split()[0])
    set_to(planned, "acid_start_up", "0.9")
    assert planned.why("S26") == "hold.plan_limit"
    planned.do(plan.agree_plan, drink="0.2")
    assert D(agreed(planned).figures["acid_needed"].split()[0]) == before + D("0.1")


def test_a_looser_limit_leaves_the_plan_alone(planned: Home) -> None:
    set_to(planned, "removal_large", "4")
    assert not moved_limits(planned.look().rulebook, agreed(planned))
    assert "plan_older_limit" not in told(planned)


@pytest.mark.hazard("H67")
def test_while_blood_runs_it_is_a_finding_and_bars_nothing(ready: Home) -> None:
    ready.do(connect)
    set_to(ready, "removal_rate_care", "4.5")
    assert plan_void(ready.look().scene, agreed(ready)) == ""
    assert told(ready) >= {"plan_older_limit", "removal_rate_high"}
    ready.come_off()
    ready.close()
