"""Pressures in mmHg and what flows by: mean, across the membrane, blood processed, blood lost."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.science.formula import formula, span
from ebbwell.science.ranges import BLOOD_FLOW, MINUTES_PART, WEIGHT, ZERO

BLOOD_ML_KG = Decimal(70)
"""Blood in the body for each kilogram. Source: fluids:P18 (with fluids 5.5)."""
GRAVITY_M_S2 = Decimal("9.80665")
"""Standard gravity, by definition. Source: arithmetic."""
PA_PER_MMHG = Decimal("133.322387415")
"""Pascal in a millimetre of mercury, by definition. Source: arithmetic."""
DIASTOLE_SHARE = Decimal(3)
"""The mean lies a third of the way from diastolic to systolic. Source: examples:E5.1."""

PI = Decimal("3.141592653589793238462643383279503")
"""Circle over its diameter. Source: arithmetic."""
LAMINAR = Decimal(128)
"""Factor of the law of laminar flow in a round tube, with the diameter. Source: fluids:5.2."""
FLOW_FACTOR_SEEN = Decimal("2.5")
"""Pressure went with flow over this factor of flow, and no further was measured. Source: fluids:P20."""

LINE = span("mmHg", "-500", "800")


@formula(
    unit="mmHg",
    places=1,
    source="examples:E5.1",
    text="diastolic + (systolic - diastolic) / 3",
    systolic_mmhg=span("mmHg", "40", "280"),
    diastolic_mmhg=span("mmHg", "20", "180"),
)
def mean_arterial_pressure(*, systolic_mmhg: Decimal, diastolic_mmhg: Decimal) -> Decimal:
    """Mean blood pressure.  [mmHg]

    systolic_mmhg [mmHg] 40 to 280; diastolic_mmhg [mmHg] 20 to 180. Raises DomainError outside, and where
    the lower figure isn't below the upper one. Source: examples:E5.1, fluids 4.6.
    """
    if diastolic_mmhg >= systolic_mmhg:
        raise DomainError(
            "science.pressures_swapped", systolic=plain(systolic_mmhg), diastolic=plain(diastolic_mmhg)
        )
    return diastolic_mmhg + (systolic_mmhg - diastolic_mmhg) / DIASTOLE_SHARE


@formula(
    unit="mmHg",
    places=0,
    source="fluids:P8",
    text="(blood in + blood out) / 2 - (fluid in + fluid out) / 2",
    blood_in_mmhg=LINE,
    blood_out_mmhg=LINE,
    fluid_in_mmhg=LINE,
    fluid_out_mmhg=LINE,
)
def transmembrane_pressure_4(
    *, blood_in_mmhg: Decimal, blood_out_mmhg: Decimal, fluid_in_mmhg: Decimal, fluid_out_mmhg: Decimal
) -> Decimal:
    """Pressure across the membrane from four points.  [mmHg]

    Never compare it with the figure from two or three points.

    All four [mmHg] -500 to 800. The result may be negative. Raises DomainError outside. Source: fluids:P8.
    """
    return (blood_in_mmhg + blood_out_mmhg) / 2 - (fluid_in_mmhg + fluid_out_mmhg) / 2


@formula(
    unit="mmHg",
    places=0,
    source="fluids:P8",
    text="(blood in + blood out) / 2 - fluid out",
    blood_in_mmhg=LINE,
    blood_out_mmhg=LINE,
    fluid_out_mmhg=LINE,
)
def transmembrane_pressure_3(
    *, blood_in_mmhg: Decimal, blood_out_mmhg: Decimal, fluid_out_mmhg: Decimal
) -> Decimal:
    """Pressure across the membrane from three points.  [mmHg]

    All three [mmHg] -500 to 800. The result may be negative. Raises DomainError outside. Source: fluids:P8.
    """
    return (blood_in_mmhg + blood_out_mmhg) / 2 - fluid_out_mmhg


@formula(
    unit="mmHg",
    places=0,
    source="fluids:P8",
    text="blood out - fluid out",
    blood_out_mmhg=LINE,
    fluid_out_mmhg=LINE,
)
def transmembrane_pressure_2(*, blood_out_mmhg: Decimal, fluid_out_mmhg: Decimal) -> Decimal:
    """Pressure across the membrane from two points.  [mmHg]

    Both [mmHg] -500 to 800. The result may be negative. Raises DomainError outside. Source: fluids:P8.
    """
    return blood_out_mmhg - fluid_out_mmhg


@formula(
    unit="mmHg",
    places=2,
    source="fluids:P10",
    text="removal rate / membrane coefficient",
    rate_ml_h=span("mL/h", "0", "10000"),
    coefficient_ml_h_mmhg=span("mL/h/mmHg", "1", "200"),
)
def pressure_for_removal(*, rate_ml_h: Decimal, coefficient_ml_h_mmhg: Decimal) -> Decimal:
    """Pressure across the membrane that a removal rate needs, the pull of blood protein left out.  [mmHg]

    rate_ml_h [mL/h] 0 to 10,000; coefficient_ml_h_mmhg [mL/h/mmHg] 1 to 200, on the dialyser's sheet.
    Raises DomainError outside. Source: fluids:P10.
    """
    return rate_ml_h / coefficient_ml_h_mmhg


@formula(
    unit="mL/h/mmHg",
    places=1,
    source="fluids:P10",
    text="removal rate / (pressure across the membrane - pull of blood protein)",
    rate_ml_h=span("mL/h", "0", "10000"),
    transmembrane_mmhg=span("mmHg", "-500", "800"),
    oncotic_mmhg=span("mmHg", "0", "40"),
)
def membrane_coefficient(
    *, rate_ml_h: Decimal, transmembrane_mmhg: Decimal, oncotic_mmhg: Decimal = ZERO
) -> Decimal:
    """Removal for each mmHg across the membrane.  [mL/h/mmHg]

    Compare it with one's own nights of the same dialyser and the same number of points only.

    rate_ml_h [mL/h] 0 to 10,000; transmembrane_mmhg [mmHg] -500 to 800; oncotic_mmhg [mmHg] 0 to 40, 0 where
    it is left out. Raises DomainError outside, and where less than 1 mmHg is left: with high flux the pressure
    may be near 0 or under it, and then there is no figure. Source: fluids:P10.
    """
    net = transmembrane_mmhg - oncotic_mmhg
    if net < 1:
        raise DomainError("science.no_net_pressure", net=plain(net))
    return rate_ml_h / net


@formula(
    unit="%",
    places=0,
    source="arithmetic",
    text="100 x (tonight / own - 1)",
    coefficient_ml_h_mmhg=span("mL/h/mmHg", "0", "10000"),
    own_coefficient_ml_h_mmhg=span("mL/h/mmHg", "0.1", "10000"),
)
def coefficient_change(*, coefficient_ml_h_mmhg: Decimal, own_coefficient_ml_h_mmhg: Decimal) -> Decimal:
    """How far tonight's coefficient lies from that of one's own nights; a fall is what fibres that clot show.  [%]

    coefficient_ml_h_mmhg [mL/h/mmHg] 0 to 10,000; own_coefficient_ml_h_mmhg [mL/h/mmHg] 0.1 to 10,000, from
    the same number of points. Raises DomainError outside. Source: arithmetic (fluids 5.3).
    """
    return 100 * (coefficient_ml_h_mmhg / own_coefficient_ml_h_mmhg - 1)


@formula(
    unit="mmHg",
    places=0,
    source="fluids:P20",
    text="pressure x wanted flow / flow",
    pressure_mmhg=span("mmHg", "-300", "400"),
    blood_flow_ml_min=span("mL/min", "50", "600"),
    wanted_flow_ml_min=span("mL/min", "50", "600"),
)
def pressure_at_flow(
    *, pressure_mmhg: Decimal, blood_flow_ml_min: Decimal, wanted_flow_ml_min: Decimal
) -> Decimal:
    """A line pressure as it would be at another pump setting, nearly in proportion; a size, not a reading.  [mmHg]

    pressure_mmhg [mmHg] -300 to 400, arterial negative; blood_flow_ml_min, wanted_flow_ml_min [mL/min] 50 to
    600. Raises DomainError outside, and where one flow is over 2.5 times the other. Source: fluids:P20.
    """
    low, high = sorted((blood_flow_ml_min, wanted_flow_ml_min))
    if high > FLOW_FACTOR_SEEN * low:
        raise DomainError("science.flows_far_apart", low=plain(low), high=plain(high))
    return pressure_mmhg * wanted_flow_ml_min / blood_flow_ml_min


@formula(
    unit="mL/min",
    places=0,
    rounding="down",
    source="fluids:P6",
    text="pump setting x (1 - share short / 100)",
    blood_flow_ml_min=BLOOD_FLOW,
    short_percent=span("%", "0", "50"),
)
def flow_delivered(*, blood_flow_ml_min: Decimal, short_percent: Decimal) -> Decimal:
    """True blood flow where the pull before the pump makes it fall short of the setting.  [mL/min]

    blood_flow_ml_min [mL/min] 0 to 600, as set; short_percent [%] 0 to 50, as your unit measured it. Raises
    DomainError outside. Shown rounded down. Source: fluids:P6.
    """
    return blood_flow_ml_min * (1 - short_percent / 100)


@formula(
    unit="mmHg",
    places=1,
    source="fluids:5.2",
    text="128 x viscosity x length x flow / (pi x inner width ^ 4), in Pa, / 133.322387415",
    viscosity_mpa_s=span("mPa s", "0.5", "20"),
    length_mm=span("mm", "1", "100"),
    blood_flow_ml_min=BLOOD_FLOW,
    inner_mm=span("mm", "1", "5"),
)
def laminar_drop(
    *, viscosity_mpa_s: Decimal, length_mm: Decimal, blood_flow_ml_min: Decimal, inner_mm: Decimal
) -> Decimal:
    """Smooth-flow part of the drop along a needle; the ends add as much. For the size of a change only.  [mmHg]

    viscosity_mpa_s [mPa s] 0.5 to 20; length_mm [mm] 1 to 100; blood_flow_ml_min [mL/min] 0 to 600; inner_mm
    [mm] 1 to 5. Raises DomainError outside. Source: fluids:5.2.
    """
    flow_m3_s = blood_flow_ml_min / 60 / 1_000_000
    pascal = LAMINAR * viscosity_mpa_s * length_mm * flow_m3_s / (PI * inner_mm**4) * 1_000_000
    return pascal / PA_PER_MMHG


@formula(
    unit="L",
    places=1,
    source="arithmetic",
    text="blood flow x minutes / 1000",
    blood_flow_ml_min=BLOOD_FLOW,
    minutes_min=MINUTES_PART,
)
def blood_processed(*, blood_flow_ml_min: Decimal, minutes_min: Decimal) -> Decimal:
    """Blood that went through the dialyser, by the pump's setting.  [L]

    blood_flow_ml_min [mL/min] 0 to 600; minutes_min [min] 0 to 840. Raises DomainError outside.
    Source: arithmetic.
    """
    return blood_flow_ml_min * minutes_min / 1000


@formula(
    unit="mL",
    places=0,
    rounding="up",
    source="arithmetic",
    text="blood flow x minutes",
    blood_flow_ml_min=BLOOD_FLOW,
    minutes_min=MINUTES_PART,
)
def blood_loss(*, blood_flow_ml_min: Decimal, minutes_min: Decimal) -> Decimal:
    """Blood that the pump would lose through a needle that is out.  [mL]

    blood_flow_ml_min [mL/min] 0 to 600; minutes_min [min] 0 to 840. Raises DomainError outside.
    Source: arithmetic (fluids 5.5).
    """
    return blood_flow_ml_min * minutes_min


@formula(
    unit="min",
    places=1,
    rounding="down",
    source="fluids:P18",
    text="share / 100 x 70 mL/kg x weight / blood flow",
    share_percent=span("%", "0", "100"),
    weight_kg=WEIGHT,
    blood_flow_ml_min=span("mL/min", "50", "600"),
)
def minutes_to_lose(*, share_percent: Decimal, weight_kg: Decimal, blood_flow_ml_min: Decimal) -> Decimal:
    """Minutes in which a needle that is out would cost a share of the body's blood.  [min]

    share_percent [%] 0 to 100; weight_kg [kg] 20 to 300; blood_flow_ml_min [mL/min] 50 to 600.
    Raises DomainError outside. Shown rounded down. Source: fluids:P18, fluids 5.5.
    """
    return share_percent / 100 * BLOOD_ML_KG * weight_kg / blood_flow_ml_min


@formula(
    unit="mmHg",
    places=2,
    source="arithmetic",
    text="height x density x 9.80665 / 133.322387415 / 100",
    height_cm=span("cm", "0", "200"),
    density_kg_m3=span("kg/m3", "900", "1200"),
)
def column_pressure(*, height_cm: Decimal, density_kg_m3: Decimal) -> Decimal:
    """Pressure of a standing column, such as blood between arm and chamber.  [mmHg]

    height_cm [cm] 0 to 200; density_kg_m3 [kg/m3] 900 to 1,200 (blood about 1,055). Raises DomainError
    outside.
    Source: arithmetic (fluids 5.5).
    """
    return height_cm * density_kg_m3 * GRAVITY_M_S2 / PA_PER_MMHG / 100
