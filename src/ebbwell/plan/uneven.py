"""Removal that the order doesn't want even: lines only where it is prescribed, the fastest part held against the cap.

Nothing is set by these lines. How a machine is told of it is taught by the unit.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.worked import Input, Outcome, Worked
from ebbwell.plan.inputs import PlanInputs
from ebbwell.plan.working import work_line

HIGHEST = "highest_rate_per_kg"
EVEN, SHARES = "even", "shares"


def shares_of(text: str) -> tuple[Decimal, ...]:
    """The per cents of a profile line, as it is stored; () for none."""
    return tuple(Decimal(word) for word in text.split())


def uneven_lines(given: PlanInputs, volume: Worked | Input | None) -> tuple[Worked, ...]:
    """The lines of a prescribed profile or isolated part; () where the order has neither.

    volume [L]: what comes off tonight. The last line is the highest rate for each kilogram. Where the order asks
    for two ways at once, it is without a value: nobody here says how they go together.
    """
    isolated = {"isolated_l": given.isolated_litres, "isolated_min": given.isolated_minutes}
    profile, hours = given.removal_profile, given.treatment_minutes
    asked = {name for name, there in (("isolated", any(isolated.values())), (SHARES, profile)) if there}
    if given.removal_way is not None and (asked or given.removal_way.value != EVEN):
        asked.add(given.removal_way.value)
    if len(asked) > 1:
        return (_without("plan.two_ways"),)
    if "isolated" in asked:
        first = work_line("isolated_rate", **isolated)
        rest = work_line("rate_beside_isolated", volume_l=volume, hours_h=hours, **isolated)
        top = first if rest.value is not None and (first.value or 0) > rest.value else rest
        return first, rest, work_line(HIGHEST, top_rate_ml_h=top, weight_kg=given.target_weight)
    if SHARES not in asked:
        return ()
    if profile is None:
        return (_without("plan.no_shares"),)
    shares = shares_of(profile.value)
    top = work_line(
        "profile_top_rate",
        volume_l=volume,
        hours_h=hours,
        top_share_percent=Input("top_share_percent", max(shares), "%", profile.entry),
        time_parts=Input("time_parts", Decimal(len(shares)), "parts", profile.entry),
    )
    return top, work_line(HIGHEST, top_rate_ml_h=top, weight_kg=given.target_weight)


def _without(why: str) -> Worked:
    """The highest rate without a value, and why."""
    return Worked(HIGHEST, None, "mL/kg/h", (), "", "design", Outcome.MISSING, why)
