"""Measures as text: name, figure, band, and why one isn't quoted or not known."""

from __future__ import annotations

from datetime import UTC, datetime, time
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.worked import Outcome
from ebbwell.papers.spoken import said_with_reason
from ebbwell.review.adequacy_kinds import Doubt, Measure
from ebbwell.review.adequacy_months import Adequacy, MonthTold, Told
from ebbwell.review.own_numbers import Gap
from ebbwell.science.catalogue import formula_named
from ebbwell.state.bloods import BloodFigure

FITTED_PLACES = {"fitted_water": 1, "fitted_urea_made": 3, "fitted_clearance": 0}
"""Digits after the point of what the fit says in no formula."""
LOOKING_BACK = " (for looking back"
"""Where the name of a formula ends and its caution begins; the caution stands on the page once."""
MEMORY = "from memory"
FITTED_WATER = "adequacy.note_fitted_water"
"""A note that stands once over its group."""
DOSE_PLACES, PROTEIN_PLACES = 2, 2


def rounded(value: Decimal, places: int) -> str:
    """A figure with so many digits after the point."""
    return plain(value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP) + 0)


def band_words(doubt: Doubt | None, places: int) -> str:
    """The ends of a band; that there is no upper one; that it isn't known."""
    if doubt is None:
        return say("web.adequacy.band_none")
    low = rounded(doubt.low, places)
    if doubt.high is None:
        return say("web.adequacy.band_open", low=low)
    return say("web.adequacy.band", low=low, high=rounded(doubt.high, places))


def places_of(one: Measure) -> int:
    """Digits after the point that a measure is shown with."""
    held = FITTED_PLACES.get(one.key)
    return formula_named(one.worked.name).places if held is None else held


def name_of(one: Measure) -> str:
    """What a measure is called."""
    own = f"web.adequacy.name.{one.key}"
    words = say(own) if has_text(own) else say(formula_named(one.worked.name).meaning)
    return words.split(LOOKING_BACK)[0]


def value_of(one: Measure) -> str:
    """The figure with its unit; "" for none."""
    if one.worked.value is None:
        return ""
    return f"{rounded(one.worked.value, places_of(one))} {one.worked.unit}".rstrip()


def band_of(one: Measure) -> str:
    """The band of a measure."""
    return band_words(one.doubt, places_of(one))


def told_words(told: Told | None, places: int) -> str:
    """A figure of a month with its band; that there is none."""
    if told is None:
        return say("web.adequacy.months.none")
    band = band_words(told.doubt, places)
    return say("web.adequacy.months.value", value=rounded(told.value, places), band=band)


def gap_words(gap: Gap) -> str:
    """What is lacking, in words; a reason that is a key itself with its own words."""
    return said_with_reason(gap.key, gap.params)


def why_words(one: Measure) -> str:
    """Why a measure isn't quoted, or what it lacks; "" for one that may be said."""
    if one.why_not:
        return say(one.why_not)
    if one.worked.outcome is Outcome.MISSING:
        lacking = [given.name for given in one.worked.inputs if given.value is None]
        return say("web.adequacy.missing", inputs=", ".join(say(f"input.{name}") for name in lacking))
    if one.worked.why:
        return say(one.worked.why, "", **_named(dict(one.worked.why_params)))
    return ""


def _named(params: dict[str, str]) -> dict[str, str]:
    """The parameters of a refusal, an input called as people call it."""
    name = params.get("name", "")
    return {**params, "name": say(f"input.{name}")} if has_text(f"input.{name}") else params


def to_know(one: Measure) -> list[str]:
    """What has to be known beside a measure that may be said."""
    words = [say(key) for key in one.notes if key != FITTED_WATER]
    if one.worked.source == MEMORY:
        words.append(say("web.adequacy.from_memory"))
    if any(came.kind == "fit" for came in one.came.values()) and one.doubt is not None:
        words.append(say("web.adequacy.by_model"))
    return words


def urea_words(figure: BloodFigure) -> str:
    """A urea figure as it is kept, and as it stands on the laboratory's paper where that has another unit."""
    kept, line = f"{rounded(figure.value, 1)} {figure.unit}", figure.line
    return kept if line.unit == figure.unit else f"{kept} ({line.value} {line.unit})"


def age_words(days: int) -> str:
    """How old bloods are."""
    if days <= 0:
        return say("web.adequacy.age_today")
    return say("web.adequacy.age_day") if days == 1 else say("web.adequacy.age_days", days=days)


def input_words(name: str) -> str:
    """What an input is called; its name where it has no words."""
    return say(f"input.{name}") if has_text(f"input.{name}") else name


def instant(month: MonthTold) -> datetime:
    """As the day of the night begins, where an axis of days names it."""
    return datetime.combine(month.own.night, time(), UTC)


def usable(found: Adequacy) -> list[MonthTold]:
    """The months that have a figure by the model."""
    return [one for one in found.months if one.standard is not None]
