"""What a measure of dose is made of: its working, its band, where each of its inputs came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

from ebbwell.core.worked import Input, Worked
from ebbwell.review.basis import DAY_MIN
from ebbwell.review.doubt import wider
from ebbwell.science.bands import Band
from ebbwell.science.fit import KNOWN, Known, MonthBloods
from ebbwell.science.fit_figures import MonthFigures

Inputs = Mapping[str, Input | Decimal | None]
"""Name of an input to what goes in; None for not known."""

GROUPS = ("week", "protein", "session", "evened", "water", "surface")
"""Kinds of measure, in the order in which they are shown."""
NITROGEN = Decimal("28.01")
"""Milligrams of nitrogen in a millimole of urea. Source: kinetics section 0 (28.01 mg/mmol)."""
DIGITS = 12
"""Digits that a figure of the model keeps on its way into a sum. Source: arithmetic."""


@dataclass(frozen=True, slots=True)
class Came:
    """Where an input came from that is no entry itself.

    kind: ``measure`` (of that key), ``fit``, ``night``, ``pattern``, ``gains``, ``urine``, ``urea``, ``rule`` or
    ``body``.
    """

    kind: str
    key: str = ""


@dataclass(frozen=True, slots=True)
class Doubt:
    """The ends of a band that nine in ten such bands have the true figure between. high: None where there is no end."""

    low: Decimal
    high: Decimal | None

    @property
    def ends(self) -> tuple[Decimal, ...]:
        """Those that there are, the low one first."""
        return (self.low,) if self.high is None else (self.low, self.high)


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure. key: its own name; that of its formula is ``worked.name``. group: one of ``GROUPS``.

    why_not: wording key that says why it isn't quoted for these nights, "" where it may be. doubt: None where nobody
    knows it. came: input to where it came from. notes: wording keys of what has to be known beside it.
    """

    key: str
    group: str
    worked: Worked
    why_not: str = ""
    doubt: Doubt | None = None
    came: Mapping[str, Came] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def quoted(self) -> bool:
        """Whether it has a figure that may be said of these nights."""
        return not self.why_not and self.worked.value is not None


def decimal_of(value: float) -> Decimal:
    """A figure of the model as it goes into a sum, without the noise of its last bits."""
    return Decimal(f"{value:.{DIGITS}g}")


def doubt_of(band: Band, factor: float = 1.0) -> Doubt:
    """A band of the fit, times a factor, widened by what the model may be off."""
    wide = wider(band)
    return Doubt(decimal_of(wide.low * factor), decimal_of(wide.high * factor))


@dataclass(frozen=True, slots=True)
class Asked:
    """What the measures of one pair of bloods are worked out from.

    urea_before, urea_after [mmol/L of plasma]; month: the pair as the model takes it; figures: what the fit says of this
    month, None without one; removal_l [L]: taken off that night. access: as on the prescription. height_cm [cm],
    age_years, water_by (``woman``, ``man``): of the person. entries: name of an input to the entry that it came from.
    None and "" stand for not known. known: what was put into the fit.
    """

    urea_before: Decimal
    urea_after: Decimal
    month: MonthBloods
    figures: MonthFigures | None = None
    removal_l: Decimal | None = None
    access: str = ""
    height_cm: Decimal | None = None
    age_years: Decimal | None = None
    water_by: str = ""
    entries: Mapping[str, str] = field(default_factory=dict)
    known: Known = KNOWN

    @property
    def sessions(self) -> Decimal:
        """Treatments in a week; 3.5 for every other night."""
        return decimal_of(self.month.a_week)

    @property
    def hours(self) -> Decimal:
        """How long each lasts [h]."""
        return decimal_of(self.month.minutes / 60)

    @property
    def since_last(self) -> Decimal:
        """Days since the treatment before the measured one began."""
        return decimal_of(_gaps(self.month)[self.month.which] / DAY_MIN)

    @property
    def water_l(self) -> Decimal | None:
        """Body water by the fit [L]; None without one."""
        return None if self.figures is None else decimal_of(self.figures.water_l.middle)

    @property
    def own_kidneys_ml_min(self) -> Decimal:
        """What own kidneys clear [mL/min of water]; 0 where nothing is known of it."""
        return decimal_of(1000 * self.month.residual_l_min)

    @property
    def place(self) -> int:
        """Place of the measured treatment in its week, from 1, counted from the one after the longest gap."""
        gaps = _gaps(self.month)
        return (self.month.which - gaps.index(max(gaps))) % len(gaps) + 1


def _gaps(month: MonthBloods) -> list[float]:
    """Minutes from start to start, before each treatment of the cycle."""
    starts = month.starts_min
    return [starts[0] + month.cycle_min - starts[-1], *(later - one for one, later in pairwise(starts))]
