"""Body water by the rules in use, body surface, and the dose held against the surface: with the rest of ``adequacy``.

The fit has a body water of its own. It stands beside those of the rules and is never mixed with them in one ratio: the
dose by surface takes the fitted water, the one that the fitted dose was made with. Source: kinetics A2, A4.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from ebbwell.core.worked import Input, Worked
from ebbwell.review.adequacy_kinds import Came, Measure, decimal_of, doubt_of
from ebbwell.science import catalogue
from ebbwell.science.bands import Band
from ebbwell.science.fit_figures import MonthFigures
from ebbwell.science.weekly_dose import SURFACE_ADULT, SURFACE_CHILD

GROWN_UP = Decimal(16)
"""Age from which rules for grown-ups are taken [years]. Source: kinetics:A4."""
WHOSE = {"woman": ("woman", "girl"), "man": ("man", "boy")}
"""Whose formulas are used, to the word in their names: of a grown-up, of a child."""
ADULT_RULES = ("body_water_watson_{0}", "body_water_hume_{0}", "body_water_chertow_{0}")
DIABETES = "body_water_chertow_{0}_diabetes"
TWO_KINDS = "adequacy.note_diabetes"
"""Note of a rule that has one form for people with diabetes and one for those without."""
CHILD_RULES = ("body_water_dialysis_{0}",)
CHILD_BY_SURFACE = "body_water_surface_{0}"
SURFACES = (
    "body_surface_dubois",
    "body_surface_gehan_george",
    "body_surface_haycock",
    "body_surface_mosteller",
)
MODEL = "two-pool model, fitted to the monthly bloods"
"""What stands as the formula of a figure of the fit itself."""


class Person(NamedTuple):
    """weight_kg after the treatment; height_cm, age_years, water_by as in ``Asked``; entries: input to its entry."""

    weight_kg: Decimal
    height_cm: Decimal | None
    age_years: Decimal | None
    water_by: str
    entries: Mapping[str, str]

    @property
    def child(self) -> bool:
        """Whether rules made from children are taken."""
        return self.age_years is not None and self.age_years < GROWN_UP

    def inputs(self, name: str) -> dict[str, Input | Decimal | None]:
        """What a formula asks of the body."""
        held = {
            "weight_kg": (self.weight_kg, "kg"),
            "height_cm": (self.height_cm, "cm"),
            "age_years": (self.age_years, "years"),
        }
        return {
            one.name: Input(one.name, *held[one.name], self.entries.get(one.name))
            for one in catalogue.formula_named(name).inputs
            if one.name in held
        }


def body_measures(person: Person, figures: MonthFigures | None) -> list[Measure]:
    """Water, surface, and the dose by surface."""
    found = [] if figures is None else _fitted(figures)
    surfaces = {name: _plain(name, "surface", person) for name in SURFACES}
    found += _water(person, surfaces["body_surface_haycock"])
    found += surfaces.values()
    found += _by_surface(person, figures, surfaces)
    return found


def _fitted(figures: MonthFigures) -> list[Measure]:
    """What the fit found by itself, in no formula."""

    def one(key: str, group: str, band: Band, unit: str) -> Measure:
        worked = Worked(key, decimal_of(band.middle), unit, (), MODEL, "kinetics:C")
        return Measure(key, group, worked, doubt=doubt_of(band), came={"": Came("fit")})

    return [
        one("fitted_water", "water", figures.water_l, "L"),
        one("fitted_urea_made", "protein", figures.made, "mmol/min"),
        one("fitted_clearance", "session", figures.clearance, "mL/min"),
    ]


def _plain(name: str, group: str, person: Person) -> Measure:
    came = {
        key: Came("night" if key == "weight_kg" else "body")
        for key in ("weight_kg", "height_cm", "age_years")
    }
    return Measure(name, group, catalogue.work(name, person.inputs(name)), came=came)


def _water(person: Person, haycock: Measure) -> list[Measure]:
    """By each rule made from people like this one; both kinds, none worked out, where nobody said which."""
    child = person.child
    rules = CHILD_RULES if child else (*ADULT_RULES, DIABETES)
    found = []
    for whose, words in WHOSE.items():
        if person.water_by and whose != person.water_by:
            continue
        word = words[1] if child else words[0]
        names = [rule.format(word) for rule in rules]
        if not person.water_by:
            keys = [*names, CHILD_BY_SURFACE.format(word)] if child else names
            found += [
                Measure(key, "water", catalogue.work(key, {}), "adequacy.why_no_water_by") for key in keys
            ]
            continue
        two = DIABETES.format(word)
        found += [
            replace(_plain(name, "water", person), notes=(TWO_KINDS,) if two.startswith(name) else ())
            for name in names
        ]
        if child:
            name = CHILD_BY_SURFACE.format(word)
            worked = catalogue.work(name, {"surface_m2": haycock.worked.value})
            found.append(Measure(name, "water", worked, came={"surface_m2": Came("measure", haycock.key)}))
    return [*found, _plain("body_water_58_percent", "water", person)]


def _by_surface(
    person: Person, figures: MonthFigures | None, surfaces: Mapping[str, Measure]
) -> list[Measure]:
    """Litres cleared in a week by surface, and that over the one figure for grown-ups or the other for children."""
    surface = surfaces["body_surface_haycock" if person.child else "body_surface_dubois"]
    value = surface.worked.value
    inputs = {
        "standard_per_week": None if figures is None else decimal_of(figures.standard.middle),
        "body_water_l": None if figures is None else decimal_of(figures.water_l.middle),
        "surface_m2": value,
    }
    came = {
        "standard_per_week": Came("measure", "standard_dose_by_model"),
        "body_water_l": Came("fit"),
        "surface_m2": Came("measure", surface.key),
    }
    unknown = "adequacy.why_no_age" if person.age_years is None else ""
    rows = (
        ("cleared_per_surface", Decimal(1), ""),
        ("surface_dose_adult", SURFACE_ADULT, "adequacy.why_child" if person.child else unknown),
        (
            "surface_dose_child",
            SURFACE_CHILD,
            unknown if person.child else unknown or "adequacy.why_grown_up",
        ),
    )
    found = []
    for name, litres_m2, why in rows:
        doubt = None
        if figures is not None and value is not None and not why:
            doubt = doubt_of(figures.cleared_week, 1 / float(value * litres_m2))
        worked = catalogue.work(name, {} if why else inputs)
        notes = ("adequacy.note_fitted_water",)
        found.append(Measure(name, "surface", worked, why, doubt, came, notes))
    return found
