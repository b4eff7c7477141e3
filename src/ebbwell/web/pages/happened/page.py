"""Something happened: pick what it was, write it down, see what was kept. Nothing here waits for anything."""

from __future__ import annotations

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.findings import Finding
from ebbwell.core.text import say
from ebbwell.deeds.again import open_findings
from ebbwell.deeds.night import both_heparins, clotted_returned, without_order
from ebbwell.deeds.person import call_for
from ebbwell.journal.kinds.night import Event, Given, NewSet, On
from ebbwell.papers.describe import describe
from ebbwell.state.facts import Fact
from ebbwell.state.night import Phase, first_blood
from ebbwell.state.standing import people
from ebbwell.web.pages.happened.asks import ShortForm, show_form, take_form
from ebbwell.web.pages.happened.forms import FORMS
from ebbwell.web.pages.happened.later import take_later
from ebbwell.web.pages.happened.turns import TURNS, show_again, take_again
from ebbwell.web.visit import ALL, HOME, Visit, Way

EVERY = {form.name: form for form in (*FORMS, *TURNS)}

SITUATION = {
    "chest_pain": "chest_pain",
    "breathless": "chest_pain",
    "dizzy_faint": "faint",
    "bleeding": "bleeding",
}
"""Symptom to the page of first actions that belongs to it. Source: practice:d2."""


def show(visit: Visit) -> Response:
    """What can be written down, as a list."""
    desk = visit.desk
    ran = first_blood(desk.treatment) is not None
    names = ["event", "given"]
    if ran:
        names += ["on"] if desk.phase is Phase.PAUSED else ["off"]
        names.append("set")
    names += ["unit", "reopens", "sample", "samples", "note"]
    return visit.show(
        "pages/happened/page.html",
        names=names if desk.treatment_id else [],
        ran=ran,
    )


def _form(visit: Visit) -> ShortForm | None:
    return EVERY.get(visit.path["name"])


def show_one(visit: Visit) -> Response:
    """One short form."""
    form = _form(visit)
    return show_form(visit, form) if form else PlainTextResponse(say("web.happened.no_form"), 404)


def take_one(visit: Visit) -> Response:
    """Keep one short form."""
    form = _form(visit)
    if form is None:
        return PlainTextResponse(say("web.happened.no_form"), 404)
    return take_later(visit) if visit.typed.get("queued") else take_form(visit, form)


def show_kept(visit: Visit) -> Response:
    """What was kept, in words with its units, and what follows from it."""
    desk = visit.desk
    entry = visit.path["entry"]
    fact = desk.treatment.fact(entry) or desk.standing.fact(entry)
    if fact is None:
        return PlainTextResponse(say("web.happened.no_entry"), 404)
    names = {key: body.name for key, body in people(desk.standing).items()}
    symptom = fact.body.symptom if isinstance(fact.body, Event) else ""
    return visit.show(
        "pages/happened/kept.html",
        fact=fact,
        words=describe(fact.body, names),
        found=found_of(visit, fact),
        setting_up=desk.phase is Phase.SETTING_UP,
        situation=SITUATION.get(symptom, ""),
        ran=first_blood(desk.treatment) is not None,
        packs=bool(getattr(fact.body, "new_set", "")),
    )


def found_of(visit: Visit, fact: Fact) -> tuple[Finding, ...]:
    """What follows from an entry, found anew from what it says."""
    body = fact.body
    if isinstance(body, Event):
        return call_for(body.symptom)
    if isinstance(body, Given):
        return (*without_order(body), *both_heparins(visit.desk, body))
    if isinstance(body, On):
        return open_findings(visit.desk, "on_again")
    return clotted_returned(body) if isinstance(body, NewSet) else ()


WAYS = (
    Way("GET", "/happened", show, ALL),
    Way("GET", "/happened/kept/{entry}", show_kept, ALL),
    Way("GET", "/happened/again/{aside}", show_again, ALL),
    Way("POST", "/happened/again/{aside}", take_again, HOME),
    Way("GET", "/happened/{name}", show_one, ALL),
    Way("POST", "/happened/{name}", take_one, HOME),
)
