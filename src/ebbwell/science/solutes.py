"""The solutes that nights are added up for: which model each goes by, with what figures, and how far they may be off.

Every figure has its range and source beside it. A figure from memory says so by its source, and pages say so in words.
What a model is good for and what it isn't: wording keys ``solute.<key>.good`` and ``solute.<key>.limits``.

The source is that of the middle. Ends of ranges that no source prints are wide ones of our own: the outer shares of
urea and creatinine, phosphate's far pool, potassium. Urea's ends of the flow between pools are from memory (kinetics 0).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.science.pools import ONE_POOL, Leg, Link, Pools, after
from ebbwell.science.schedule import Body

MEMORY = "from memory"
"""Source of a figure that nobody has yet read in print."""


class Figure(NamedTuple):
    """A parameter: middle and range in its unit, and where it was published."""

    value: float
    low: float
    high: float
    unit: str
    source: str

    @property
    def checked(self) -> bool:
        """Whether the figure was read in print."""
        return not self.source.startswith(MEMORY)


@dataclass(frozen=True, slots=True)
class Solute:
    """key: wording key. mass: unit of mass (``mmol`` or ``mg``). figures: parameters by name."""

    key: str
    mass: str
    figures: Mapping[str, Figure]

    @property
    def good(self) -> str:
        """Wording key of what the model is good for."""
        return f"solute.{self.key}.good"

    @property
    def limits(self) -> str:
        """Wording key of what it isn't good for."""
        return f"solute.{self.key}.limits"

    def value(self, name: str, **own: float) -> float:
        """A parameter: one's own where given, else the middle one. Raises DomainError for one that isn't above 0."""
        value = own.get(name, self.figures[name].value)
        if not (isfinite(value) and value > 0):
            raise DomainError("science.leg_not_above_zero")
        return value


UREA = Solute(
    "urea",
    "mmol",
    {
        "outer_share": Figure(1 / 3, 0.25, 0.45, "1", "kinetics:0"),
        "between_per_min": Figure(0.016, 0.010, 0.025, "1/min", "kinetics:0"),
    },
)
CREATININE = Solute(
    "creatinine",
    "mmol",
    {
        "outer_share": Figure(1 / 3, 0.25, 0.45, "1", "kinetics:0"),
        "between_per_min": Figure(
            0.009, 0.005, 0.016, "1/min", "from memory: between a third and all of urea's"
        ),
        "carried": Figure(
            0.77, 0.67, 0.86, "1", "from memory: between plasma alone and all the blood's water"
        ),
    },
)
PHOSPHATE = Solute(
    "phosphate",
    "mmol",
    {
        "near_l": Figure(11.0, 7.2, 15.7, "L", "kinetics:A9 phosphate"),
        "release_l_min": Figure(0.099, 0.045, 0.208, "L/min", "kinetics:A9 phosphate"),
        "far_over_water": Figure(3.0, 2.0, 4.0, "1", "kinetics:A9 phosphate"),
    },
)
POTASSIUM = Solute(
    "potassium",
    "mmol",
    {
        "near_l": Figure(15.0, 10.0, 20.0, "L", "from memory: Agar 2014"),
        "release_l_min": Figure(0.158, 0.080, 0.260, "L/min", "from memory: Agar 2014"),
    },
)
BETA_2 = Solute(
    "beta_2_microglobulin",
    "mg",
    {
        "volume_over_water": Figure(0.30, 0.25, 0.36, "1", "kinetics:A9 beta-2"),
        "outer_share": Figure(1 / 4.4, 1 / 5.3, 1 / 3.5, "1", "kinetics:A9 beta-2"),
        "between_l_min": Figure(0.055, 0.030, 0.080, "L/min", "kinetics:A9 beta-2"),
        "elsewhere_l_min": Figure(0.003, 0.001, 0.004, "L/min", "from memory: Ward 2006, Floege 1991"),
        "generation_mg_kg_day": Figure(3.0, 2.0, 4.0, "mg/kg/day", "from memory: Ward 2006, Floege 1991"),
    },
)
BICARBONATE = Solute(
    "bicarbonate",
    "mmol",
    {
        "volume_over_weight": Figure(0.40, 0.30, 0.50, "L/kg", "from memory: apparent space of bicarbonate"),
        "release_l_min": Figure(0.152, 0.087, 0.240, "L/min", "kinetics:A9 bicarbonate"),
    },
)
SOLUTES = (UREA, CREATININE, PHOSPHATE, POTASSIUM, BETA_2, BICARBONATE)


