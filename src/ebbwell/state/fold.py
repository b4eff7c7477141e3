"""The fold: state from entries, one at a time, from wherever the last checkpoint stood.

``step`` gathers an entry; ``State`` holds what stands, a summary of every treatment, and the facts of the
treatments in use. Stepping entry by entry gives what a whole fold gives, in any order of arrival.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ebbwell.journal.envelope import Entry
from ebbwell.state.facts import Facts
from ebbwell.state.own_past import Past, summarise
from ebbwell.state.standing import stands

Loader = Callable[[str], Iterable[Entry]]
"""Gives all stored entries of a treatment."""

SETTLE_EVERY = 1000
"""Entries between two rounds of summaries in a whole fold; bounds the memory it takes."""


class State:
    """standing: what stands between treatments. past: treatment id to its summary.

    row: last stored row taken in. treatments: facts of the treatments that are in use; others are read
    again when asked for.
    """

    __slots__ = ("dirty", "past", "row", "standing", "treatments")

    def __init__(self) -> None:
        self.standing = Facts()
        self.past = Past()
        self.treatments: dict[str, Facts] = {}
        self.dirty: set[str] = set()
        self.row = 0

    def copy(self) -> State:
        """A copy that can be stepped on its own. The facts are shared until one of the two steps them."""
        other = State()
        self.standing.shared = True
        other.standing = self.standing
        other.past = self.past.copy()
        for facts in self.treatments.values():
            facts.shared = True
        other.treatments = dict(self.treatments)
        other.dirty = set(self.dirty)
        other.row = self.row
        return other

    def step(self, entry: Entry) -> None:
        """Take one stored entry in; entries come in rising rows."""
        treatment = entry.envelope.treatment
        if treatment is not None:
            facts = self.treatments.get(treatment)
            if facts is not None:
                if facts.shared:
                    facts = self.treatments[treatment] = facts.copy()
                facts.step(entry)
            self.dirty.add(treatment)
        if stands(entry):
            if self.standing.shared:
                self.standing = self.standing.copy()
            self.standing.step(entry)
        self.row = max(self.row, entry.row)

    def facts(self, treatment: str, load: Loader) -> Facts:
        """The facts of a treatment, read from the store if they aren't at hand."""
        facts = self.treatments.get(treatment)
        if facts is None:
            facts = Facts()
            for entry in load(treatment):
                facts.step(entry)
            self.treatments[treatment] = facts
        return facts

    def settle(self, load: Loader) -> None:
        """Make the summaries of all ended treatments touched since, and let go of them; note those that go on."""
        for treatment in self.dirty:
            facts = self.facts(treatment, load)
            if self.past.goes_on(treatment, facts):
                continue
            summary = summarise(treatment, facts)
            if summary is None:
                self.past.pop(treatment, None)
            else:
                self.past[treatment] = summary
                del self.treatments[treatment]
        self.dirty.clear()

    def open_treatments(self) -> tuple[str, ...]:
        """Ids of treatments opened and not ended, oldest first."""
        return self.past.open_ones()


def fold(entries: Iterable[Entry], load: Loader) -> State:
    """State from scratch, from all entries of a store in order of arrival, in one pass."""
    state = State()
    for count, entry in enumerate(entries, start=1):
        treatment = entry.envelope.treatment
        if treatment is not None and treatment not in state.past and treatment not in state.treatments:
            state.treatments[treatment] = Facts()
        state.step(entry)
        if count % SETTLE_EVERY == 0:
            state.settle(load)
    state.settle(load)
    return state
