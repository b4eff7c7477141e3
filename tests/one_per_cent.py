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
from ebbwell.core.units import MOLAR_MASS, UNITS
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.pressure_tables import parse_pressure_tables
from ebbwell.rulebook.water_lists import parse_water_lists
from ebbwell.science import own_past, scale_check
from ebbwell.science.catalogue import MODULES
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
    test_pressure_tables,
    test_pressures,
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
    return [f"{row.key} {row.printed}" for row in ROWS if not row.agrees()]


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


def _figures_only(value: object) -> bool:
    return isinstance(value, tuple) and all(isinstance(one, Decimal) for one in value)


def _through(moved: Callable[[], Any]) -> Callable[[], list[str]]:
    def noticed() -> list[str]:
        with moved():
            return rows_off()

    return noticed


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
