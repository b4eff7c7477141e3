"""What a dialyser clears and what recirculation leaves of it. For looking back only.

All flows in mL/min. A clearance of plasma water goes with concentrations in water. KoA is a size of the dialyser:
in a person it is about 0.7 to 0.8 of what a data sheet prints (from memory), and a sheet's figure reads too high.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula
from ebbwell.science.ranges_solutes import (
    ACCESS,
    AREA,
    BLOOD_FLOW_RUNNING,
    CEILING,
    CLEARANCE,
    CONCENTRATION,
    DIALYSATE_FLOW_RUNNING,
    HAEMATOCRIT,
    HEART,
    INJECTED,
    KOA,
    OFFSET,
    PRESSURE,
    REMOVAL_FLOW,
    SHARE_LOST,
    STEEPNESS,
    UREA,
)

PLASMA_WATER = Decimal("0.93")
"""Share of water in plasma. Source: from memory (kinetics A5)."""
CELL_WATER = Decimal("0.72")
"""Share of water in red cells. Source: from memory (kinetics A5)."""
CELL_UREA = Decimal("0.86")
"""Share of the urea of red cells that gets out in time. Source: from memory (kinetics A5)."""
BLOOD_WATER = Decimal("0.86")
"""Share of the blood flow that counts as water, a round figure. Source: kinetics:A5 (Vartia thesis)."""
BLOOD_WATER_OTHER = Decimal("0.894")
"""Another round figure for the same. Source: from memory (kinetics A5)."""
REMOVAL_SHARE = Decimal("0.46")
"""Share of the removal flow that adds to the clearance, by another rule. Source: from memory (kinetics A5)."""


def _growth(x: Decimal) -> Decimal:
    """(e^x - 1)/x, which is 1 at 0."""
    if abs(x) < Decimal("1e-9"):
        return 1 + x / 2 + x * x / 6 + x**3 / 24
    return (x.exp() - 1) / x


def _log_share(y: Decimal) -> Decimal:
    """ln(1 + y)/y, which is 1 at 0."""
    if abs(y) < Decimal("1e-9"):
        return 1 - y / 2 + y * y / 3 - y**3 / 4
    return (1 + y).ln() / y


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="kinetics:A5",
    text="blood flow x (Z - 1) / (Z - blood flow / dialysate flow), Z = e ^ (KoA / blood flow x (1 -"
    " blood flow / dialysate flow))",
    koa_ml_min=KOA,
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    dialysate_flow_ml_min=DIALYSATE_FLOW_RUNNING,
)
def clearance_of_dialyser(
    *,
    koa_ml_min: Decimal,
    blood_flow_ml_min: Decimal,
    dialysate_flow_ml_min: Decimal,
) -> Decimal:
    """Clearance by spreading alone, flows against each other.  [mL/min]

    koa_ml_min [mL/min] 1 to 3,000; blood_flow_ml_min [mL/min] 50 to 600; dialysate_flow_ml_min [mL/min] 50 to
    1,000. Equal flows need no form of their own. Raises DomainError outside.
    Source: kinetics:A5 (from the two exchange equations; Michaels 1966 from memory).
    """
    size = koa_ml_min / blood_flow_ml_min
    slope = size * (1 - blood_flow_ml_min / dialysate_flow_ml_min)
    passed = size * _growth(slope)
    return blood_flow_ml_min * passed / (1 + passed)


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="kinetics:A5",
    text="Qb Qd / (Qd - Qb) x ln((1 - K / Qd) / (1 - K / Qb)), K clearance, Qb blood flow, Qd dialysate flow",
    clearance_ml_min=CLEARANCE,
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    dialysate_flow_ml_min=DIALYSATE_FLOW_RUNNING,
)
def koa_of_clearance(
    *,
    clearance_ml_min: Decimal,
    blood_flow_ml_min: Decimal,
    dialysate_flow_ml_min: Decimal,
) -> Decimal:
    """Size of a dialyser from a clearance.  [mL/min]

    clearance_ml_min [mL/min] 1 to 1,000; blood_flow_ml_min [mL/min] 50 to 600; dialysate_flow_ml_min [mL/min]
    50 to 1,000. Raises DomainError outside, and for a clearance that is not under both flows.
    Source: kinetics:A5 (worked out).
    """
    if clearance_ml_min >= min(blood_flow_ml_min, dialysate_flow_ml_min):
        raise DomainError("science.clearance_over_flow", clearance=plain(clearance_ml_min))
    passed = clearance_ml_min / (blood_flow_ml_min - clearance_ml_min)
    gap = passed * (1 - blood_flow_ml_min / dialysate_flow_ml_min)
    return blood_flow_ml_min * passed * _log_share(gap)


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="kinetics:A5",
    text="(blood flow - removal flow) x (in - out) / in + removal flow",
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    removal_ml_min=REMOVAL_FLOW,
    urea_in_mmol_l=UREA,
    urea_out_mmol_l=CONCENTRATION,
)
def clearance_with_removal(
    *,
    blood_flow_ml_min: Decimal,
    removal_ml_min: Decimal,
    urea_in_mmol_l: Decimal,
    urea_out_mmol_l: Decimal,
) -> Decimal:
    """Whole clearance from samples before and behind the dialyser.  [mL/min]

    blood_flow_ml_min [mL/min] 50 to 600; removal_ml_min [mL/min] 0 to 100; urea_in_mmol_l [mmol/L] 0.5 to 80;
    urea_out_mmol_l [mmol/L] 0 to 80. Raises DomainError outside, and where more is removed than flows or more
    comes out than went in.
    Source: kinetics:A5 (Kidney Int 1983;24:143, equation 3).
    """
    if removal_ml_min >= blood_flow_ml_min:
        raise DomainError("science.removal_over_flow", removal=plain(removal_ml_min))
    if urea_out_mmol_l > urea_in_mmol_l:
        raise DomainError(
            "science.after_above_before", before=plain(urea_in_mmol_l), after=plain(urea_out_mmol_l)
        )
    return (blood_flow_ml_min - removal_ml_min) * (1 - urea_out_mmol_l / urea_in_mmol_l) + removal_ml_min


def _under_flow(clearance: Decimal, removal: Decimal, flow: Decimal) -> None:
    if removal >= flow:
        raise DomainError("science.removal_over_flow", removal=plain(removal))
    if clearance >= flow:
        raise DomainError("science.clearance_over_flow", clearance=plain(clearance))


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="from memory",
    text="clearance x (1 - removal flow / blood flow) + removal flow",
    clearance_ml_min=CLEARANCE,
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    removal_ml_min=REMOVAL_FLOW,
)
def clearance_predicted(
    *,
    clearance_ml_min: Decimal,
    blood_flow_ml_min: Decimal,
    removal_ml_min: Decimal,
) -> Decimal:
    """Whole clearance foretold from that by spreading.  [mL/min]

    clearance_ml_min [mL/min] 1 to 1,000; blood_flow_ml_min [mL/min] 50 to 600; removal_ml_min [mL/min] 0 to
    100. Raises DomainError outside, and where more is removed than flows or is cleared than flows.
    Source: from memory (kinetics A5).
    """
    _under_flow(clearance_ml_min, removal_ml_min, blood_flow_ml_min)
    return clearance_ml_min * (1 - removal_ml_min / blood_flow_ml_min) + removal_ml_min


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="from memory",
    text="clearance + 0.46 x removal flow",
    clearance_ml_min=CLEARANCE,
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    removal_ml_min=REMOVAL_FLOW,
)
def clearance_predicted_by_share(
    *,
    clearance_ml_min: Decimal,
    blood_flow_ml_min: Decimal,
    removal_ml_min: Decimal,
) -> Decimal:
    """Whole clearance foretold by another rule.  [mL/min]

    clearance_ml_min [mL/min] 1 to 1,000; blood_flow_ml_min [mL/min] 50 to 600; removal_ml_min [mL/min] 0 to
    100. Raises DomainError outside, and where more is removed than flows or is cleared than flows.
    Source: from memory (kinetics A5).
    """
    _under_flow(clearance_ml_min, removal_ml_min, blood_flow_ml_min)
    return clearance_ml_min + REMOVAL_SHARE * removal_ml_min


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="from memory",
    text="blood flow x (0.72 x 0.86 x red cells / 100 + 0.93 x (1 - red cells / 100))",
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    red_cells_percent=HAEMATOCRIT,
)
def blood_water_flow(*, blood_flow_ml_min: Decimal, red_cells_percent: Decimal) -> Decimal:
    """Flow of blood water that carries urea.  [mL/min]

    blood_flow_ml_min [mL/min] 50 to 600; red_cells_percent [%] 10 to 65. Raises DomainError outside.
    Source: from memory (kinetics A5).
    """
    cells = red_cells_percent / 100
    return blood_flow_ml_min * (CELL_WATER * CELL_UREA * cells + PLASMA_WATER * (1 - cells))


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="kinetics:A5",
    text="0.86 x blood flow",
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
)
def blood_water_flow_simple(*, blood_flow_ml_min: Decimal) -> Decimal:
    """Flow of blood water by a round share.  [mL/min]

    blood_flow_ml_min [mL/min] 50 to 600. Raises DomainError outside.
    Source: kinetics:A5 (Vartia thesis).
    """
    return BLOOD_WATER * blood_flow_ml_min


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="from memory",
    text="0.894 x blood flow",
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
)
def blood_water_flow_other(*, blood_flow_ml_min: Decimal) -> Decimal:
    """Flow of blood water by another round share.  [mL/min]

    blood_flow_ml_min [mL/min] 50 to 600. Raises DomainError outside.
    Source: from memory (kinetics A5).
    """
    return BLOOD_WATER_OTHER * blood_flow_ml_min


@formula(
    unit="%",
    places=1,
    review_only=True,
    source="from memory",
    text="100 x (body - arterial line) / (body - venous line)",
    urea_body_mmol_l=UREA,
    urea_arterial_mmol_l=UREA,
    urea_venous_mmol_l=CONCENTRATION,
)
def recirculation(
    *,
    urea_body_mmol_l: Decimal,
    urea_arterial_mmol_l: Decimal,
    urea_venous_mmol_l: Decimal,
) -> Decimal:
    """Share of the blood in the arterial line that has just come back.  [%]

    urea_body_mmol_l [mmol/L] 0.5 to 80; urea_arterial_mmol_l [mmol/L] 0.5 to 80; urea_venous_mmol_l [mmol/L] 0
    to 80. The sample for the body is drawn with the flow slowed. Raises DomainError outside, and unless venous
    is under arterial and that not above body.
    Source: from memory (kinetics A6).
    """
    if not urea_venous_mmol_l < urea_arterial_mmol_l <= urea_body_mmol_l:
        raise DomainError("science.samples_out_of_order")
    return 100 * (urea_body_mmol_l - urea_arterial_mmol_l) / (urea_body_mmol_l - urea_venous_mmol_l)


@formula(
    unit="%",
    places=1,
    review_only=True,
    source="from memory",
    text="100 x seen on the arterial line / injected on the venous line",
    seen_factor=AREA,
    injected_factor=INJECTED,
)
def recirculation_by_dilution(*, seen_factor: Decimal, injected_factor: Decimal) -> Decimal:
    """Recirculation by dilution, from two areas in one unit.  [%]

    seen_factor 0 to 1,000,000; injected_factor 0.001 to 1,000,000. Raises DomainError outside, and where more
    is seen than was injected.
    Source: from memory (kinetics A6).
    """
    if seen_factor > injected_factor:
        raise DomainError("science.samples_out_of_order")
    return 100 * seen_factor / injected_factor


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="kinetics:A6",
    text="K (1 - r) / (1 - r (1 - K / Qb)), K clearance, r recirculation / 100, Qb blood flow",
    clearance_ml_min=CLEARANCE,
    blood_flow_ml_min=BLOOD_FLOW_RUNNING,
    recirculation_percent=SHARE_LOST,
)
def clearance_with_recirculation(
    *,
    clearance_ml_min: Decimal,
    blood_flow_ml_min: Decimal,
    recirculation_percent: Decimal,
) -> Decimal:
    """What recirculation leaves of a clearance.  [mL/min]

    clearance_ml_min [mL/min] 1 to 1,000; blood_flow_ml_min [mL/min] 50 to 600; recirculation_percent [%] 0 to
    99. Raises DomainError outside, and for a clearance above the blood flow.
    Source: kinetics:A6 (worked out: mixing at the needle).
    """
    if clearance_ml_min > blood_flow_ml_min:
        raise DomainError("science.clearance_over_flow", clearance=plain(clearance_ml_min))
    back = recirculation_percent / 100
    return clearance_ml_min * (1 - back) / (1 - back * (1 - clearance_ml_min / blood_flow_ml_min))


@formula(
    unit="mL/min",
    places=0,
    review_only=True,
    source="from memory",
    text="K / (1 + K / (output of the heart - access flow))",
    clearance_ml_min=CLEARANCE,
    heart_output_ml_min=HEART,
    access_flow_ml_min=ACCESS,
)
def clearance_heart_lung(
    *,
    clearance_ml_min: Decimal,
    heart_output_ml_min: Decimal,
    access_flow_ml_min: Decimal,
) -> Decimal:
    """What the short way through heart and lung leaves of a clearance.  [mL/min]

    clearance_ml_min [mL/min] 1 to 1,000; heart_output_ml_min [mL/min] 1000 to 15,000; access_flow_ml_min
    [mL/min] 0 to 4,000. Raises DomainError outside, and for an access flow that is not under the heart's
    output.
    Source: from memory (kinetics A6, worked out there too).
    """
    if access_flow_ml_min >= heart_output_ml_min:
        raise DomainError("science.access_over_heart", access=plain(access_flow_ml_min))
    return clearance_ml_min / (1 + clearance_ml_min / (heart_output_ml_min - access_flow_ml_min))


@formula(
    unit="mL/h",
    places=0,
    review_only=True,
    source="from memory",
    text="ceiling x (1 - e ^ (-steepness x (pressure - offset) / 100))",
    ceiling_ml_h=CEILING,
    steepness_factor=STEEPNESS,
    transmembrane_mmhg=PRESSURE,
    offset_mmhg=OFFSET,
)
def removal_flow_saturating(
    *,
    ceiling_ml_h: Decimal,
    steepness_factor: Decimal,
    transmembrane_mmhg: Decimal,
    offset_mmhg: Decimal,
) -> Decimal:
    """Removal flow that levels off as pressure rises, steepness for each 100 mmHg.  [mL/h]

    ceiling_ml_h [mL/h] 0 to 10,000; steepness_factor 0 to 10; transmembrane_mmhg [mmHg] 0 to 400; offset_mmhg
    [mmHg] 0 to 100. Under the offset it is below 0: fluid runs back. Raises DomainError outside.
    Source: from memory (kinetics A5: Pinheiro and Bates 2000, chapter 8).
    """
    above = (transmembrane_mmhg - offset_mmhg) / 100
    return ceiling_ml_h * (1 - (-steepness_factor * above).exp())
