"""The register of public formulas: for the command line, the docs and "show the working".

``work`` gives a worked value and never raises for a value: out of range and not known are outcomes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from decimal import Decimal

from ebbwell.core.errors import DomainError, NothingToDo, UnknownFormula, UnknownInput
from ebbwell.core.numbers import plain
from ebbwell.core.units import convert
from ebbwell.core.worked import Input, Outcome, Worked
from ebbwell.science import (
    adequacy,
    body,
    body_surface,
    composition,
    conductivity,
    dialysate,
    dialyser,
    disinfection,
    fluid,
    heparin,
    microbes,
    mixing,
    nights_ahead,
    pressures,
    proportioning,
    protein_rate,
    removal_profile,
    review_heparin,
    supply,
    water,
    weekly_dose,
)
from ebbwell.science.formula import Formula, FormulaInput, registered

MODULES = (
    adequacy,
    body,
    body_surface,
    composition,
    conductivity,
    dialysate,
    dialyser,
    disinfection,
    fluid,
    heparin,
    microbes,
    mixing,
    nights_ahead,
    pressures,
    proportioning,
    protein_rate,
    removal_profile,
    review_heparin,
    supply,
    water,
    weekly_dose,
)
"""The modules whose formulas are public."""

_FORMULAS = {name: registered[name] for name in sorted(registered)}


def names(*, review: bool = False) -> tuple[str, ...]:
    """Names of the public formulas, sorted; with review also those for looking back only."""
    return tuple(one.name for one in formulas(review=review))


def formulas(*, review: bool = False) -> tuple[Formula, ...]:
    """The public formulas, by name; with review also those for looking back only."""
    return tuple(one for one in _FORMULAS.values() if review or not one.review_only)


def formula_named(name: str) -> Formula:
    """The formula of that name. Raises UnknownFormula."""
    try:
        return _FORMULAS[name]
    except KeyError:
        raise UnknownFormula("science.unknown_formula", formula=name[:60]) from None


def work(name: str, inputs: Mapping[str, Input | Decimal | None]) -> Worked:
    """Work a formula out.

    inputs: argument name to a value in the formula's unit, an Input (converted where its unit differs; its
    entry id is kept) or None for "not known". An optional input that is left out takes its default, which
    is shown.
    Raises UnknownFormula, UnknownInput, and UnitError for an Input whose unit measures something else.
    Anything about the values is an outcome: MISSING, OUT_OF_RANGE, NOTHING.
    """
    formula = formula_named(name)
    unknown = sorted(set(inputs) - {wanted.name for wanted in formula.inputs})
    if unknown:
        raise UnknownInput("science.unknown_input", formula=name, input=", ".join(unknown)[:60])
    given = tuple(_given(wanted, inputs) for wanted in formula.inputs)
    values = {one.name: one.value for one in given if one.value is not None}
    missing = [one.name for one in given if one.value is None]
    if missing:
        return _without(formula, given, Outcome.MISSING, "science.missing", {"inputs": ", ".join(missing)})
    try:
        value = formula.function(**values)
    except NothingToDo as why:
        return _without(formula, given, Outcome.NOTHING, why.key, why.params)
    except DomainError as why:
        return _without(formula, given, Outcome.OUT_OF_RANGE, why.key, why.params)
    return Worked(name, value, formula.unit, given, formula.text, formula.source)


def shown(worked: Worked, most: Decimal | None = None) -> str:
    """A worked value as text with its unit; without a value the name of its outcome, such as ``missing``.

    most: what it is held against, in its unit; the text never lies on the other side of that than the value does.
    """
    if worked.value is None:
        return worked.outcome.name.lower()
    return f"{formula_named(worked.name).shown(worked.value, most)} {worked.unit}".rstrip()


def formulas_text() -> str:
    """The whole register as text, one block a formula: what a treatment pins."""
    return "\n".join(_block(formula) for formula in formulas(review=True))


def formulas_digest() -> str:
    """SHA-256 of ``formulas_text``, in hex."""
    return hashlib.sha256(formulas_text().encode()).hexdigest()


def _given(wanted: FormulaInput, inputs: Mapping[str, Input | Decimal | None]) -> Input:
    value = inputs.get(wanted.name, wanted.default)
    if not isinstance(value, Input):
        return Input(wanted.name, value, wanted.unit)
    number = value.value
    if number is not None and number.is_finite():
        number = convert(number, value.unit, wanted.unit)
    return Input(wanted.name, number, wanted.unit, value.entry)


def _without(
    formula: Formula, given: tuple[Input, ...], outcome: Outcome, why: str, params: Mapping[str, object]
) -> Worked:
    pairs = tuple((key, str(value)) for key, value in sorted(params.items()))
    return Worked(formula.name, None, formula.unit, given, formula.text, formula.source, outcome, why, pairs)


def _block(formula: Formula) -> str:
    lines = [f"{formula.name} [{formula.unit}] = {formula.text}"]
    for one in formula.inputs:
        default = "" if one.default is None else f", else {plain(one.default)}"
        lines.append(f"  {one.name} [{one.unit}] {plain(one.low)} to {plain(one.high)}{default}")
    trimmed = ", trimmed" if formula.trim else ""
    lines.append(
        f"  shown with {formula.places} places, {formula.rounding}{trimmed}; source {formula.source}"
    )
    return "\n".join(lines) + "\n"
