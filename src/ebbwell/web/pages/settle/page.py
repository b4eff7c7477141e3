"""Two entries that don't say the same about one thing: both shown, one picked, with the reason."""

from __future__ import annotations

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.record import settle
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.papers.describe import describe
from ebbwell.papers.words import kept_words, option_words, slot_words, unit_words
from ebbwell.procedure.two_readings import differing_checks, firsts_of
from ebbwell.state.facts import Fact
from ebbwell.state.standing import people
from ebbwell.web.pages.entry.page import Found, find
from ebbwell.web.visit import ALL, HOME, Visit, Way


def _held(visit: Visit) -> tuple[Found, str, tuple[Fact, ...]] | None:
    """The disagreement that an entry stands in: where, about what, and all that stand in it."""
    found = find(visit, visit.path["id"])
    if found is None:
        return None
    facts = found.desk.treatment if found.treatment is not None else found.desk.standing
    for check in differing_checks(found.desk.treatment):
        firsts = firsts_of(found.desk.treatment, check)
        if found.fact.id == check.id or (found.fact.id in firsts and not facts.disagreements()):
            held = tuple(f for f in map(facts.fact, (*firsts, check.id)) if f is not None)
            return found, _what_was_read(check), held
    for slot, held in facts.disagreements().items():
        if found.fact.id in {fact.id for fact in held}:
            return found, slot_words(".".join(filter(None, slot[1:])) or slot[0]), held
    return None


def _what_was_read(check: Fact) -> str:
    body = check.body
    names = [name for name in body.values if name != "photo"] if isinstance(body, SecondCheck) else []
    return ", ".join(slot_words(name.replace("@", ".")) for name in names)


def _says(fact: Fact, names: dict[str, str], desk: Desk) -> str:
    """What one of them says; of a second reading the values too."""
    body = fact.body
    if not isinstance(body, SecondCheck):
        return describe(body, names)
    known = {quantity.id: quantity for quantity in desk.rulebook.quantities()}
    read = []
    for name, value in body.values.items():
        quantity = name.partition("@")[0]
        if name == "photo":
            continue
        if quantity in known and value not in known[quantity].words:
            read.append(kept_words(quantity, value or "-", unit_words(quantity, desk.rulebook)).strip())
        else:
            read.append(option_words(quantity, value) if value else "-")
    return say("web.settle.second", values=", ".join(read))


def show(visit: Visit) -> Response:
    """What each of them says, who wrote it and when."""
    held = _held(visit)
    if held is None:
        return PlainTextResponse(say("web.settle.none"), 404)
    found, what, facts = held
    names = {person: one.name for person, one in people(found.desk.standing).items()}
    return visit.show(
        "pages/settle/page.html",
        what=what,
        held=[
            (
                fact,
                _says(fact, names, found.desk),
                names.get(fact.by, say("bedside") if fact.by == "bedside" else fact.by),
            )
            for fact in facts
        ],
        second=any(isinstance(fact.body, SecondCheck) for fact in facts),
        id=visit.path["id"],
        treatment=found.treatment,
        may_act=bool(visit.roles & HOME),
    )


def take(visit: Visit) -> Response:
    """Keep which one holds."""
    held = _held(visit)
    if held is None:
        return PlainTextResponse(say("web.settle.none"), 404)
    found, _, facts = held
    done = visit.do(
        settle,
        field="holds",
        key=visit.typed.get("key"),
        treatment=found.treatment,
        of=tuple(fact.id for fact in facts),
        holds=visit.typed.get("holds", ""),
        reason=visit.typed.get("reason", ""),
    )
    if done is None:
        return show(visit)
    return visit.go(f"/entry/{visit.typed.get('holds', '')}", kept=f"settle-{visit.path['id']}")


WAYS = (Way("GET", "/settle/{id}", show, ALL), Way("POST", "/settle/{id}", take, HOME))
