"""Every sourced figure of the formulas and of the rulebook, moved by one per cent: is it noticed, and by what?

``python -m tests.one_per_cent`` goes through all of them and prints what noticed each. A figure is held against what is
printed outside the project (tests/external, tests/rulebook/printed.py), never against the program.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable, Iterator, MutableMapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from decimal import Decimal
from importlib import resources
from typing import Any

from ebbwell.core import units
from ebbwell.core.errors import DomainError
from ebbwell.core.units import MOLAR_MASS, UNITS
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.pressure_tables import parse_pressure_tables
from ebbwell.rulebook.water_lists import parse_water_lists
from ebbwell.science import bands, fit, own_past, ranges_solutes, scale_check, schedule
from ebbwell.science.catalogue import MODULES
from ebbwell.science.formula import Range
from ebbwell.science.solutes import SOLUTES
from tests.external import (
    test_adequacy,
    test_body,
    test_composition,
    test_conductivity,
    test_dialysate,
    test_dialyser,
    test_disinfection,
    test_fluid,
    test_heparin,
    test_microbes,
    test_pools,
    test_pressure_tables,
    test_pressures,
    test_printed_figures,
    test_protein_rate,
    test_rest_of_examples,
    test_review_heparin,
    test_scale,
    test_supply,
    test_units,
    test_water,
    test_water_lists,
    test_weekly_dose,
)
from tests.external.table import Row
from tests.rulebook import printed

ROWS = (
    *test_adequacy.ROWS,
    *test_body.ROWS,
    *test_composition.ROWS,
    *test_conductivity.ROWS,
    *test_dialysate.ROWS,
    *test_dialyser.ROWS,
    *test_disinfection.ROWS,
    *test_fluid.ROWS,
    *test_heparin.ROWS,
    *test_microbes.ROWS,
    *test_pressures.ROWS,
    *test_printed_figures.ROWS,
    *test_rest_of_examples.ROWS,
    *test_protein_rate.ROWS,
    *test_review_heparin.ROWS,
    *test_scale.ROWS,
    *test_supply.ROWS,
    *test_units.ROWS,
    *test_water.ROWS,
    *test_weekly_dose.ROWS,
)
OFF = Decimal("1.01")
CHOICES = ("BAND",)
"""The shares at which a band is drawn: a choice of this project, no figure with a source."""
WIDE = "common practice, no source: a wide end of our own"
DOUBT = "common practice, no source"
LEFT_OUT = {
    "ebbwell.science.bands.CERTAIN": "arithmetic: no doubt at all",
    "ebbwell.science.blood_checks.CLEARLY": "design",
    "ebbwell.science.blood_checks.LATE_MIN": DOUBT,
    "ebbwell.science.blood_checks.LEAST_OWN": "design",
    "ebbwell.science.blood_checks.LONG_H": DOUBT,
    "ebbwell.science.blood_checks.NEAR": DOUBT,
    "ebbwell.science.blood_checks.PAIR_APART": "design: under the ratio of urea to its nitrogen",
    "ebbwell.science.blood_checks.REMOVED_LONG": DOUBT,
    "ebbwell.science.blood_checks.REMOVED_SHORT": DOUBT,
    "ebbwell.science.blood_checks.TENFOLD": DOUBT,
    "ebbwell.science.blood_checks.UREA_OVER_CREATININE": DOUBT,
    "ebbwell.science.chlorine.FINE_PARTS": "design",
    "ebbwell.science.chlorine.RISING_TESTS": "common practice, no source",
    "ebbwell.science.exp_differences.NEAR": "arithmetic: where a series gives way to a quotient; 200 digits hold both",
    "ebbwell.science.exp_differences.TERMS": "arithmetic: length of that series",
    "ebbwell.science.exp_differences._OVER_FACTORIAL": "arithmetic: one over n factorial",
    "ebbwell.science.fit.AT_ONCE": "design: from where arrays are quicker",
    "ebbwell.science.fit.CLEARANCE_DOUBT": DOUBT,
    "ebbwell.science.fit.CLOSE": "arithmetic: where a search stops",
    "ebbwell.science.fit.DAMPING": "arithmetic: how a search begins",
    "ebbwell.science.fit.DIFFERENCE": "arithmetic: step of a slope",
    "ebbwell.science.fit.GAINED": "arithmetic: where a search stops",
    "ebbwell.science.fit.HELD_SMALL": "arithmetic: where a search stops",
    "ebbwell.science.fit.HELD_STEPS": "arithmetic: where a search gives up",
    "ebbwell.science.fit.LAB_DOUBT": DOUBT,
    "ebbwell.science.fit.LEANS_AT": "design",
    "ebbwell.science.fit.ODD_AT": DOUBT,
    "ebbwell.science.fit.PROFILE_STEPS": "arithmetic: where a search gives up",
    "ebbwell.science.fit.SMALL": "arithmetic: where a search stops",
    "ebbwell.science.fit.SPLIT": "arithmetic: OUTER_SHARE and BETWEEN_PER_MIN side by side, each moved by itself",
    "ebbwell.science.fit.STEPS": "arithmetic: where a search gives up",
    "ebbwell.science.fit.WATER_DOUBT": DOUBT,
    "ebbwell.science.fit_several.SMALL": "arithmetic: where a search stops",
    "ebbwell.science.nights_ahead.BAND": "design",
    "ebbwell.science.nights_ahead.LAST_GAINS": "design",
    "ebbwell.science.nights_ahead.LEAST_GAINS": "design",
    "ebbwell.science.own_past.LEAST_NIGHTS": "design",
    "ebbwell.science.own_past.NIGHTS_BACK": "common practice, no source",
    "ebbwell.science.pools.MOST_POOLS": "design: how many pools the engine takes",
    "ebbwell.science.pools.SHARES_ADD_TO": "arithmetic: room for the last digits",
    "ebbwell.science.pools.STEPS": "arithmetic: where a search gives up",
    "ebbwell.science.pools_many.CHUNK": "design: how much is worked at a time",
    "ebbwell.science.pools_outer.BITE": "arithmetic: length of a step of the series",
    "ebbwell.science.pools_outer.ORDER": "arithmetic: powers in a step of the series",
    "ebbwell.science.scale_check.LEAST_NIGHTS": "design",
    "ebbwell.science.schedule.FLUID_LEFT_L": "arithmetic: room for the last digits",
    "ebbwell.science.small_matrix.SINGULAR": "arithmetic: below which a pivot counts as none",
    "ebbwell.science.solutes.beta_2_microglobulin.generation_mg_kg_day.value": "design: the middle of 2 to 4",
    "ebbwell.science.solutes.beta_2_microglobulin.volume_over_water.value": "design: inside 25 to 36 %",
    "ebbwell.science.solutes.bicarbonate.volume_over_weight.high": WIDE,
    "ebbwell.science.solutes.bicarbonate.volume_over_weight.low": WIDE,
    "ebbwell.science.solutes.bicarbonate.volume_over_weight.value": "from memory: nothing printed to hold it against",
    "ebbwell.science.solutes.creatinine.between_per_min.high": WIDE,
    "ebbwell.science.solutes.creatinine.between_per_min.low": WIDE,
    "ebbwell.science.solutes.creatinine.between_per_min.value": "from memory: nothing printed to hold it against",
    "ebbwell.science.solutes.creatinine.carried.high": "from memory: nothing printed to hold it against",
    "ebbwell.science.solutes.creatinine.carried.low": "common practice, no source: plasma alone, as for phosphate",
    "ebbwell.science.solutes.creatinine.carried.value": "from memory: the middle of both",
    "ebbwell.science.solutes.creatinine.outer_share.high": WIDE,
    "ebbwell.science.solutes.creatinine.outer_share.low": WIDE,
    "ebbwell.science.solutes.phosphate.far_over_water.high": WIDE,
    "ebbwell.science.solutes.phosphate.far_over_water.low": WIDE,
    "ebbwell.science.solutes.potassium.near_l.high": WIDE,
    "ebbwell.science.solutes.potassium.near_l.low": WIDE,
    "ebbwell.science.solutes.potassium.release_l_min.high": WIDE,
    "ebbwell.science.solutes.potassium.release_l_min.low": WIDE,
    "ebbwell.science.solutes.urea.outer_share.high": WIDE,
    "ebbwell.science.solutes.urea.outer_share.low": WIDE,
    "ebbwell.science.supply.MOST_NIGHTS": "design: further ahead no trend reaches",
    "ebbwell.science.water_report.SLIP_FACTOR": "common practice, no source",
}
"""Figures that nothing printed outside can be held against, each with the reason. Ranges of inputs stand for themselves:
but for those of test_printed_figures.RANGES they lie far outside of what can be, common practice, no source.
"""
SALTS = (
    "acetic acid",
    "calcium chloride dihydrate",
    "citric acid",
    "magnesium chloride hexahydrate",
    "nitrate",
    "nitrate nitrogen",
    "potassium chloride",
    "sodium",
    "sodium bicarbonate",
    "sodium chloride",
    "urea",
)
LABORATORY = ("calcium", "creatinine", "glucose", "magnesium", "phosphate", "urea nitrogen")
FACTORS = ("dH", "fH", "grain/gal", "gal", "ft3", "psi", "bar", "kPa", "lb")
WATER_FIGURE = re.compile(r'(?:\bmost|\bbelow|\baction|"mmol/L"|"ug/L") = (?P<figure>[0-9.]+)')

TABLE_FIGURE = re.compile(r"(?<=[\[= ])-?[0-9]+(?:\.[0-9]+)?(?=[\],\n])")
"""A figure of the tables; the gauges are names and stand in quotes or before the sign of equality."""


@dataclass(frozen=True)
class Moved:
    """One figure. noticed: moves it by 1 %, and gives what is then off; it is put back afterwards."""

    name: str
    noticed: Callable[[], list[str]]


def rows_off() -> list[str]:
    """Rows printed elsewhere that the program doesn't reproduce."""
    return [f"{row.key} {row.printed}" for row in ROWS if not _agrees(row)]


