"""The working of a figure, one tap from wherever it is shown."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from urllib.parse import urlencode

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.core.worked import Worked
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import Draughted
from ebbwell.deeds.readings_due import planned_end
from ebbwell.papers.own_figures import own_text, unit_here
from ebbwell.plan.clock_times import after, local_text
from ebbwell.procedure.evidence import plan_void
from ebbwell.science import catalogue
from ebbwell.state.night import first_blood
from ebbwell.web.pages.plan import expected as exp
from ebbwell.web.pages.plan.page import OVER, agreed
from ebbwell.web.pages.plan.rows import why_not
from ebbwell.web.pages.work.inputs import begun_rows, figure_name, given_rows, ordered_row, start_row
from ebbwell.web.visit import ALL, Visit, Way

ALIASES = {"fluid_to_remove": "fits_tonight"}
"""Name of a machine setting to the figure that it is."""

TIMES = {
    "finish_at": ("treatment_minutes",),
    "heparin_stop_at": ("treatment_minutes", "heparin_stop_before_end"),
}
"""Clock times of the plan to the lines of the prescription that they are counted from."""


def basis(visit: Visit) -> tuple[exp.Expected, Mapping[str, str]]:
    """What was expected of tonight: from the address, else from the plan that holds. With the agreed figures, if any.

    Where there is neither, what was expected is not known.
    """
    desk = visit.desk
    if "drink" in visit.query:
        return exp.read(visit.query, desk), {}
    held = agreed(desk)
    if held is None or plan_void(desk.scene, held[1]):
        return exp.Expected({}), {}
    return exp.kept(held[1], desk), held[1].figures


def tonight(desk: Desk, expected: exp.Expected) -> Draughted | None:
    """Tonight's plan worked out; None without a night or an order in force."""
    order = desk.scene.order
    if order is None or order.waiting or desk.phase in OVER:
        return None
    return expected.worked(desk)


def show(visit: Visit) -> Response:
    """One figure with its working."""
    name = ALIASES.get(visit.path["name"], visit.path["name"])
    if name in TIMES:
        return _time(visit, name)
    if name not in catalogue.names():
        return visit.show("pages/work/unknown.html", status=404)
    expected, figures = basis(visit)
    plan = tonight(visit.desk, expected)
    worked = (plan.line(name) if plan is not None else None) or catalogue.work(name, {})
    formula = catalogue.formula_named(name)
    source = visit.desk.rulebook.source(worked.source)
    return visit.show(
        "pages/work/page.html",
        name=name,
        title=figure_name(name),
        formula=worked.formula,
        rows=given_rows(visit.desk, worked, expected, _query(visit)),
        value=own_text(catalogue.shown(worked)) if worked.value is not None else "",
        why="" if worked.value is not None else why_not(worked, plan),
        rounding=say(f"web.work.rounding.{formula.rounding}", places=formula.places)
        if worked.value is not None
        else "",
        agreed=own_text(figures.get(name, "")),
        void=_void(visit),
        source=source,
        others=others(plan, name),
        query=_query(visit),
    )


def _void(visit: Visit) -> bool:
    """Whether tonight's plan no longer holds, so that none of its figures counts."""
    held = agreed(visit.desk)
    return held is not None and bool(plan_void(visit.desk.scene, held[1]))


def _query(visit: Visit) -> str:
    kept = {name: text for name, text in visit.query.items() if name in (*exp.AMOUNTS, "start", "start_at")}
    return f"?{urlencode(kept)}" if kept else ""


def others(plan: Draughted | None, name: str = "") -> list[tuple[str, str, str]]:
    """The other figures of tonight: name, label, value or that it isn't known."""
    if plan is None:
        return []
    known = set(catalogue.names())
    lines = [plan.line(line.name) or line for line in plan.tonight.lines if line.name in known]
    found = [(line.name, figure_name(line.name), _text(line)) for line in lines if line.name != name]
    figures = plan.tonight.figures()
    return found + [
        (time, figure_name(time), figures[time]) for time in TIMES if time in figures and time != name
    ]


def _text(line: Worked) -> str:
    return own_text(catalogue.shown(line)) if line.value is not None else say("web.work.not_known")


def _time(visit: Visit, name: str) -> Response:
    """A clock time: once blood runs counted from first blood as it was, before that as it is expected."""
    desk = visit.desk
    expected, figures = basis(visit)
    plan = tonight(desk, expected)
    begun = first_blood(desk.treatment) if plan is not None else None
    value = _running(desk, name) if begun is not None else _expected(plan, name)
    first = begun_rows(desk, begun) if begun is not None else [start_row(desk, expected)]
    missing = plan is not None and begun is None and plan.tonight.start_at is None
    return visit.show(
        "pages/work/page.html",
        name=name,
        title=figure_name(name),
        formula=say(f"web.work.formula.{name}"),
        rows=[*first, *(ordered_row(desk, line) for line in TIMES[name])],
        value=value,
        why="" if value else say("web.work.time_missing" if missing else "outcome.missing"),
        rounding=say("web.work.in_utc") if value else "",
        agreed=figures.get(name, ""),
        void=_void(visit),
        source=desk.rulebook.source("arithmetic"),
        others=others(plan, name),
        query=_query(visit),
    )


def _expected(plan: Draughted | None, name: str) -> str:
    if plan is None or plan.tonight.start_at is None:
        return ""
    at = plan.tonight.finish_at if name == "finish_at" else plan.tonight.heparin_stop_at
    return local_text(at, plan.tonight.zone, beside=plan.tonight.start_at) if at is not None else ""


def _running(desk: Desk, name: str) -> str:
    """The same time of the night that runs, time off the machine added."""
    begun, end, order = first_blood(desk.treatment), planned_end(desk), desk.scene.order
    if begun is None or end is None or order is None:
        return ""
    if name == "heparin_stop_at":
        before = order.lines.get("heparin_stop_before_end", "")
        if order.lines.get("anticoagulant") != "heparin" or not before:
            return ""
        end = after(end, -Decimal(before))
    return local_text(end, desk.now.zone, beside=begun)


def index(visit: Visit) -> Response:
    """Every figure of tonight with its value, then every other sum in the program."""
    expected, _ = basis(visit)
    figures = others(tonight(visit.desk, expected))
    named = {name for name, _, _ in figures}
    rest = [(f.name, say(f.meaning), unit_here(f.unit)) for f in catalogue.formulas() if f.name not in named]
    return visit.show("pages/work/index.html", tonight=figures, rest=rest, query=_query(visit))


WAYS = (Way("GET", "/working", index, ALL), Way("GET", "/working/{name}", show, ALL))
