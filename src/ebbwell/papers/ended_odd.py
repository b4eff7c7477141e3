"""What a reader of the sheet has to see of a night that ended badly: symptoms that ask for a call, words at closing,
and the checks that were open, without a wall of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Corrected
from ebbwell.journal.kinds.night import Closed, Event
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.night_now import looked_at_first
from ebbwell.papers.words import steps_words, when_words
from ebbwell.procedure.model import Procedure
from ebbwell.state.calls import SYMPTOMS_TO_CALL
from ebbwell.state.facts import Fact

IN_FULL = 6
"""So many open checks are named on paper; of more, those that hurt first, and how many more. Own choice."""


def bad_turns(desk: Desk) -> Iterator[str]:
    """Each symptom of the night that asks for a call, such as a needle that bleeds; its words stand among the events.

    Source: practice:d2.
    """
    for fact in desk.treatment.of("event"):
        if isinstance(fact.body, Event) and fact.body.symptom in SYMPTOMS_TO_CALL:
            felt = say(f"symptom.{fact.body.symptom}")
            yield f"{sheet_clock(desk, fact.at)} {felt[:1].upper()}{felt[1:]}"


def words_at_closing(desk: Desk) -> Iterator[str]:
    """What somebody wrote for the sheet when it was closed."""
    for fact in desk.treatment.of("closed"):
        if isinstance(fact.body, Closed) and not fact.body.called_off and fact.body.words:
            yield say("odd.at_closing", words=fact.body.words)


def open_checks(procedure: Procedure, steps: Sequence[str]) -> str:
    """The checks that were open, in words: all of a few, else the first ones and the number of the others."""
    named = looked_at_first([step for step in procedure.ids if step in steps])
    if len(named) <= IN_FULL:
        return steps_words(procedure, named)
    first, more = named[: IN_FULL - 1], len(named) - IN_FULL + 1
    return say("odd.checks_many", steps=steps_words(procedure, first), count=more)


def what_changed(desk: Desk, before: Sequence[Fact], after: Fact, correction: Corrected) -> tuple[str, str]:
    """What a correction changed, was and now, where both read the same in one line: the fields by themselves."""
    fields = [name.partition(".")[0] for name in correction.changes]
    was = ", ".join(_word(desk, fact, name) for fact in before for name in fields)
    return was, ", ".join(_word(desk, after, name) for name in fields)


def _word(desk: Desk, fact: Fact, name: str) -> str:
    if name == "at":
        return sheet_clock(desk, fact.at)
    value = str(getattr(fact.body, name, "") or "")
    if name == "when":
        return when_words(value) if value else say("odd.a_reading")
    return value or "-"
