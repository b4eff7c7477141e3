"""Deeds of the water unit, the sums that rest on them, and slips at the water tests of a night."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.text import say
from ebbwell.deeds import setup, water_plant, water_sums
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.water_now import water_findings
from ebbwell.deeds.water_sums import carbon_use, contacts, due, feed_flow, night_water, softener
from ebbwell.deeds.water_typed import read_number
from ebbwell.procedure.holds import Status
from ebbwell.state.water import carbon, feed_chlorine_then, filters, notices
from tests.deeds.homes import wrong
from tests.hazards.home import Home

D = Decimal


def plant(home: Home, **typed: str) -> None:
    home.do(water_plant.set_plant, typed=typed)


@pytest.mark.source(
    "fluids:1.4", detail="600 mL/min feed at 300 mL/min and 50 % recovery: 5 min needs 3.0 L a tank"
)
def test_contact_by_the_feed_of_the_order(home: Home) -> None:
    plant(home, recovery="50", carbon1="3", carbon2="6")
    desk = home.look()
    assert feed_flow(desk).taken == D("0.6")
    assert contacts(desk) == {"tank1": D(5), "tank2": D(10)}


@pytest.mark.source("fluids:1.4", detail="feed 1.0 L/min, two beds of 6 L: 6 + 6 = 12 min")
def test_contact_by_the_feed_as_entered_where_it_is_the_larger(home: Home) -> None:
    plant(home, feed_flow="1", recovery="50", carbon1="6", carbon2="6")
    assert sum(contacts(home.look()).values()) == D(12)


@pytest.mark.source("fluids:1.8", detail="scenario: 175 L product, 350 L feed at 50 %")
def test_a_nights_litres(home: Home) -> None:
    plant(home, recovery="50", other_water="40")
    found = night_water(home.look())
    assert (found.product_l, found.feed_l) == (D(175), D(350))
    assert found.cost is None


@pytest.mark.source("fluids:0", detail="1 grain per US gallon is 17.118 mg/L; 1 German degree 17.85 mg/L")
@pytest.mark.parametrize(
    ("typed", "least", "most"), [("10 grain/gal", "171", "171.3"), ("10 dH", "178", "179")]
)
def test_hardness_is_brought_to_one_unit(home: Home, typed: str, least: str, most: str) -> None:
    plant(home, hardness=typed, recovery="50", softener="400")
    found = softener(home.look())
    assert found is not None
    feed = night_water(home.look()).feed_l
    assert feed is not None
    assert D(least) <= found.load_g * 1000 / feed <= D(most)


def test_set_plant_takes_the_place_of_the_first(home: Home) -> None:
    plant(home, feed_flow="0.7")
    plant(home, carbon1="4")
    (fact,) = home.look().standing.of("water_set")
    assert getattr(fact.body, "values", {}) == {"carbon1": "4"}


@pytest.mark.source(
    "fluids:1.4", detail="litres treated x chlorine in feed = mg taken up, against the rated mg"
)
def test_what_is_left_is_not_known_before_a_night(ready: Home) -> None:
    plant(ready, recovery="50", other_water="40", feed_chlorine_least="0.5", feed_chlorine_most="1")
    ready.do(water_plant.change_carbon, typed={"tank": "tank1", "on": "2026-04-01", "rated_mg": "3500"})
    use = carbon_use(ready.look(), "tank1")
    assert use is not None
    assert (use.nights, use.life) == (0, None)


def test_what_is_left_in_a_tank_as_a_band(running: Home) -> None:
    plant(running, recovery="50", other_water="40", feed_chlorine_least="0.5", feed_chlorine_most="1")
    typed = {"tank": "tank1", "on": "2026-04-01", "rated_mg": "3500"}
    running.do(water_plant.change_carbon, typed=typed)
    use = carbon_use(running.look(), "tank1")
    assert use is not None
    assert (use.nights, use.litres) == (1, D(350))
    assert use.life is not None
    assert (use.life.fewest, use.life.most) == (9, 19)
    assert carbon_use(running.look(), "tank2") is None


@pytest.mark.source("fluids:1.3", detail="a change of carbon makes the test stale")
def test_change_carbon_on_a_night_reopens_the_tests_and_puts_no_mark_on_a_running_one(
    ready: Home, running: Home
) -> None:
    typed = {"tank": "tank1", "on": "2026-04-29"}
    assert ready.look().gate_open
    ready.do(water_plant.change_carbon, typed=typed)
    assert ready.status("S5") is Status.STALE or not ready.look().gate_open
    running.do(water_plant.change_carbon, typed=typed)
    assert running.look().treatment.of("happened") == ()
    assert set(carbon(running.look().standing)) == {"tank1"}


def test_the_newest_change_of_a_tank_is_the_latest_day(home: Home) -> None:
    for on in ("2026-04-20", "2026-02-01"):
        home.do(water_plant.change_carbon, typed={"tank": "tank1", "on": on})
    assert carbon(home.look().standing)["tank1"][1].on == "2026-04-20"


@pytest.mark.source("fluids:1.9", detail="extra chlorine and conductivity each night for two weeks")
def test_enter_notice_asks_for_two_weeks_more_tests_after_its_end(home: Home) -> None:
    typed = {"what": "repair", "from_on": "2026-04-29", "until_on": "2026-04-30", "told_by": "card"}
    home.do(water_plant.enter_notice, typed=typed)
    (view,) = notices(home.look().standing, home.clock.now(), 14)
    assert (view.tests_until, view.over) == (date(2026, 5, 14), False)
    home.clock.pass_time(timedelta(days=15))
    (view,) = notices(home.look().standing, home.clock.now(), 14)
    assert view.over
    assert "It is over." in dict(water_findings(home.look())[0].params)["do"]
    home.clock.pass_time(timedelta(days=1))
    assert notices(home.look().standing, home.clock.now(), 14) == ()
    assert water_findings(home.look()) == ()


def test_a_notice_of_a_day_to_come_waits_for_it(home: Home) -> None:
    home.do(water_plant.enter_notice, typed={"what": "flushing", "from_on": "2026-05-02", "told_by": "card"})
    assert water_findings(home.look()) == ()
    home.clock.pass_time(timedelta(days=3))
    assert len(water_findings(home.look())) == 1


@pytest.mark.source("fluids:1.7", detail="the drop is held against the clean one; units bar and psi")
def test_enter_filter_in_another_unit_is_compared(home: Home) -> None:
    new = {"filter": "sediment", "unit": "bar", "pressure_in": "3.0", "pressure_out": "2.8", "changed": "yes"}
    home.do(water_plant.enter_filter, typed=new)
    later = {**new, "unit": "psi", "pressure_in": "45", "pressure_out": "35", "changed": "no"}
    home.do(water_plant.enter_filter, typed=later)
    view = filters(home.look().standing, water_plant.TO_BAR)["sediment"]
    assert view.clean == D("0.2")
    assert D("0.68") < view.drop < D("0.70")


def test_what_comes_round_goes_by_the_units_own_days(home: Home) -> None:
    rows = {one.what: one for one in due(home.look())}
    assert all(one.on is None and not one.by_unit for one in rows.values())
    assert rows["microbe_fluid"].every == 31
    plant(home, microbes_days="90")
    rows = {one.what: one for one in due(home.look())}
    assert (rows["microbe_fluid"].every, rows["microbe_fluid"].by_unit) == (90, True)


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [("0.6", "L/min", "0.6"), ("600 mL/min", "L/min", "0.6"), ("1 gpm", "L/min", "3.785")],
)
def test_a_unit_behind_the_number_is_read(typed: str, unit: str, value: str) -> None:
    assert read_number(typed, unit) == D(value)


@pytest.mark.hazard("H8")
@pytest.mark.source("fluids:1.3", detail="0.15 then 0.015: asked, no number offered")
@pytest.mark.parametrize("second", ["0.015", "1.5"])
def test_a_second_test_ten_times_apart_is_asked_about(night: Home, second: str) -> None:
    night.until("S5")
    test = {"quantity": "total_chlorine", "place": "tank1", "method": "meter"}
    known = ("outside_asked", "past_limit")
    first = night.do(setup.measure, typed="0.15", sure=known, **test).entries[0]
    night.clock.pass_time(timedelta(minutes=11))
    with pytest.raises(Asked) as asked:
        night.do(setup.measure, typed=second, instead_of=(first,), sure=known, **test)
    (question,) = asked.value.questions
    assert (question.key, question.suggestion) == ("tenfold", None)
    night.do(setup.measure, typed=second, instead_of=(first,), sure=(*known, "tenfold"), **test)


def test_another_second_test_is_not_asked_about(night: Home) -> None:
    night.until("S5")
    test = {"quantity": "total_chlorine", "place": "tank1", "method": "meter"}
    first = night.do(setup.measure, typed="0.15", sure=("outside_asked",), **test).entries[0]
    night.clock.pass_time(timedelta(minutes=11))
    night.do(setup.measure, typed="0.02", instead_of=(first,), **test)


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "fluids:1.3", detail="with strips, 0.1 is at the limit: a fail; a meter's 0.10 isn't over it"
)
@pytest.mark.parametrize(
    ("typed", "method", "status"),
    [("0.1", "strip", Status.BARRED), ("0.10", "drops", Status.BARRED), ("0.11", "meter", Status.BARRED)],
)
def test_a_strip_at_its_step_of_the_limit_bars(night: Home, typed: str, method: str, status: Status) -> None:
    night.until("S5")
    test = {"quantity": "total_chlorine", "place": "tank1", "method": method}
    night.do(setup.measure, typed=typed, sure=("outside_asked", "past_limit"), **test)
    assert night.status("S5") is status


@pytest.mark.hazard("H40")
@pytest.mark.parametrize(("typed", "value"), [("0.62 mS/cm", "620"), ("620 uS/cm", "620"), ("620", "620")])
def test_feed_in_milli_or_micro_siemens(night: Home, typed: str, value: str) -> None:
    night.until("S6")
    night.do(setup.measure, quantity="feed_conductivity", typed=typed)
    held = night.look().treatment.at_slot("measured", "feed_conductivity", "")[0]
    assert D(getattr(held.body, "value", "0")) == D(value)


@pytest.mark.parametrize("typed", ["620 ppm", "620 mg/L", "62 %"])
def test_conductivity_in_another_kind_of_unit_is_not_kept(night: Home, typed: str) -> None:
    night.until("S6")
    with pytest.raises(UnitError):
        night.do(setup.measure, quantity="feed_conductivity", typed=typed)


def test_rejection_over_a_hundred_is_refused(night: Home) -> None:
    with pytest.raises(InputError) as why:
        night.do(setup.measure, quantity="rejection", typed="105")
    assert say(why.value.key, "", **why.value.params)


def test_set_plant_refuses_hardness_without_its_unit(home: Home) -> None:
    with pytest.raises(InputError) as why:
        plant(home, hardness="250")
    assert "Type the unit with the number" in say(why.value.key, "", **why.value.params)
    with wrong("water.no_plant"):
        plant(home)


def test_change_carbon_refuses_a_day_to_come(home: Home) -> None:
    with wrong("water.day_to_come"):
        home.do(water_plant.change_carbon, typed={"tank": "tank1", "on": "2026-05-30"})
    assert carbon(home.look().standing) == {}


@pytest.mark.hazard("H67")
def test_enter_notice_refuses_to_loosen_the_chlorine_limit(home: Home) -> None:
    typed = {"what": "repair", "from_on": "2026-04-29", "told_by": "card"}
    with wrong("water.not_looser"):
        home.do(water_plant.enter_notice, typed={**typed, "chlorine_most": "0.11"})
    home.do(water_plant.enter_notice, typed={**typed, "chlorine_most": "0.05"})


def test_enter_filter_refuses_gauges_without_a_unit(home: Home) -> None:
    typed = {"filter": "sediment", "pressure_in": "3", "pressure_out": "2", "changed": "no"}
    with wrong("water.pick_needed"):
        home.do(water_plant.enter_filter, typed=typed)


@pytest.mark.source(
    "arithmetic",
    detail="fluids 1.4: 135 L at 50 % are 270 L of feed; 2 nights at 0.5 and 2 at 1.0 mg/L take 810 of 3,000 mg; an "
    "even rise of 0.2 a night leads to 1.25, 1.45, 1.65, 1.85 mg/L, in all 1,674 mg, and the next would be over; at 1.0 "
    "all along it would be 7 nights; at 0.5 (3,000 - 540) / 135 = 18",
)
def test_a_rise_of_the_chlorine_in_the_feed_shortens_the_life_of_the_carbon(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    nights: list[SimpleNamespace] = []
    figures = {"recovery": "50", "feed_chlorine_least": "0.5"}
    for chlorine in ("0.5", "0.5", "1.0", "1.0"):
        plant(home, **figures, feed_chlorine_most=chlorine, feed_flow=str(1 + len(nights)))
        home.clock.pass_time(timedelta(hours=1))
        at = home.clock.now().at
        nights.append(SimpleNamespace(night=at.date().isoformat(), opened_at=at, first_blood=at))
        home.clock.pass_time(timedelta(days=1))
    changed = {"tank": "tank1", "on": nights[0].night, "rated_mg": "3000"}
    home.do(water_plant.change_carbon, typed=changed)
    monkeypatch.setattr(water_sums, "past_nights", lambda _: iter(nights[::-1]))
    desk = home.look()
    times = [one.opened_at for one in nights]
    assert feed_chlorine_then(desk.standing, times) == [D("0.5"), D("0.5"), D("1.0"), D("1.0")]
    use = water_sums.carbon_use(desk, "tank1")
    assert use is not None
    assert use.life is not None
    assert (use.nights, use.life.fewest, use.life.most) == (4, 4, 18)
    plant(home, **figures, feed_chlorine_most="1.0", feed_flow="9")
    monkeypatch.setattr(water_sums, "feed_chlorine_then", lambda *_: [])
    steady = water_sums.carbon_use(home.look(), "tank1")
    assert steady is not None
    assert steady.life is not None
    assert steady.life.fewest == 7
