"""What stands of bloods: results with each figure in one unit, targets, urine, figures of the dialyser and the body."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from ebbwell.core.errors import EbbwellError
from ebbwell.journal.kinds.bloods import (
    BloodLine,
    BloodResult,
    BloodTarget,
    BodyFigures,
    DialyserFigures,
    UrineCollected,
)
from ebbwell.rulebook.substances import substance
from ebbwell.state.facts import Fact, Facts


@dataclass(frozen=True)
class BloodFigure:
    """One figure of a result. value, low, high: in ``unit``, the one the substance is kept in, not rounded.

    low, high: the laboratory's own range, None for open. below: "less than". line: as it stands on the paper.
    """

    line: BloodLine
    value: Decimal
    unit: str
    below: bool
    low: Decimal | None
    high: Decimal | None


@dataclass(frozen=True)
class BloodView:
    """A result. on: the day it was drawn, None for one that can't be read. figures: by substance.

    unread: lines whose substance or unit this program doesn't know, such as those of a newer one.
    """

    fact: Fact
    body: BloodResult
    on: date | None
    figures: Mapping[str, BloodFigure]
    unread: tuple[BloodLine, ...]


@dataclass(frozen=True)
class Target:
    """What the clinic wants a substance to lie between. low, high: in the kept unit, None for open.

    Both None: the figures can't be read here, such as those of a newer program.
    """

    fact: Fact
    body: BloodTarget
    low: Decimal | None
    high: Decimal | None


def blood_results(standing: Facts) -> tuple[BloodView, ...]:
    """Every result that holds, newest day of drawing first."""
    found = [
        blood_view(fact, fact.body)
        for fact in standing.of("blood_result")
        if isinstance(fact.body, BloodResult)
    ]
    return tuple(sorted(found, key=lambda v: (v.on or date.min, v.fact.at, v.fact.id), reverse=True))


def blood_view(fact: Fact, body: BloodResult) -> BloodView:
    """A result with each figure in the kept unit."""
    figures, unread = {}, []
    for line in body.lines:
        made = figure_of(line)
        if made is None or line.substance in figures:
            unread.append(line)
        else:
            figures[line.substance] = made
    return BloodView(fact, body, as_date(body.sampled_on), figures, tuple(unread))


def figure_of(line: BloodLine) -> BloodFigure | None:
    """A line in the kept unit; None where its substance or unit isn't known here."""
    try:
        known = substance(line.substance)
        value = known.in_kept(Decimal(line.value), line.unit)
        low, high = (known.in_kept(Decimal(end), line.unit) if end else None for end in (line.low, line.high))
    except (EbbwellError, ArithmeticError):
        return None
    return BloodFigure(line, value, known.unit, line.below, low, high)


def targets(standing: Facts) -> dict[str, tuple[Target, ...]]:
    """Substance to what the clinic wants; two or more where entries disagree."""
    found: dict[str, list[Target]] = {}
    for fact in standing.of("blood_target"):
        body = fact.body
        if not isinstance(body, BloodTarget) or not (body.low or body.high):
            continue
        low: Decimal | None
        high: Decimal | None
        try:
            known = substance(body.substance)
            low, high = (
                known.in_kept(Decimal(end), body.unit) if end else None for end in (body.low, body.high)
            )
        except (EbbwellError, ArithmeticError):
            low = high = None
        found.setdefault(body.substance, []).append(Target(fact, body, low, high))
    return {name: tuple(ones) for name, ones in found.items()}


def urine(standing: Facts) -> tuple[tuple[Fact, UrineCollected], ...]:
    """Every collection that holds, newest first."""
    found = [(f, f.body) for f in standing.of("urine_collected") if isinstance(f.body, UrineCollected)]
    return tuple(sorted(found, key=lambda pair: (pair[1].ended_on, pair[0].at), reverse=True))


def dialyser_figures(standing: Facts, dialyser: str) -> tuple[tuple[Fact, DialyserFigures], ...]:
    """The leaflet figures that stand for a dialyser, by its name in any case; two or more where entries disagree."""
    wanted = dialyser.strip().casefold()
    return tuple(
        (fact, fact.body)
        for fact in standing.of("dialyser_figures")
        if isinstance(fact.body, DialyserFigures) and fact.body.dialyser.strip().casefold() == wanted
    )


def body_figures(standing: Facts) -> tuple[tuple[Fact, BodyFigures], ...]:
    """The figures of the body that stand; two or more where entries disagree."""
    return tuple(
        (fact, fact.body) for fact in standing.of("body_figures") if isinstance(fact.body, BodyFigures)
    )


def as_date(text: str) -> date | None:
    """A stored day; None for none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
