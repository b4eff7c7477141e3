"""What of bloods stands open now: figures that units ask to be called about. Nothing of it holds a step shut."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.bloods import BloodLine, BloodResult
from ebbwell.rulebook.substances import Substance, blood_unit, range_words, substance_title
from ebbwell.state.bloods import BloodFigure, blood_calls

SHOWN_PLACES = 3
"""Figures that a converted value is shown with."""

FOLLOWING = {"below": "next.blood_unit", "above": "next.blood_unit", "half": "next.blood_half"}
"""Which line was crossed to what to do next."""


def blood_findings(desk: Desk) -> tuple[Finding, ...]:
    """A call for each figure past a line, until the unit spoke about its result or a later sample is past none.

    Source: practice:h2.
    """
    return tuple(
        call_finding(
            call.view.body, call.substance, call.figure, call.why, call.line, entry=call.view.fact.id
        )
        for call in blood_calls(desk.standing)
    )


def call_finding(
    body: BloodResult, known: Substance, figure: BloodFigure, why: str, line: Decimal, *, entry: str
) -> Finding:
    """The call about one figure: what it is, past what, the laboratory's range, and where both come from."""
    params = {
        "substance": substance_title(known.key),
        "value": shown_line(figure),
        "line": in_both(line, known, figure.line.unit),
        "sampled": day(body.sampled_on),
        "range": laboratory_words(figure.line, body.laboratory),
    }
    return Finding(
        f"blood_call_{why}",
        Grade.STOP,
        tuple(sorted(params.items())),
        ("practice:h2", known.source),
        (entry,),
        FOLLOWING[why],
    )


def laboratory_words(line: BloodLine, laboratory: str) -> str:
    """The range that the paper prints, and whose paper it is; that there is none."""
    name = laboratory or say("bloods.the_laboratory")
    found = range_words(line.low, line.high, line.unit)
    return say("bloods.range_of", range=found, laboratory=name) if found else say("bloods.no_range")


def shown_line(figure: BloodFigure) -> str:
    """A figure as on the paper, with what it is in the kept unit where that is another one."""
    sign = f"{figure.line.sign} ".lstrip()
    first = f"{sign}{figure.line.value} {blood_unit(figure.line.unit)}"
    if figure.line.unit == figure.unit:
        return first
    return f"{first} ({sign}{short(figure.value)} {blood_unit(figure.unit)})"


def in_both(value: Decimal, known: Substance, unit: str) -> str:
    """A figure of the kept unit in the paper's one, with the kept one beside it where the two differ."""
    if unit == known.unit or unit not in known.units:
        return f"{short(value)} {blood_unit(known.unit)}"
    return f"{short(known.in_unit(value, unit))} {blood_unit(unit)} ({short(value)} {blood_unit(known.unit)})"


def short(value: Decimal) -> str:
    """A figure for reading: whole from 100 on, else three figures that count, without noughts at the end."""
    if value == 0:
        return "0"
    places = max(0, SHOWN_PLACES - 1 - value.adjusted())
    text = plain(round(value, places))
    return text.rstrip("0").rstrip(".") if "." in text else text
