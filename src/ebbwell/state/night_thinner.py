"""What thinned the blood on one night, what of it was written down as given, and what was seen of clots."""

from __future__ import annotations

from datetime import datetime

import msgspec

from ebbwell.core.clock import elapsed
from ebbwell.journal.kinds.marks import Choice
from ebbwell.journal.kinds.night import Connected, Event, Given, NewSet
from ebbwell.state.facts import Facts
from ebbwell.state.night import first_blood, pauses, start_known

LINES = (
    "anticoagulant",
    "heparin_first_dose",
    "heparin_rate",
    "heparin_stop_before_end",
    "low_molecular_dose",
    "treatment_minutes",
)
"""Lines of the order that are kept of a night, as they were shown at connecting."""

LOOKS = ("blood_return", "rinse_back_line")
"""What is picked at coming off that tells of clots. Source: practice:c (C6, C7)."""

FIRST_DOSE = "heparin_first_dose"


class NightThinner(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """What later nights ask of this one's blood thinner.

    shown: the lines above to their text. given: minutes after first blood, what, amount and unit of the first dose and
    of each medicine. looks: name to what was picked; a name with two answers is left out. events: what was noted while
    blood ran, as picked. clotted_sets: sets changed because they clotted. off: each time off, in minutes after first
    blood, None for an end that isn't known.
    """

    shown: dict[str, str] = {}
    given: tuple[tuple[int, str, str, str], ...] = ()
    looks: dict[str, str] = {}
    events: tuple[str, ...] = ()
    clotted_sets: int = 0
    off: tuple[tuple[int, int | None], ...] = ()


def night_thinner(treatment: Facts) -> NightThinner:
    """The summary of one night; empty before first blood, and where nobody knows when it began."""
    start = first_blood(treatment)
    if start is None or not start_known(treatment):
        return NightThinner()
    connected = [f.body.shown for f in treatment.of("connected") if isinstance(f.body, Connected)]
    shown = {line: one[line] for one in reversed(connected) for line in LINES if one.get(line)}
    given = [(f.at, f.body) for f in treatment.of("given") if isinstance(f.body, Given)]
    return NightThinner(
        shown=shown,
        given=tuple(
            sorted(
                (max(_minutes(start, at), 0), body.what, body.amount, body.unit)
                for at, body in given
                if body.what == FIRST_DOSE or body.medicine
            )
        ),
        looks=_looks(treatment),
        events=tuple(f.body.what for f in treatment.of("event") if isinstance(f.body, Event)),
        clotted_sets=sum(
            isinstance(f.body, NewSet) and f.body.why == "clotted" for f in treatment.of("new_set")
        ),
        off=tuple(
            (_minutes(start, out), None if back is None else _minutes(start, back))
            for out, back in pauses(treatment)
        ),
    )


def _looks(treatment: Facts) -> dict[str, str]:
    picked: dict[str, set[str]] = {}
    for fact in treatment.of("choice"):
        if isinstance(fact.body, Choice) and fact.body.name in LOOKS:
            picked.setdefault(fact.body.name, set()).add(fact.body.option)
    return {name: options.pop() for name, options in picked.items() if len(options) == 1}


def _minutes(start: datetime, at: datetime) -> int:
    return round(elapsed(start, at).total_seconds() / 60)