def _agrees(row: Row) -> bool:
    """A row whose input a moved range refuses is off too."""
    try:
        return row.agrees()
    except DomainError:
        return False


def figures() -> Iterator[Moved]:
    """All of them: constants of formulas, molar masses, factors of units, limits and ranges, lists for water."""
    for module in (*MODULES, own_past, scale_check):
        for name, value in sorted(vars(module).items()):
            if name.isupper() and isinstance(value, Decimal) and value != 0:
                yield Moved(f"{module.__name__}.{name}", _through(_set(vars(module), name, value * OFF)))
            elif name.isupper() and name not in CHOICES and _figures_only(value):
                for at, one in enumerate(value):
                    shifted = (*value[:at], one * OFF, *value[at + 1 :])
                    yield Moved(
                        f"{module.__name__}.{name}[{at}]", _through(_set(vars(module), name, shifted))
                    )
    yield from _of_the_solutes()
    for substance in (*LABORATORY, *SALTS):
        masses: MutableMapping[str, Any] = units.MOLAR_MASS
        yield Moved(
            f"molar mass of {substance}", _through(_set(masses, substance, MOLAR_MASS[substance] * OFF))
        )
    for unit in FACTORS:
        moved = replace(UNITS[unit], factor=UNITS[unit].factor * OFF)
        yield Moved(f"factor of {unit}", _through(_set(UNITS, unit, moved)))
    for name, _ in printed.printed():
        yield Moved(name, _rulebook(name))
    text = (resources.files("ebbwell.rulebook") / "water_lists.toml").read_text("utf-8")
    for match in WATER_FIGURE.finditer(text):
        line = text[text.rindex("\n", 0, match.start()) + 1 :].partition(" =")[0]
        yield Moved(f"water_lists.{line} {match[0]}", _water(text, match.span("figure")))
    text = (resources.files("ebbwell.rulebook") / "pressure_tables.toml").read_text("utf-8")
    for match in TABLE_FIGURE.finditer(text):
        if Decimal(match[0]) != 0:
            line = text[text.rindex("\n", 0, match.start()) + 1 :].partition(" =")[0]
            yield Moved(f"pressure_tables.{line} {match[0]}", _tables(text, match.span()))


