"""Judges facts by the rules. Findings only ever add up: nothing here takes a fixed limit's finding away."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal, localcontext

from ebbwell.core.errors import UnitError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.quantity import Quantity
from ebbwell.core.units import CONTEXT, convert
from ebbwell.rulebook.model import Limit, Rule, Rulebook
from ebbwell.rulebook.own_units import both, changed_exactly, places_apart, places_of, read_in
from ebbwell.science import catalogue
from ebbwell.science.formula import ROUNDING

Fact = Quantity | str | bool | None
"""A measured or worked-out value, a word, a yes or no, or None for "not known"."""

Params = dict[str, str]

UNCLEAR = object()
"""A rule's answer when its data don't let it say."""


def evaluate(
    rulebook: Rulebook, facts: Mapping[str, Fact], only: Collection[str] | None = None
) -> tuple[Finding, ...]:
    """What the rules say about the facts, in the rulebook's order.

    facts: key ``base@where`` to value; a key that isn't there isn't judged, a value of None is "not known".
    only: rule ids or fact keys; then just those rules are judged, and one without data says "not known" even
    when its key isn't there.
    A rule that compares two facts is silent while its other fact's key isn't there, unless it is in ``only``.
    A value whose unit or type doesn't fit its rule is "not known" as well.
    """
    out: list[Finding] = []
    for id in _candidates(rulebook, facts if only is None else only):
        rule = rulebook.rule(id)
        pairs = _last_range_keys(rulebook, facts) if rule.kind == "last_range" else rulebook.pairs[id]
        for key, other in pairs:
            wanted = only is not None and (id in only or key in only)
            if only is not None and not wanted:
                continue
            present = key in facts and (not other or other in facts)
            if not present and not wanted:
                continue
            finding = _judge(rulebook, rule, key, other, facts)
            if finding is not None:
                out.append(finding)
    spoken = {(finding.rule, finding.fact): finding.grade for finding in out}
    return tuple(finding for finding in out if not _yields(rulebook.rule(finding.rule), finding, spoken))


def _candidates(rulebook: Rulebook, names: Collection[str]) -> list[str]:
    """Ids of the rules that the names, of facts or rules, can concern, in the rulebook's order."""
    ids = {name for name in names if name in rulebook.order}
    for name in names:
        ids.update(rulebook.judges.get(name, ()))
    if any(rulebook.quantity_of(name) for name in names):
        ids.update(rulebook.judges["*"])
    return sorted(ids, key=rulebook.order.__getitem__)


def _yields(rule: Rule, finding: Finding, spoken: Mapping[tuple[str, str], Grade]) -> bool:
    """Whether a stronger rule has said it; one that only says "not known" silences nothing but its like."""
    grades = {spoken.get((stronger, finding.fact)) for stronger in rule.yields_to} - {None}
    return bool(grades - {Grade.UNKNOWN}) or (bool(grades) and finding.grade is Grade.UNKNOWN)


def _last_range_keys(rulebook: Rulebook, facts: Mapping[str, Fact]) -> list[tuple[str, str]]:
    return [
        (key, "") for key, fact in facts.items() if isinstance(fact, Quantity) and rulebook.quantity_of(key)
    ]


def _judge(rulebook: Rulebook, rule: Rule, key: str, other: str, facts: Mapping[str, Fact]) -> Finding | None:
    if rule.unless and facts.get(rule.unless[0]) == rule.unless[1]:
        return None
    fact, second = facts.get(key), facts.get(other)
    if rule.kind == "missing":
        answer: Params | object | None = {} if fact is None else None
    elif fact is None or (other and second is None):
        answer = UNCLEAR
    elif rule.kind in _YES_NO:
        answer = UNCLEAR if not isinstance(fact, bool) else ({} if fact is _YES_NO[rule.kind] else None)
    elif rule.kind in _WORDS and not (rule.limit and isinstance(fact, Quantity)):
        answer = _word(rule, fact)
    elif rule.kind == "not_equal" and isinstance(fact, str) and isinstance(second, str):
        same = " ".join(fact.casefold().split()) == " ".join(second.casefold().split())
        answer = None if same else {"value": fact, "other": second}
    elif isinstance(fact, Quantity):
        answer = _number(rulebook, rule, key, fact, second)
    else:
        answer = UNCLEAR
    if answer is None:
        return None
    known = isinstance(answer, dict)
    return Finding(
        rule=rule.id,
        grade=Grade(rule.grade) if known else Grade.UNKNOWN,
        params=tuple(sorted(answer.items())) if isinstance(answer, dict) else (),
        sources=rule.sources,
        next_step=f"next.{rule.next}",
        fact=key,
    )


_WORDS = ("word", "not_word", "not_word_nor_under")
_YES_NO = {"is_true": True, "is_false": False}


