"""Calls of earlier nights that nothing on record answers: they go on to the next evening until the unit's word does."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from itertools import islice

from ebbwell.core.findings import Grade
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.desk import Desk
from ebbwell.rulebook.evaluate import Fact as RuleFact
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.model import Rulebook
from ebbwell.state.calls import Advised, Told, advice_of, told_of, tried_of
from ebbwell.state.own_past import NightSummary, Past

NIGHTS = 20
"""How many nights an unanswered call goes on through. Own choice: about five weeks, in which a clinic sees the sheet."""

WITHOUT_NIGHT = timedelta(days=35)
"""How long one goes on that was written down without a night. Own choice: as many weeks."""

MEASURED = ("body_temperature", "total_chlorine@tank1", "total_chlorine@tank2")
"""Values past a stop limit that ask for a call on the same day. Source: practice:T12, fluids:1.3."""


@dataclass(frozen=True)
class OpenCall:
    """A call that nothing answers. treatment: "" without one; night: its date in the home, or the day of writing.

    kind: ``event``, ``answer``, ``choice`` or ``measured``. name: symptom, question, choice, or key of what was
    measured. value: its word, or number with unit. at: None where only the night is known. tried: when the
    unit was called about it in vain, in order.
    """

    treatment: str
    night: str
    kind: str
    name: str
    value: str
    at: datetime | None
    said_by: str
    by: str
    tried: tuple[datetime, ...] = ()


def open_calls(desk: Desk) -> tuple[OpenCall, ...]:
    """Calls of other nights than tonight's, and of no night, that no later word of the unit answers; newest first."""
    past = desk.past if isinstance(desk.past, Past) else Past(desk.past)
    others = (s for s in past.opened_before(desk.now.at) if s.treatment != desk.treatment_id)
    nights = list(islice(others, NIGHTS))
    found = [call for summary in nights for call in _of_night(desk, summary)]
    said = (
        *advice_of(desk.standing),
        *advice_of(desk.treatment),
        *(one for summary in nights for one in summary.advice),
    )
    tried = (
        *tried_of(desk.standing),
        *tried_of(desk.treatment),
        *(one for summary in nights for one in summary.tried),
    )
    found += [
        _call("", told.at.date().isoformat(), told, tried)
        for told in told_of(desk.standing)
        if told.kind == "event" and desk.now.at - told.at < WITHOUT_NIGHT and not _answered(told, said)
    ]
    return tuple(sorted(found, key=lambda call: call.night, reverse=True))


def _call(treatment: str, night: str, told: Told, tried: tuple[Advised, ...]) -> OpenCall:
    name, value, at = told.name, told.value, told.at
    times = tuple(sorted(one.at for one in tried if _speaks_to(told, one)))
    return OpenCall(treatment, night, told.kind, name, value, at, told.said_by, told.by, times)


def _speaks_to(told: Told, one: Advised) -> bool:
    return one.at >= told.at and (not one.about or told.step in one.about)


def _answered(told: Told, said: tuple[Advised, ...]) -> bool:
    return any(_speaks_to(told, one) for one in said)


def _of_night(desk: Desk, summary: NightSummary) -> list[OpenCall]:
    found = [
        _call(summary.treatment, summary.night, told, summary.tried)
        for told in summary.told
        if not _answered(told, summary.advice)
    ]
    facts = _measured(desk, summary)
    for key, value in _past_a_stop(desk.scene.rulebook, tuple(facts.items())) if facts else ():
        about = _steps_of(desk, key)
        said, tried = (
            [one.at for one in ones if not one.about or about & set(one.about)]
            for ones in (summary.advice, summary.tried)
        )
        if not said:
            night, treatment = summary.night, summary.treatment
            times = tuple(sorted(tried))
            found.append(OpenCall(treatment, night, "measured", key, value, None, "carer", "", times))
    return found


@lru_cache(maxsize=256)
def _past_a_stop(rulebook: Rulebook, facts: tuple[tuple[str, RuleFact], ...]) -> tuple[tuple[str, str], ...]:
    """Key and value of what lies past a stop limit. A night that is over is judged once, not at each look."""
    values = dict(facts)
    found = {
        finding.fact: str(values[finding.fact])
        for finding in evaluate(rulebook, values)
        if finding.grade is Grade.STOP and finding.fact in MEASURED
    }
    return tuple(found.items())


def _measured(desk: Desk, summary: NightSummary) -> dict[str, RuleFact]:
    """The values that hold of a night, as a rule judges them: a number, and the way it was tested."""
    found: dict[str, RuleFact] = {}
    for key in MEASURED:
        text = summary.values.get(key, "")
        if not text or text.startswith("<"):
            continue
        quantity = desk.rulebook.quantity_of(key)
        if quantity is None:
            continue
        name, _, place = key.partition("@")
        found[key] = Quantity(Decimal(text), quantity.unit)
        for test in summary.tests:
            if (test.quantity, test.place, test.value) == (name, place, text) and test.method:
                found[f"{name}_method@{place}"] = test.method
    return found


def _steps_of(desk: Desk, key: str) -> set[str]:
    """The steps that measure something."""
    name, _, place = key.partition("@")
    return {
        step.id
        for step in desk.procedure.steps
        for e in step.evidence
        if e.form == "measured" and e.name == name and e.place in ("", place)
    }