def _of_the_solutes() -> Iterator[Moved]:
    """Parameters of the solutes, of the fit and of the weeks, and the ends of ranges that a source prints."""
    for solute in SOLUTES:
        table: Any = solute.figures
        for name, figure in solute.figures.items():
            for end in ("value", "low", "high"):
                at = f"ebbwell.science.solutes.{solute.key}.{name}.{end}"
                if at not in LEFT_OUT:
                    shifted = figure._replace(**{end: getattr(figure, end) * float(OFF)})
                    yield Moved(at, _through(_set(table, name, shifted)))
    for module, name in (
        (fit, "BETWEEN_PER_MIN"),
        (bands, "NINE_IN_TEN"),
        (fit, "OUTER_SHARE"),
        (fit, "USUAL_WATER"),
    ):
        here = vars(module)
        yield Moved(f"{module.__name__}.{name}", _through(_set(here, name, here[name] * float(OFF))))
    for name in ("HALF_HOUR_MIN", "HOUR_MIN", "WEEK_MIN"):
        here = vars(schedule)
        yield Moved(f"{schedule.__name__}.{name}", _through_weeks(_set(here, name, here[name] * float(OFF))))
    for name, end, *_ in test_printed_figures.RANGES:
        yield Moved(f"ranges_solutes.{name}.{end}", _through(_end(getattr(ranges_solutes, name), end)))