def in_all_water(solute: Solute, water_l: float, generation: float, **own: float) -> Body:
    """Urea or creatinine: two pools of all the body's water.

    water_l [L] after treatment, above 0; generation [mmol/min]; own: one's own ``outer_share`` or ``between_per_min``.
    Raises DomainError outside. Source: kinetics C.
    """
    outer = solute.value("outer_share", **own)
    between = solute.value("between_per_min", **own) * water_l
    return Body(Pools((outer, 1 - outer), (Link(0, 1, between),)), water_l, generation)


def phosphate_body(water_l: float, generation: float, **own: float) -> Body:
    """Phosphate: a near pool that blood sees, and a far one of several times the body's water that gives it back.

    Between treatments the far pool is filled again, so that patterns can be told apart; for one treatment alone, a far
    pool without end is ``mobilised``. water_l [L] above 0; generation [mmol/min], what is taken in and not bound.
    Raises DomainError outside. Source: kinetics A9 (release as measured; size of the far pool from the two-pool form,
    with its release held constant here).
    """
    near = PHOSPHATE.value("near_l", **own)
    far = PHOSPHATE.value("far_over_water", **own) * water_l
    release = PHOSPHATE.value("release_l_min", **own)
    whole = near + far
    return Body(Pools((near / whole, far / whole), (Link(0, 1, release),)), whole, generation)


def beta_2_body(water_l: float, weight_kg: float, residual_l_min: float = 0.0, **own: float) -> Body:
    """Beta-2-microglobulin: two pools in a part of the body's water, with a slow loss that is no dialyser's.

    water_l [L], weight_kg [kg] above 0. mg and mg/L. Raises DomainError outside. Source: kinetics A9, G.
    """
    volume = BETA_2.value("volume_over_water", **own) * water_l
    outer = BETA_2.value("outer_share", **own)
    pools = Pools((outer, 1 - outer), (Link(0, 1, BETA_2.value("between_l_min", **own)),))
    generation = BETA_2.value("generation_mg_kg_day", **own) * weight_kg / 1440
    return Body(pools, volume, generation, residual_l_min, (BETA_2.value("elsewhere_l_min", **own), 0.0))


class Mobilised(NamedTuple):
    """A treatment of a pool that the body fills up towards its level before: level as it ends, and mass taken off."""

    end: float
    removed: float


def mobilised(
    *,
    start: float,
    near_l: float,
    release_l_min: float,
    clearance_l_min: float,
    minutes: float,
    bath: float = 0.0,
    removal_l: float = 0.0,
) -> Mobilised:
    """One treatment of phosphate, potassium or bicarbonate: V dC/dt = release (start - C) - clearance (C - bath).

    start, bath: concentrations; near_l [L]: as the treatment begins; removal_l [L]: fluid taken off, all from the near
    pool; clearance 0 tells how it comes back afterwards. The store behind is taken as without end, which a long night
    shows as too much taken off. Raises DomainError for what can't be. Source: kinetics A9 (phosphate, potassium,
    bicarbonate).
    """
    leg = Leg(minutes, near_l, -removal_l / minutes if minutes else 0.0, (release_l_min + clearance_l_min,))
    inflow = (release_l_min * start + clearance_l_min * bath,)
    masses = (start * near_l,)
    (end,) = after(ONE_POOL.over(leg), masses, inflow)
    (area,) = after(ONE_POOL.area_over(leg), masses, inflow)
    return Mobilised(end / leg.volume_end_l, clearance_l_min * (area - bath * minutes))
