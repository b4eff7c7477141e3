"""What readings and answers of the night held that a reader has to act on: for the first part of the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ebbwell.core.findings import Finding, Grade, say_finding, say_grade
from ebbwell.core.text import has_text, say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Answer, Choice, Measured
from ebbwell.journal.kinds.night import CameOff
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.night_now import numbers_of, reading_findings, rows_of
from ebbwell.papers.words import figure_value, measured_words, option_words
from ebbwell.procedure.evidence import find
from ebbwell.procedure.model import Evidence, Step
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.state.facts import Fact
from ebbwell.state.night_thinner import SCORE, score_of, scores_of

MORNING = ("come_off", "after")
"""Stages whose answers stand on the sheet."""

FOR_SHEET = "next.for_sheet"
"""Next step of the rules that say no more than a note for the sheet."""

FIGURES = frozenset({SCORE})
"""Picks that are a figure for the clinic: they stand on the sheet, and none of them is called odd."""

NOT_ODD = frozenset({"none_due", "no_softener", "new_bag_hung", "venous_line"})
"""Answers that aren't the usual one, and ask for nothing."""


def odd_readings(desk: Desk, grade: Grade) -> Iterator[str]:
    """What a rule of this grade said of rows of the night: once a rule, with the time of each row and its value."""
    told: dict[str, list[tuple[Fact, Finding]]] = {}
    rows = rows_of(desk)
    for place, row in enumerate(rows):
        here = set(numbers_of(row))
        for finding in reading_findings(desk, rows[: place + 1]):
            if finding.grade is grade and finding.fact.partition("@")[0] in here:
                told.setdefault(finding.rule, []).append((row, finding))
    for found in told.values():
        row, first = found[0]
        words = f"{say_grade(grade, connected=True)}: {say_finding(first)}"
        more = [f"{_at(desk, r)} {dict(f.params).get('value', '')}".strip() for r, f in found[1:]]
        if more:
            yield say("odd.row_more", finding=words, at=_at(desk, row), more=", ".join(more))
        else:
            yield say("odd.row", finding=words, at=_at(desk, row))


def for_the_sheet(desk: Desk) -> Iterator[str]:
    """What rules note for the sheet, and fluid removed that is off the plan by more than the rulebook allows.

    What came of the night stands in one row. An entry written late has its own.
    """
    noted = [
        say_finding(finding)
        for finding in evaluate(desk.scene.rulebook, desk.scene.facts)
        if finding.grade is Grade.NOTE and finding.next_step == FOR_SHEET and finding.rule != "entry_late"
    ]
    if words := " ".join([*noted, *_fluid_apart(desk)]):
        yield f"{say_grade(Grade.NOTE, connected=True)}: {words}"
    yield from odd_readings(desk, Grade.NOTE)


def _fluid_apart(desk: Desk) -> Iterator[str]:
    plan = desk.treatment.last("plan")
    planned = plan.body.figures.get("fluid_to_remove", "") if plan and isinstance(plan.body, Plan) else ""
    number = planned.partition(" ")[0]
    for fact in desk.treatment.at_slot("measured", "fluid_removed", "") if number else ():
        body = fact.body
        if not isinstance(body, Measured) or not body.value:
            continue
        if abs(Decimal(number) - Decimal(body.value)) > desk.scene.rulebook.limit("removed_off").value:
            yield say("odd.fluid_apart", done=measured_words(body), plan=figure_value(planned))


def odd_answers(desk: Desk) -> Iterator[str]:
    """Answers that aren't the usual one, where the step takes any: what its steps ask for is told elsewhere."""
    for step, _, fact in _answered(desk, ()):
        name, option = _said(fact)
        usual = step.options.get(name, ())
        if name in FIGURES:
            continue
        if not step.wants.get(name) and usual and option != usual[0] and option not in NOT_ODD:
            yield f"{_at(desk, fact)} {answer_words(desk, fact)}"


def morning_answers(desk: Desk) -> list[str]:
    """How much blood went back, and every answer of coming off and after, in the order of the steps.

    A clotting score that stands beside its dose isn't said once more.
    """
    bloods = [f.body.blood_returned for f in desk.treatment.of("came_off") if isinstance(f.body, CameOff)]
    back = [say("sheet.blood", blood=say(f"blood.{blood}")) for blood in bloods if has_text(f"blood.{blood}")]
    scored = FIGURES if score_of(scores_of(desk.treatment)) is not None else frozenset()
    return back + [
        answer_words(desk, fact)
        for _, evidence, fact in _answered(desk, MORNING)
        if evidence.name not in scored
    ]


def answer_words(desk: Desk, fact: Fact) -> str:
    """A question with what was answered, in words."""
    name, option = _said(fact)
    key = f"choice.{name}" if isinstance(fact.body, Choice) else f"ask.{name}"
    asked = desk.procedure.say(key) if key in desk.procedure.words or has_text(key) else name
    own = desk.procedure.words.get(f"option.{name}.{option}")
    words = f"{asked} {own or option_words(name, option)}"
    more = fact.body.words if isinstance(fact.body, Answer) else ""
    return f"{words} ({more})" if more else words


def _said(fact: Fact) -> tuple[str, str]:
    body = fact.body
    if isinstance(body, Choice):
        return body.name, body.option
    return (body.question, body.answer) if isinstance(body, Answer) else ("", "")


def _answered(desk: Desk, stages: tuple[str, ...]) -> Iterator[tuple[Step, Evidence, Fact]]:
    """The answers on record, by the steps that ask for them; each once. stages: () for all."""
    seen: set[str] = set()
    for step in desk.procedure.steps:
        if stages and step.stage not in stages:
            continue
        for evidence in step.evidence:
            if evidence.form not in ("choice", "answer"):
                continue
            for fact in find(desk.scene, step, evidence):
                if fact.id not in seen and _said(fact)[0]:
                    seen.add(fact.id)
                    yield step, evidence, fact


def _at(desk: Desk, fact: Fact) -> str:
    return sheet_clock(desk, fact.at)
