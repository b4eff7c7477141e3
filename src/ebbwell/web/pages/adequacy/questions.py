"""What the bloods give to ask at the clinic: a figure and a question, never an answer."""

from __future__ import annotations

from ebbwell.core.text import say
from ebbwell.papers.words import day
from ebbwell.review.adequacy import LEADS
from ebbwell.review.adequacy_months import Adequacy
from ebbwell.web.pages.adequacy import figures as words

WATER_RULES = ("body_water_watson_woman", "body_water_watson_man", "body_water_58_percent")
"""The rule that the fitted body water is held beside: the first that has a figure."""
UNSLOWED = frozenset({"adequacy.not_slowed", "adequacy.drawing_not_known"})


def questions(found: Adequacy) -> list[str]:
    """The questions that these bloods raise, and the one that always stands."""
    asked = []
    if found.newest is not None and not found.fresh:
        asked.append(say("web.adequacy.ask.old", days=found.age_days))
    if found.changed:
        asked.append(say("web.adequacy.ask.changed"))
    for key, name in ((LEADS, "std"), ("protein_rate_any", "protein")):
        one = found.measure(key)
        if one is not None and one.worked.value is not None:
            value = words.rounded(one.worked.value, words.places_of(one))
            asked.append(say(f"web.adequacy.ask.{name}", value=value, band=words.band_of(one)))
    fitted = found.measure("fitted_water")
    rule = next((one for key in WATER_RULES if (one := found.measure(key)) is not None), None)
    if fitted is not None and rule is not None and fitted.worked.value and rule.worked.value:
        asked.append(
            say(
                "web.adequacy.ask.water",
                fitted=words.rounded(fitted.worked.value, 1),
                rule=words.name_of(rule),
                other=words.rounded(rule.worked.value, 1),
            )
        )
    keys = {gap.key for gap in found.notes}
    if "own.no_urine" in keys:
        asked.append(say("web.adequacy.ask.urine"))
    if keys & UNSLOWED:
        asked.append(say("web.adequacy.ask.slowed"))
    asked += [
        say("web.adequacy.ask.odd", night=day(one.own.night.isoformat())) for one in found.months if one.odd
    ]
    return [*asked, say("web.adequacy.ask.which")]
