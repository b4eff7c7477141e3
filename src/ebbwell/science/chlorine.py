"""Total chlorine after the carbon tanks: what a test can show, and the step that two tanks lead to.

The limit is what the caller hands in: the unit's own where it set one. No step here allows a treatment; it names
what the rule asks for next. A result that the method can't tell from the limit is never taken as under it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal, localcontext
from enum import Enum

from ebbwell.core.errors import DomainError
from ebbwell.core.quantity import Quantity
from ebbwell.science.formula import CONTEXT, inside, span

METHODS = ("meter", "strip", "drops")
"""How total chlorine is read, as the rulebook spells it."""
RISING_TESTS = 3
"""Tests in a row over the lower line that count as rising. Source: common practice (fluids 1.3, rule 1)."""
FINE_PARTS = 10
"""A meter holds a result that is at the limit if its step is at most this part of the limit. Source: design."""

READING = span("mg/L", "0", "20")
STEP = span("mg/L", "0.001", "5")
LIMIT = span("mg/L", "0.01", "1")


class ChlorineLevel(Enum):
    """What one test shows. ``HELD``: at the limit by a fine meter; ``NOT_HELD``: at it by anything coarser."""

    UNDER = "under the limit"
    HELD = "at the limit, by a meter fine enough"
    NOT_HELD = "at the limit, by a method that can't tell"
    OVER = "over the limit"
    NO_TEST = "shows nothing"

    @property
    def fails(self) -> bool:
        """Whether the tank counts as broken through."""
        return self in (ChlorineLevel.NOT_HELD, ChlorineLevel.OVER)


class ChlorineStep(Enum):
    """What the rule asks for next; only the first two don't hold the night up."""

    GO_ON = "go on with the set-up"
    ORDER_CARBON = "go on with the set-up and order carbon"
    NEW_TEST = "test again: the test shows nothing"
    READ_AGAIN = "read again: two results differ by exactly ten times"
    DRAW_AGAIN = "run the water, draw again with fresh reagent, and draw after tank 2"
    DRAW_TANK_2 = "draw after tank 2"
    NEW_TANK_1 = "no treatment until tank 1 is replaced"
    AS_WRITTEN = "do what the unit wrote down for this"
    CALL_OFF = "no treatment tonight: tell the unit"


@dataclass(frozen=True, slots=True)
class ChlorineTest:
    """One test. reading: mg/L, with its "<" kept. method: one of METHODS. of_total: total, not free chlorine.

    step [mg/L]: the least difference the method shows near the limit; for a meter, left out, its last digit.
    reagent_in_date, control_coloured: None where nobody looked. Control: water before the carbon coloured.
    """

    reading: Quantity
    method: str
    step: Decimal | None = None
    of_total: bool = True
    reagent_in_date: bool | None = None
    control_coloured: bool | None = None


def chlorine_level(test: ChlorineTest, *, limit_mg_l: Decimal) -> ChlorineLevel:
    """What a test shows against a limit.

    reading [mg/L] 0 to 20; step [mg/L] 0.001 to 5; limit_mg_l [mg/L] 0.01 to 1. A value between two steps of a
    strip or of drops counts as the higher step. A result over the limit stands however it was found; one that
    isn't needs total chlorine, reagent in date, a control that coloured, and a step no larger than the limit.
    Raises DomainError outside, for another unit and for a method that isn't known.
    Source: fluids:W1, common practice (fluids 1.3).
    """
    inside("limit_mg_l", limit_mg_l, LIMIT)
    if test.reading.unit != "mg/L" or test.method not in METHODS:
        raise DomainError("science.chlorine_how", method=test.method[:40], unit=test.reading.unit[:40])
    value = test.reading.value
    inside("reading", value, READING)
    step = test.step
    if step is None and test.method == "meter":
        step = _last_digit(value)
    if step is not None:
        inside("step", step, STEP)
    with localcontext(CONTEXT):
        if test.method != "meter" and step is not None:
            value = (value / step).to_integral_value(ROUND_CEILING) * step
        if not test.reading.below and value > limit_mg_l:
            return ChlorineLevel.OVER
        sound = test.of_total and test.reagent_in_date is True and test.control_coloured is True
        if not sound or step is None or step > limit_mg_l or value > limit_mg_l:
            return ChlorineLevel.NO_TEST
        if test.reading.below or value < limit_mg_l:
            return ChlorineLevel.UNDER
        fine = test.method == "meter" and step * FINE_PARTS <= limit_mg_l
        return ChlorineLevel.HELD if fine else ChlorineLevel.NOT_HELD


def chlorine_step(
    tank1: ChlorineTest,
    *,
    again: ChlorineTest | None = None,
    tank2: ChlorineTest | None = None,
    earlier: Sequence[ChlorineTest] = (),
    limit_mg_l: Decimal,
    rising_mg_l: Decimal,
    second_tank_in_writing: bool = False,
) -> ChlorineStep:
    """The step that tonight's tests lead to.

    tank1: after the first tank; again: the second draw there, with fresh reagent, after running the water;
    tank2: after the second. earlier: after the first tank on past nights, oldest first. limit_mg_l, rising_mg_l
    [mg/L] 0.01 to 1. second_tank_in_writing: the unit wrote what to do when tank 1 fails and tank 2 doesn't.
    Tank 2 over the limit calls the night off, whatever tank 1 shows.
    Raises DomainError as chlorine_level does. Source: fluids:W1, fluids:W5, common practice (fluids 1.3).
    """
    inside("rising_mg_l", rising_mg_l, LIMIT)
    first = chlorine_level(tank1, limit_mg_l=limit_mg_l)
    second = None if again is None else chlorine_level(again, limit_mg_l=limit_mg_l)
    behind = None if tank2 is None else chlorine_level(tank2, limit_mg_l=limit_mg_l)
    if behind is not None and behind.fails:
        return ChlorineStep.CALL_OFF
    if ChlorineLevel.NO_TEST in (first, second, behind):
        return ChlorineStep.NEW_TEST
    if not first.fails and (second is None or not second.fails):
        return ChlorineStep.ORDER_CARBON if _rising(tank1, earlier, rising_mg_l) else ChlorineStep.GO_ON
    if again is None or second is None:
        return ChlorineStep.DRAW_AGAIN
    if _tenfold(tank1.reading.value, again.reading.value):
        return ChlorineStep.READ_AGAIN
    if behind is None:
        return ChlorineStep.DRAW_TANK_2
    if not second.fails:
        return ChlorineStep.ORDER_CARBON
    return ChlorineStep.AS_WRITTEN if second_tank_in_writing else ChlorineStep.NEW_TANK_1


def _last_digit(value: Decimal) -> Decimal:
    exponent = value.as_tuple().exponent
    return Decimal(1).scaleb(min(exponent, 0)) if isinstance(exponent, int) else Decimal(1)


def _rising(tonight: ChlorineTest, earlier: Sequence[ChlorineTest], rising_mg_l: Decimal) -> bool:
    row = [*earlier, tonight][-RISING_TESTS:]
    over = [not test.reading.below and test.reading.value > rising_mg_l for test in row]
    return len(row) == RISING_TESTS and all(over)


def _tenfold(one: Decimal, other: Decimal) -> bool:
    low, high = sorted((one, other))
    return low > 0 and low * 10 == high
