"""Walks the rulebook: every limit, rule, quantity and line has a source, bounds, units, words and a boundary."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path

import pytest

from ebbwell.core import text
from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.findings import Finding, Grade, name_fact, say_finding
from ebbwell.core.quantity import Quantity
from ebbwell.core.units import parse_unit
from ebbwell.rulebook.evaluate import Fact, evaluate
from ebbwell.rulebook.load import RulebookFault, faults, load_rulebook, parse_rulebook
from ebbwell.rulebook.model import Limit, LimitRefused, Rule

BOOK = load_rulebook()
RULE_UNITS = {"times", "tries", "of 10", "days", "kg/day"}
"""Units that never need converting, so the table of units doesn't hold them."""

FIRES = {
    "above": (False, False, True),
    "at_or_above": (False, True, True),
    "below": (True, False, False),
    "at_or_below": (True, True, False),
    "above_other": (False, False, True),
    "below_other": (True, False, False),
    "at_or_above_other": (False, True, True),
    "at_or_below_other": (True, True, False),
    "not_equal": (True, False, True),
}
"""Kind of rule to whether it speaks just under, at and just over its boundary."""

APART = {
    "differs": (False, False, True),
    "at_least_apart": (False, True, True),
    "differs_percent": (False, False, True),
    "rises_percent": (False, False, True),
    "falls": (False, True, True),
    "falls_more": (False, False, True),
    "factor": (False, True, True),
    "times": (False, True, True),
}
"""The same by the distance between the two facts."""

STEP = Decimal("0.001")


def unit_known(unit: str) -> bool:
    try:
        return parse_unit(unit) == unit
    except UnitError:
        return unit in RULE_UNITS


@pytest.mark.parametrize("limit", BOOK.limits(), ids=lambda limit: limit.id)
def test_limit_has_source_owner_bounds_unit_and_words(limit: Limit) -> None:
    assert BOOK.source(limit.source).title
    assert limit.owner in {"clinic", "household", "fixed"}
    assert limit.lowest <= limit.value <= limit.highest
    assert unit_known(limit.unit)
    assert text.say(f"limit.{limit.id}")
    if limit.source in ("common practice", "from memory", "arithmetic", "design"):
        assert limit.mark in (limit.source, "common practice")


@pytest.mark.parametrize("limit", BOOK.limits(), ids=lambda limit: limit.id)
@pytest.mark.hazard("H67")
def test_limit_moves_inside_its_bounds_only(limit: Limit) -> None:
    for value in (limit.lowest - STEP, limit.highest + STEP, Decimal("NaN")):
        with pytest.raises(LimitRefused) as caught:
            BOOK.with_limits({limit.id: value})
        assert caught.value.exit_code == 16
        assert text.say(caught.value.key, **caught.value.params)
    if limit.owner == "fixed":
        with pytest.raises(LimitRefused):
            BOOK.with_limits({limit.id: limit.value})
        return
    tightest = limit.lowest if limit.tighten == "down" else limit.highest
    moved = BOOK.with_limits({limit.id: tightest})
    assert moved.limit(limit.id).value == tightest
    assert BOOK.limit(limit.id).value == limit.value
    assert not limit.looser(tightest)
    if tightest != limit.value:
        assert moved.digest != BOOK.digest
        assert moved.limit(limit.id).looser(limit.value)


@pytest.mark.parametrize("rule", BOOK.rules(), ids=lambda rule: rule.id)
def test_rule_has_sources_words_and_known_facts(rule: Rule) -> None:
    assert all(BOOK.source(key).title for key in rule.sources)
    assert text.say(f"next.{rule.next}")
    assert text.has_text(f"finding.{rule.id}")
    declared = {fact.id for fact in BOOK.facts()}
    for key, other in rule.keys():  # noqa: SIM118
        for name in (key, other):
            if name and name != "*":
                assert name_fact(name)
                base = name.partition("@")[0]
                known = declared | {q.id for q in BOOK.quantities()} | {line.id for line in BOOK.lines()}
                assert base in known, name


