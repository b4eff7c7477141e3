"""The steps in the household's own words and order; what each asks for, its limits and how long it holds stay."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import has_text, say
from ebbwell.deeds import steps as deeds
from ebbwell.deeds.desk import Desk
from ebbwell.papers.misfit import misfit_words
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import given_words, item_words, place_words, span
from ebbwell.procedure.load import shipped_names
from ebbwell.procedure.model import Evidence, Procedure, ProcedureRefused, Step
from ebbwell.procedure.own import PARTS, chosen, own_procedure, shipped_for
from ebbwell.state.standing import adopted_steps
from ebbwell.web.visit import ALL, Page, Visit, Way

WRITERS = frozenset({"carer", "dialysis"})
"""Who words the steps: the people who do them at home, by name."""

SET_UP = frozenset({"questions", "setup", "before_needles", "needles"})
"""Stages whose bundles can be put in another order. The morning's order is by what the blood needs."""


@dataclass(frozen=True)
class Steps:
    """The steps that the next night goes by. text: of them. own: whether the household has a text.

    trouble: why its text isn't gone by, where it asks for less than the program's steps do; "" else.
    """

    procedure: Procedure
    text: str
    own: bool
    trouble: str = ""


@dataclass(frozen=True)
class Bundle:
    """Steps that share a screen. place: its place in the set-up, from 1; "" where it can't be moved."""

    name: str
    words: str
    shipped: str
    steps: tuple[Step, ...]
    place: str


def steps_of(desk: Desk) -> Steps:
    """The steps as they stand for the next night."""
    text = adopted_steps(desk.standing)
    shipped = shipped_for(text)
    if chosen(text):
        return Steps(shipped, shipped.text, own=False)
    try:
        return Steps(own_procedure(text), text, own=True)
    except ProcedureRefused as why:
        return Steps(shipped, text, own=True, trouble=error_words(why))


def bundles_of(procedure: Procedure) -> tuple[Bundle, ...]:
    """Bundles in the order of the steps; a step that has a screen for itself is a bundle without a name."""
    groups: dict[str, list[Step]] = {}
    for step in procedure.steps:
        groups.setdefault(step.bundle or f"-{step.id}", []).append(step)
    movable = [name for name, held in groups.items() if not name.startswith("-") and held[0].stage in SET_UP]
    return tuple(
        Bundle(
            name="" if name.startswith("-") else name,
            words="" if name.startswith("-") else procedure.say(f"bundle.{name}"),
            shipped=say(f"bundle.{name}") if has_text(f"bundle.{name}") else "",
            steps=tuple(held),
            place=str(movable.index(name) + 1) if name in movable else "",
        )
        for name, held in groups.items()
    )


def asked_for(procedure: Procedure, step: Step) -> tuple[str, ...]:
    """What a step asks for, one line each, as it can't be changed here."""
    lines = [_evidence(procedure, evidence) for evidence in step.evidence]
    if step.second != "none":
        lines.append(say(f"web.steps.second.{'blind' if step.second == 'blind' else 'twice'}"))
    if step.valid is not None:
        lines.append(say("web.steps.holds_for", length=span(step.valid)))
    return tuple(lines)


def _evidence(procedure: Procedure, evidence: Evidence) -> str:
    form, name = evidence.form, evidence.name
    if evidence.length is not None:
        return say("web.steps.wait", length=span(evidence.length))
    if form in ("answer", "choice"):
        return procedure.say(f"{'ask' if form == 'answer' else 'choice'}.{name}")
    if form == "measured":
        return place_words(name, evidence.place)
    if form == "setting":
        return place_words(name, "setting")
    if form == "lot":
        return say("web.steps.lot", item=item_words(name))
    if form == "given":
        return given_words(name)
    return say(f"web.steps.form.{form}")


def may_write(visit: Visit) -> bool:
    """Whether who is here may word the steps."""
    return bool(visit.roles & WRITERS)


def show(visit: Visit) -> Response:
    """Every bundle and step, the order of the set-up, and the names of the bundles."""
    held = steps_of(visit.desk)
    bundles = bundles_of(held.procedure)
    return visit.show(
        "pages/steps/page.html",
        held=held,
        bundles=bundles,
        movable=[bundle for bundle in bundles if bundle.place],
        named=[bundle for bundle in bundles if bundle.name],
        may_act=may_write(visit),
        methods=[name for name in shipped_names() if name != held.procedure.id],
        misfits=_misfits(visit.desk, held.procedure),
    )


