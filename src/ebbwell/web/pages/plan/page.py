"""What to set tonight: worked out, shown with what the rules say first, then agreed."""

from __future__ import annotations

from datetime import datetime
from urllib.parse import urlencode

from starlette.responses import Response

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.orders import advise
from ebbwell.deeds.plan import PLAN_STEP, Draughted, advised, agree_plan
from ebbwell.deeds.weight_gain import gain_findings
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.orders import UNANSWERED, Plan
from ebbwell.papers.fluid_words import fluid_words
from ebbwell.papers.spoken import age, plain_words
from ebbwell.papers.standing_now import older_limits
from ebbwell.papers.words import clock, measured_words, named, step_words
from ebbwell.procedure.evidence import plan_void
from ebbwell.procedure.plan_limits import OLDER
from ebbwell.state.facts import Fact, differ
from ebbwell.state.night import Phase, first_blood
from ebbwell.state.standing import people
from ebbwell.web.pages.plan import expected as exp
from ebbwell.web.pages.plan.ahead import ahead_words
from ebbwell.web.pages.plan.apart import apart
from ebbwell.web.pages.plan.rows import Book, also_set, last_plan, to_have, to_set
from ebbwell.web.pages.plan.told import told, unit_word
from ebbwell.web.pages.prescription.lines import changed_by, shown
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

OVER = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)
DRAFT = "plan"


def agreed(desk: Desk) -> tuple[Fact, Plan] | None:
    """The plan of tonight that was agreed last, whether or not it still holds."""
    fact = desk.treatment.last("plan") if desk.treatment_id is not None else None
    return (fact, fact.body) if fact is not None and isinstance(fact.body, Plan) else None


def show(visit: Visit) -> Response:
    """The plan that was agreed; or, with figures to go by in the address, one to look at before agreeing."""
    desk = visit.desk
    held = agreed(desk)
    void = plan_void(desk.scene, held[1]) if held is not None else ""
    form = visit.typed or visit.query
    asked = bool(form.get("drink") is not None)
    expected: exp.Expected | None = None
    if asked:
        expected = exp.read(form, desk)
        known = {(t.field, t.words) for t in visit.troubles}
        visit.troubles += [t for t in expected.troubles if (t.field, t.words) not in known]
    elif held is not None and not void:
        expected = exp.kept(held[1], desk)
    ready = expected is not None and not expected.troubles and not (asked and _shut(desk))
    worked = _worked(desk, expected) if ready and expected is not None else None
    return _page(visit, held, void, asked, expected, worked)


def _worked(desk: Desk, expected: exp.Expected) -> Draughted | None:
    order = desk.scene.order
    if order is None or order.waiting or desk.phase in OVER:
        return None
    return expected.worked(desk)


def _page(
    visit: Visit,
    held: tuple[Fact, Plan] | None,
    void: str,
    asked: bool,
    expected: exp.Expected | None,
    worked: Draughted | None,
) -> Response:
    desk = visit.desk
    typed = _typed(expected, held, desk)
    figures = {} if worked is None else worked.figures if asked or held is None else held[1].figures
    book = None
    if worked is not None and expected is not None:
        book = Book(desk, worked, figures, expected, last_plan(visit.house, desk))
    return visit.show(
        "pages/plan/page.html",
        over=desk.phase in OVER,
        shut=_shut(desk),
        order=desk.scene.order,
        held=held[0] if held is not None else None,
        plans=[f.id for f in desk.treatment.of("plan")],
        void=plain_words(void) if void else "",
        asked=asked,
        apart=apart(desk),
        found=told(
            desk,
            (
                *(worked.findings if worked is not None else ()),
                *(gain_findings(desk) if desk.treatment_id is not None and desk.phase not in OVER else ()),
                *(() if asked else _older(desk, bool(void))),
            ),
        ),
        unit_word=unit_word(desk),
        barred=worked is not None and bool(worked.refused) and not advised(desk, PLAN_STEP),
        planned=worked is not None and _number(figures.get("fluid_to_remove", "")),
        rows=to_set(book) if book is not None else [],
        ahead=ahead_words(desk, worked) if book is not None and worked is not None else None,
        fluid=fluid_words(desk) if book is not None and "concentrates" in desk.procedure.plan_parts else None,
        also=also_set(book) if book is not None else [],
        have=to_have(book) if book is not None else [],
        changed=_changed(visit) if book is not None else [],
        last_day=book.last.day if book is not None and book.last is not None else "",
        digest=worked.digest if worked is not None else "",
        start_at=_iso(expected),
        typed=typed,
        by_unit=_not_weighed(desk),
        from_what=_from_what(desk),
        agreed_words=_agreed_words(visit, held),
        may_act=bool(visit.roles & HOME),
        running=first_blood(desk.treatment) is not None if desk.treatment_id is not None else False,
        query=_query(typed) if asked else "",
    )


def _typed(expected: exp.Expected | None, held: tuple[Fact, Plan] | None, desk: Desk) -> dict[str, str]:
    """What stands in the fields: as typed, else as expected in the plan before; nothing measured is ever filled in."""
    if expected is not None:
        return dict(expected.typed)
    if held is not None:
        return dict(exp.kept(held[1], desk).typed)
    return {}