def weeks_off() -> list[str]:
    """Figures of the reference run E (every second night) that the engine doesn't reproduce."""
    case, printed = test_pools.CASES["E"], test_pools.PRINTED["E"]
    course = test_pools.run("E")
    told = {
        name: list(zip([getattr(one, name) for one in course.sessions], getattr(printed, name), strict=True))
        for name in ("before", "end", "evened", "after_half_hour", "after_hour")
    }
    told["weekly"] = [
        (case.generation * schedule.WEEK_MIN / (course.mean_before * case.volume_l), printed.weekly)
    ]
    return [
        f"kinetics:C {name} {text}"
        for name, pairs in told.items()
        for ours, text in pairs
        if not test_pools.near(ours, text)
    ]


def _figures_only(value: object) -> bool:
    return isinstance(value, tuple) and all(isinstance(one, Decimal) for one in value)


def _through(moved: Callable[[], Any]) -> Callable[[], list[str]]:
    def noticed() -> list[str]:
        with moved():
            return rows_off()

    return noticed


def _through_weeks(moved: Callable[[], Any]) -> Callable[[], list[str]]:
    def noticed() -> list[str]:
        with moved():
            return weeks_off()

    return noticed


def _end(one: Range, end: str) -> Callable[[], Any]:
    """A range is one object for all formulas that take it, so it's moved where it stands."""

    @contextmanager
    def moved() -> Iterator[None]:
        kept = getattr(one, end)
        object.__setattr__(one, end, kept * OFF)
        try:
            yield
        finally:
            object.__setattr__(one, end, kept)

    return moved


def _set(table: Any, name: str, value: Any) -> Callable[[], Any]:
    @contextmanager
    def moved() -> Iterator[None]:
        kept = table[name]
        table[name] = value
        try:
            yield
        finally:
            table[name] = kept

    return moved


def _rulebook(name: str) -> Callable[[], list[str]]:
    def noticed() -> list[str]:
        data = json.loads(load_rulebook().text)
        table, id, field = name.split(".")
        figure = Decimal(data[table][id][field])
        data[table][id][field] = str(figure * OFF or Decimal("0.01"))
        return printed.differing(data)

    return noticed


def _water(text: str, span: tuple[int, int]) -> Callable[[], list[str]]:
    def noticed() -> list[str]:
        moved = str(Decimal(text[slice(*span)]) * OFF)
        return test_water_lists.differing(parse_water_lists(text[: span[0]] + moved + text[span[1] :]))

    return noticed


def _tables(text: str, span: tuple[int, int]) -> Callable[[], list[str]]:
    def noticed() -> list[str]:
        moved = str(Decimal(text[slice(*span)]) * OFF)
        tables = parse_pressure_tables(text[: span[0]] + moved + text[span[1] :])
        return test_pressure_tables.differing(tables)

    return noticed


def main() -> int:
    """Prints each figure with what noticed it. Exit code 1 when one went unnoticed."""
    unnoticed = 0
    count = 0
    for figure in figures():
        found = figure.noticed()
        count += 1
        unnoticed += not found
        more = f" and {len(found) - 1} more" if len(found) > 1 else ""
        print(f"{figure.name}: {found[0] + more if found else 'UNNOTICED'}")
    print(f"{count} figures moved by 1 %, {unnoticed} unnoticed")
    return 1 if unnoticed else 0


if __name__ == "__main__":
    sys.exit(main())