def _word(rule: Rule, fact: Fact) -> Params | object | None:
    if not isinstance(fact, str):
        return UNCLEAR
    return {"value": fact} if (fact in rule.words) is (rule.kind == "word") else None


def _number(rulebook: Rulebook, rule: Rule, key: str, fact: Quantity, second: Fact) -> Params | object | None:
    if (second is not None and not isinstance(second, Quantity)) or not fact.value.is_finite():
        return UNCLEAR
    if second is not None and not second.value.is_finite():
        return UNCLEAR
    if rule.kind == "last_range":
        return _last_range(rulebook, key, fact)
    limits = [rulebook.limit(id) for id in rule.limit]
    try:
        if second is None:
            value = _in_unit(rulebook, key, fact, limits[0].unit)
            found = _against_limit(rule.kind, key, fact, value, limits)
            return _in_household_units(rulebook, key, found)
        other = _in_unit(rulebook, key, second, fact.unit)
    except UnitError:
        return UNCLEAR
    if fact.below or second.below:
        return UNCLEAR
    with localcontext(CONTEXT):
        compared = _against_other(rule.kind, key, fact, other, second, limits)
        return _in_household_units(rulebook, key, compared)


def _against_limit(
    kind: str, key: str, fact: Quantity, value: Decimal, limits: list[Limit]
) -> Params | object | None:
    limit = limits[0]
    if kind == "outside":
        low, high = limits
        if value > high.value or value < low.value:
            passed = high if value > high.value else low
            return {
                "value": _text(key, fact, passed.value if fact.unit == passed.unit else None),
                "low": _shown(low.value, low.unit),
                "high": _shown(high.value, high.unit),
            }
        return UNCLEAR if fact.below else None
    upward = kind in ("above", "at_or_above", "not_word_nor_under")
    if fact.below and not upward and value > limit.value:
        return UNCLEAR
    if not (_met_below(upward, value, limit) if fact.below else _met(kind, value, limit)):
        return None
    beside = limit.value if fact.unit == limit.unit else None
    return {"value": _text(key, fact, beside), "limit": _shown(limit.value, limit.unit)}


def _met_below(upward: bool, value: Decimal, limit: Limit) -> bool:
    """Whether "less than" a value meets a limit."""
    return value > limit.value if upward else value <= limit.value


def _met(kind: str, value: Decimal, limit: Limit) -> bool:
    met: bool = {
        "above": value > limit.value,
        "not_word_nor_under": value > limit.value,
        "at_or_above": value >= limit.value,
        "below": value < limit.value,
        "at_or_below": value <= limit.value,
    }[kind]
    return met


def _against_other(
    kind: str, key: str, fact: Quantity, other: Decimal, second: Quantity, limits: list[Limit]
) -> Params | object | None:
    value = fact.value
    most = limits[0].value if limits else Decimal(0)
    shown = {"value": _text(key, fact, other), "other": _text("", second)}
    if (fact.unit, second.unit) == ("h", "min"):
        shown = {"value": _length(value * 60, other * 60), "other": _length(second.value, second.value)}
    if limits:
        shown["limit"] = _shown(most, limits[0].unit)
    if kind in ("differs_percent", "rises_percent", "factor", "times") and other == 0:
        return (
            UNCLEAR
            if value == 0 or kind != "differs_percent"
            else {**shown, "change": _apart(key, value, fact.unit)}
        )
    gap = value - other
    met: bool
    change = _apart(key, gap, fact.unit)
    if kind in ("differs_percent", "rises_percent"):
        percent = gap / abs(other) * 100
        met = (abs(percent) if kind == "differs_percent" else percent) > most
        change = _rounded(abs(percent), "%")
    elif kind in ("factor", "times"):
        ratio = value / other
        if kind == "factor" and 0 < ratio < 1:
            ratio = 1 / ratio
        met = ratio >= most
        change = _rounded(ratio, "times")
    else:
        met = {
            "above_other": gap > 0,
            "below_other": gap < 0,
            "at_or_above_other": gap >= 0,
            "at_or_below_other": gap <= 0,
            "not_equal": gap != 0,
            "differs": abs(gap) > most,
            "at_least_apart": abs(gap) >= most,
            "falls": -gap >= most,
            "falls_more": -gap > most,
        }[kind]
    return {**shown, "change": change} if met else None


def _last_range(rulebook: Rulebook, key: str, fact: Quantity) -> Params | object | None:
    quantity = rulebook.quantity_of(key)
    if quantity is None:
        return None
    try:
        value = _in_unit(rulebook, key, fact, quantity.unit)
    except UnitError:
        return UNCLEAR
    low, high = quantity.last_low, quantity.last_high
    if (low is not None and value < low) or (high is not None and value > high):
        return _in_household_units(rulebook, key, {"value": _text(key, fact)})
    return None


