"""Machine settings against the plan: to the digits that the machine shows, and never over the unit's cap."""

from __future__ import annotations

import pytest

from ebbwell.deeds import orders, plan, setup
from ebbwell.procedure.evidence import most_by_cap, planned, settings_apart
from ebbwell.sim.household import UNIT
from tests.deeds import homes
from tests.hazards.home import Home

CAP = "7 mL/kg/h x 64.5 kg = 451.5 mL/h; x 7.5 h = 3.38625 L (fluids 4.3)"


def _at_the_cap() -> Home:
    """A plan that takes all that the cap lets off, the unit agreeing."""
    home = homes.fork(homes.at_s29())
    home.do(
        setup.measure, quantity="weight_before", typed="68.9", sure=("outside_asked", "outside_own", "digits")
    )
    home.until("S26")
    home.do(orders.advise, who=UNIT, words="take what fits", about=("S26",), allows=True)
    home.do(plan.agree_plan, drink="0.2")
    return home


def _apart(home: Home, line: str, typed: str) -> bool:
    """Whether a setting read off the machine isn't what it should be."""
    seen = tuple(f.id for f in home.look().treatment.at_slot("measured", line, "setting"))
    home.do(setup.set_machine, line=line, typed=typed, instead_of=seen)
    desk = home.look()
    return line in {name for name, *_ in settings_apart(desk.scene, desk.procedure.step("S26"))}


@pytest.fixture(scope="module")
def capped() -> Home:
    return _at_the_cap()


@pytest.mark.source("arithmetic", detail=CAP)
@pytest.mark.hazard("H26")
@pytest.mark.parametrize(
    ("line", "typed", "apart"),
    [
        ("removal_rate", "451.5", False),
        ("removal_rate", "451", False),
        ("removal_rate", "452", True),
        ("removal_rate", "451.6", True),
        ("removal_rate", "450", True),
        ("fluid_to_remove", "3.38", False),
        ("fluid_to_remove", "3.3", False),
        ("fluid_to_remove", "3.4", True),
        ("fluid_to_remove", "3.39", True),
        ("fluid_to_remove", "3.2", True),
    ],
)
def test_a_setting_over_the_cap_is_apart_however_little(
    capped: Home, line: str, typed: str, apart: bool
) -> None:
    assert _apart(homes.fork(capped), line, typed) is apart


@pytest.mark.source("arithmetic", detail="2.3 L over 7.5 h: 306.67 mL/h, well under the cap")
@pytest.mark.parametrize(("typed", "apart"), [("306.7", False), ("307", False), ("306", True), ("308", True)])
def test_under_the_cap_the_nearest_figure_that_the_machine_shows_is_right(typed: str, apart: bool) -> None:
    home = homes.fork(homes.ready())
    assert planned(home.look().scene, "removal_rate") is not None
    assert _apart(home, "removal_rate", typed) is apart


def test_without_the_lines_of_the_cap_nothing_is_bounded() -> None:
    order = homes.ready().look().scene.order
    assert most_by_cap(None, "removal_rate") is None
    assert most_by_cap(order, "blood_flow") is None
