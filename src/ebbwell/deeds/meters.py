"""The deed of writing down how a meter corrects for temperature, and its readings brought to 25 C by that.

A conductivity whose reference temperature isn't on record is compared with nothing that is worked out for 25 C.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.worked import Worked
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.fluid import ConductivityMeter
from ebbwell.science.catalogue import work
from ebbwell.state.facts import agreed_measure
from ebbwell.state.meters import PLACES, meter_facts, meter_of

CORRECTS = ("yes", "no")
REFERENCE = (Decimal(15), Decimal(30))
"""Between these [C] every reference in use lies; 20 and 25 are the common ones. Source: from memory."""
COEFFICIENT = (Decimal("1.5"), Decimal("2.5"))
"""Coefficients in use [% for each degree]. Source: fluids 1.5 (1.9 to 2.2), widened to the range of science."""
AT_25 = Decimal(25)


def set_meter(desk: Desk, *, place: str, corrects: str, reference: str = "", coefficient: str = "") -> None:
    """Write down how a meter corrects for temperature, in the place of what stood before.

    place: ``machine`` or ``meter``. corrects: ``yes`` or ``no``. reference [C]: what it corrects to, as typed.
    coefficient [% for each degree]: as typed; may be left out with a reference of 25 C, where nothing is worked out
    by it.
    Refuses no place, neither yes nor no, a meter that corrects without a reference, one that needs a coefficient and
    has none, and figures that no meter has. Source: fluids 1.5, fluids 2.4.
    """
    if place not in PLACES:
        raise InputError("enter.meter_place")
    if corrects not in CORRECTS:
        raise InputError("enter.meter_corrects")
    held = _reference(reference) if corrects == "yes" else ""
    share = _coefficient(coefficient) if coefficient.strip() else ""
    if not share and (not held or Decimal(held) != AT_25):
        raise InputError("enter.meter_coefficient")
    older = meter_facts(desk.standing, place)
    desk.add(
        ConductivityMeter(place=place, reference=held, coefficient=share),
        replaces=tuple(fact.id for fact in older),
        reason="set anew" if older else None,
        standing=True,
    )


def _reference(typed: str) -> str:
    if not typed.strip():
        raise InputError("enter.meter_reference")
    value = parse_decimal(typed.replace("°", "").strip().removesuffix("C").strip(), places=1)
    if not REFERENCE[0] <= value <= REFERENCE[1]:
        raise InputError(
            "enter.meter_reference_far", typed=typed.strip(), low=REFERENCE[0], high=REFERENCE[1]
        )
    return plain(value)


def _coefficient(typed: str) -> str:
    value = parse_decimal(typed.strip().removesuffix("/C").strip().removesuffix("%").strip(), places=3)
    if not COEFFICIENT[0] <= value <= COEFFICIENT[1]:
        raise InputError(
            "enter.meter_coefficient_far", typed=typed.strip(), low=COEFFICIENT[0], high=COEFFICIENT[1]
        )
    return plain(value)


def at_25(desk: Desk, place: str, reading: Decimal) -> Worked | str:
    """A reading brought to 25 C by how its meter corrects [mS/cm], or the key of the words for why it can't be.

    Source: fluids:D1, fluids 1.5.
    """
    meter = meter_of(desk.standing, place)
    if meter is None:
        return "fluid.read_no_reference"
    share = Decimal(meter.coefficient) / 100 if meter.coefficient else None
    if meter.reference:
        given = {"reading_ms_cm": reading, "reference_c": Decimal(meter.reference)}
        # At 25 C nothing is corrected, whatever the coefficient: any in range gives the reading itself.
        return work(
            "conductivity_from_reference", {**given, "coefficient_per_c": share or COEFFICIENT[0] / 100}
        )
    temperature = _temperature(desk)
    if temperature is None:
        return "fluid.read_no_temperature"
    given = {"reading_ms_cm": reading, "temperature_c": temperature}
    return work("conductivity_at_25", {**given, "coefficient_per_c": share})


def _temperature(desk: Desk) -> Decimal | None:
    """The fluid's temperature as measured tonight [C]."""
    facts = desk.treatment.at_slot("measured", "fluid_temperature", "") if desk.treatment_id else ()
    body = agreed_measure(facts)
    return None if body is None else Decimal(body.value)
