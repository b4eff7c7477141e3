"""The fluid of one night: each volume counted once, whatever was recorded and however the home connects."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.deeds import comeoff, night, setup
from ebbwell.sim.household import PRESCRIPTION, READING
from ebbwell.state.night_fluid import night_fluid, weight_after_expected, went_in
from tests.hazards.home import Home, moved_in

D = Decimal
GIVEN = {**PRESCRIPTION, "connection": "prime_given", "prime_given": "0.25"}


def ran(lines: dict[str, str] = PRESCRIPTION) -> Home:
    home = moved_in(lines)
    home.do(setup.open_night)
    home.connected()
    home.clock.pass_time(timedelta(hours=7))
    return home


def litres(home: Home) -> dict[str, Decimal]:
    found = went_in(home.look().treatment)
    assert found is not None
    return dict(found.litres)


def test_the_planned_rinse_back_counts_once_and_says_so() -> None:
    home = ran()
    home.do(comeoff.come_off)
    found = went_in(home.look().treatment)
    assert found is not None
    assert (found.litres, found.assumed) == ({"rinse_back": D("0.3")}, ("rinse_back",))


def test_a_recorded_rinse_back_takes_the_planned_ones_place() -> None:
    home = ran()
    home.do(night.give, what="rinse_back", typed="0.25", unit="L")
    home.do(comeoff.come_off)
    assert litres(home) == {"rinse_back": D("0.25")}


def test_drinks_and_boluses_of_saline_add_up_each_once() -> None:
    home = ran()
    for what, typed in (("drink", "150"), ("saline", "100"), ("saline", "100")):
        home.do(night.give, what=what, typed=typed, unit="mL")
    home.do(comeoff.come_off)
    assert litres(home) == {"drink": D("0.15"), "saline": D("0.2"), "rinse_back": D("0.3")}


@pytest.mark.source("fluids:4.5", detail="prime and rinse-back both went in: 66.3 - 2.3 + 0.25 + 0.3 = 64.55")
def test_a_prime_that_was_given_counts_once_beside_the_rinse_back() -> None:
    home = ran(GIVEN)
    home.do(night.read, values={**READING, "fluid_removed": "2.30"}, when="before_off", sure=("past_limit",))
    home.do(comeoff.come_off)
    assert litres(home) == {"rinse_back": D("0.3"), "prime_given": D("0.25")}
    assert str(weight_after_expected(home.look().treatment)) in ("64.5", "64.6")


def test_a_prime_that_ran_to_drain_never_counts() -> None:
    home = ran({**PRESCRIPTION, "prime_given": "0.25"})
    home.do(comeoff.come_off)
    assert litres(home) == {"rinse_back": D("0.3")}


def test_without_the_blood_back_no_rinse_back_is_assumed() -> None:
    home = ran()
    home.do(comeoff.come_off, blood_returned="none")
    assert litres(home) == {}


def test_the_summary_of_a_night() -> None:
    home = ran()
    home.do(night.read, values={**READING, "systolic": "104"}, when="waking")
    home.do(night.note_event, what="cramp")
    home.do(night.read, values={**READING, "fluid_removed": "2.30"}, when="before_off", sure=("past_limit",))
    before = night_fluid(home.look().treatment)
    assert (before.target, before.went_in, before.minutes) == ("64.5", "", None)
    home.do(comeoff.come_off)
    home.do(night.read, values={"systolic": "121", "diastolic": "70"}, when="lying")
    after = night_fluid(home.look().treatment)
    assert (after.removed, after.went_in) == ("2.30", "0.3")
    assert (after.lowest, after.after, after.symptoms) == ("104", "121", ("cramp",))
    assert after.minutes in range(415, 425)
