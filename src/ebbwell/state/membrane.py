"""How the machine forms the pressure across the membrane: what holds, and how a reading carries it.

A pressure from two, three or four points, or from another machine, is another quantity. A summary of a night therefore
keeps it under a name of its own, so that nothing compares across forms. Source: fluids:P8, fluids 5.3.
"""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.journal.kinds.night import Reading
from ebbwell.journal.kinds.pressures import FlowShort, MembraneForm
from ebbwell.state.facts import Fact, Facts, agreed

PRESSURE = "transmembrane_pressure"

NOT_SETTLED = "not_settled"
"""The form of a reading taken while two forms stood on record; it is compared with no other night."""

POINTS = {"two": 2, "three": 3, "four": 4}
"""Form to the number of points. One that isn't known has none."""

AS_SHOWN = "as_shown"


def form_held(standing: Facts) -> Fact | None:
    """The entry that says how the machine forms it; None where none stands, and where two say different things."""
    return agreed(standing.of(MembraneForm.KIND))


def form_now(standing: Facts) -> str:
    """The form that a reading taken now carries: "" for a pressure as the machine shows it, form not known.

    A machine that was named stands behind the form, since no two machines are compared.
    """
    held = standing.of(MembraneForm.KIND)
    if not held:
        return ""
    fact = form_held(standing)
    if fact is None or not isinstance(fact.body, MembraneForm):
        return NOT_SETTLED
    machine = " ".join(fact.body.machine.casefold().replace("@", " ").replace("|", " ").split())
    form = "" if fact.body.form == AS_SHOWN else fact.body.form
    return f"{form}|{machine}" if machine else form


def parts_of(form: str) -> tuple[str, str]:
    """The form, ``as_shown`` where it isn't known, and the machine, "" where none was named."""
    name, _, machine = form.partition("|")
    return name or AS_SHOWN, machine


def points_of(form: str) -> int:
    """The number of points of a form; 0 where it isn't known."""
    return POINTS.get(parts_of(form)[0], 0)


def name_of(form: str) -> str:
    """The name under which a summary keeps the pressure of this form."""
    return f"{PRESSURE}@{form}" if form else PRESSURE


def values_by_form(reading: Reading) -> dict[str, str]:
    """The values of a row, the pressure across the membrane under the name of its form."""
    if PRESSURE not in reading.values or not reading.membrane_form:
        return reading.values
    values = dict(reading.values)
    values[name_of(reading.membrane_form)] = values.pop(PRESSURE)
    return values


def pressure_in(values: Mapping[str, str]) -> tuple[str, str] | None:
    """Form and pressure of a row of a summary; None where it wasn't read."""
    for name, text in values.items():
        base, _, form = name.partition("@")
        if base == PRESSURE:
            return form, text
    return None


def short_now(standing: Facts) -> FlowShort | None:
    """How far the flow falls short, as the unit measured it; None where nobody said, or two things were said."""
    held = agreed(standing.of(FlowShort.KIND))
    return held.body if held and isinstance(held.body, FlowShort) else None
