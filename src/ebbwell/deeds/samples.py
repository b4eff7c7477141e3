"""Deeds of a sample night: which samples are due, and that one was drawn. How is as the unit taught; nothing waits."""

from __future__ import annotations

from datetime import datetime

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.setup import _when
from ebbwell.journal.kinds.bedside import SAMPLE_HOW, SAMPLE_WHEN, SampleDue, SampleTaken
from ebbwell.state.night import first_blood


def ask_for_samples(
    desk: Desk, *, samples: tuple[str, ...], when: str, ordered_by: str = "", words: str = ""
) -> None:
    """Mark tonight as a sample night: what is to be drawn, before the treatment or at the end.

    samples: each in the words of the unit's list. Refuses without a night, no sample, one named twice, and another
    word for when.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    named = tuple(sample.strip() for sample in samples)
    if not named or not all(named) or len(set(named)) < len(named):
        raise InputError("enter.samples")
    _one_of("when", when, SAMPLE_WHEN)
    desk.add(SampleDue(samples=named, when=when, ordered_by=ordered_by.strip(), words=words.strip()))


def take_sample(
    desk: Desk,
    *,
    sample: str,
    when: str,
    of: str = "",
    label: str = "",
    how: str = "",
    words: str = "",
    at: datetime | None = None,
) -> None:
    """Record that a sample was drawn. of: the entry that asked for it, "" for one drawn unasked. label: on the tube.

    A tube without a label, and one "before" that was drawn once blood had run, are kept and found. Refuses without a
    night, a sample without a name, words that are none, an entry that asked for no such sample, and a time to come.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if not sample.strip():
        raise InputError("enter.samples")
    _one_of("when", when, SAMPLE_WHEN)
    if how:
        _one_of("how", how, SAMPLE_HOW)
    due = next((f.body for f in desk.treatment.of("sample_due") if f.id == of), None)
    if of and not (isinstance(due, SampleDue) and sample.strip() in due.samples and when == due.when):
        desk.refuse("refuse.no_such_sample", sample=sample.strip())
    drawn = _when(desk, at)
    entry = desk.add(
        SampleTaken(
            sample=sample.strip(), when=when, of=of, label=label.strip(), how=how, words=words.strip()
        ),
        at=drawn,
    )
    start = first_blood(desk.treatment)
    if when == "before" and start is not None and drawn > start:
        desk.findings.append(
            Finding(
                "sample_after_start", Grade.CARE, (("sample", sample.strip()),), ("practice:b",), (entry,)
            )
        )
    if not label.strip():
        desk.findings.append(
            Finding("sample_no_label", Grade.CARE, (("sample", sample.strip()),), ("practice:b",), (entry,))
        )


def _one_of(name: str, value: str, options: tuple[str, ...]) -> None:
    if value not in options:
        raise InputError("enter.option", question=name, options=", ".join(options))
