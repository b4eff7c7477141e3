"""One entry: what it says, who wrote it and when, putting a slip right, taking it back. Nothing goes out of sight."""

from __future__ import annotations

from dataclasses import dataclass, replace

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.record import RAN, STAYS, correct, withdraw
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.journal.kinds.marks import Withdrawn
from ebbwell.journal.kinds.night import AlreadyRunning
from ebbwell.papers import blood_forms, water_forms
from ebbwell.papers.describe import describe
from ebbwell.papers.night_now import changed_since
from ebbwell.papers.words import step_words
from ebbwell.state.facts import Fact
from ebbwell.state.standing import people
from ebbwell.web.pages.entry.fields import Field, fields_of, time_near
from ebbwell.web.pages.reading.rows import SIGN, TAKE
from ebbwell.web.visit import ALL, HOME, Visit, Way

CHANGE = "change."
"""What the name of a form's field begins with that holds a new value."""

PLACES = {
    form.kind: (place, f"{place}/{name}")
    for place, forms in (("/bloods", blood_forms.FORMS), ("/water", water_forms.FORMS))
    for name, form in forms.items()
}
"""Kind of an entry that is put right by typing it again: the page that it stands on, and its form."""


@dataclass(frozen=True)
class Found:
    """An entry with the desk of the treatment that it belongs to. treatment: None for what stands between nights."""

    desk: Desk
    fact: Fact
    treatment: str | None
    newer: tuple[str, ...]
    taken_back: bool = False


def find(visit: Visit, entry_id: str) -> Found | None:
    """The entry of that id, tonight's or of any other night; None where there is none or it can't be read."""
    held = visit.house.store.held(entry_id)
    if held is None:
        return None
    treatment = held.envelope.treatment
    desk = visit.desk
    if treatment is not None and treatment != desk.treatment_id:
        if treatment not in desk.past:
            return None
        desk = visit.house.look(by=visit.who, treatment=treatment)
    facts = desk.treatment if treatment is not None else desk.standing
    fact = facts.fact(entry_id)
    if fact is None:
        return None
    newer = tuple(sorted(facts.replaced.get(entry_id, ())))
    newest = [facts.fact(one) for one in newer]
    back = any(one is not None and isinstance(one.body, Withdrawn) for one in newest)
    return Found(desk, fact, treatment, newer, taken_back=back)


def show(visit: Visit) -> Response:
    """The entry, and the two forms."""
    found = find(visit, visit.path["id"])
    if found is None:
        return PlainTextResponse(say("web.entry.none"), 404)
    return _page(visit, found)


def _page(visit: Visit, found: Found) -> Response:
    names = {person: one.name for person, one in people(found.desk.standing).items()}
    fact = found.fact
    first = fact.corrects
    place, again = PLACES.get(fact.kind, ("", ""))
    if first is not None:
        visit.findings += changed_since(found.desk, first.id)
    visit.findings += changed_since(found.desk, fact.id)
    return visit.show(
        "pages/entry/page.html",
        fact=fact,
        says=describe(fact.body, names),
        open_then=open_then(found),
        writer=names.get(fact.by, say("bedside") if fact.by == "bedside" else fact.by),
        first=(first, describe(first.body, names)) if first is not None else None,
        newer=found.newer,
        taken_back=found.taken_back,
        place=place,
        again=f"{again}?instead={fact.id}" if again else "",
        fields=[
            one
            for one in (fields_of(found.desk, fact) if not found.newer and visit.roles & HOME else [])
            if not (place == "/bloods" and one.name == "at")
        ],
        stays=stays(fact),
        ran=fact.kind in RAN and found.treatment == visit.desk.treatment_id,
        treatment=found.treatment,
        change=CHANGE,
    )


def open_then(found: Found) -> list[str]:
    """Every check that was open when blood was found running, in words; none for another entry."""
    body = found.fact.body
    held = body.open_holds if isinstance(body, AlreadyRunning) else ()
    return [step_words(found.desk.procedure, step) for step in held if found.desk.procedure.has(step)]


def stays(fact: Fact) -> bool:
    """Whether an entry can't be taken back: it says what happened."""
    return fact.kind in STAYS or (isinstance(fact.body, HandedOver) and fact.body.stage != "offered")


def changes_of(visit: Visit, fields: list[Field]) -> dict[str, str]:
    """What was typed into the form's fields; one left empty changes nothing."""
    known = {field.name: field for field in fields}
    out = {}
    for name, typed in visit.typed.items():
        field = name.removeprefix(CHANGE)
        if name.startswith(CHANGE) and typed.strip() and field in known:
            as_time = known[field].kind == "time"
            out[field] = time_near(typed, known[field], visit.desk.now.zone) if as_time else typed
    field, asked, meant = (*visit.typed.get(TAKE, "").split("|"), "", "")[:3]
    if field in out and out[field].strip() == asked and meant:
        out[field] = meant
    return out


def _offer_signs(visit: Visit, changes: dict[str, str]) -> None:
    """A button beside a question about a sign that takes the other one."""
    for place, trouble in enumerate(visit.troubles):
        offers = []
        for question in trouble.raised:
            field = f"values.{dict(question.params).get('quantity', '')}"
            if question.key == SIGN and question.suggestion is not None and field in changes:
                figure = dict(question.params)["suggestion"].replace("-", "\N{MINUS SIGN}")
                value = f"{field}|{changes[field].strip()}|{plain(question.suggestion)}"
                offers.append((value, say("web.take_offer", value=figure)))
        visit.troubles[place] = replace(trouble, offers=tuple(offers))


def put_right(visit: Visit) -> Response:
    """Keep a correction."""
    found = find(visit, visit.path["id"])
    if found is None:
        return PlainTextResponse(say("web.entry.none"), 404)
    changes = changes_of(visit, fields_of(found.desk, found.fact))
    done = visit.do(
        correct,
        field="changes",
        key=visit.typed.get("key"),
        treatment=found.treatment,
        of=found.fact.id,
        changes=changes,
        reason=visit.typed.get("reason", ""),
        sure=visit.sure,
    )
    _offer_signs(visit, changes)
    return (
        _page(visit, found)
        if done is None
        else visit.go(f"/entry/{done.entries[0]}", kept=f"entry-{found.fact.id}")
    )


def take_back(visit: Visit) -> Response:
    """Take an entry back."""
    found = find(visit, visit.path["id"])
    if found is None:
        return PlainTextResponse(say("web.entry.none"), 404)
    done = visit.do(
        withdraw,
        field="back",
        key=visit.typed.get("key"),
        treatment=found.treatment,
        of=found.fact.id,
        reason=visit.typed.get("reason", ""),
    )
    return (
        _page(visit, found)
        if done is None
        else visit.go(f"/entry/{found.fact.id}", kept=f"back-{found.fact.id}")
    )


WAYS = (
    Way("GET", "/entry/{id}", show, ALL),
    Way("POST", "/entry/{id}", put_right, HOME),
    Way("POST", "/entry/{id}/back", take_back, HOME),
)
