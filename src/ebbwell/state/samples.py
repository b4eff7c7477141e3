"""Samples that are due tonight, and those that were drawn."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.journal.kinds.bedside import SampleDue, SampleTaken
from ebbwell.state.facts import Fact, Facts


@dataclass(frozen=True)
class SampleView:
    """One sample. when: ``before`` or ``after``. due: the entry that asks for it, None for one drawn unasked.

    taken: the entry that says it was drawn; None while it wasn't.
    """

    sample: str
    when: str
    due: Fact | None
    taken: Fact | None


def samples(treatment: Facts) -> tuple[SampleView, ...]:
    """Every sample asked for tonight in the order of asking, those before the treatment first, then the unasked ones."""
    taken = [(f, f.body) for f in treatment.of("sample_taken") if isinstance(f.body, SampleTaken)]
    found: list[SampleView] = []
    used: set[str] = set()
    for due in treatment.of("sample_due"):
        if not isinstance(due.body, SampleDue):
            continue
        versions = treatment.versions(due)
        for sample in due.body.samples:
            drawn = next(
                (
                    f
                    for f, b in taken
                    if f.id not in used
                    and b.sample == sample
                    and b.when == due.body.when
                    and b.of in versions
                ),
                None,
            )
            used |= {drawn.id} if drawn is not None else set()
            found.append(SampleView(sample, due.body.when, due, drawn))
    found += [SampleView(b.sample, b.when, None, f) for f, b in taken if f.id not in used]
    return tuple(sorted(found, key=lambda view: view.when != "before"))
