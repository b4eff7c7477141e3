"""Is the rulebook complete? Every threshold of the references, where it lives as data, or why it is no limit here.

The references are walked from their side: fluids 1.1 to 1.11, 2.4, 3.1, 4.2, 4.5, 4.6, 5.1 to 5.3, 5.5 and practice
a0 to h2. Each row names the figure as the reference prints it and the place in the data that has to hold it.
"""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from importlib import import_module
from typing import NamedTuple

import pytest

from ebbwell.core.text import has_text, say
from ebbwell.procedure.load import load_procedure
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import SOURCE_KINDS, Limit
from ebbwell.rulebook.pressure_tables import load_pressure_tables
from ebbwell.rulebook.substances import substance
from ebbwell.rulebook.water_lists import load_water_lists
from tests.rulebook import printed

BOOK = load_rulebook()
LISTS = load_water_lists()
PRESSURES = load_pressure_tables()


class Row(NamedTuple):
    """where: section of the reference. what: the threshold. figure: as printed. lives: its place in the data."""

    where: str
    what: str
    figure: str
    lives: str


ROWS = (
    # 1.1: line by line in tests/external/test_water_lists.py; here one of each kind
    Row("fluids:1.1", "total chlorine, mg/L", "0.1", "water:international.total_chlorine"),
    Row("fluids:1.1", "nitrate as nitrogen, mg/L", "2", "water:international.nitrate"),
    Row("fluids:1.1", "selenium, mg/L", "0.09", "water:international.selenium"),
    Row("fluids:1.1", "chloramine, older list, mg/L", "0.1", "water:older_us.chloramine"),
    Row("fluids:1.1", "aluminium, United Kingdom, ug/L", "10", "water:united_kingdom.aluminium"),
    Row("fluids:1.1", "ug typed as mg: over 20 times the limit", "20", "science:water_report.SLIP_FACTOR"),
    # 1.2
    Row("fluids:1.2", "microbes in water, CFU/mL", "100", "microbe:international.water_standard"),
    Row("fluids:1.2", "microbes in water, action", "50", "microbe_action:international.water_standard"),
    Row("fluids:1.2", "ultrapure water, CFU/mL", "0.1", "microbe:international.water_ultrapure"),
    Row("fluids:1.2", "endotoxin in water, EU/mL", "0.25", "endotoxin:international.water_standard"),
    Row("fluids:1.2", "endotoxin in fluid, action", "0.25", "endotoxin_action:international.fluid_standard"),
    Row("fluids:1.2", "older rule, CFU/mL", "200", "microbe:older_us.fluid_standard"),
    Row("fluids:1.2", "Japan, ultrapure, EU/mL", "0.001", "endotoxin:japan.fluid_ultrapure"),
    # 1.3
    Row("fluids:1.3", "total chlorine in product water, mg/L", "0.1", "limit:chlorine"),
    Row("fluids:1.3", "rising but under, mg/L", "0.05", "limit:chlorine_rising"),
    Row("fluids:1.3", "validity of the test, 2 to 4 h", "4", "hours:S5"),
    # 1.5, 1.6
    Row("fluids:1.5", "rejection wanted, over %", "90", "limit:rejection_least"),
    Row("fluids:1.5", "fall of rejection, points", "3", "limit:rejection_fall"),
    Row("fluids:1.5", "product over its history, %", "20", "limit:product_rise"),
    Row("fluids:1.6", "hardness after the softener, mg/L CaCO3", "17", "limit:hardness"),
    Row("fluids:1.6", "safety of the softener, low end, %", "75", "limit:softener_share"),
    # 1.4, 1.7, 1.9
    Row("fluids:1.4", "contact time of each tank, min", "5", "limit:contact_time"),
    Row("fluids:1.7", "drop over the clean one, low end, bar", "0.5", "limit:filter_rise"),
    Row("fluids:1.7", "drop over the clean one, high end, bar", "0.7", "highest:filter_rise"),
    Row("fluids:1.9", "tests each night after a change, days", "14", "limit:notice_days"),
    Row("fluids:1.9", "microbes monthly, days", "31", "limit:microbes_due"),
    Row("fluids:1.9", "chemical list yearly, days", "365", "limit:report_due"),
    Row("fluids:1.9", "gauges weekly, days", "7", "limit:gauges_due"),
    Row("fluids:1.7", "feed pressure, low end, bar", "2", "quantity:supply_pressure.ask_low"),
    Row("fluids:1.7", "feed pressure, high end, bar", "5", "quantity:supply_pressure.ask_high"),
    # 1.11
    Row(
        "fluids:1.11",
        "free hypochlorite left, most that a unit takes, mg/L",
        "0.5",
        "highest:residual_disinfectant",
    ),
    # 2.4
    Row("fluids:2.4", "conductivity, care, % of set", "2", "limit:conductivity_care"),
    Row("fluids:2.4", "conductivity, stop, % of set", "5", "limit:conductivity_stop"),
    Row("fluids:2.4", "plausible, low end, mS/cm", "12", "limit:conductivity_low"),
    Row("fluids:2.4", "plausible, high end, mS/cm", "16", "limit:conductivity_high"),
    Row("fluids:2.4", "own meter against machine, mS/cm", "0.3", "limit:meters_apart"),
    Row("fluids:2.4", "fluid usual from, C", "35", "limit:fluid_temperature_low"),
    # 3.1
    Row("fluids:3.1", "first dose, implausible over, units/kg", "100", "limit:heparin_dose_most"),
    Row("fluids:3.1", "rate, implausible over, units/kg/h", "50", "limit:heparin_rate_most"),
    Row("fluids:3.3", "pump volume against rate times time, mL", "0.2", "limit:heparin_given_off"),
    Row("fluids:3.3", "strengths a factor of 5 apart", "5", "limit:heparin_factor"),
    # 4.2
    Row("fluids:4.2", "removal rate, mL/kg/h", "13", "limit:removal_rate_care"),
    Row(
        "fluids:4.2", "removal rate from which risk starts to rise, mL/kg/h", "10", "limit:removal_rate_note"
    ),
    Row("fluids:4.2", "gain, % of target", "4.5", "limit:gain_percent"),
    Row("fluids:4.2", "gain with more deaths, % of target", "4.8", "highest:gain_percent"),
    Row("fluids:4.2", "gain a day, kg", "1", "limit:gain_per_day"),
    Row("fluids:4.2", "target missed, kg", "1", "limit:target_missed"),
    # 4.5
    Row("fluids:4.5", "two readings within, kg", "0.1", "limit:readings_apart"),
    Row("fluids:4.5", "lighter than after the last, kg", "0.5", "limit:weight_loss_between"),
    Row("fluids:4.5", "after, against expected, note, kg", "0.3", "limit:weight_after_note"),
    Row("fluids:4.5", "after, against expected, care, kg", "0.5", "limit:weight_after_care"),
    Row("fluids:4.5", "weight refused under, kg", "20", "quantity:weight_before.last_low"),
    Row("fluids:4.5", "weight refused over, kg", "300", "quantity:weight_before.last_high"),
    # 4.6
    Row("fluids:4.6", "systolic, stop under, mmHg", "90", "limit:systolic_stop"),
    Row("fluids:4.6", "systolic, care under, mmHg", "100", "limit:systolic_low"),
    Row("fluids:4.6", "systolic, care over, mmHg", "180", "limit:systolic_high"),
    Row("fluids:4.6", "diastolic, care over, mmHg", "100", "limit:diastolic_high"),
    Row("fluids:4.6", "fall of systolic, mmHg", "20", "limit:systolic_fall"),
    # 5.1, 5.3, 5.5
    Row("fluids:5.1", "arterial, European guideline, mmHg", "-150", "limit:arterial_guideline"),
    Row("fluids:5.1", "arterial, common practice, mmHg", "-250", "limit:arterial_most"),
    Row("fluids:5.1", "venous: look over, mmHg", "250", "limit:venous_high"),
    Row("fluids:5.1", "nights that a pressure is held against", "8", "science:own_past.NIGHTS_BACK"),
    Row("fluids:5.1", "like blood flow, mL/min", "10", "science:own_past.LIKE_FLOW_ML_MIN"),
    # 5.1 and 5.2: row by row in tests/rulebook/test_pressure_tables.py; here the ends of one row and the other access
    Row("fluids:5.1", "usual arterial at 200 to 300 mL/min, furthest, mmHg", "-180", "usual:arterial.230.0"),
    Row("fluids:5.1", "usual arterial at 200 to 300 mL/min, nearest, mmHg", "-60", "usual:arterial.230.1"),
    Row("fluids:5.1", "usual venous at 200 to 300 mL/min, low end, mmHg", "80", "usual:venous.230.0"),
    Row("fluids:5.1", "usual venous at 200 to 300 mL/min, high end, mmHg", "160", "usual:venous.230.1"),
    Row("fluids:5.1", "catheter, arterial to, mmHg", "-250", "catheter:arterial.0"),
    Row("fluids:5.1", "catheter, venous to, mmHg", "250", "catheter:venous.1"),
    Row("fluids:5.2", "highest flow of a 17 G needle, mL/min", "250", "gauge:17"),
    Row("fluids:5.2", "highest flow of a 14 G needle, mL/min", "500", "gauge:14"),
    Row("fluids:5.3", "membrane pressure, usual ceiling, mmHg", "300", "limit:tmp_high"),
    Row("fluids:5.5", "venous fall at the same flow, mmHg", "20", "limit:venous_fall"),
    # practice a0
    Row("practice:a0", "target weight, change asked over, kg", "1.0", "near:target_weight.above"),
    Row("practice:a0", "target weight, change asked over, %", "2", "near:target_weight.above_percent"),
    Row("practice:a0", "weight before, gain asked over, %", "5", "near:weight_before.above_percent"),
    Row("practice:a0", "weight before, gain a day asked over, kg", "1.5", "near:weight_before.above_a_day"),
    Row("practice:a0", "weight before, under target, kg", "1.0", "limit:weight_under_target"),
    Row("practice:a0", "body temperature, stop at, C", "37.8", "limit:body_temperature"),
    Row("practice:a0", "body temperature typed in F from", "95", "quantity:body_temperature.fahrenheit_low"),
    Row("practice:a0", "body temperature typed in F to", "106", "quantity:body_temperature.fahrenheit_high"),
    Row("practice:a0", "pulse, low", "50", "limit:pulse_low"),
    Row("practice:a0", "pulse, high", "110", "limit:pulse_high"),
    Row("practice:a0", "oxygen, low, %", "92", "limit:oxygen_low"),
    Row("practice:a0", "glucose, low, mmol/L", "4.5", "limit:glucose_low"),
    Row("practice:a0", "glucose, high, mmol/L", "15", "limit:glucose_high"),
    Row("practice:a0", "glucose refused over, mmol/L", "45", "quantity:glucose.last_high"),
    Row("practice:a0", "pH, low", "6.9", "limit:ph_low"),
    Row("practice:a0", "pH, high", "7.6", "limit:ph_high"),
    Row("practice:a0", "fluid temperature off the set one, C", "0.5", "limit:fluid_temperature_off"),
    Row("practice:a0", "fluid temperature, high, C", "37.5", "limit:fluid_temperature_high"),
    Row("practice:a0", "fluid temperature, stop at, C", "38.5", "limit:fluid_temperature_stop"),
    Row("practice:a0", "flows off the order, %", "10", "limit:flow_off"),
    Row("practice:a0", "pressure off the own past, mmHg", "40", "limit:pressure_off_own"),
    Row("practice:a0", "membrane pressure off the own past, mmHg", "50", "limit:tmp_off_own"),
    Row("practice:a0", "fluid to remove, asked over, L", "3.5", "limit:removal_large"),
    Row("practice:a0", "fluid removed off the expected, L", "0.15", "limit:removed_off"),
    Row("practice:a0", "hours asked under, min", "300", "quantity:treatment_minutes.ask_low"),
    Row("practice:a0", "heparin rate, refused over, mL/h", "5", "quantity:heparin_rate_ml.last_high"),
    Row("practice:a0", "blood processed off flow times time, %", "10", "limit:processed_off"),
    Row("practice:a0", "saline over, mL", "500", "limit:saline_much"),
    Row("practice:a0", "drinks over, mL", "1000", "limit:drinks_much"),
    Row("practice:a0", "bleeding, care over, min", "20", "limit:bleeding_care"),
    Row("practice:a0", "bleeding, stop over, min", "30", "limit:bleeding_stop"),
    Row("practice:a0", "bleeding, times the own past", "2", "limit:bleeding_times_own"),
    Row("practice:a0", "needle tries, note over", "1", "limit:needle_tries_note"),
    Row("practice:a0", "needle tries, the unit's number", "2", "limit:needle_tries"),
    Row("practice:a0", "pain over", "4", "limit:pain"),
    Row("practice:a0", "expiry under, days", "30", "limit:expiry_near"),
    # practice b, c
    Row("practice:b", "weight and pressure before connecting hold, min", "60", "minutes:S29"),
    Row("practice:b", "time since prime, 2 to 4 h", "3", "hours:S19"),
    Row("practice:c", "fall on standing, mmHg", "20", "limit:standing_fall"),
    # practice e
    Row("practice:e", "H6 pounds typed as kilograms, share", "0.03", "code:rulebook.typed.POUND_BAND"),
    Row("practice:e", "H18 jump of a clock, min", "2", "code:core.clock.STEP_ALLOWED"),
    Row("practice:e", "H42 written after it was seen, min", "20", "limit:entry_late"),
    Row("practice:e", "H54 time since the last treatment, h", "72", "limit:gap_hours"),
    # practice h2: the factors against molar masses in test_substances; here as printed
    Row("practice:h2", "urea nitrogen, factor", "0.357", "factor:urea.mg/dL as nitrogen"),
    Row("practice:h2", "urea by mass, factor", "0.1665", "factor:urea.mg/dL as urea"),
    Row("practice:h2", "creatinine, factor", "88.4", "factor:creatinine.mg/dL"),
    Row("practice:h2", "calcium, factor", "0.2495", "factor:calcium.mg/dL"),
    Row("practice:h2", "phosphate, factor", "0.3229", "factor:phosphate.mg/dL"),
    Row("practice:h2", "parathyroid hormone, factor", "0.106", "factor:parathyroid_hormone.pg/mL"),
    Row("practice:h2", "magnesium, factor", "0.4114", "factor:magnesium.mg/dL"),
    Row("practice:h2", "glucose, factor", "0.0555", "factor:glucose.mg/dL"),
    Row("practice:h2", "aluminium, factor", "0.0371", "factor:aluminium.ug/L"),
    Row("practice:h2", "potassium before, call under, mmol/L", "3.0", "blood:potassium.call_below"),
    Row("practice:h2", "potassium before, call over, mmol/L", "6.5", "blood:potassium.call_above"),
    Row("practice:h2", "phosphate before, call under, mmol/L", "0.8", "blood:phosphate.call_below"),
    Row("practice:h2", "platelets fall by half: call", "1", "blood:platelets.falls_by_half"),
)

