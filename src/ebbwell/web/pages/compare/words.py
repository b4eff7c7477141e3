"""Bands, patterns and gaps in words, for the pages that look back and ahead."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.review.basis import Pattern
from ebbwell.review.patterns import Reckoned
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.bands import Band

PLACES = {
    "standard_dose": 1,
    "urea_mean": 1,
    "urea_peak": 1,
    "urea_before": 1,
    "phosphate_before": 2,
    "beta_2_before": 0,
    "removal_rate": 0,
    "removal_rate_per_kg": 1,
    "hours": 1,
    "treatments": 1,
    "needles": 1,
    "sets": 1,
    "dialysis_fluid": 0,
    "urea": 1,
    "phosphate": 2,
    "potassium": 1,
    "bicarbonate": 0,
}
"""Figure or substance to the decimals it is told with: no more than its band can carry."""


def rounded(value: float, key: str) -> Decimal:
    """A figure with the decimals of its key."""
    return Decimal(repr(value)).quantize(Decimal(1).scaleb(-PLACES[key]), ROUND_HALF_UP)


def ends(band: Band, key: str) -> tuple[Decimal, Decimal, Decimal]:
    """Lower end, middle and upper end with the decimals of a key."""
    return rounded(band.low, key), rounded(band.middle, key), rounded(band.high, key)


def drawn_ends(band: Band) -> tuple[Decimal, Decimal, Decimal]:
    """The same for a picture, finer than words are."""
    low, middle, high = (Decimal(repr(round(end, 4))) for end in (band.low, band.middle, band.high))
    return low, middle, high


def band_words(band: Band, key: str) -> str:
    """A band in words, without its unit: ``1.9 to 2.4, middle 2.1``; a plain figure where it has no width."""
    low, middle, high = ends(band, key)
    if band.low == band.high:
        return plain(middle.normalize() if middle else abs(middle))
    return say("review.band", low=plain(low), high=plain(high), middle=plain(middle))


def figure_words(figure: Reckoned) -> str:
    """A figure of a comparison in words, without its unit; why it isn't known where it isn't."""
    return say(figure.why_not) if figure.band is None else band_words(figure.band, figure.key)


def pattern_words(pattern: Pattern) -> str:
    """Nights, hours and flows of a pattern."""
    return say(
        "review.pattern",
        nights=_nights(pattern),
        hours=_short(pattern.hours),
        blood=_short(pattern.blood_flow_ml_min),
        fluid=_short(pattern.fluid_flow_ml_min),
    )


def _short(value: float) -> str:
    return plain(Decimal(repr(round(value, 2))).normalize())


def _nights(pattern: Pattern) -> str:
    if pattern.cycle_days == 2 and len(pattern.days) == 1:
        return say("review.every_other")
    names = [say(f"review.day.{day % 7}") for day in pattern.days]
    if pattern.cycle_days == 7:
        return ", ".join(names)
    weeks = [
        ", ".join(name for name, day in zip(names, pattern.days, strict=True) if day // 7 == week)
        for week in range(pattern.cycle_days // 7)
    ]
    return say(
        "review.two_weeks",
        first=weeks[0] or say("review.no_night"),
        second=weeks[-1] or say("review.no_night"),
    )


def source_words(keys: Iterable[str]) -> list[str]:
    """Titles of sources, each once, in the order given."""
    titles = {source.key: source.title for source in load_rulebook().sources()}
    return [titles[key] for key in dict.fromkeys(keys)]
