"""Removal that the order doesn't want even, in a sentence or two beside the rate."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.text import say
from ebbwell.core.worked import Worked
from ebbwell.deeds.plan import Draughted
from ebbwell.plan.uneven import HIGHEST
from ebbwell.science import catalogue


def uneven_words(
    plan: Draughted, lines: Mapping[str, str], cap: str, why_not: Mapping[str, str]
) -> list[str]:
    """What the order asks for, how fast its fastest part is, and the cap; [] where removal is even.

    lines: of the order. cap: as it stands on the order, with its unit. why_not: name of a line to why it has no number.
    """
    highest = plan.line(HIGHEST)
    if highest is None:
        return []
    said = [say("web.plan.uneven.even")]
    first, rest, top = (plan.line(n) for n in ("isolated_rate", "rate_beside_isolated", "profile_top_rate"))
    if first is not None:
        said.append(
            say(
                "web.plan.uneven.isolated",
                litres=lines.get("isolated_litres") or "?",
                minutes=lines.get("isolated_minutes") or "?",
                first=_shown(first),
                rest=_shown(rest),
            )
        )
    elif top is not None:
        shares = lines.get("removal_profile", "")
        said.append(
            say(
                "web.plan.uneven.shares",
                shares=", ".join(shares.split()),
                parts=len(shares.split()),
                rate=_shown(top),
            )
        )
    if highest.value is None:
        said += [words for words in (why_not.get(HIGHEST, ""),) if words]
    else:
        bound = plan.tonight.bounds.get(HIGHEST)
        said.append(say("web.plan.uneven.highest", rate=catalogue.shown(highest, bound), cap=cap))
    return said


def _shown(line: Worked | None) -> str:
    return say("web.plan.not_known") if line is None or line.value is None else catalogue.shown(line)