ELSEWHERE = {
    "fluids:1.3 test again within 4 h in a unit": "a staffed unit's habit; at home one test carries the night",
    "fluids:1.3 running time before drawing, 15 to 20 min": "a wait of the procedure (S3), not a limit of a value",
    "fluids:1.5 under 80 % membrane out": "under 90 % is a stop already; a second line below it would say nothing more",
    "fluids:1.10 flushing 30 min after a stop": "a step after a notice, as the unit agrees it",
    "fluids:1.11 heat dose of 600 and 3,000 s": "the sum shows the seconds; the unit says which count",
    "fluids:1.11 peroxide under 1 mg/L, formaldehyde 3 to 5": "any colour is a stop: residual disinfectant 0",
    "fluids:2.4 over 42 C haemolysis": "38.5 C is a stop already",
    "fluids:2.4 arithmetic against two chemistry programs, 1 and 2 %": "tolerances of tests, in tests/external",
    "fluids:3.1 usual doses": "the prescriber's; a difference from the order is shown",
    "fluids:3.1 activity 0.3 to 0.7, clotting times": "laboratory targets: with the bloods",
    "fluids:4.2 weight-fair form 3W + 330 to 630": "figures of the sum (science.fluid), shown beside mL/kg/h; no cap",
    "fluids:4.2 bands from 6 to 14 mL/kg/h": "a table of what was found, not thresholds of ours; 10 and 13 are",
    "fluids:4.2 7 to 8 mL/kg/h": "one centre's saying; the cap is the order's line",
    "fluids:4.2 minimum rate": "a habit of machines: nothing is set without the unit",
    "fluids:5.1 -260 mmHg": "looser than -250, which is the outer bound",
    "fluids:5.1 true flow 7 and 10.5 % under 400 set": "one study's, by gauge: the unit's own measured figure is taken",
    "fluids:5.1 one gauge larger, 58 and 31 mmHg": "a study's differences, for a talk with the unit; nothing is judged",
    "fluids:5.1 rising over 3 nights or 3 weeks": "drawn as charts; no rule judges a rise over several nights yet",
    "fluids:5.1 venous over 400: haemolysis": "over 250 is spoken of already; the machine's own alarm comes first",
    "practice:a0 arterial 150 typed": "a question about the sign, in quantities.toml (sign)",
    "practice:a0 stock counts": "part of the stock counts, not of a night",
    "practice:b coming back after 15 min": "a view, not a limit: what has gone stale shows at once",
    "practice:d2 figures beside bad turns": "what was found in studies, for the words of the first actions",
    "practice:e H29 factors 5, 10 and 25": "any strength but the order's shuts the step; no factor is needed",
    "practice:e H53 snooze of 10 min": "a reminder has no snooze: it sounds again, and its words stay",
    "practice:e H55 no accept in 10 min": "an offer stands on the first page until it is taken; no time runs",
    "practice:f days, months and counts of upkeep": "intervals of a calendar not built yet; the unit's sheets hold",
    "practice:f check weight 0.2 kg off": "part of that calendar; the scale is held against removal till then",
    "practice:g reserve, spares, storage and shelf life": "stock isn't counted yet",
    "practice:h1 rows of the sheet": "what the sheet shows, not limits",
    "practice:h2 usual aims": "the unit's own, entered as its targets; a guideline's print is never shown as one",
}
"""Threshold to why it is no limit of the rulebook."""

