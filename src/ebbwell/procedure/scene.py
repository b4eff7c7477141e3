"""What judging a hold point may look at, gathered once a look."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cached_property

from ebbwell.core.clock import STEP_ALLOWED, Moment, in_step
from ebbwell.journal.kinds.marks import Answer, Choice, Happened
from ebbwell.journal.kinds.night import Disinfected
from ebbwell.journal.kinds.orders import Advice, LineAmended, SecondCheck
from ebbwell.procedure.conditions import needed
from ebbwell.procedure.model import Procedure, Step
from ebbwell.rulebook.evaluate import Fact as RuleFact
from ebbwell.rulebook.model import Rulebook
from ebbwell.state.alone import for_night
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.night import holder
from ebbwell.state.own_past import NightSummary
from ebbwell.state.standing import CHEMICAL, Order, order

CLOCK_QUESTION = "clock_right"
"""Asked after a restart: does the clock here agree with another clock?"""

STRANGE_MARGIN = timedelta(minutes=10)
"""How much earlier an event from another machine may be dated and still count as later. Source: design."""


@dataclass(frozen=True)
class Scene:
    """One look at a treatment. gather: works out ``facts``; rulebook: with the unit's own limits in it.

    past: every night in the record, by its treatment.
    """

    procedure: Procedure
    rulebook: Rulebook
    treatment: Facts
    standing: Facts
    now: Moment
    gather: Callable[[], Mapping[str, RuleFact]]
    past: Mapping[str, NightSummary] = field(default_factory=dict)

    @cached_property
    def facts(self) -> Mapping[str, RuleFact]:
        """What the rulebook judges by; worked out when a rule first asks."""
        return self.gather()

    @cached_property
    def order(self) -> Order | None:
        """The prescription in force."""
        return order(self.standing, self.alone)

    @cached_property
    def alone(self) -> frozenset[str]:
        """Ids of the changes of the order that hold for this night alone."""
        return for_night(self.standing, self.treatment, self.past, self.now.at)

    @cached_property
    def holder(self) -> tuple[str, int] | None:
        """The chain whose marks count, and from where."""
        return holder(self.treatment)

    @cached_property
    def needles(self) -> Fact | None:
        """The mark that the needles are in, if it counts."""
        steps = {step.id for step in self.procedure.steps if step.needles and needed(self, step.only_if)}
        marks = (
            f for f in self.treatment.of("choice") if isinstance(f.body, Choice) and f.body.step in steps
        )
        return min((f for f in marks if self.counts(f)), key=lambda f: f.seq, default=None)

    @cached_property
    def cover(self) -> timedelta:
        """How long past the judging a check must still be valid: the time from needles to first blood."""
        return timedelta(minutes=float(self.rulebook.limit("needles_to_connect").value))

    def judged_at(self, fact: Fact) -> Moment:
        """When a fact is judged: now, or for what came before the needles, the moment they went in.

        Source: practice:section a, rule 4 (validity is judged before the needles go in; afterwards it only warns).
        """
        if self.needles is None or not later(self.needles, fact):
            return self.now
        return self._needled or self.now

    @cached_property
    def _needled(self) -> Moment | None:
        return None if self.needles is None else self.needles.moment

    def counts(self, fact: Fact) -> bool:
        """Whether a mark was made in the store that holds the treatment, after it took it over; corrected there too."""
        if self.holder is None:
            return False
        writer, after = self.holder
        entry, first = fact.entry, fact.first
        if entry.writer != writer or entry.seq <= after:
            return False
        return first is entry or (first.writer == writer and first.seq > after)

    def trusted(self, fact: Fact, judged_at: Moment) -> bool:
        """Whether the time between a fact and the moment it is judged at is known."""
        if fact.at > judged_at.at + STEP_ALLOWED:
            return False
        step = in_step(fact.clocked, judged_at)
        if step is None:
            return self._clock_confirmed(judged_at) and fact.clocked.at <= judged_at.at
        return step

    def _clock_confirmed(self, judged_at: Moment) -> bool:
        """Whether somebody compared the clock with another one since this start of the machine."""
        for fact in self.treatment.at_slot("answer", CLOCK_QUESTION):
            if isinstance(fact.body, Answer) and fact.body.answer == "yes" and self.counts(fact):
                return in_step(fact.clocked, judged_at) is True
        return False

    def reopened(self, step: Step, fact: Fact) -> bool:
        """Whether something that reopens this step came after what the fact says was so."""
        if not step.reopens_on:
            return False
        events = self._events(step.reopens_on)
        return any(undone(fact, event) for event in events if not self._of_another_line(step, event))

    def _of_another_line(self, step: Step, event: Fact) -> bool:
        """Whether an event amends, or checks, a line of the order that the step doesn't rest on."""
        if not step.rests_on:
            return False
        line = self._amended.get(event.id)
        return line is not None and line not in step.rests_on

    @cached_property
    def _amended(self) -> Mapping[str, str]:
        """Each entry that amends a line of the order, and each second check of one, to the line."""
        facts = self.order.facts if self.order is not None else ()
        lines = {f.id: f.body.line for f in facts if isinstance(f.body, LineAmended)}
        checks = [(f.id, f.body.of) for f in facts if isinstance(f.body, SecondCheck)]
        return lines | {check: lines[of] for check, about in checks for of in about if of in lines}

    @cached_property
    def line_places(self) -> Mapping[str, int]:
        """Line of a prescription to the decimal places it is shown with."""
        return {line.id: line.places for line in self.rulebook.lines()}

    @cached_property
    def _events_of(self) -> dict[tuple[str, ...], list[Fact]]:
        return {}

    def _events(self, names: tuple[str, ...]) -> list[Fact]:
        if names not in self._events_of:
            self._events_of[names] = self._gather(names)
        return self._events_of[names]

    def _gather(self, names: tuple[str, ...]) -> list[Fact]:
        found: list[Fact] = []
        for name in names:
            theme, _, what = name.partition(":")
            if theme == "happened":
                found += [f for f in self.treatment.of("happened") if _is(f, Happened, what)]
            elif theme == "disinfected":
                found += self.standing.worked_out(_chemicals)
            elif theme == "prescription" and self.order is not None:
                found += self.order.facts
            elif theme == "recalled":
                found += self.standing.of("lot_recalled")
        return found

    def allowed(self, step: Step, evidence: tuple[Fact, ...]) -> bool:
        """Whether the unit's advice, later than the evidence and not taken back, lets this step pass."""
        return step.advisable and any(
            self.counts(yes) and all(later(yes, fact) for fact in evidence)
            for yes in allowing(self.treatment, step.id)
        )


