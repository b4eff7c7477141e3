"""Whose work a night was: who held it, who wrote, who read a second time, and who put a note on its sheet."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.bedside import Annotation
from ebbwell.papers.describe import describe
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.state.night import carer_in_charge


def who_rows(desk: Desk, names: Mapping[str, str]) -> tuple[str, ...]:
    """Names, each job in a sentence; a job that nobody did is left out. A note alone makes nobody one who wrote."""
    treatment = desk.treatment
    envelopes = [entry.envelope for entry in treatment]
    held = carer_in_charge(treatment)
    jobs = {
        "sheet.who_held": [held] if held else [],
        "sheet.who_wrote": [e.by for e in envelopes if e.kind != Annotation.KIND],
        "sheet.who_second": [fact.by for fact in treatment.of("second_check")],
        "sheet.who_noted": [e.by for e in envelopes if e.kind == Annotation.KIND],
    }
    said = [
        say(key, who=", ".join(names.get(person, person) for person in dict.fromkeys(found)))
        for key, found in jobs.items()
        if found
    ]
    return (" ".join(said),) if said else ()


def second_readings(desk: Desk, names: Mapping[str, str]) -> list[str]:
    """Each second reading: when, of what, how, with what outcome; by whom, where not all are by the same."""
    held = desk.treatment.of("second_check")
    several = len({fact.by for fact in held}) > 1
    out = []
    for fact in held:
        words = f"{sheet_clock(desk, fact.at)} {describe(fact.body)}"
        out.append(f"{words}, {names.get(fact.by, fact.by)}" if several else words)
    return out
