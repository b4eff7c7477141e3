"""What is known of the home's water between nights: laboratory results, carbon, notices, gauges, the plant itself."""

from __future__ import annotations

import msgspec

from ebbwell.journal.kinds.base import Body, register


class ReportLine(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One line of a laboratory's report. value: decimal string; below: "less than". typed: as it stands on the paper.

    form: what the figure counts, such as ``as nitrate``; "" where the report doesn't say.
    """

    item: str
    value: str
    unit: str
    below: bool = False
    form: str = ""
    typed: str = ""


@register
class WaterReport(Body, frozen=True, kw_only=True):
    """A laboratory's chemical report. sampled_on, reported_on: dates (YYYY-MM-DD), the second may be "".

    port: where the sample was drawn. list: whose list of limits the lines are held against.
    """

    KIND = "water_report"
    laboratory: str
    sampled_on: str
    port: str
    list: str
    lines: tuple[ReportLine, ...]
    reported_on: str = ""
    words: str = ""
    asked: tuple[str, ...] = ()


@register
class MicrobeResult(Body, frozen=True, kw_only=True):
    """A count of microbes, endotoxin, or both. fluid: ``water_standard``, ``fluid_ultrapure`` ...; list: whose limits.

    count, endotoxin: as the laboratory wrote them, such as ``<0.1`` or ``TNTC``; "" for not tested. plated_ml and
    days_since_disinfection: decimal strings, "" for not known.
    """

    KIND = "microbe_result"
    fluid: str
    drawn_at: str
    sampled_on: str
    read_on: str
    list: str
    count: str = ""
    endotoxin: str = ""
    plated_ml: str = ""
    days_since_disinfection: str = ""
    laboratory: str = ""
    words: str = ""
    asked: tuple[str, ...] = ()


@register
class CarbonChanged(Body, frozen=True, kw_only=True):
    """A carbon tank or cartridge was changed. tank: ``tank1`` or ``tank2``. on: the day.

    carbon_l [L], rated_mg [mg], feed_l_min [L/min]: decimal strings, "" for not known. use_by: date on the label, or "".
    """

    KIND = "carbon_changed"
    tank: str
    on: str
    carbon_l: str = ""
    rated_mg: str = ""
    feed_l_min: str = ""
    use_by: str = ""
    lot: str = ""
    words: str = ""
    asked: tuple[str, ...] = ()


@register
class WaterNotice(Body, frozen=True, kw_only=True):
    """The water supplier told of something. what: one of ``NOTICES``. from_on, until_on: days; until "" is not known.

    chlorine_most [mg/L]: the most after tank 1 that the unit allows while it lasts, never over the usual limit; "" for
    the usual one.
    """

    KIND = "water_notice"
    what: str
    from_on: str
    told_by: str
    until_on: str = ""
    chlorine_most: str = ""
    words: str = ""


NOTICES = (
    "chlorine_or_chloramine",
    "extra_chlorine",
    "other_source",
    "flushing",
    "repair",
    "low_pressure",
    "boil",
    "do_not_use",
    "other",
)
"""What a water supplier may tell of. Source: fluids:1.10."""


@register
class FilterPressure(Body, frozen=True, kw_only=True):
    """Gauges of the water unit. filter: one of ``FILTERS``. pressures are decimal strings in ``unit``.

    changed: the filter was new, so that this drop is its clean one. product_l_min, reject_l_min [L/min], water_c [C]:
    flow of product and reject and temperature of the water at the same look; hardness_after [mg/L CaCO3]: behind the
    softener, "<" kept. "" for not read.
    """

    KIND = "filter_pressure"
    filter: str
    pressure_in: str
    pressure_out: str
    unit: str
    changed: bool = False
    product_l_min: str = ""
    water_c: str = ""
    hardness_after: str = ""
    words: str = ""
    asked: tuple[str, ...] = ()
    reject_l_min: str = ""


FILTERS = ("sediment", "carbon", "endotoxin", "other")
"""Filters with a gauge before and behind. Source: fluids:1.7."""


@register
class WaterSet(Body, frozen=True, kw_only=True):
    """The household's own plant and habits. values: name to decimal string, in the unit of ``PLANT``.

    fluid, list: what results are held against. schedule: the unit's own words on samples; "" where it gave none.
    chlorine_steps: steps of the strip or colour card for total chlorine [mg/L], lowest first: ``0 / 0.1 / 0.5``.
    """

    KIND = "water_set"
    values: dict[str, str]
    list: str = ""
    fluid: str = ""
    schedule: str = ""
    asked: tuple[str, ...] = ()
    chlorine_steps: str = ""


@register
class WaterLineSet(Body, frozen=True, kw_only=True):
    """The clinic's own figure for a line of a list of chemical limits: stricter than the list, or a line it lacks.

    item: as the lists name it, else ``own.`` and its name. most: a decimal string in unit; "" takes an added line off
    again. stands_in: where the figure stands; allowed_by, how: who of the unit said so, and one of ``house.HEARD``.
    """

    KIND = "water_line_set"
    MUST_UNDERSTAND = True
    list: str
    item: str
    most: str
    unit: str
    stands_in: str
    allowed_by: str
    how: str


PLANT = {
    "feed_flow": "L/min",
    "carbon1": "L",
    "carbon2": "L",
    "feed_chlorine_least": "mg/L",
    "feed_chlorine_most": "mg/L",
    "hardness": "mg/L CaCO3",
    "softener": "g",
    "recovery": "%",
    "other_water": "L",
    "price": "",
    "microbes_days": "days",
    "report_days": "days",
    "hardness_days": "days",
    "filter_days": "days",
}
"""What a household may say of its plant, with the unit that each is kept in; carbon is that of tank 1 and tank 2."""