@pytest.mark.parametrize("rule", BOOK.rules(), ids=lambda rule: rule.id)
def test_a_rule_without_data_says_not_known(rule: Rule) -> None:
    if rule.kind == "last_range":
        return
    for key, other in rule.keys():  # noqa: SIM118
        absent = evaluate(BOOK, {}, only={rule.id})
        empty = evaluate(BOOK, {key: None, **({other: None} if other else {})}, only={rule.id})
        wanted = Grade.STOP if rule.kind == "missing" else Grade.UNKNOWN
        for found in (absent, empty):
            assert {finding.grade for finding in found if finding.fact == key} == {wanted}
        words = say_finding(next(finding for finding in empty if finding.fact == key))
        assert "not known" in words or rule.kind == "missing"


def number_cases(rule: Rule, key: str, other: str) -> Iterable[tuple[dict[str, Fact], bool]]:
    unit = BOOK.unit_of(key) or ""
    if rule.kind == "outside":
        low, high = (BOOK.limit(id) for id in rule.limit)
        spots = ((low, -1, True), (low, 0, False), (high, 0, False), (high, 1, True))
        for limit, sign, fires in spots:
            yield {key: Quantity(limit.value + sign * STEP, limit.unit)}, fires
    elif rule.kind in FIRES and not other:
        limit = BOOK.limit(rule.limit[0])
        for sign, fires in zip((-1, 0, 1), FIRES[rule.kind], strict=True):
            yield {key: Quantity(limit.value + sign * STEP, limit.unit)}, fires
    elif rule.kind in FIRES:
        second = Quantity(Decimal(120), BOOK.unit_of(other) or "")
        base = Decimal(2) if (unit, second.unit) == ("h", "min") else Decimal(120)
        for sign, fires in zip((-1, 0, 1), FIRES[rule.kind], strict=True):
            yield {key: Quantity(base + sign * STEP, unit), other: second}, fires
    else:
        most = BOOK.limit(rule.limit[0]).value
        for sign, fires in zip((-1, 0, 1), APART[rule.kind], strict=True):
            by = most + sign * STEP
            value = {
                "differs": 200 + by,
                "at_least_apart": 200 - by,
                "differs_percent": 200 - 2 * by,
                "rises_percent": 200 + 2 * by,
                "falls": 200 - by,
                "falls_more": 200 - by,
                "factor": 200 * by,
                "times": 200 * by,
            }[rule.kind]
            yield {key: Quantity(value, unit), other: Quantity(Decimal(200), unit)}, fires


@pytest.mark.parametrize("rule", BOOK.rules(), ids=lambda rule: rule.id)
def test_rule_speaks_at_its_boundary_and_not_before(rule: Rule) -> None:
    for key, other in rule.keys():  # noqa: SIM118
        cases: Iterable[tuple[dict[str, Fact], bool]]
        if rule.kind in ("is_true", "is_false"):
            cases = [({key: True}, rule.kind == "is_true"), ({key: False}, rule.kind == "is_false")]
        elif rule.kind in ("word", "not_word"):
            cases = [({key: rule.words[0]}, rule.kind == "word"), ({key: "other"}, rule.kind == "not_word")]
        elif rule.kind == "not_word_nor_under":
            limit = BOOK.limit(rule.limit[0])
            cases = [
                ({key: rule.words[0]}, False),
                ({key: "other"}, True),
                ({key: Quantity(limit.value, limit.unit)}, False),
            ]
            cases += [({key: Quantity(limit.value + STEP, limit.unit)}, True)]
        elif rule.kind == "missing":
            cases = [({key: None}, True), ({key: Quantity(Decimal(9), "days")}, False)]
        elif rule.kind == "last_range":
            ends = BOOK.quantity("systolic")
            assert ends.last_low is not None
            cases = [
                ({"systolic": Quantity(ends.last_low, "mmHg")}, False),
                ({"systolic": Quantity(ends.last_low - 1, "mmHg")}, True),
            ]
        elif rule.kind == "not_equal" and BOOK.unit_of(key) is None:
            cases = [({key: "A 1", other: "a  1"}, False), ({key: "A 1", other: "A 2"}, True)]
        else:
            cases = number_cases(rule, key, other)
        for facts, fires in cases:
            found = [f for f in evaluate(BOOK, facts, only={rule.id}) if f.fact in (key, *facts)]
            found = [f for f in found if f.grade is not Grade.UNKNOWN]
            assert bool(found) is fires, (rule.id, facts)
            for finding in found:
                assert finding.grade.value == rule.grade
                assert finding.sources == rule.sources
                assert "{" not in say_finding(finding)


