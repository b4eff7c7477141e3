"""What stands of bloods: results with each figure in one unit, targets, urine, figures of the dialyser and the body."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
from ebbwell.rulebook.substances import Substance, substance
from ebbwell.science.blood_checks import fallen_by_half
from ebbwell.state.facts import Fact, Facts, differ
from ebbwell.state.water import said_about

SAME = Decimal("0.005")
"""Share by which one figure may differ in two units, for its digits were rounded twice. Own choice."""

OWN = 10
"""How many earlier figures count as one's own past. Source: practice:a0."""


@dataclass(frozen=True)
class BloodFigure:
    """One figure of a result. value, low, high: in ``unit``, the one the substance is kept in, not rounded.

    low, high: the laboratory's own range, None for open. line: as it stands on the paper, with its sign.
    """

    line: BloodLine
    value: Decimal
    unit: str
    low: Decimal | None
    high: Decimal | None

    @property
    def exact(self) -> bool:
        """Whether the paper gives the figure itself, and no bound that it lies past."""
        return not self.line.sign

    @property
    def least(self) -> Decimal | None:
        """What it is at least; None where the paper only says "less than"."""
        return None if self.line.below else self.value

    @property
    def most(self) -> Decimal | None:
        """What it is at most; None where the paper only says "more than"."""
        return None if self.line.above else self.value


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

    @property
    def at_end(self) -> bool:
        """Whether it was drawn at the end of a treatment: then levels are low, and no line for a call is for them."""
        return self.body.drawn == "after"


@dataclass(frozen=True)
class BloodCall:
    """A figure that units ask to be called about, and that nobody answered yet.

    why: ``below``, ``above`` or ``half``. line: what it is past, or the figure that it fell to half of [kept unit].
    """

    view: BloodView
    substance: Substance
    figure: BloodFigure
    why: str
    line: Decimal


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
    return standing.worked_out(_blood_results)


def _blood_results(standing: Facts) -> tuple[BloodView, ...]:
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
    return BloodFigure(line, value, known.unit, low, high)


def figures_of(
    results: Iterable[BloodView], name: str, *, at_end: bool
) -> tuple[tuple[BloodView, BloodFigure], ...]:
    """Every figure of a substance at the end of treatments, or else before and between them, in the order given."""
    return tuple(
        (view, view.figures[name]) for view in results if name in view.figures and view.at_end == at_end
    )


def pairs(results: Iterable[BloodView]) -> dict[str, tuple[BloodView | None, BloodView | None]]:
    """Treatment to the newest sample before it and at its end with urea in it; None for none."""
    found: dict[str, tuple[BloodView | None, BloodView | None]] = {}
    for view in results:
        if not view.body.night or "urea" not in view.figures or view.body.drawn == "between":
            continue
        before, after = found.get(view.body.night, (None, None))
        found[view.body.night] = (before, after or view) if view.at_end else (before or view, after)
    return found


def minutes_after(body: BloodResult) -> Decimal:
    """From the end of dialysis to drawing [min]; not known counts as at the end."""
    return Decimal(body.minutes_after or 0)


def apart(one: BloodFigure, other: BloodFigure) -> bool:
    """Whether two figures of one moment differ by more than the digits that a paper leaves off."""
    near = abs(one.value - other.value) <= SAME * max(one.value, other.value)
    return one.line.sign != other.line.sign or not near


def last_units(standing: Facts) -> dict[str, str]:
    """Substance to the unit that its newest result came in."""
    found: dict[str, str] = {}
    for view in blood_results(standing):
        for name, figure in view.figures.items():
            found.setdefault(name, figure.line.unit)
    return found


def crossed(known: Substance, figure: BloodFigure, before: BloodFigure | None) -> tuple[str, Decimal] | None:
    """Which line of a substance a figure is past, and the line; None for none, and where a bound leaves it open.

    before: the figure drawn before it, for a fall by half. Source: practice:h2.
    """
    low, high = known.call_below, known.call_above
    if low is not None and figure.most is not None and _past(low - figure.most, figure):
        return "below", low
    if high is not None and figure.least is not None and _past(figure.least - high, figure):
        return "above", high
    if known.falls_by_half and before is not None and before.least is not None and figure.most is not None:
        return ("half", before.least) if fallen_by_half(figure.most, before.least) else None
    return None


def _inside(known: Substance, figure: BloodFigure) -> bool:
    """Whether a figure is sure to lie past neither line; a bound may leave that open."""
    low, high = known.call_below, known.call_above
    above_low = low is None or (figure.least is not None and figure.least >= low)
    return above_low and (high is None or (figure.most is not None and figure.most <= high))


def _past(by: Decimal, figure: BloodFigure) -> bool:
    """Whether a figure lies past a line; a bound that is the line itself lies past it."""
    return by > 0 or (by == 0 and not figure.exact)


def blood_calls(standing: Facts) -> tuple[BloodCall, ...]:
    """Figures past a line for a call that stand open, newest first.

    One is answered by the unit's word about its result, or by a figure of a later day that is past no line.
    """
    return standing.worked_out(_blood_calls)


def _blood_calls(standing: Facts) -> tuple[BloodCall, ...]:
    results = [view for view in blood_results(standing) if not view.at_end and view.on is not None]
    found = []
    for name in dict.fromkeys(name for view in results for name in view.figures):
        known, row = substance(name), figures_of(results, name, at_end=False)
        for place, (view, figure) in enumerate(row):
            earlier = [one for other, one in row[place + 1 :] if other.on != view.on]
            past = crossed(known, figure, earlier[0] if earlier else None)
            if past is not None and not said_about(standing, view.fact):
                found.append(BloodCall(view, known, figure, *past))
            elif (
                past is None
                and _inside(known, figure)
                and (place + 1 == len(row) or row[place + 1][0].on != view.on)
            ):
                break
    return tuple(found)


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


def body_held(standing: Facts) -> tuple[Fact, BodyFigures] | None:
    """The figures of the body; None without any, and where two entries disagree."""
    held = body_figures(standing)
    return None if not held or differ([fact for fact, _ in held]) else held[-1]


def as_date(text: str) -> date | None:
    """A stored day; None for none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
