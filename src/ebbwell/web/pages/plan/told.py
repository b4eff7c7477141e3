"""What stands above the numbers: what the rules say, each next step once, and what the unit said about this plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ebbwell.core.findings import Finding, Grade, say_finding
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import PLAN_STEP, advised
from ebbwell.journal.kinds.orders import Advice
from ebbwell.papers.describe import describe
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.words import clock

ORDER = (Grade.STOP, Grade.CARE, Grade.NOTE)
"""What asks for a call first."""


@dataclass(frozen=True)
class Told:
    """One box above the numbers. grade: how it is drawn."""

    grade: str
    words: str


def told(desk: Desk, found: Sequence[Finding]) -> tuple[Told, ...]:
    """What the rules say of a plan, worst first; a next step that stands above already isn't said again.

    Once the unit allowed this step, what stopped it stands without "Not yet" and without the call that was made.
    """
    known = sorted(
        found, key=lambda finding: ORDER.index(finding.grade) if finding.grade in ORDER else len(ORDER)
    )
    allowed = advised(desk, PLAN_STEP)
    said = {f.next_step for f in known if f.grade is Grade.STOP} if allowed else set()
    out = []
    for finding in known:
        once = replace(finding, next_step="") if finding.next_step in said else finding
        said.add(finding.next_step)
        if allowed and finding.grade is Grade.STOP:
            out.append(Told(Grade.CARE.value, say_finding(finding)))
        else:
            out.append(Told(finding.grade.value, finding_words(once, desk)))
    return tuple(out)


def unit_word(desk: Desk) -> str:
    """What the unit said last about this plan, when, and whether it allows it; "" where nothing is on record."""
    if desk.treatment_id is None:
        return ""
    words = ""
    for fact in desk.treatment.of("advice"):
        body = fact.body
        if not isinstance(body, Advice) or PLAN_STEP not in body.about:
            continue
        at = clock(fact.at, desk.now.zone)
        key = "web.plan.word" if not body.spoken else f"web.plan.word_{'yes' if body.allows else 'no'}"
        words = say(key, at=at, said=describe(body))
    return words
