"""Labels of acid and bicarbonate: the list, a new reading, and the second reading with the first one hidden."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds.labels import IONS, POWDER, SALTS, check_label, read_bicarbonate, read_label
from ebbwell.deeds.meters import CORRECTS, set_meter
from ebbwell.journal.kinds.fluid import ACID, ConcentrateLabel
from ebbwell.papers.describe import describe
from ebbwell.state.labels import Label, labels
from ebbwell.state.meters import PLACES, meter_of
from ebbwell.state.standing import people
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

SAME_PERSON = "reread"
BICARBONATE = "bicarbonate"
METER = "meter"


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
        salts=SALTS,
        with_salts=_with_salts(visit),
        troubled=_troubled(visit) if visit.troubles else "",
        meters=[_meter_words(visit, place) for place in PLACES],
        places=PLACES,
        corrects=CORRECTS,
        may_act=bool(visit.roles & HOME),
    )


def _shown(label: Label) -> Shown:
    if not label.goes_by:
        return Shown(say("web.labels.waits", code=label.code), label.facts[-1].id, label.differs)
    return Shown(label_words(label.body), "", False)


def label_words(body: ConcentrateLabel) -> str:
    """What a label says, in its own order: ``sodium 137 mmol/L``."""
    if body.what != ACID:
        words = say(f"web.labels.stands_{body.what}", code=body.code, grams=body.grams.get(POWDER, ""))
        return f"{words} {say('said.concentrate_made_for', parts=body.parts)}" if body.parts else words
    ions = ", ".join(f"{say(f'label.{name}')} {body.ions[name]} mmol/L" for name in IONS if name in body.ions)
    words = say("web.labels.stands", code=body.code, parts=body.parts, ions=ions)
    salts = ", ".join(
        f"{say(f'label.{name}')} {body.grams[name]} g/L" for name in SALTS if name in body.grams
    )
    return f"{words}. {say('said.concentrate_grams', salts=salts)}" if salts else words


def _troubled(visit: Visit) -> str:
    """Whose form couldn't be kept."""
    return BICARBONATE if "b.code" in visit.typed else METER if "m.reference" in visit.typed else ACID


def _meter_words(visit: Visit, place: str) -> str:
    meter = meter_of(visit.desk.standing, place)
    if meter is None:
        return say("web.labels.meter_not_known", meter=say(f"fluid.meter.{place}"))
    return describe(meter)


def _with_salts(visit: Visit) -> bool:
    return any(visit.typed.get(f"salt.{name}", "").strip() for name in SALTS)


def _typed_salts(visit: Visit) -> dict[str, str]:
    return {name: visit.typed.get(f"salt.{name}", "") for name in SALTS}


def take(visit: Visit) -> Response:
    """Keep a label of an acid as read."""
    sure = tuple(visit.many.get("sure", ())) if visit.typed.get("as_typed") else ()
    done = visit.do(
        read_label,
        field="label",
        key=visit.typed.get("key"),
        code=visit.typed.get("code", ""),
        parts=visit.typed.get("parts", ""),
        ions={name: visit.typed.get(f"ion.{name}", "") for name in IONS},
        grams=_typed_salts(visit),
        sure=sure,
    )
    return show(visit) if done is None else visit.go("/labels", kept="label")


def take_bicarbonate(visit: Visit) -> Response:
    """Keep a label of bicarbonate as read."""
    done = visit.do(
        read_bicarbonate,
        field=BICARBONATE,
        key=visit.typed.get("key"),
        **{name: visit.typed.get(f"b.{name}", "") for name in ("code", "form", "grams", "parts")},
    )
    return show(visit) if done is None else visit.go("/labels", kept="label")


def take_meter(visit: Visit) -> Response:
    """Keep how a meter corrects for temperature."""
    done = visit.do(
        set_meter,
        field=METER,
        key=visit.typed.get("key"),
        **{
            name: visit.typed.get(f"m.{name}", "")
            for name in ("place", "corrects", "reference", "coefficient")
        },
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
        salts=SALTS,
        with_salts=_with_salts(visit),
        form=label.body.what,
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
            field="label" if label.acid else BICARBONATE,
            key=visit.typed.get("key"),
            of=label.facts[-1].id,
            parts=visit.typed.get("parts" if label.acid else "b.parts", ""),
            ions={name: visit.typed.get(f"ion.{name}", "") for name in IONS},
            grams=_typed_salts(visit) if label.acid else {POWDER: visit.typed.get("b.grams", "")},
            how=how,
        )
    finally:
        visit.who = at_screen
        visit.look_again()
    return show_check(visit) if done is None else visit.go("/labels", kept=f"label-{label.facts[-1].id}")


WAYS = (
    Way("GET", "/labels", show, ALL),
    Way("POST", "/labels", take, HOME),
    Way("POST", "/labels/bicarbonate", take_bicarbonate, HOME),
    Way("POST", "/labels/meter", take_meter, HOME),
    Way("GET", "/labels/{id}", show_check, HOME),
    Way("POST", "/labels/{id}", take_check, HOME),
)