def _misfits(desk: Desk, procedure: Procedure) -> list[str]:
    """What the order says that the steps of the next night aren't written for."""
    order = desk.scene.order
    return misfit_words(procedure, order.lines) if order is not None else []


def choose(visit: Visit) -> Response:
    """Go by another of the procedures that come with the program."""
    done = visit.do(
        deeds.choose_steps, field="method", key=visit.typed.get("key"), name=visit.typed.get("method", "")
    )
    return show(visit) if done is None else visit.go("/steps", kept="steps-method")


def keep_order(visit: Visit) -> Response:
    """Keep the bundles of the set-up in the order of their places."""
    movable = [b for b in bundles_of(steps_of(visit.desk).procedure) if b.place]
    places = {str(place + 1): place for place in range(len(movable))}
    rank = {b.name: places.get(visit.typed.get(f"place.{b.name}", b.place), len(places)) for b in movable}
    wanted = sorted((b.name for b in movable), key=lambda name: rank[name])
    if wanted == [b.name for b in movable]:
        return visit.go("/steps", kept="steps-order")
    done = visit.do(deeds.order_bundles, field="order", key=visit.typed.get("key"), bundles=tuple(wanted))
    return show(visit) if done is None else visit.go("/steps", kept="steps-order")


def keep_names(visit: Visit) -> Response:
    """Keep the household's own names of bundles; an empty one takes the program's again."""
    procedure = steps_of(visit.desk).procedure
    keys = [f"bundle.{bundle.name}" for bundle in bundles_of(procedure) if bundle.name]
    return _reword(visit, keys, procedure, show, "/steps", "steps-names")


def show_one(visit: Visit) -> Response:
    """One step: what it asks for, and its words."""
    held = steps_of(visit.desk)
    procedure, name = held.procedure, visit.path["step"]
    if not procedure.has(name):
        return PlainTextResponse(say("web.steps.none"), 404)
    keys = {part: f"step.{name}.{part}" for part in PARTS}
    step = procedure.step(name)
    return visit.show(
        "pages/steps/one.html",
        step=step,
        does=procedure.say(keys["do"]),
        asks=asked_for(procedure, step),
        parts=[
            (part, key, procedure.words.get(key, ""), say(key) if has_text(key) else "")
            for part, key in keys.items()
        ],
        may_act=may_write(visit),
    )


def keep_one(visit: Visit) -> Response:
    """Keep the household's own words of a step; empty ones take the program's again."""
    procedure, name = steps_of(visit.desk).procedure, visit.path["step"]
    if not procedure.has(name):
        return PlainTextResponse(say("web.steps.none"), 404)
    keys = [f"step.{name}.{part}" for part in PARTS]
    return _reword(visit, keys, procedure, show_one, f"/steps/{name}", f"steps-{name}")


def _reword(
    visit: Visit, keys: list[str], procedure: Procedure, again: Page, address: str, draft: str
) -> Response:
    """Keep what differs from the words as they stand; nothing is written where nothing does."""
    typed = {key: " ".join(visit.typed[key].split()) for key in keys if key in visit.typed}
    words = {key: text for key, text in typed.items() if text != procedure.words.get(key, "")}
    if not words:
        return visit.go(address, kept=draft)
    done = visit.do(deeds.reword_steps, field="words", key=visit.typed.get("key"), words=words)
    return again(visit) if done is None else visit.go(address, kept=draft)


def show_text(visit: Visit) -> Response:
    """The whole text of the steps, to copy, to add to, and to go back from."""
    held = steps_of(visit.desk)
    return visit.show("pages/steps/text.html", held=held, may_act=may_write(visit))


def keep_text(visit: Visit) -> Response:
    """Take a whole text, or go back to the program's steps. A text that asks for less is refused."""
    back = visit.typed.get("back") == "yes"
    text = "" if back else visit.typed.get("text", "").replace("\r\n", "\n").replace("\r", "\n")
    if not back and not text.strip():
        return visit.go("/steps/text")
    done = visit.do(deeds.adopt_steps, field="text", key=visit.typed.get("key"), text=text)
    return show_text(visit) if done is None else visit.go("/steps", kept="steps-text")


WAYS = (
    Way("GET", "/steps", show, ALL),
    Way("POST", "/steps/method", choose, WRITERS),
    Way("POST", "/steps/order", keep_order, WRITERS),
    Way("POST", "/steps/names", keep_names, WRITERS),
    Way("GET", "/steps/text", show_text, ALL),
    Way("POST", "/steps/text", keep_text, WRITERS),
    Way("GET", "/steps/{step}", show_one, ALL),
    Way("POST", "/steps/{step}", keep_one, WRITERS),
)
