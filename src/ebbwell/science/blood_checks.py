"""What is odd in figures of bloods: a pair that changed places, a unit mixed up, a decimal mark in the wrong place.

Each check says what it saw, by key and with its figures. Which of two readings is right is never guessed: the paper
says. Figures of one substance are in one unit; shares are of 1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from statistics import median

from ebbwell.science.formula import CONTEXT

LONG_H = Decimal(5)
"""Hours from which a treatment counts as long. Source: kinetics:A1 (the share removed is a measure for under 5 h)."""
REMOVED_LONG = (Decimal("0.55"), Decimal("0.92"))
"""Share of urea that a long treatment takes. Source: common practice, no source: after 8 h a tenth to a quarter is left
(kinetics:A1), drawn wider both ways for 5 h at low flows and for small people."""
REMOVED_SHORT = (Decimal("0.25"), Decimal("0.85"))
"""The same of one under 5 h. Source: common practice, no source: 70 % in the worked example (kinetics:G1), less where
treatments are short and daily (kinetics:A1, 2.5 h)."""
LATE_MIN = Decimal(2)
"""Minutes after the end over which a sample already holds urea that came back from the body (rebound). Source: common
practice, no source."""
TENFOLD = (Decimal(7), Decimal(14))
"""Times one's own past between which a figure is about ten times off. Source: common practice, no source."""
NEAR = Decimal("1.5")
"""Times one's own past up to which a figure in another unit counts as near it. Source: common practice, no source."""
CLEARLY = Decimal("1.4")
"""How many times nearer to one's own past another unit has to bring a figure. Source: design."""
UREA_OVER_CREATININE = (Decimal("0.008"), Decimal("0.09"))
"""Urea [mmol/L] over creatinine [umol/L] before treatment. Source: common practice, no source: 10 to 40 over 300 to
1,300."""
PAIR_APART = Decimal("1.8")
"""Times one's own past of that ratio from which it is odd: less than the 2.14 between urea and its nitrogen.
Source: kinetics 0 (2.14); the margin is our own choice."""
LEAST_OWN = 2
"""Earlier figures that make a past of one's own. Source: design."""


@dataclass(frozen=True, slots=True)
class Odd:
    """One thing that is odd. key: what; figures: its numbers by name. unit: another that would sit better, or ""."""

    key: str
    figures: Mapping[str, Decimal]
    unit: str = ""


def odd_pair(before: Decimal, after: Decimal, hours: Decimal | None = None) -> Odd | None:
    """What is odd about urea before and after one treatment; None for nothing.

    before, after: of one unit, at least 0. hours [h] of the treatment, None for not known. Keys: ``pair_same``,
    ``pair_swapped``, ``pair_little``, ``pair_much``; figures before, after, and removed, low, high [%].
    Source: kinetics:A1.
    """
    figures = {"before": before, "after": after}
    if before == after:
        return Odd("pair_same", figures)
    if after > before:
        return Odd("pair_swapped", figures)
    low, high = removed_range(hours)
    with localcontext(CONTEXT):
        removed = 1 - after / before
        shares = {"removed": removed * 100, "low": low * 100, "high": high * 100}
    if removed < low:
        return Odd("pair_little", {**figures, **shares})
    return Odd("pair_much", {**figures, **shares}) if removed > high else None


def removed_range(hours: Decimal | None) -> tuple[Decimal, Decimal]:
    """Share of urea that a treatment of so many hours [h] takes away; the wider of both where the hours aren't known."""
    if hours is None:
        return REMOVED_SHORT[0], REMOVED_LONG[1]
    return REMOVED_LONG if hours >= LONG_H else REMOVED_SHORT


def odd_drawing(minutes_after: Decimal | None, slowed: str) -> tuple[Odd, ...]:
    """What is odd about how a sample at the end was drawn.

    minutes_after [min] from the end of dialysis, below 0 for before it, None for not known. slowed: ``slowed``,
    ``not_slowed`` or "". Keys: ``drawn_early``, ``drawn_late``, ``not_slowed``, ``slowed_unknown``. Source: kinetics 0
    (a sample of slowed flow at the end; recirculated blood makes it too low), practice:h2.
    """
    found = []
    if minutes_after is not None and minutes_after < 0:
        found.append(Odd("drawn_early", {"minutes": -minutes_after}))
    elif minutes_after is not None and minutes_after > LATE_MIN:
        found.append(Odd("drawn_late", {"minutes": minutes_after}))
    if slowed != "slowed":
        found.append(Odd("not_slowed" if slowed == "not_slowed" else "slowed_unknown", {}))
    return tuple(found)