OURS = frozenset(
    {
        "acid_start_up",
        "arterial_zero",
        "bicarbonate_usable",
        "coming_off_takes",
        "expired",
        "heparin_rate_step",
        "minutes_short",
        "needles_to_connect",
        "nothing",
        "prescription_age",
        "residual_disinfectant",
        "water_share",
    }
)
"""Limits that come from other sections, from arithmetic or from the design; their source says which."""


def held(lives: str) -> Decimal:
    """The figure at a place in the data."""
    kind, _, name = lives.partition(":")
    first, _, second = name.partition(".")
    if kind in ("limit", "highest"):
        limit = BOOK.limit(name)
        return limit.value if kind == "limit" else limit.highest
    if kind == "quantity":
        return Decimal(getattr(BOOK.quantity(first), second))
    if kind == "near":
        return next(v for near in BOOK.quantity(first).near if (v := getattr(near, second)) is not None)
    if kind == "water":
        return next(one.most for one in LISTS.chemical_list(first) if one.item == second)
    if kind.startswith(("microbe", "endotoxin")):
        what, _, action = kind.partition("_")
        line = LISTS.microbe_line(what, second, first).limit
        figure = line.action if action else line.below
        assert figure is not None
        return figure
    if kind == "factor":
        return substance(first).units[second]
    if kind == "blood":
        return Decimal(getattr(substance(first), second))
    if kind == "code":
        module, _, name = f"ebbwell.{name}".rpartition(".")
        figure = getattr(import_module(module), name)
        return Decimal(figure.total_seconds()) / 60 if isinstance(figure, timedelta) else Decimal(figure)
    if kind == "science":
        return Decimal(getattr(import_module(f"ebbwell.science.{first}"), second))
    if kind in ("usual", "catheter", "gauge"):
        return in_table(kind, name.split("."))
    valid = load_procedure().step(name).valid
    assert valid is not None
    return Decimal(str(valid.total_seconds())) / (3600 if kind == "hours" else 60)


