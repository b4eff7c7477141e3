"""Setting a limit: within its bounds, typed twice, with a reason and the unit's name; stricter at once, looser later."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.errors import UnitError
from ebbwell.deeds import record, setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.limits import change_limit, disagreeing
from ebbwell.deeds.units import choose_units
from ebbwell.journal.kinds.house import LimitChanged
from ebbwell.journal.kinds.marks import Withdrawn
from ebbwell.journal.kinds.orders import Pinned
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import LimitRefused
from ebbwell.sim.elsewhere import written_elsewhere
from tests.deeds.homes import wrong
from tests.hazards.home import Home, moved_in, refused

D = Decimal
UNIT = {"reason": "on the sheet of May", "allowed_by": "Nurse Ann", "how": "written"}


def set_to(home: Home, limit: str, value: str, **more: str) -> str:
    return home.do(change_limit, limit=limit, typed=value, again=value, **{**UNIT, **more}).entries[0]


def in_force(home: Home, limit: str) -> Decimal:
    return home.look().rulebook.limit(limit).value


def test_change_limit_holds_for_the_next_night_and_is_pinned_to_it(home: Home) -> None:
    set_to(home, "systolic_low", "110")
    assert in_force(home, "systolic_low") == 110
    home.do(setup.open_night)
    fact = home.look().treatment.of("pinned")[0]
    assert isinstance(fact.body, Pinned)
    assert fact.body.rulebook_digest != load_rulebook().digest
    assert fact.body.rulebook_digest == home.look().rulebook.digest
    assert in_force(home, "systolic_low") == 110


def test_change_limit_refuses_what_lies_outside_its_bounds_or_is_fixed(home: Home) -> None:
    for limit, value in (
        ("chlorine", "0.11"),
        ("chlorine", "0.01"),
        ("systolic_low", "131"),
        ("nothing", "0"),
    ):
        with pytest.raises(LimitRefused):
            set_to(home, limit, value)
    with wrong("limit.unknown"):
        set_to(home, "moon", "1")
    assert not home.look().standing.of("limit_changed")


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"again": "0.06"}, "enter.limit_again"),
        ({"typed": "0.10", "again": "0.1"}, "enter.limit_same"),
        ({"reason": " "}, "enter.limit_reason"),
        ({"allowed_by": ""}, "enter.limit_allowed_by"),
        ({"how": "dreamt"}, "enter.limit_how"),
    ],
)
def test_change_limit_refuses_half_of_what_it_needs(home: Home, change: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(
            change_limit, **{"limit": "chlorine", "typed": "0.05", "again": "0.05 mg/L", **UNIT, **change}
        )


YARD = {"weight": "lb", "temperature": "F", "glucose": "mg/dL"}


@pytest.mark.hazard("H6")
@pytest.mark.source(
    "arithmetic",
    detail="(100.4 - 32) x 5 / 9 = 38.0 C; a difference of 0.9 F x 5 / 9 = 0.5 C, of 0.54 F 0.3 C; 1.1 lb x 0.45359237 "
    "= 0.499 kg; 81 mg/dL / 18.016 = 4.496 mmol/L",
)
@pytest.mark.parametrize(
    ("limit", "typed", "again", "kept"),
    [
        ("fluid_temperature_stop", "100.4", "38.0 C", "38"),
        ("fluid_temperature_off", "0.54", "0.54 F", "0.3"),
        ("weight_loss_between", "1.5", "1.5 lb", "0.7"),
        ("weight_under_target", "1.1", "0.5 kg", "0.5"),
        ("gain_per_day", "2 lb/day", "2", "0.9"),
        ("glucose_low", "81", "4.5 mmol/L", "4.5"),
        ("chlorine", "50 ug/L", "0.05", "0.05"),
    ],
)
def test_a_bare_figure_of_a_limit_stands_in_the_unit_of_the_home(
    home: Home, limit: str, typed: str, again: str, kept: str
) -> None:
    home.do(choose_units, **YARD)
    if limit == "glucose_low":
        set_to(home, limit, "90")
    home.do(change_limit, limit=limit, typed=typed, again=again, **UNIT)
    body = home.look().standing.of("limit_changed")[-1].body
    assert isinstance(body, LimitChanged)
    assert D(body.value) == D(kept)
    assert body.unit == load_rulebook().limit(limit).unit


@pytest.mark.hazard("H6")
def test_change_limit_refuses_a_unit_of_another_kind_and_names_its_bounds_in_both(home: Home) -> None:
    home.do(choose_units, **YARD)
    for limit, typed in (("chlorine", "0.05 mmHg"), ("gain_per_day", "2 lb"), ("chlorine", "0.05 spoons")):
        with pytest.raises(UnitError):
            set_to(home, limit, typed)
    with pytest.raises(LimitRefused) as why:
        set_to(home, "fluid_temperature_stop", "38")
    assert why.value.params["highest"] == "101.3 F (38.5 C)"
    assert not home.look().standing.of("limit_changed")


def test_a_limit_of_the_household_needs_no_name(home: Home) -> None:
    set_to(home, "expiry_near", "60", allowed_by="", how="")
    assert in_force(home, "expiry_near") == 60


def test_a_stricter_limit_holds_for_tonight_at_once_and_shuts_what_lies_past_it(ready: Home) -> None:
    assert not ready.look().bars
    set_to(ready, "chlorine", "0.02")
    assert in_force(ready, "chlorine") == D("0.02")
    step = next(s.id for s in ready.look().procedure.steps if "rule:chlorine_tank1_over" in s.bounds)
    assert ready.status(step) is Status.BARRED
    assert step in ready.bars()


def test_a_looser_limit_waits_for_the_next_night(home: Home) -> None:
    set_to(home, "systolic_low", "120")
    home.do(setup.open_night)
    set_to(home, "systolic_low", "100")
    assert in_force(home, "systolic_low") == 120
    assert home.bars() >= {"S0"}
    desk = home.look()
    assert desk.present is not None
    assert desk.present[1].limit("systolic_low").value == 100


def test_a_night_that_is_over_keeps_its_own(home: Home) -> None:
    first = home.whole_night()
    set_to(home, "systolic_low", "120")
    assert home.house.look(treatment=first).rulebook.limit("systolic_low").value == 100
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    assert in_force(home, "systolic_low") == 120


@pytest.mark.hazard("H67")
def test_withdraw_refuses_what_would_make_a_limit_less_strict(home: Home) -> None:
    entry = set_to(home, "systolic_low", "110")
    with refused("refuse.limit_looser"):
        home.do(record.withdraw, of=entry, reason="a mistake")
    assert in_force(home, "systolic_low") == 110
    set_to(home, "systolic_low", "100")
    assert in_force(home, "systolic_low") == 100


def test_a_looser_figure_can_be_taken_back_and_the_stricter_one_holds_for_tonight(home: Home) -> None:
    entry = set_to(home, "systolic_low", "90")
    home.do(setup.open_night)
    assert in_force(home, "systolic_low") == 90
    home.do(record.withdraw, of=entry, reason="a mistake")
    assert in_force(home, "systolic_low") == 100


@pytest.mark.hazard("H67")
def test_made_stricter_tonight_it_stays_so_to_the_end_of_the_night(home: Home) -> None:
    home.do(setup.open_night)
    set_to(home, "systolic_low", "120")
    set_to(home, "systolic_low", "105")
    assert in_force(home, "systolic_low") == 120
    desk = home.look()
    assert desk.present is not None
    assert desk.present[1].limit("systolic_low").value == 105


@pytest.mark.hazard("H67")
def test_taken_back_on_another_computer_it_is_less_strict_from_the_next_night_on(home: Home) -> None:
    home.do(setup.open_night)
    entry = set_to(home, "systolic_low", "120")
    home.house.take_in([written_elsewhere(home.house, None, Withdrawn(of=entry), replaces=(entry,))])
    assert not home.look().standing.of("limit_changed")
    assert in_force(home, "systolic_low") == 120
    desk = home.look()
    assert desk.present is not None
    assert desk.present[1].limit("systolic_low").value == 100


def test_of_two_made_apart_the_stricter_holds_until_one_is_set_anew(home: Home) -> None:
    set_to(home, "systolic_low", "110")
    other = LimitChanged(limit="systolic_low", value="105", unit="mmHg", reason="elsewhere")
    home.house.take_in([written_elsewhere(home.house, None, other)])
    assert in_force(home, "systolic_low") == 110
    assert disagreeing(home.look()) == ("systolic_low",)
    set_to(home, "systolic_low", "105")
    assert in_force(home, "systolic_low") == 105
    assert disagreeing(home.look()) == ()


@pytest.mark.parametrize(
    "body",
    [
        LimitChanged(limit="chlorine", value="0.5", unit="mg/L", reason="past its bounds"),
        LimitChanged(limit="chlorine", value="0.05", unit="ug/L", reason="in another unit"),
        LimitChanged(limit="moon", value="1", unit="mg/L", reason="of a newer program"),
        LimitChanged(limit="heparin_factor", value="5", unit="times", reason="fixed"),
        LimitChanged(limit="chlorine", value="a little", unit="mg/L", reason="no number"),
    ],
)
def test_a_figure_that_cannot_be_taken_changes_nothing(body: LimitChanged) -> None:
    home = moved_in()
    home.house.take_in([written_elsewhere(home.house, None, body)])
    assert home.look().rulebook == load_rulebook()