def allowing(treatment: Facts, step_id: str) -> tuple[Fact, ...]:
    """What the unit said that allows a step, without what it took back: its last word about the step holds.

    Source: common practice, no source.
    """
    said = [
        fact
        for fact in treatment.of("advice")
        if isinstance(fact.body, Advice) and fact.body.spoken and step_id in fact.body.about
    ]
    refusals = [fact for fact in said if isinstance(fact.body, Advice) and not fact.body.allows]
    return tuple(
        fact
        for fact in said
        if isinstance(fact.body, Advice) and fact.body.allows and not any(later(no, fact) for no in refusals)
    )


def later(event: Fact, fact: Fact) -> bool:
    """Whether an event came after a fact: by place in the same chain, else by time with a margin.

    An event from another machine's chain counts as later unless it is dated well before.
    """
    if event.writer == fact.writer:
        return event.seq > fact.seq
    return event.at > fact.at - STRANGE_MARGIN


def undone(fact: Fact, event: Fact) -> bool:
    """Whether an event came after what a fact says was so, whenever that was written down or corrected.

    In one chain the first writing decides; what was written down late also has to have been so after the event.
    Source: practice:H9.
    """
    first = fact.first
    if event.writer != first.writer:
        return event.at > fact.at - STRANGE_MARGIN
    if event.seq > first.seq:
        return True
    if fact.at >= fact.clocked.at:
        return False
    one, other = fact.moment, event.moment
    return one.mono < other.mono if one.boot and one.boot == other.boot else one.at < other.at


def _is(fact: Fact, kind: type[Happened], what: str) -> bool:
    return isinstance(fact.body, kind) and fact.body.what == what


def _chemicals(standing: Facts) -> tuple[Fact, ...]:
    """Every chemical disinfection on record: those before the night was opened stand beside tonight's."""
    return tuple(
        f for f in standing.of("disinfected") if isinstance(f.body, Disinfected) and f.body.agent in CHEMICAL
    )