def in_table(kind: str, names: list[str]) -> Decimal:
    """A figure of the tables of usual pressures and needles; which of a row's two ends is the last name."""
    if kind == "gauge":
        most = PRESSURES.ceiling(names[0])
        assert most is not None
        return most
    line, *rest = names
    row = (
        PRESSURES.furthest(line, access="catheter")
        if kind == "catheter"
        else PRESSURES.usual(line, access="fistula", blood_flow_ml_min=Decimal(rest[0]))
    )
    assert row is not None
    return Decimal(row[int(rest[-1])])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.where} {row.what}")
def test_each_threshold_of_the_references_lives_in_the_data(row: Row) -> None:
    assert held(row.lives) == Decimal(row.figure)


def test_no_threshold_is_named_twice_and_each_reason_says_something() -> None:
    names = [(row.where, row.what) for row in ROWS]
    assert len(set(names)) == len(names)
    assert not {f"{where} {what}" for where, what in names} & set(ELSEWHERE)
    for name, why in ELSEWHERE.items():
        assert re.match(r"(fluids|practice):[a-z0-9.]+ \S", name), name
        assert len(why.split()) > 3, name


def test_no_limit_is_without_a_threshold_or_a_reason() -> None:
    named = {row.lives.partition(":")[2] for row in ROWS if row.lives.startswith("limit:")}
    assert named | OURS == {limit.id for limit in BOOK.limits()}
    assert not named & OURS


