"""What thinned the blood on one night, what of it was written down as given, and what was seen of clots."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

import msgspec

from ebbwell.core.clock import elapsed
from ebbwell.journal.kinds.marks import Choice, Measured
from ebbwell.journal.kinds.night import Connected, Event, Given, NewSet, Reading
from ebbwell.state.facts import Facts
from ebbwell.state.night import first_blood, pauses, start_known
from ebbwell.state.night_fluid import decimal_of

LINES = (
    "anticoagulant",
    "heparin_first_dose",
    "heparin_strength",
    "heparin_rate",
    "heparin_stop_before_end",
    "low_molecular_dose",
    "treatment_minutes",
    "target_weight",
    "dialyser",
    "blood_flow",
    "dialysate_flow",
)
"""Lines of the order that are kept of a night, as they were shown at connecting."""

LOOKS = ("blood_return", "rinse_back_line")
"""What is picked at coming off that tells of clots. Source: practice:c (C6, C7)."""

FIRST_DOSE = "heparin_first_dose"

HEPARIN, LOW = "heparin", "low_molecular"
"""The two kinds, by the words of the order's line."""

READY_DOSE = "low_molecular_dose"

STRENGTH = "heparin_strength"

_LOW = re.compile(r"\blow[\s-]*mol|\blmwh\b|\b(?!heparin\b)[a-z]+parin\b", re.IGNORECASE)
_HEPARIN = re.compile(r"\bheparin\b", re.IGNORECASE)
_LOCK = re.compile(r"\block\b", re.IGNORECASE)

SCORE = "clot_score"
SCORES = ("clean", "streaks", "clots", "clotted")
"""How dialyser and drip chamber looked, as picked at coming off; its place here is the score, 0 to 3. Its two ends are
fluids:3.4; the words between: common practice, no source."""


class NightThinner(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """What later nights ask of this one's blood thinner.

    shown: the lines above to their text. given: minutes after first blood, what, amount and unit of the first dose and
    of each medicine. looks: name to what was picked; a name with two answers is left out. events: what was noted while
    blood ran, as picked. clotted_sets: sets changed because they clotted. off: each time off, in minutes after first
    blood, None for an end that isn't known. scores: how dialyser and drip chamber looked, as picked, and who picked it.
    other_vials: strengths read off a vial that aren't the ordered one, in units/mL.
    """

    shown: dict[str, str] = {}
    given: tuple[tuple[int, str, str, str], ...] = ()
    looks: dict[str, str] = {}
    events: tuple[str, ...] = ()
    clotted_sets: int = 0
    off: tuple[tuple[int, int | None], ...] = ()
    scores: tuple[tuple[str, str], ...] = ()
    other_vials: tuple[str, ...] = ()


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
        scores=scores_of(treatment),
        other_vials=_other_vials(treatment, shown),
    )


def vials_read(treatment: Facts) -> frozenset[Decimal]:
    """Each strength that stands as read off the vial [units/mL]; two where two readings stand."""
    return frozenset(
        read
        for fact in treatment.at_slot("measured", STRENGTH, "")
        if isinstance(fact.body, Measured) and (read := decimal_of(fact.body.value)) is not None
    )


def _other_vials(treatment: Facts, shown: Mapping[str, str]) -> tuple[str, ...]:
    """Strengths that were read and aren't the one shown at connecting; () where none was shown."""
    ordered = decimal_of(shown.get(STRENGTH, ""))
    return () if ordered is None else tuple(str(one) for one in sorted(vials_read(treatment) - {ordered}))


def kinds_given(treatment: Facts, more: tuple[Given, ...] = ()) -> frozenset[str]:
    """Which kinds of heparin went in tonight by what is on record: ``heparin``, ``low_molecular``, both or none.

    By doses written down as given, by mL that the heparin pump shows, and by the pump that the order at connecting set.
    A medicine is known by its name: substances of this group end in "-parin" (from memory), and heparin alone is the
    other kind. A lock stays in the catheter, so it counts for none; nor does an amount of 0.
    more: what is being written down now.
    """
    given = [f.body for f in treatment.of("given") if isinstance(f.body, Given)]
    found = {kind for body in (*given, *more) if decimal_of(body.amount) and (kind := kind_of(body.what))}
    pumped = (
        decimal_of(fact.body.values.get("heparin_given", ""))
        for fact in treatment.of("reading")
        if isinstance(fact.body, Reading)
    )
    ordered = (
        fact.body.shown.get("anticoagulant") == HEPARIN
        for fact in treatment.of("connected")
        if isinstance(fact.body, Connected)
    )
    if any(ordered) or any(ml is not None and ml > Decimal(0) for ml in pumped):
        found.add(HEPARIN)
    return frozenset(found)


def kind_of(what: str) -> str:
    """The kind of heparin that a name of something given speaks of: ``heparin``, ``low_molecular`` or ""."""
    if what in (FIRST_DOSE, READY_DOSE):
        return HEPARIN if what == FIRST_DOSE else LOW
    if _LOCK.search(what):
        return ""
    if _LOW.search(what):
        return LOW
    return HEPARIN if _HEPARIN.search(what) else ""


def scores_of(treatment: Facts) -> tuple[tuple[str, str], ...]:
    """How dialyser and drip chamber looked, as picked, with the id of who picked it; two where two stand."""
    return tuple(
        (fact.body.option, fact.by)
        for fact in treatment.of("choice")
        if isinstance(fact.body, Choice) and fact.body.name == SCORE and fact.body.option in SCORES
    )


def score_of(scores: tuple[tuple[str, str], ...]) -> tuple[int, str] | None:
    """The score, 0 clean to 3 clotted, and who gave it; None for none, and where two differ.

    A judgement by eye, so it is never given without its judge. Source: fluids:3.4.
    """
    if len({option for option, _ in scores}) != 1:
        return None
    option, by = scores[-1]
    return SCORES.index(option), by


def _looks(treatment: Facts) -> dict[str, str]:
    picked: dict[str, set[str]] = {}
    for fact in treatment.of("choice"):
        if isinstance(fact.body, Choice) and fact.body.name in LOOKS:
            picked.setdefault(fact.body.name, set()).add(fact.body.option)
    return {name: options.pop() for name, options in picked.items() if len(options) == 1}


def _minutes(start: datetime, at: datetime) -> int:
    return round(elapsed(start, at).total_seconds() / 60)