APART = ("change", "limit")
"""What of two values that are held against each other is a difference."""


def _in_household_units(
    rulebook: Rulebook, key: str, found: Params | object | None
) -> Params | object | None:
    """What a rule shows, in the units that the household chose; figures that differ never show as the same."""
    if not rulebook.units or not isinstance(found, dict):
        return found
    quantity = rulebook.quantity_of(key)
    substance = quantity.substance if quantity is not None else ""
    shown = dict(found)
    apart = [name for name in found if "other" in found and name in APART]
    for names, gap in (([name for name in found if name not in apart], False), (apart, True)):
        shown |= _changed(rulebook, {name: found[name] for name in names}, substance, apart=gap)
    return shown


def _changed(rulebook: Rulebook, found: Params, substance: str, *, apart: bool) -> Params:
    """Texts such as ``66.3 kg`` that the household reads in another unit; the others are left out."""
    values: dict[str, tuple[Decimal, str]] = {}
    for name, text in found.items():
        number, _, unit = text.partition(" ")
        if not number.startswith("<") and read_in(rulebook.units, unit, substance) != unit:
            values[name] = Decimal(number), unit
    if not values:
        return {}
    unit = next(iter(values.values()))[1]
    to = read_in(rulebook.units, unit, substance)
    exact = [changed_exactly(value, unit, to, substance, apart=apart) for value, _ in values.values()]
    places = places_apart(exact, places_of(to))
    return {
        name: both(rulebook.units, value, unit, substance, apart=apart, places=places)
        for name, (value, unit) in values.items()
    }


def _in_unit(rulebook: Rulebook, key: str, fact: Quantity, unit: str) -> Decimal:
    """The value in another unit; units that only rules use (``tries``) have one spelling and no other."""
    if fact.unit == unit:
        return fact.value
    quantity = rulebook.quantity_of(key)
    return convert(fact.value, fact.unit, unit, (quantity.substance or None) if quantity else None)


LINES = {
    "removal_volume": "removal_volume",
    "removal_rate_per_kg": "removal_rate_per_kg",
    "highest_rate_per_kg": "highest_rate_per_kg",
    "rate_to_finish_per_kg": "removal_rate_per_kg",
    "fits_tonight": "fits_tonight",
    "remains": "remains_after",
    "syringe_fill": "syringe_fill",
    "heparin_first_dose_per_kg": "units_per_kg",
    "heparin_rate_per_kg": "units_per_kg_h",
    "acid_runs_dry_after": "acid_runs_dry_after",
    "bicarbonate_runs_dry_after": "bicarbonate_runs_dry_after",
}
"""Fact to the formula whose figure stands on the plan, so that a finding shows it with the same decimals."""

TAIL = 3
"""Decimals of a worked-out value that no formula shows."""


def _text(key: str, fact: Quantity, beside: Decimal | None = None) -> str:
    """As shown: a worked-out value with the digits that the plan shows it with, a typed one as typed.

    beside: what it is held against; a value that lies over or under it is shown over or under it.
    """
    name = LINES.get(key)
    formula = catalogue.formula_named(name) if name is not None else None
    places = formula.places if formula is not None else TAIL
    value = fact.value
    exponent = value.as_tuple().exponent
    if isinstance(exponent, int) and exponent < -places:
        how = ROUNDING[formula.rounding] if formula is not None else ROUND_HALF_UP
        value = _cut(value, places, how)
        while beside is not None and _side(value, beside) != _side(fact.value, beside):
            value = _cut(fact.value, places, ROUND_CEILING if fact.value > beside else ROUND_FLOOR)
            places += 1
    return str(Quantity(value, fact.unit, fact.below))


def _length(minutes: Decimal, beside: Decimal) -> str:
    """A length in hours and whole minutes; never shown as one that lies on the other side of what it is held against."""
    whole = int(minutes.to_integral_value(ROUND_CEILING if minutes > beside else ROUND_FLOOR))
    return f"{whole // 60} h {whole % 60:02d} min"


def _cut(value: Decimal, places: int, how: str) -> Decimal:
    """To so many decimals; never a minus before zero."""
    cut = value.quantize(Decimal(1).scaleb(-places), how, context=CONTEXT)
    return cut if cut else cut.copy_abs()


def _side(value: Decimal, beside: Decimal) -> int:
    """-1 for under it, 0 for at it, 1 for over it."""
    return (value > beside) - (value < beside)


def _apart(key: str, gap: Decimal, unit: str) -> str:
    """How far two values lie apart; never nothing where they differ."""
    return _text(key, Quantity(abs(gap), unit), Decimal(0))


def _shown(value: Decimal, unit: str) -> str:
    return _text("", Quantity(value, unit))


def _rounded(value: Decimal, unit: str) -> str:
    return f"{f'{value:.1f}'.removesuffix('.0')} {unit}"
