"""What a dialyser clears of water in the body, from its leaflet: with the factor between both named and shown."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from math import expm1, isfinite

from ebbwell.core.errors import DomainError
from ebbwell.science.dialyser import BLOOD_WATER, koa_of_clearance
from ebbwell.science.solutes import CREATININE

IN_BODY = 0.8
"""Mass transfer in the body over that in the leaflet's water; 0.7 to 0.8. Source: from memory (kinetics A5)."""
UREA_FLOW = float(BLOOD_WATER)
"""Flow of water that carries urea over blood flow. Source: kinetics:A5 (Vartia thesis)."""


def clearance_l_min(
    koa_ml_min: float, blood_flow_ml_min: float, fluid_flow_ml_min: float, carried: float = UREA_FLOW
) -> float:
    """Clearance of water by spreading alone, flows against each other [L/min].

    koa_ml_min [mL/min]: as the leaflet has it, above 0; flows [mL/min] as set, above 0. carried: flow of water that
    carries the substance, over blood flow. Raises DomainError outside. Source: kinetics:A5, the form of
    ``dialyser.clearance_of_dialyser`` without its roundings.
    """
    numbers = (koa_ml_min, blood_flow_ml_min, fluid_flow_ml_min, carried)
    if not all(isfinite(x) and x > 0 for x in numbers):
        raise DomainError("science.leg_not_above_zero")
    flow = blood_flow_ml_min * carried
    size = koa_ml_min * IN_BODY / flow
    slope = size * (1 - flow / fluid_flow_ml_min)
    passed = size * expm1(slope) / slope if slope else size
    return flow * passed / (1 + passed) / 1000


def creatinine_clearance_l_min(
    koa_ml_min: float, blood_flow_ml_min: float, fluid_flow_ml_min: float
) -> float:
    """The same of creatinine, which red cells give up more slowly: carried by less than all the blood's water [L/min].

    koa_ml_min [mL/min]: as the leaflet has it for creatinine. Raises as ``clearance_l_min``. Source: kinetics:A5;
    the flow from memory, see ``solutes.CREATININE``.
    """
    carried = CREATININE.figures["carried"].value
    return clearance_l_min(koa_ml_min, blood_flow_ml_min, fluid_flow_ml_min, carried)


def koa_by_leaflet(
    clearances: Mapping[str, Decimal], blood_flow: Decimal, fluid_flow: Decimal, removal: Decimal
) -> dict[str, float]:
    """Substance to mass transfer of the dialyser [mL/min], from clearances in a leaflet.

    clearances, blood_flow, fluid_flow, removal [mL/min]: as printed; with removal, a printed clearance holds what fluid
    carries along, which is taken out first. Raises DomainError for a clearance that isn't under both flows.
    Source: kinetics:A5.
    """
    share = 1 - removal / blood_flow
    found = {}
    for name, printed in clearances.items():
        spread = (printed - removal) / share
        found[name] = float(
            koa_of_clearance(
                clearance_ml_min=spread, blood_flow_ml_min=blood_flow, dialysate_flow_ml_min=fluid_flow
            )
        )
    return found
