"""Deeds of the person on dialysis: not tonight, how they feel, a note on a sheet. No reason, no sign-off, no gate."""

from __future__ import annotations

from datetime import datetime

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.night import stop_now
from ebbwell.deeds.setup import _when
from ebbwell.journal.kinds.bedside import Annotation, NotTonight
from ebbwell.journal.kinds.marks import Withdrawn
from ebbwell.journal.kinds.night import SYMPTOMS, Event
from ebbwell.state.calls import SYMPTOMS_TO_CALL
from ebbwell.state.night import Phase, first_blood
from ebbwell.state.standing import people

CALL = SYMPTOMS_TO_CALL
"""Symptoms that ask for what the unit taught, and a call, at once. Source: practice:d2."""

SAID_BY = ("person", "carer")


def not_tonight(desk: Desk, *, words: str = "", said_by: str = "person") -> None:
    """Record that the person on dialysis says: not tonight. Never refused, and no reason is asked for.

    Before first blood this holds the night: connecting is shut, and no other night is opened for twelve hours, until
    the person takes it back (``tonight_after_all``). While blood runs it is a stop. Once off it is a note.
    """
    _one_of("said_by", said_by, SAID_BY)
    body = NotTonight(words=words.strip(), said_by=said_by)
    if desk.treatment_id is not None and first_blood(desk.treatment) is not None:
        if desk.phase in (Phase.RUNNING, Phase.PAUSED, Phase.STOPPING):
            stop_now(desk, words=words.strip(), said_by=said_by)
        else:
            desk.add(body)
        return
    if desk.treatment_id is not None:
        desk.add(body)
    desk.add(body, standing=True)
    desk.findings.append(Finding("not_tonight", Grade.STOP, (), ("design",)))


def tonight_after_all(desk: Desk) -> None:
    """Take "not tonight" back. No reason is asked for; what was found since stays as it was.

    Refuses everyone but someone entered as on dialysis, and where nothing of the kind stands.
    """
    held = [(False, f) for f in desk.treatment.of("not_tonight")]
    held += [(True, f) for f in desk.standing.of("not_tonight")]
    if not held:
        desk.refuse("refuse.nothing_to_take_back")
    if not on_dialysis(desk):
        desk.refuse("refuse.only_the_person")
    for standing, fact in held:
        desk.add(Withdrawn(of=fact.id), replaces=(fact.id,), standing=standing)


def on_dialysis(desk: Desk) -> bool:
    """Whether the one who acts is entered as the person on dialysis."""
    known = people(desk.standing).get(desk.by)
    return known is not None and "dialysis" in known.roles


def say_symptom(desk: Desk, *, symptom: str, words: str = "", at: datetime | None = None) -> None:
    """Record how the person feels, in a picked word and their own, as said by the person. Also without a night.

    Refuses a word that isn't one of ``SYMPTOMS``, "something else" without words, and a time still to come.
    """
    _one_of("symptom", symptom, SYMPTOMS)
    if symptom == "other" and not words.strip():
        raise InputError("enter.words")
    entry = desk.add(
        Event(what=symptom, symptom=symptom, words=words.strip(), said_by="person"),
        at=_when(desk, at),
        standing=desk.treatment_id is None,
    )
    desk.findings.extend(call_for(symptom, entry))


def call_for(symptom: str, *entries: str) -> tuple[Finding, ...]:
    """The finding that a symptom asks for a call at once; () for one that doesn't. entries: ids that say it."""
    if symptom not in CALL:
        return ()
    return (Finding("symptom_call", Grade.STOP, (("symptom", symptom),), ("practice:d",), entries),)


def annotate(desk: Desk, *, words: str, at: datetime | None = None) -> None:
    """Put a note on the sheet of a treatment, open or closed, in one's own words.

    Who is entered as on dialysis writes as the person, everyone else as a carer. Refuses an empty note, and a note
    without a treatment to put it on.
    """
    if desk.treatment_id is None:
        desk.refuse("refuse.no_night")
    if not words.strip():
        raise InputError("enter.note")
    said_by = "person" if on_dialysis(desk) else "carer"
    desk.add(Annotation(words=words.strip(), said_by=said_by), at=_when(desk, at))


def _one_of(name: str, value: str, options: tuple[str, ...]) -> None:
    if value not in options:
        raise InputError("enter.option", question=name, options=", ".join(options))
