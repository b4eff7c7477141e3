"""The limits: what each one is, who owns it, its bounds and source, what it does, and what the household set it to."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.limits import change_limit, disagreeing
from ebbwell.journal.kinds.house import HEARD, LimitChanged
from ebbwell.papers.limit_themes import themed
from ebbwell.papers.words import day, limit_value
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import Limit, Rulebook, Source
from ebbwell.rulebook.own_units import limit_unit
from ebbwell.state.limits import changes_of, own_values
from ebbwell.state.standing import people
from ebbwell.web.pages.limits.pressures import usual_rows
from ebbwell.web.pages.limits.water import water_places
from ebbwell.web.pages.prescription.lines import shown
from ebbwell.web.visit import ALL, Visit, Way

UNIT_LINES = (
    "removal_cap",
    "spread_nights",
    "venous_limit",
    "arterial_limit",
    "bleeding_call_minutes",
    "reading_schedule",
    "spread_rule",
)
"""Lines of the prescription by which the unit sets limits of its own."""


WRITERS = frozenset({"carer", "dialysis"})
"""Who may set a limit."""


@dataclass(frozen=True)
class Shown:
    """One limit as it is shown. grades: of the rules that use it, the hardest first. ours: the value in the program's
    own rulebook, where tonight's is another one. own: who set it, when and why; set_to: what it was set to, where
    tonight still goes by another figure; two: whether it was set to two figures apart."""

    id: str
    label: str
    value: str
    owner: str
    bounds: str
    stricter: str
    source: Source
    kind: str
    grades: tuple[str, ...]
    ours: str = ""
    own: tuple[str, ...] = ()
    set_to: str = ""
    two: bool = False
    moves: bool = False


def show(visit: Visit) -> Response:
    """All of them. Those of tonight's rulebook, which a night keeps from its beginning on."""
    desk = visit.desk
    book = desk.scene.rulebook
    order = desk.scene.order
    ours = {limit.id: limit for limit in load_rulebook().limits()}
    used: dict[str, set[str]] = {}
    for rule in book.rules():
        for limit in rule.limit:
            used.setdefault(limit, set()).add(rule.grade)
    unit = [
        (line, shown(desk.rulebook, line, order.lines[line]))
        for line in UNIT_LINES
        if order is not None and not order.waiting and line in order.lines
    ]
    return visit.show(
        "pages/limits/page.html",
        order=order,
        unit=unit,
        missing=[line for line in UNIT_LINES if order is None or line not in order.lines],
        themes=[
            (
                theme,
                [_shown(desk, book, limit, ours.get(limit.id), used.get(limit.id, set())) for limit in found],
            )
            for theme, found in themed(book)
        ],
        may_act=bool(visit.roles & WRITERS),
        water_places=water_places(desk.standing),
        usual=usual_rows(),
    )


def _own(desk: Desk, limit: Limit) -> tuple[str, ...]:
    """Each change that stands: what it was set to, by whom, when, why, and who allowed it."""
    return tuple(
        say(
            "web.limits.own",
            value=_with_unit(limit, body.value),
            who=_who(desk, fact.by),
            day=day(fact.at.astimezone(ZoneInfo(desk.now.zone)).date().isoformat()),
            reason=body.reason,
        )
        + (
            f" {say('said.limit_allowed', who=body.allowed_by, how=say(f'limit_how.{body.how}') if body.how else '')}"
            if body.allowed_by
            else ""
        )
        for fact in changes_of(desk.standing, limit.id)
        if isinstance(body := fact.body, LimitChanged)
    )


def _who(desk: Desk, person: str) -> str:
    known = people(desk.standing).get(person)
    return known.name if known is not None else say("web.plan.somebody")


def _shown(desk: Desk, book: Rulebook, limit: Limit, ours: Limit | None, used: set[str]) -> Shown:
    own = _own(desk, limit)
    value = own_values(desk.standing, book).get(limit.id)
    grades = sorted(used, key=("stop", "care", "note").index)
    fixed = limit.owner == "fixed"
    return Shown(
        id=limit.id,
        label=say(f"limit.{limit.id}"),
        value=_with_unit(limit, plain(limit.value)),
        owner=say(f"web.limits.owner.{limit.owner}"),
        bounds=""
        if fixed
        else say(
            "web.limits.bounds",
            lowest=_with_unit(limit, plain(limit.lowest)),
            highest=_with_unit(limit, plain(limit.highest)),
        ),
        stricter="" if fixed else say(f"web.limits.stricter.{limit.tighten}"),
        source=book.source(limit.source),
        kind=say(f"web.work.kind.{limit.mark.replace(' ', '_')}"),
        grades=tuple(say(f"web.limits.grade.{grade}") for grade in grades),
        ours=_with_unit(ours, plain(ours.value)) if ours is not None and ours.value != limit.value else "",
        own=own,
        set_to=_with_unit(limit, plain(value)) if value is not None and value != limit.value else "",
        two=limit.id in disagreeing(desk),
        moves=not fixed,
    )


def _with_unit(limit: Limit, number: str) -> str:
    """A number of a limit with its unit; pH stands before its number."""
    return f"pH {number}" if limit.unit == "pH" else limit_value(limit.id, number, limit.unit)


def show_one(visit: Visit) -> Response:
    """One limit, with the form to set it to another figure."""
    desk = visit.desk
    book = desk.scene.rulebook
    limit = next((one for one in book.limits() if one.id == visit.path["limit"]), None)
    if limit is None:
        return PlainTextResponse(say("limit.unknown", name=visit.path["limit"][:60]), 404)
    ours = next((one for one in load_rulebook().limits() if one.id == limit.id), None)
    used = {rule.grade for rule in book.rules() if limit.id in rule.limit}
    return visit.show(
        "pages/limits/one.html",
        l=_shown(desk, book, limit, ours, used),
        clinic=limit.owner == "clinic",
        unit=limit_unit(book, limit),
        heard=HEARD,
        may_act=bool(visit.roles & WRITERS),
    )


def keep_one(visit: Visit) -> Response:
    """Set a limit to another figure."""
    limit = visit.path["limit"]
    done = visit.do(
        change_limit,
        field="typed",
        key=visit.typed.get("key"),
        limit=limit,
        **{name: visit.typed.get(name, "") for name in ("typed", "again", "reason", "allowed_by", "how")},
    )
    return show_one(visit) if done is None else visit.go("/limits", kept=f"limit-{limit}")


WAYS = (
    Way("GET", "/limits", show, ALL),
    Way("GET", "/limits/{limit}", show_one, ALL),
    Way("POST", "/limits/{limit}", keep_one, WRITERS),
)
