"""What stands on a page or card of first actions: the unit's signed words, else three verbs; what to read out."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ebbwell.core.clock import Moment
from ebbwell.core.text import say
from ebbwell.journal.kinds.house import SITUATIONS
from ebbwell.papers.words import day
from ebbwell.state.facts import Facts
from ebbwell.state.texts import emergency, first_action, texts_for


def first_action_lines(standing: Facts, situation: str, now: Moment) -> tuple[str, ...]:
    """The unit's words with signer and date. Where none are in force: stop, clamp, call as taught, and no more.

    Source: practice:H58.
    """
    text = first_action(standing, situation, now)
    if text is None:
        void = (say("first.void"),) if texts_for(standing, situation) else ()
        return (say("first.unsigned"), *void)
    signed = say("first.signed", who=text.signed_by, day=day(text.signed_on))
    until = (say("said.until", day=day(text.valid_until)),) if text.valid_until else ()
    return (text.words, signed, *until)


def signed_situations(standing: Facts, now: Moment) -> tuple[str, ...]:
    """The situations for which words of the unit are in force, in the order of ``SITUATIONS``."""
    return tuple(s for s in SITUATIONS if first_action(standing, s, now) is not None)


def void_situations(standing: Facts, now: Moment) -> tuple[str, ...]:
    """The situations whose words aren't shown: past their last day, unsigned, or two that don't say the same."""
    return tuple(s for s in SITUATIONS if texts_for(standing, s) and first_action(standing, s, now) is None)


def emergency_lines(standing: Facts) -> tuple[str, ...]:
    """Number, address and the way to the door, to be read out; "not filled in" where the household entered none."""
    held = emergency(standing)
    if held is None:
        return (say("first.no_number"),)
    find = (say("first.find", words=held.how_to_find),) if held.how_to_find else ()
    return (
        say("first.number", number=held.number),
        say("first.address", address=held.address),
        *find,
        *(call.words for call in unit_calls(standing)),
    )


@dataclass(frozen=True)
class UnitCall:
    """A number of the unit. before, after: what stands beside the number. tel: what is dialled."""

    before: str
    number: str
    tel: str
    after: str = ""

    @property
    def words(self) -> str:
        """The line as one."""
        return " ".join(part for part in (self.before, self.number, self.after) if part)


def unit_calls(standing: Facts) -> tuple[UnitCall, ...]:
    """The unit's own numbers with their hours, in the order entered; none where the household entered none."""
    held = emergency(standing)
    if held is None or not (held.unit_number or held.unit_other):
        return ()
    hours = f"({held.unit_hours})" if held.unit_hours else ""
    first = UnitCall(say("first.unit"), held.unit_number, dialled(held.unit_number), hours)
    other = UnitCall(say("first.unit_other"), held.unit_other, dialled(held.unit_other))
    return tuple(call for call in (first, other) if call.number)


def dialled(number: str) -> str:
    """What a phone dials for a number as written; "" without a digit."""
    digits = re.sub(r"[^0-9]", "", number)
    return ("+" if digits and number.lstrip().startswith("+") else "") + digits


@dataclass(frozen=True)
class ReadOut:
    """What is read out. number: as entered. tel: what a phone dials, "" without a digit. lines: the address."""

    number: str
    tel: str
    lines: tuple[str, ...]


def read_out_parts(standing: Facts) -> ReadOut | None:
    """Number and address apart, for a screen on which the number can be pressed; None where none is entered."""
    held = emergency(standing)
    if held is None:
        return None
    units = len(unit_calls(standing))
    lines = emergency_lines(standing)
    return ReadOut(held.number, dialled(held.number), lines[1 : len(lines) - units])