def odd_unit(
    typed: Decimal,
    unit: str,
    factors: Mapping[str, Decimal],
    usual: tuple[Decimal, Decimal],
    own: Sequence[Decimal] = (),
) -> Odd | None:
    """Whether a figure would sit much better in another unit; None where it sits as it is, or no unit helps.

    typed: in ``unit``. factors: every unit of the substance to what brings it to the kept one, in which usual and own
    are. usual: where most figures lie. own: earlier figures of the same kind of sample, any order; with fewer than two
    only ``usual`` counts. Keys: ``unit_by_own``, ``unit_by_usual``; figures kept, other (both in the kept unit), low and
    high. Where more than one unit helps, the one nearest to the own past, else the first.
    Source: practice:e (H28), kinetics 0 (2.14, 6.006 and 2.8 between the three figures of urea).
    """
    if typed <= 0:
        return None
    with localcontext(CONTEXT):
        kept = typed * factors[unit]
        others = {one: typed * factor for one, factor in factors.items() if factor != factors[unit]}
        if len(own) >= LEAST_OWN:
            middle = Decimal(median(own))
            near = min(others, key=lambda one: _times(others[one], middle), default="")
            if not near or middle <= 0:
                return None
            better = _times(others[near], middle) * CLEARLY <= _times(kept, middle)
            if _times(kept, middle) > NEAR and _times(others[near], middle) <= NEAR and better:
                ends = {"low": min(own), "high": max(own)}
                return Odd("unit_by_own", {"kept": kept, "other": others[near], **ends}, near)
            return None
    low, high = usual
    fits = next((one for one, value in others.items() if low <= value <= high), "")
    if not fits or low <= kept <= high:
        return None
    return Odd("unit_by_usual", {"kept": kept, "other": others[fits], "low": low, "high": high}, fits)


def odd_ratio(
    urea: Decimal, creatinine: Decimal, own: Sequence[Decimal] = (), *, factors: Sequence[Decimal] = ()
) -> Odd | None:
    """Whether urea [mmol/L] and creatinine [umol/L] of one sample before treatment belong together; None if they may.

    own: the same ratio of earlier samples; with fewer than two of them only the usual range counts. factors: what urea
    would change by in its other units, of which one has to bring the ratio nearer. Key ``ratio_own`` or ``ratio_usual``;
    figures ratio, low, high [mmol of urea in each mmol of creatinine]. Source: practice:e (H28).
    """
    if urea <= 0 or creatinine <= 0:
        return None
    with localcontext(CONTEXT):
        ratio = urea / creatinine
        if len(own) >= LEAST_OWN:
            middle = Decimal(median(own))
            off = _times(ratio, middle)
            if off < PAIR_APART or (
                factors and all(_times(ratio * f, middle) * CLEARLY > off for f in factors)
            ):
                return None
            key, ends = "ratio_own", (min(own), max(own))
        elif UREA_OVER_CREATININE[0] <= ratio <= UREA_OVER_CREATININE[1]:
            return None
        else:
            key, ends = "ratio_usual", UREA_OVER_CREATININE
        return Odd(key, {"ratio": ratio * 1000, "low": ends[0] * 1000, "high": ends[1] * 1000})


def odd_tenfold(value: Decimal, own: Sequence[Decimal]) -> Odd | None:
    """Whether a figure is about ten times more or less than its own past; None if not, or with fewer than two before.

    value, own: in one unit. Key ``tenfold``; figures value, middle, and tenth: 10 or 0.1. Source: practice i (errors to
    expect: tenfold).
    """
    if len(own) < LEAST_OWN or value <= 0:
        return None
    with localcontext(CONTEXT):
        middle = Decimal(median(own))
        if middle <= 0:
            return None
        low, high = TENFOLD
        off = _times(value, middle)
    if not low <= off <= high:
        return None
    tenth = Decimal(10) if value > middle else Decimal("0.1")
    return Odd("tenfold", {"value": value, "middle": middle, "tenth": tenth})


def fallen_by_half(value: Decimal, before: Decimal | None) -> bool:
    """Whether a figure fell to half of the one before, or to less. Source: practice:h2 (platelets on heparin)."""
    return before is not None and before > 0 and value * 2 <= before


def _times(one: Decimal, other: Decimal) -> Decimal:
    """How many times apart two figures are, at least 1; both above 0."""
    if one <= 0 or other <= 0:
        return Decimal("Infinity")
    return max(one / other, other / one)