def test_every_field_of_the_dictionary_is_printed_or_told() -> None:
    """Practice a0 gives ranges for these fields; each one is held against what is printed there."""
    dictionary = set(printed.RANGES)
    assert dictionary <= {quantity.id for quantity in BOOK.quantities()}
    told = {
        quantity.id
        for quantity in BOOK.quantities()
        if quantity.source == "practice:a0" and quantity.id not in dictionary
    }
    assert (
        told
        <= {"residual_disinfectant", "drinks", "heparin_strength", "heparin_rate", "removal_rate"}
        | dictionary
    )


@pytest.mark.parametrize("limit", BOOK.limits(), ids=lambda limit: limit.id)
@pytest.mark.hazard("H67")
def test_each_limit_can_be_tightened_and_says_whose_it_is(limit: Limit) -> None:
    assert limit.mark in SOURCE_KINDS
    assert has_text(f"web.work.kind.{limit.mark.replace(' ', '_')}")
    assert has_text(f"web.limits.owner.{limit.owner}")
    assert say(f"limit.{limit.id}") != limit.id
    assert limit.tighten in ("up", "down")
    if limit.owner == "fixed":
        assert limit.lowest == limit.value == limit.highest
        return
    assert has_text(f"web.limits.stricter.{limit.tighten}")
    room = limit.value - limit.lowest if limit.tighten == "down" else limit.highest - limit.value
    assert room > 0 or limit.id in NONE_STRICTER, "a unit may make each limit stricter"
    assert {rule.id for rule in BOOK.rules() if limit.id in rule.limit} or limit.id in SUMS


NONE_STRICTER = frozenset({"residual_disinfectant", "readings_apart", "needle_tries_note"})
"""Limits at the finest step of what measures them: nothing found, one step of a scale, one try."""

SUMS = frozenset(
    {
        "acid_start_up",
        "bicarbonate_usable",
        "contact_time",
        "filter_rise",
        "gauges_due",
        "heparin_rate_step",
        "microbes_due",
        "needles_to_connect",
        "notice_days",
        "prescription_age",
        "report_due",
        "softener_share",
    }
)
"""Limits that sums, validities, the water page and what comes round go by; no rule names them."""
