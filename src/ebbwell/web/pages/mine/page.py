"""The page of the person on dialysis: not tonight, stop, how it feels, notes on any sheet, who may read what.

No reason is asked for, and nothing here is refused for a missing sign-off.
"""

from __future__ import annotations

from datetime import timedelta
from itertools import islice

from starlette.responses import Response

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding
from ebbwell.core.text import say
from ebbwell.deeds import person as deeds
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.bedside import Annotation
from ebbwell.journal.kinds.night import SYMPTOMS, Event
from ebbwell.papers.describe import describe
from ebbwell.papers.warned import after_all as after_all_said
from ebbwell.papers.words import clock, day
from ebbwell.state.facts import Fact
from ebbwell.state.night import ON_MACHINE, first_blood
from ebbwell.state.own_past import NightSummary, Past
from ebbwell.state.standing import HOLDS_FOR, people, said_no
from ebbwell.web.pages.tonight.rows import margin_time
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

SHOWN_FOR = timedelta(hours=12)
"""How long what the person said stays on this page. Own choice: it is about this night."""

NIGHTS = 10
"""Sheets that a note can be put on from here. An older one leads here itself, and then stands first."""


def show(visit: Visit) -> Response:
    """The page as it stands. Everyone of the house sees the same."""
    desk = visit.desk
    known = people(desk.standing)
    ill = [one.name for one in known.values() if "dialysis" in one.roles]
    said = said_lately(desk)
    visit.findings += calls(said)
    held = said_no(desk.treatment, desk.standing, desk.now.at)
    nights = [(one.treatment, _night_words(visit, one)) for one in _nights(visit)]
    started = desk.treatment_id is not None and first_blood(desk.treatment) is not None
    return visit.show(
        "pages/mine/page.html",
        whose=", ".join(ill),
        mine=deeds.on_dialysis(desk),
        held=held,
        until=margin_time(held.at + HOLDS_FOR, desk.now) if held is not None else None,
        night_open=desk.treatment_id is not None,
        taken_back=after_all_said(desk) if not started else [],
        runs=desk.phase in ON_MACHINE,
        over=started and desk.phase not in ON_MACHINE,
        symptoms=SYMPTOMS,
        said=[(fact.at, describe(fact.body)) for fact in said],
        nights=nights,
        picked=visit.typed.get("treatment")
        or visit.query.get("night")
        or (nights[0][0] if len(nights) == 1 else ""),
        notes=_notes(visit),
        known=known,
        may_act=bool(visit.roles & HOME),
    )


def said_lately(desk: Desk) -> list[Fact]:
    """What the person said of how they feel in the last hours, newest first."""
    found = [*desk.standing.of("event"), *desk.treatment.of("event")]
    lately = [
        fact
        for fact in found
        if isinstance(fact.body, Event)
        and fact.body.said_by == "person"
        and elapsed(fact.at, desk.now.at) < SHOWN_FOR
    ]
    return sorted(lately, key=lambda fact: fact.at, reverse=True)


def calls(said: list[Fact]) -> list[Finding]:
    """The findings of what was said that asks for a call at once; each symptom once, and as long as it stands here."""
    found: dict[str, Finding] = {}
    for fact in said:
        symptom = getattr(fact.body, "symptom", "")
        for finding in deeds.call_for(symptom, fact.id):
            found.setdefault(symptom, finding)
    return list(found.values())


def _nights(visit: Visit) -> list[NightSummary]:
    past = visit.desk.past
    ordered = past if isinstance(past, Past) else Past(past)
    newest = list(islice(ordered.opened_before(visit.desk.now.at + timedelta(days=1)), NIGHTS))
    asked = past.get(visit.query.get("night", ""))
    return newest if asked is None else [asked, *(one for one in newest if one.treatment != asked.treatment)]


def _night_words(visit: Visit, night: NightSummary) -> str:
    """A night by its date and the time at which it was opened, so that two of one day differ."""
    desk = visit.desk
    key = "web.mine.night_open" if night.treatment == desk.treatment_id else "web.mine.night_past"
    return say(key, day=day(night.night), at=clock(night.opened_at, desk.now.zone))


def _notes(visit: Visit) -> list[Fact]:
    """Notes on the sheet of the open night, newest first."""
    notes = visit.desk.treatment.of("annotation") if visit.desk.treatment_id is not None else ()
    return [f for f in reversed(notes) if isinstance(f.body, Annotation)]


def said_by(visit: Visit) -> str:
    """Who says it: the person, or somebody for them."""
    return "person" if deeds.on_dialysis(visit.desk) else "carer"


def not_tonight(visit: Visit) -> Response:
    """Keep "not tonight". One tap."""
    done = visit.do(
        deeds.not_tonight, field="not_tonight", key=visit.typed.get("key"), said_by=said_by(visit)
    )
    return show(visit) if done is None else visit.go("/mine")


def after_all(visit: Visit) -> Response:
    """Take it back; only the person can."""
    done = visit.do(deeds.tonight_after_all, field="after_all", key=visit.typed.get("key"))
    return show(visit) if done is None else visit.go("/mine")


def feel(visit: Visit) -> Response:
    """Keep how it feels, as said by the person."""
    done = visit.do(
        deeds.say_symptom,
        field="symptom",
        key=visit.typed.get("key"),
        symptom=visit.typed.get("symptom", ""),
        words=visit.typed.get("words", ""),
    )
    return show(visit) if done is None else visit.go("/mine", kept="feel")


def note(visit: Visit) -> Response:
    """Put a note on a sheet."""
    treatment = visit.typed.get("treatment", "")
    if treatment not in visit.desk.past:
        visit.troubles.append(Trouble(say("web.mine.pick_night"), "treatment"))
        return show(visit)
    done = visit.do(
        deeds.annotate,
        field="note",
        key=visit.typed.get("key"),
        treatment=treatment,
        words=visit.typed.get("note", ""),
    )
    return show(visit) if done is None else visit.go(f"/sheet/{treatment}", kept="note")


WAYS = (
    Way("GET", "/mine", show, ALL),
    Way("POST", "/mine/not-tonight", not_tonight, HOME),
    Way("POST", "/mine/after-all", after_all, HOME),
    Way("POST", "/mine/feel", feel, HOME),
    Way("POST", "/mine/note", note, HOME),
)
