"""Limits that became stricter after tonight's plan was agreed: which lines of the plan lie past them now.

A plan keeps the limits that it was judged by. Before first blood a line past the stricter limit opens the plan again;
while blood runs it is a finding and bars nothing. Source: design section 5 (stricter at once), practice:H67.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.quantity import Quantity
from ebbwell.core.text import say
from ebbwell.journal.kinds.orders import Plan
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.model import Limit, Rule, Rulebook
from ebbwell.state.facts import instant
from ebbwell.state.night_fluid import decimal_of

OLDER = "plan_older_limit"
"""The finding that a plan was worked out with an older limit."""

FIGURES = {
    "remains": "remains_after",
    "heparin_first_dose_per_kg": "units_per_kg",
    "heparin_rate_per_kg": "units_per_kg_h",
}
"""Fact that a rule judges to the figure of the plan, where the two have different names."""

IN_SUMS = ("acid_start_up", "bicarbonate_usable")
"""Limits that the plan's sums go by: once one is stricter, the litres and grams shown are the old ones."""

HALF = Decimal("0.5")


@dataclass(frozen=True)
class Moved:
    """A limit that is stricter now than when the plan was agreed. broken: what its rules say of the plan's lines.

    older: the figure then, in the limit's unit. old_sums: whether figures of the plan were worked out from it.
    """

    limit: Limit
    older: Decimal
    broken: tuple[Finding, ...]
    old_sums: bool

    @property
    def opens(self) -> bool:
        """Whether the plan has to be looked at again."""
        return self.old_sums or bool(self.broken)


def gone_by(book: Rulebook, rules: Iterable[str]) -> dict[str, str]:
    """Each limit that a plan goes by to its figure, as a decimal string in the limit's unit.

    rules: ids of the rules that judge the plan's figures.
    """
    ids = {limit for rule in rules for limit in book.rule(rule).limit} | set(IN_SUMS)
    return {limit.id: plain(limit.value) for limit in book.limits() if limit.id in ids}


def moved_limits(book: Rulebook, body: Plan) -> tuple[Moved, ...]:
    """The limits that are stricter in this rulebook than the plan says it was judged by, in the rulebook's order.

    A line that was past its limit already when the plan was agreed was seen then and isn't told again. A plan of an
    older program names no limits; then there is nothing to hold against.
    """
    found = []
    for limit in book.limits() if body.limits else ():
        older = decimal_of(body.limits.get(limit.id, ""))
        if older is None or older == limit.value or not limit.looser(older):
            continue
        rules = [rule for rule in book.rules() if limit.id in rule.limit and rule.id not in body.findings]
        broken = tuple(f for rule in rules for f in _spoken(book, rule, body))
        found.append(Moved(limit, older, broken, limit.id in IN_SUMS))
    return tuple(found)


def plan_limit_findings(book: Rulebook, body: Plan) -> tuple[Finding, ...]:
    """What is told of a plan that was worked out with an older limit: each limit, and each line past it."""
    found: list[Finding] = []
    for moved in moved_limits(book, body):
        limit = moved.limit
        found += moved.broken
        params = {
            "limit": say(f"limit.{limit.id}"),
            "older": f"{plain(moved.older)} {limit.unit}",
            "now": f"{plain(limit.value)} {limit.unit}",
        }
        found.append(Finding(OLDER, Grade.NOTE, tuple(sorted(params.items())), (limit.source,)))
    return tuple(found)


def _spoken(book: Rulebook, rule: Rule, body: Plan) -> tuple[Finding, ...]:
    """What a rule says of the plan's line; a figure that its last digit can't tell from the limit counts as past it."""
    shown = _figure(rule.fact, body)
    if shown is None:
        return ()
    step = HALF.scaleb(int(shown.value.as_tuple().exponent))
    for value in (shown.value, shown.value - step, shown.value + step):
        facts = {rule.fact: Quantity(value, shown.unit)}
        told = tuple(f for f in evaluate(book, facts, only=(rule.id,)) if f.grade is not Grade.UNKNOWN)
        if told:
            return evaluate(book, {rule.fact: shown}, only=(rule.id,)) or told
    return ()


def _figure(fact: str, body: Plan) -> Quantity | None:
    if fact == "carer_stays":
        return _carer_stays(body)
    number, _, unit = body.figures.get(FIGURES.get(fact, fact), "").partition(" ")
    value = decimal_of(number)
    return None if value is None else Quantity(value, unit)


def _carer_stays(body: Plan) -> Quantity | None:
    """Minutes from the end of the plan to when the carer has to go; None where one of them isn't known."""
    begins, leaves = (instant(body.given.get(name, "")) for name in ("start_at", "carer_leaves"))
    length = decimal_of(body.figures.get("treatment_minutes", "").partition(" ")[0])
    if begins is None or leaves is None or length is None:
        return None
    stays = elapsed(begins + timedelta(minutes=float(length)), leaves)
    return Quantity(Decimal(round(stays.total_seconds() / 60)), "min")
