"""The dialysis fluid that order and label promise together, and the conductivity it should have.

A figure to hold meters against, not a calibration. Nothing is worked out from a label that wasn't read twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from ebbwell.core.worked import Input, Worked
from ebbwell.science import catalogue

ORDERED = ("sodium", "potassium", "calcium", "bicarbonate")
"""Ions that the prescription gives; bicarbonate as final."""

FROM_LABEL = ("magnesium", "acetate", "citrate")
"""Ions that only the label gives."""

COEFFICIENT = Decimal("0.020")
"""Change of conductivity for each degree that meters commonly correct by. Source: fluids 1.5, 0.019 to 0.022."""
SPREAD = Decimal("0.001")
"""How far that may be off. Source: fluids 1.5."""


@dataclass(frozen=True, slots=True)
class FluidExpected:
    """conductivity: at 25 C. give_or_take: of method and temperature correction, either way. chloride: by balance.
    osmolarity: the simple sum. ph: while the carbon dioxide stays in, all acetate and citrate taken to come as acid.
    apart: what order and label say otherwise: name, as ordered, as on the label.
    """

    conductivity: Worked
    give_or_take: Worked
    chloride: Worked
    osmolarity: Worked
    ph: Worked
    apart: tuple[tuple[str, Input, Input], ...]


def expect_fluid(
    ordered: Mapping[str, Input], label: Mapping[str, Input], temperature: Input | None
) -> FluidExpected:
    """What the fluid should be.

    ordered: ``sodium``, ``potassium``, ``calcium``, ``bicarbonate`` [mmol/L] of the prescription.
    label: the ions that the label prints [mmol/L]. temperature [C]: of the fluid, as ordered.
    What is missing makes its figure not known. Source: fluids 2.3 to 2.5.
    """
    ions: dict[str, Input | Decimal | None] = {f"{name}_mmol_l": ordered.get(name) for name in ORDERED}
    ions |= {f"{name}_mmol_l": label[name] for name in FROM_LABEL if name in label}
    if "magnesium" not in label:
        ions["magnesium_mmol_l"] = None
    chloride = catalogue.work("chloride_by_balance", ions)
    glucose = {"glucose_mmol_l": label["glucose"]} if "glucose" in label else {}
    gas = catalogue.work("carbon_dioxide_made", _acid(label))
    names = ("potassium", "calcium")
    return FluidExpected(
        conductivity=catalogue.work("conductivity_expected", ions),
        give_or_take=catalogue.work(
            "conductivity_spread",
            {"temperature_c": temperature, "coefficient_per_c": COEFFICIENT, "spread_per_c": SPREAD},
        ),
        chloride=chloride,
        osmolarity=catalogue.work(
            "osmolarity",
            {**ions, "chloride_mmol_l": Input("chloride_mmol_l", chloride.value, chloride.unit), **glucose},
        ),
        ph=catalogue.work(
            "fluid_ph_expected",
            {
                "bicarbonate_mmol_l": ordered.get("bicarbonate"),
                "dissolved_co2_mmol_l": Input("dissolved_co2_mmol_l", gas.value, gas.unit),
            },
        ),
        apart=tuple(
            (name, ordered[name], label[name])
            for name in names
            if name in ordered and name in label and ordered[name].value != label[name].value
        ),
    )


def _acid(label: Mapping[str, Input]) -> dict[str, Input | Decimal | None]:
    """What the acid brought, by what is left of it as acetate and citrate. Source: fluids:F3."""
    return {
        "acetic_acid_mmol_l": label.get("acetate", Decimal(0)),
        "citric_acid_mmol_l": label.get("citrate", Decimal(0)),
    }
