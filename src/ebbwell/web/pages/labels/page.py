"""Labels of the acid concentrate: the list, a new reading, and the second reading with the first one hidden."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds.labels import IONS, check_label, read_label
from ebbwell.state.labels import Label, labels
from ebbwell.state.standing import people
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

SAME_PERSON = "reread"


@dataclass(frozen=True)
class Shown:
    """One label in words. waits: the entry to read again; till then its numbers stay hidden."""

    words: str
    waits: str
    differs: bool


def show(visit: Visit) -> Response:
    """Every label on record, and the form for one."""
    held = labels(visit.desk.standing)
    return visit.show(
        "pages/labels/page.html",
        held=[_shown(one) for one in held],
        ions=IONS,
        may_act=bool(visit.roles & HOME),
    )


def _shown(label: Label) -> Shown:
    if not label.goes_by:
        return Shown(say("web.labels.waits", code=label.code), label.facts[-1].id, label.differs)
    ions = ions_words(label.body.ions)
    return Shown(say("web.labels.stands", code=label.code, parts=label.body.parts, ions=ions), "", False)


def ions_words(ions: dict[str, str]) -> str:
    """Ions in the order of a label: ``sodium 137 mmol/L``."""
    return ", ".join(f"{say(f'label.{name}')} {ions[name]} mmol/L" for name in IONS if name in ions)


def take(visit: Visit) -> Response:
    """Keep a label as read."""
    sure = tuple(visit.many.get("sure", ())) if visit.typed.get("as_typed") else ()
    done = visit.do(
        read_label,
        field="label",
        key=visit.typed.get("key"),
        code=visit.typed.get("code", ""),
        parts=visit.typed.get("parts", ""),
        ions={name: visit.typed.get(f"ion.{name}", "") for name in IONS},
        sure=sure,
    )
    return show(visit) if done is None else visit.go("/labels", kept="label")


def _waiting(visit: Visit) -> Label | None:
    wanted = visit.path["id"]
    return next(
        (one for one in labels(visit.desk.standing) if one.facts[-1].id == wanted and not one.goes_by), None
    )


def _readers(visit: Visit, label: Label) -> list[tuple[str, str]]:
    known, first = people(visit.desk.standing), label.facts[-1].by
    others = [(id, one.name) for id, one in known.items() if id != first and set(one.roles) - {"clinic"}]
    name = known[first].name if first in known else say("web.plan.somebody")
    return [*others, (SAME_PERSON, say("web.labels.same", name=name))]


def show_check(visit: Visit) -> Response:
    """The second reading, every field empty."""
    label = _waiting(visit)
    if label is None:
        return visit.show("pages/labels/nothing.html", status=404 if not visit.troubles else 0)
    return visit.show(
        "pages/labels/check.html",
        code=label.code,
        id=label.facts[-1].id,
        ions=IONS,
        readers=_readers(visit, label),
        reader=visit.typed.get("reader", ""),
    )


def take_check(visit: Visit) -> Response:
    """Keep the second reading, in the name of who read, whether or not it is the same."""
    label = _waiting(visit)
    if label is None:
        return show_check(visit)
    reader = visit.typed.get("reader", "")
    if reader not in {id for id, _ in _readers(visit, label)}:
        visit.troubles.append(Trouble(say("web.labels.need_reader"), "reader"))
        return show_check(visit)
    at_screen, how = visit.who, "reread"
    if reader != SAME_PERSON:
        visit.who, how = reader, "person"
    try:
        done = visit.do(
            check_label,
            field="label",
            key=visit.typed.get("key"),
            of=label.facts[-1].id,
            parts=visit.typed.get("parts", ""),
            ions={name: visit.typed.get(f"ion.{name}", "") for name in IONS},
            how=how,
        )
    finally:
        visit.who = at_screen
        visit.look_again()
    return show_check(visit) if done is None else visit.go("/labels", kept=f"label-{label.facts[-1].id}")


WAYS = (
    Way("GET", "/labels", show, ALL),
    Way("POST", "/labels", take, HOME),
    Way("GET", "/labels/{id}", show_check, HOME),
    Way("POST", "/labels/{id}", take_check, HOME),
)