def _query(typed: dict[str, str]) -> str:
    return urlencode({name: text for name, text in typed.items() if text})


def _number(text: str) -> bool:
    return text[:1].isdigit()


def _iso(expected: exp.Expected | None) -> str:
    return expected.start_at.isoformat() if expected is not None and expected.start_at is not None else ""


def _shut(desk: Desk) -> list[str]:
    """What comes before the plan, in words; nothing once its step is open."""
    if desk.phase is not Phase.SETTING_UP or PLAN_STEP not in desk.procedure.ids:
        return []
    return [step_words(desk.procedure, step) for step in desk.views[PLAN_STEP].waits_for]


def _changed(visit: Visit) -> list[str]:
    """Each line of the order that isn't as on the first paper: its value, from whom and for how long."""
    desk, order = visit.desk, visit.desk.scene.order
    if order is None or order.waiting:
        return []
    changed = [(line, changed_by(visit, order, line)) for line in order.lines]
    return [
        say(
            "web.plan.changed_line",
            line=named("line", line),
            now=shown(desk.rulebook, line, order.lines[line]),
            how=how,
        )
        for line, how in changed
        if how
    ]


def _not_weighed(desk: Desk) -> bool:
    """Whether it is on record that the person couldn't be weighed, so that the unit's figure is asked for."""
    weight = desk.treatment.at_slot("measured", "weight_before", "") if desk.treatment_id is not None else ()
    return any(isinstance(f.body, Measured) and f.body.not_measured for f in weight)


def _from_what(desk: Desk) -> str:
    """The weight that the sums rest on, with its time, age and who read it."""
    weight = desk.treatment.at_slot("measured", "weight_before", "") if desk.treatment_id is not None else ()
    order = desk.scene.order
    number = order.body.number if order is not None else ""
    if not weight:
        return say("web.plan.from_no_weight", number=number)
    if differ(weight):
        return say("web.plan.two_weights")
    fact = weight[-1]
    value = measured_words(fact.body) if isinstance(fact.body, Measured) else ""
    return say(
        "web.plan.from_weight",
        value=value,
        at=clock(fact.at, desk.now.zone),
        age=_age(desk, fact.at),
        number=number,
        who=_who(desk, fact.by),
    )


def _age(desk: Desk, at: datetime) -> str:
    return age(elapsed(at, desk.now.at).total_seconds() / 60)


def _who(desk: Desk, person: str) -> str:
    known = people(desk.standing).get(person)
    return known.name if known is not None else say("web.plan.somebody")


def _agreed_words(visit: Visit, held: tuple[Fact, Plan] | None) -> str:
    if held is None:
        return ""
    desk, fact = visit.desk, held[0]
    return say(
        "web.plan.agreed", at=clock(fact.at, desk.now.zone), age=_age(desk, fact.at), who=_who(desk, fact.by)
    )


def _older(desk: Desk, whole: bool) -> tuple[Finding, ...]:
    """Limits that became stricter since the plan was agreed; whole: with what they say of its lines."""
    return tuple(f for f in older_limits(desk) if whole or f.rule == OLDER)


def take(visit: Visit) -> Response:
    """Agree the plan as it was seen. Refused, it comes back with why."""
    expected = exp.read(visit.typed, visit.desk)
    if expected.troubles or not visit.typed.get("seen"):
        return show(visit)
    done = visit.do(
        agree_plan,
        key=visit.typed.get("key"),
        drink=visit.typed["drink"],
        saline=visit.typed["saline"],
        losses=visit.typed["losses"],
        start_at=exp.carried(visit.typed) or expected.start_at,
        removal_by_unit=visit.typed.get("removal_by_unit", ""),
        carer_leaves=expected.carer_leaves,
        instead_of=tuple(visit.many.get("instead_of", ())),
        seen=visit.typed["seen"],
    )
    return show(visit) if done is None else visit.go("/plan", kept=DRAFT)


def take_unit(visit: Visit) -> Response:
    """Write down what the unit said about a plan that a rule stops, and whether it allows it."""
    allows = visit.typed.get("allows", "")
    if allows not in ("yes", "no", *UNANSWERED):
        visit.troubles.append(Trouble(say("web.plan.unit.need_allows"), "allows"))
    for name, key in (("who", "enter.who_advised"), ("words", "enter.words")):
        if not visit.typed.get(name, "").strip() and allows not in UNANSWERED:
            visit.troubles.append(Trouble(say(key), name))
    if visit.troubles or visit.desk.phase in OVER:
        return show(visit)
    done = visit.do(
        advise,
        key=visit.typed.get("key"),
        who=visit.typed.get("who", ""),
        words=visit.typed.get("words", ""),
        about=(PLAN_STEP,),
        allows=allows == "yes",
        outcome=allows if allows in UNANSWERED else "said",
    )
    if done is None:
        return show(visit)
    return visit.go(
        f"/plan?{_query(_typed(exp.read(visit.typed, visit.desk), None, visit.desk))}", kept="plan-unit"
    )


WAYS = (
    Way("GET", "/plan", show, ALL),
    Way("POST", "/plan", take, HOME),
    Way("POST", "/plan/unit", take_unit, HOME),
)