def test_every_quantity_has_source_units_and_words() -> None:
    for quantity in BOOK.quantities():
        assert BOOK.source(quantity.source).title
        assert text.say(f"quantity.{quantity.id}")
        assert all(unit_known(unit) for unit in quantity.units), quantity.id
        assert quantity.last_low is not None, quantity.id
        assert quantity.last_high is not None, quantity.id
        assert all(text.has_text(f"at.{place}") for place in quantity.at)
        assert quantity.step == quantity.step.quantize(Decimal(1).scaleb(-quantity.places))


def test_every_line_has_source_words_and_what_its_kind_needs() -> None:
    ids = {line.id for line in BOOK.lines()}
    for line in BOOK.lines():
        assert BOOK.source(line.source).title
        assert text.say(f"line.{line.id}")
        assert line.loosens in ("up", "down", "any", "none")
        if line.kind == "number":
            assert line.low is not None, line.id
            assert line.high is not None, line.id
            assert line.low < line.high
            assert unit_known(line.unit)
        if line.kind == "word":
            assert all(text.has_text(f"option.{line.id}.{option}") for option in line.options)
        if line.required_if:
            name, _, word = line.required_if.partition("=")
            assert name in ids
            assert word in BOOK.line(name).options


def test_source_kinds_say_what_they_are() -> None:
    assert len({source.title for source in BOOK.sources()}) > 150
    for source in BOOK.sources():
        assert source.title.strip() == source.title
        assert source.where


def test_text_is_canonical_and_gives_the_same_rulebook_back() -> None:
    again = parse_rulebook(BOOK.text)
    assert again.digest == BOOK.digest
    assert again.rules() == BOOK.rules()
    assert again.limits() == BOOK.limits()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"grade": "stop"', '"grade": "loud"'),
        ('"kind": "above"', '"kind": "aboove"'),
        ('"limit": ["chlorine"]', '"limit": ["chlorin"]'),
        ('"source": "fluids:W1"', '"source": "fluids:W99"'),
        ('"tighten": "down"', '"tighten": "sideways"'),
        ('"value": "0.10"', '"value": "0.50"'),
        ('"places": 1', '"place": 1'),
        ('"yields_to": ["chlorine_tank1_over"]', '"yields_to": ["chlorine_rising"]'),
    ],
)
def test_a_rulebook_that_contradicts_itself_is_refused(old: str, new: str) -> None:
    loose = re.sub(r"\n", " ", BOOK.text)
    loose = re.sub(r"\[ ", "[", re.sub(r" \]", "]", loose))
    assert old in loose
    with pytest.raises(RulebookFault):
        parse_rulebook(loose.replace(old, new, 1))


def test_not_a_rulebook_at_all() -> None:
    for junk in ("", "[]", "{}", '{"rule": 3}'):
        with pytest.raises(RulebookFault):
            parse_rulebook(junk)


def test_shipped_files_have_no_faults() -> None:
    assert faults(BOOK) == []


@pytest.mark.parametrize("name", ["quantity", "line", "limit", "rule", "source"])
def test_unknown_names_are_refused_in_words(name: str) -> None:
    with pytest.raises(InputError) as caught:
        getattr(BOOK, name)("no_such_thing")
    assert "no_such_thing" in text.say(caught.value.key, **caught.value.params)


SHUNNED = re.compile(r"\b(please|sorry|oops|invalid|all clear|ok|safe to|may wish)\b", re.IGNORECASE)


@pytest.mark.hazard("H32")
def test_no_reassuring_or_begging_words() -> None:
    for name in ("rulebook.po", "quantities.po"):
        words = Path(text.LOCALE_DIR, "en", name).read_text("utf-8")
        assert SHUNNED.search(words) is None
        for line in words.splitlines():
            if line.startswith("msgstr"):
                sentences = re.split(r"[.?!:] ", line.removeprefix("msgstr").strip().strip('"'))
                assert all(len(sentence.split()) <= 22 for sentence in sentences), line


def test_findings_keep_their_shape() -> None:
    finding = Finding("chlorine_rising", Grade.CARE, (("limit", "0.05 mg/L"), ("value", "0.07 mg/L")))
    assert say_finding(finding).startswith("Total chlorine after tank 1 is 0.07 mg/L.")
