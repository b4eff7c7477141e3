"""What is read out on the phone, the unit's own words for first actions, and which fields a reading has here."""

from __future__ import annotations

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.deeds import texts as deeds
from ebbwell.journal.kinds.house import SITUATIONS, FirstAction
from ebbwell.papers.first_actions import emergency_lines, first_action_lines
from ebbwell.state.fields import READING_ORDER, field_order
from ebbwell.state.texts import emergency, texts_for
from ebbwell.web.visit import ALL, HOME, Visit, Way

MORE = ("transmembrane_pressure", "fluid_temperature", "body_temperature", "oxygen_saturation", "glucose")
"""Fields that a household may type besides the usual ones."""

NOT_TYPED = "-"
"""What stands for a field that isn't typed here."""


def show(visit: Visit) -> Response:
    """All of it as it stands."""
    desk = visit.desk
    return visit.show(
        "pages/texts/page.html",
        phone=emergency_lines(desk.standing),
        held=emergency(desk.standing),
        situations=[(name, first_action_lines(desk.standing, name, desk.now)) for name in SITUATIONS],
        fields=fields(visit),
        places=[NOT_TYPED, *map(str, range(1, len(fields(visit)) + 1))],
        may_act=bool(visit.roles & HOME),
    )


def fields(visit: Visit) -> list[tuple[str, str]]:
    """Every field that can be typed here, with its place: those in use in their order, then the others."""
    order = field_order(visit.desk.standing)
    known = {quantity.id for quantity in visit.desk.rulebook.quantities()}
    rest = [name for name in (*READING_ORDER, *MORE) if name in known and name not in order]
    return [
        *((name, str(place)) for place, name in enumerate(order, 1)),
        *((name, NOT_TYPED) for name in rest),
    ]


def keep_phone(visit: Visit) -> Response:
    """Keep number, address and the way to the door."""
    done = visit.do(
        deeds.enter_emergency_details,
        field="number",
        key=visit.typed.get("key"),
        number=visit.typed.get("number", ""),
        address=visit.typed.get("address", ""),
        how_to_find=visit.typed.get("how_to_find", ""),
        unit_number=visit.typed.get("unit_number", ""),
        unit_hours=visit.typed.get("unit_hours", ""),
        unit_other=visit.typed.get("unit_other", ""),
    )
    return show(visit) if done is None else visit.go("/texts", kept="phone")


def keep_fields(visit: Visit) -> Response:
    """Keep the fields with a place, in the order of their places."""
    placed = [
        (int(place), name)
        for name, _ in fields(visit)
        if (place := visit.typed.get(f"place.{name}", "")).isdecimal() and len(place) < 4
    ]
    done = visit.do(
        deeds.order_fields,
        field="fields",
        key=visit.typed.get("key"),
        fields=tuple(name for _, name in sorted(placed, key=lambda pair: pair[0])),
    )
    return show(visit) if done is None else visit.go("/texts", kept="fields")


def show_one(visit: Visit) -> Response:
    """One situation: the words as they stand, and the form for new ones."""
    situation = visit.path["situation"]
    if situation not in SITUATIONS:
        return PlainTextResponse(say("web.texts.none"), 404)
    desk = visit.desk
    held = [f.body for f in texts_for(desk.standing, situation) if isinstance(f.body, FirstAction)]
    return visit.show(
        "pages/texts/one.html",
        situation=situation,
        lines=first_action_lines(desk.standing, situation, desk.now),
        held=held[-1] if held else None,
        may_act=bool(visit.roles & HOME),
    )


def keep_one(visit: Visit) -> Response:
    """Keep the unit's words for a situation."""
    situation = visit.path["situation"]
    if situation not in SITUATIONS:
        return PlainTextResponse(say("web.texts.none"), 404)
    done = visit.do(
        deeds.write_first_action,
        field="words",
        key=visit.typed.get("key"),
        situation=situation,
        words=visit.typed.get("words", ""),
        signed_by=visit.typed.get("signed_by", ""),
        signed_on=visit.typed.get("signed_on", ""),
        valid_until=visit.typed.get("valid_until", ""),
    )
    return show_one(visit) if done is None else visit.go("/texts", kept=f"words-{situation}")


WAYS = (
    Way("GET", "/texts", show, ALL),
    Way("POST", "/texts/phone", keep_phone, HOME),
    Way("POST", "/texts/fields", keep_fields, HOME),
    Way("GET", "/texts/{situation}", show_one, ALL),
    Way("POST", "/texts/{situation}", keep_one, HOME),
)
