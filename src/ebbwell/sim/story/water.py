"""The plant and its first report; week 5: chlorine gets through tank 1; week 15: a sample at the action level."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from ebbwell.deeds import comeoff, rereading, setup
from ebbwell.deeds.orders import advise
from ebbwell.deeds.upkeep import disinfect
from ebbwell.deeds.water import enter_microbes, enter_report, unit_said
from ebbwell.deeds.water_plant import change_carbon, enter_filter, set_plant
from ebbwell.sim.household import LOTS, UNIT
from ebbwell.sim.story import cupboard
from ebbwell.sim.story.calendar import TESTED_AGAIN, instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

GOT_THROUGH: Final = date(2026, 1, 28)
AFTER_TANK1, AFTER_TANK2, RETEST = "0.13", "0.03", "0.02"
"""Total chlorine [mg/L]. Source: scenario."""
SLOWER: Final = 20
"""Nights after which 0.01 mg/L more gets through the new tank. Invented."""
RESIDUAL_NIGHT: Final = date(2026, 4, 9)
PLANT_ENTERED: Final = instant(date(2026, 1, 5), 10)
CHANGED: Final = instant(date(2026, 1, 29), 15)
GAUGES_READ: Final = instant(date(2026, 4, 26), 10)
TOLD_OF_SAMPLE: Final = instant(date(2026, 4, 8), 13)
TOLD_OF_REPEAT: Final = instant(date(2026, 4, 18), 11)


PLANT: Final = {
    "feed_flow": "0.62",
    "carbon1": "4",
    "carbon2": "4",
    "feed_chlorine_least": "0.4",
    "feed_chlorine_most": "0.9",
    "hardness": "160 mg/L CaCO3",
    "softener": "450",
    "recovery": "50",
    "other_water": "40",
    "list": "international",
    "fluid": "fluid_standard",
    "schedule": "Fluid and water once a month, the whole list once a year.",
}
"""Recovery and other water: scenario. The rest is invented."""

REPORT: Final = {
    "aluminium": "<0.005",
    "total_chlorine": "<0.02",
    "copper": "0.004",
    "fluoride": "<0.05",
    "lead": "<0.001",
    "nitrate": "0.3",
    "sulphate": "0.9",
    "zinc": "<0.01",
    "calcium": "0.2",
    "magnesium": "0.1",
    "potassium": "0.2",
    "sodium": "3.1",
    "antimony": "<0.001",
    "arsenic": "<0.001",
    "barium": "<0.01",
    "beryllium": "<0.0002",
    "cadmium": "<0.0002",
    "chromium": "<0.001",
    "mercury": "<0.0001",
    "selenium": "<0.001",
    "silver": "<0.001",
    "thallium": "<0.0005",
}
"""What the invented laboratory found [mg/L], nitrate as NO3."""

GAUGES: Final = {"filter": "sediment", "unit": "bar", "product_l_min": "0.31"}
SAMPLE: Final = {
    "fluid": "fluid_standard",
    "list": "international",
    "drawn_at": "line into the dialyser",
    "laboratory": "Northmere water laboratory",
    "plated_ml": "1",
}


def enter_plant(teller: Teller) -> None:
    """What the plant is, the report from when it was put in, and the gauges with new filters."""
    teller.do(set_plant, typed=PLANT)
    head = {"laboratory": "Northmere water laboratory", "port": "after the membrane", "list": "international"}
    lines = {f"line.{item}": found for item, found in REPORT.items()}
    days = {"sampled_on": "2025-12-15", "reported_on": "2025-12-22"}
    teller.do(enter_report, typed={**head, **days, **lines, "unit": "mg/L", "form.nitrate": "as nitrate"})
    new = {"pressure_in": "3.1", "pressure_out": "3.0", "changed": "yes", "water_c": "11"}
    teller.do(enter_filter, typed={**GAUGES, **new})


def change_tank(teller: Teller) -> None:
    """The first tank is changed on the day after chlorine got through it."""
    carbon = {"carbon_l": "4", "rated_mg": "40000", "feed_l_min": "0.62", "use_by": "2026-07-29"}
    teller.do(change_carbon, typed={"tank": "tank1", "on": "2026-01-29", **carbon})


def read_gauges(teller: Teller) -> None:
    """The weekly look at the gauges, the last one of the story."""
    now = {"pressure_in": "3.1", "pressure_out": "2.8", "changed": "no", "water_c": "13"}
    teller.do(enter_filter, typed={**GAUGES, **now, "hardness_after": "<10 mg/L CaCO3"})


def result(teller: Teller, count: str, drawn: str, read: str, words: str) -> None:
    """A result of the fluid, and what the unit said about it."""
    typed = {**SAMPLE, "count": count, "endotoxin": "<0.05", "sampled_on": drawn, "read_on": read}
    done = teller.do(enter_microbes, typed=typed)
    teller.do(unit_said, of=done.entries[0], who=UNIT, words=words)


def got_through(teller: Teller, of: Night) -> None:
    """The test after tank 1 is over the limit: no blood tonight."""
    teller.open(of)
    teller.walk(of, "questions")
    teller.walk(of, "setup", before="S5")
    lot = cupboard.lot("chlorine_test", of.eve.day)[0]
    for place, value in (("tank1", AFTER_TANK1), ("tank2", AFTER_TANK2)):
        teller.clock.pass_time(timedelta(minutes=3))
        teller.do(setup.measure, quantity="total_chlorine", place=place, typed=value, method="meter", lot=lot)
    teller.clock.pass_time(timedelta(minutes=6))
    teller.do(
        advise,
        who=UNIT,
        words="Not on this water. Have the first tank changed, then test again.",
        about=("S5",),
    )
    teller.do(
        comeoff.call_off,
        words=f"Total chlorine {AFTER_TANK1} mg/L after tank 1, {AFTER_TANK2} after tank 2. Called the home team.",
    )
    teller.called_off.append(of.eve.day.isoformat())


def tested_again(teller: Teller, of: Night) -> None:
    """The first tank was changed by day; the test comes first, then a usual night."""
    teller.carbon_nights, teller.carbon_lasts = 0, SLOWER
    of.values["total_chlorine@tank1"] = RETEST

    def changed() -> None:
        teller.do(setup.happened, what="carbon_changed", words="First tank changed today at 15:00.")

    of.then["S2"] = changed
    teller.play(of)


def told_of_sample(teller: Teller) -> None:
    """The fluid's sample came back at the action level: one disinfection more, with a chemical."""
    words = "Bacteria at the action level. Disinfect once more, and send a second sample."
    result(teller, "55", "2026-04-01", "2026-04-08", words)
    started = teller.clock.now().at + timedelta(minutes=30)
    teller.until(started + timedelta(minutes=50))
    ended = teller.clock.now().at
    teller.do(
        disinfect, what="machine", agent="hypochlorite", started_at=started, ended_at=ended, lot="HC2201"
    )


