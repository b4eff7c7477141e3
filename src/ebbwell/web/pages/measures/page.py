"""In what the household weighs and measures: kilograms or pounds, Celsius or Fahrenheit, and blood sugar."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds.units import BETWEEN, choose_units
from ebbwell.papers.words import day
from ebbwell.rulebook.own_units import CHOICES
from ebbwell.state.facts import differ
from ebbwell.state.standing import people
from ebbwell.state.units import choices_of, chosen_units
from ebbwell.web.visit import ALL, Visit, Way

WRITERS = frozenset({"carer", "dialysis"})
"""Who may choose."""


@dataclass(frozen=True)
class Choosing:
    """One thing to choose for. options: unit and words; chosen: the one that holds; fields: what is typed in it."""

    name: str
    label: str
    fields: str
    options: tuple[tuple[str, str], ...]
    chosen: str


def show(visit: Visit) -> Response:
    """What is chosen, by whom, and the form."""
    desk = visit.desk
    held = choices_of(desk.standing)
    known = people(desk.standing)
    return visit.show(
        "pages/measures/page.html",
        choosing=_choosing(visit),
        held=[
            say(
                "web.measures.held",
                who=known[fact.by].name if fact.by in known else say("web.plan.somebody"),
                day=day(fact.at.astimezone(ZoneInfo(desk.now.zone)).date().isoformat()),
            )
            for fact in held
        ],
        two=differ(held),
        settle=held[0].id if held else "",
        may_act=bool(visit.roles & WRITERS) and desk.phase in BETWEEN,
        in_night=desk.phase not in BETWEEN,
    )


def _choosing(visit: Visit) -> list[Choosing]:
    chosen = dict(chosen_units(visit.desk.standing))
    out = []
    for name, units in CHOICES.items():
        options = [(unit, say(f"measure.{unit.replace('/', '_')}")) for unit in units]
        if name == "glucose":
            options.append(("", say("measure.none")))
        usual = "" if name == "glucose" else units[0]
        out.append(
            Choosing(
                name=name,
                label=say(f"web.measures.{name}"),
                fields=say(f"web.measures.{name}_fields"),
                options=tuple(options),
                chosen=visit.typed.get(name, chosen.get(name, usual)),
            )
        )
    return out


def keep(visit: Visit) -> Response:
    """Keep the choice."""
    done = visit.do(
        choose_units,
        field="weight",
        key=visit.typed.get("key"),
        **{name: visit.typed.get(name, "") for name in CHOICES},
    )
    return show(visit) if done is None else visit.go("/measures", kept="measures")


WAYS = (Way("GET", "/measures", show, ALL), Way("POST", "/measures", keep, WRITERS))