def after_chemical(teller: Teller, of: Night) -> None:
    """A night after a chemical: the rinse is tested for what is left of it, twice."""
    of.choices["last_disinfection"] = "chemical_logged"

    def residual() -> None:
        lot, expiry = cupboard.lot("residual_strip", of.eve.day)
        code = LOTS["residual_strip"][0]
        teller.do(setup.use_lot, item="residual_strip", code=code, lot=lot, expiry=expiry, scanned=True)
        teller.do(setup.choose, step="S8a", name="strip_agent", option="same_as_used")
        teller.clock.pass_time(timedelta(minutes=1))
        typed = of.values["residual_disinfectant"]
        teller.do(setup.measure, quantity="residual_disinfectant", typed=typed)
        teller.clock.pass_time(timedelta(seconds=40))
        values = {"residual_disinfectant": typed}
        teller.do(rereading.second_check, step="S8", how="reread", values=values)

    of.then["S7"] = residual
    teller.play(of)


def told_of_repeat(teller: Teller) -> None:
    """The second sample is under the level."""
    result(teller, "<10", "2026-04-11", "2026-04-18", "Under the action level. Back to one sample a month.")


NIGHTS: Final = {GOT_THROUGH: got_through, TESTED_AGAIN: tested_again, RESIDUAL_NIGHT: after_chemical}
DAYS: Final = {
    PLANT_ENTERED: enter_plant,
    CHANGED: change_tank,
    TOLD_OF_SAMPLE: told_of_sample,
    TOLD_OF_REPEAT: told_of_repeat,
    GAUGES_READ: read_gauges,
}
