"""The working of a figure, one tap from wherever it is shown."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlencode

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.core.worked import Worked
from ebbwell.plan.clock_times import local_text
from ebbwell.procedure.evidence import plan_void
from ebbwell.science import catalogue
from ebbwell.web.pages.plan import expected as exp
from ebbwell.web.pages.plan.page import OVER, agreed
from ebbwell.web.pages.plan.rows import why_not
from ebbwell.web.pages.work.inputs import Given, figure_name, given_rows, ordered_row, start_row
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


def working(visit: Visit, name: str) -> tuple[Worked, exp.Expected, Mapping[str, str]]:
    """A formula worked out with tonight's values; inputs that aren't known stay so. Raises UnknownFormula."""
    desk = visit.desk
    expected, figures = basis(visit)
    catalogue.formula_named(name)
    order = desk.scene.order
    line = None
    if order is not None and not order.waiting and desk.phase not in OVER:
        line = expected.worked(desk).line(name)
    if line is None:
        line = catalogue.work(name, {})
    return line, expected, figures


def show(visit: Visit) -> Response:
    """One figure with its working."""
    name = ALIASES.get(visit.path["name"], visit.path["name"])
    if name in TIMES:
        return _time(visit, name)
    if name not in catalogue.names():
        return visit.show("pages/work/unknown.html", status=404)
    worked, expected, figures = working(visit, name)
    formula = catalogue.formula_named(name)
    source = visit.desk.rulebook.source(worked.source)
    return visit.show(
        "pages/work/page.html",
        name=name,
        title=figure_name(name),
        formula=worked.formula,
        rows=given_rows(visit.desk, worked, expected, _query(visit)),
        value=catalogue.shown(worked) if worked.value is not None else "",
        why="" if worked.value is not None else why_not(worked),
        rounding=say(f"web.work.rounding.{formula.rounding}", places=formula.places)
        if worked.value is not None
        else "",
        agreed=figures.get(name, ""),
        void=_void(visit),
        source=source,
        others=others(visit, expected, name),
        query=_query(visit),
    )


def _void(visit: Visit) -> bool:
    """Whether tonight's plan no longer holds, so that none of its figures counts."""
    held = agreed(visit.desk)
    return held is not None and bool(plan_void(visit.desk.scene, held[1]))


def _query(visit: Visit) -> str:
    kept = {name: text for name, text in visit.query.items() if name in (*exp.AMOUNTS, "start", "start_at")}
    return f"?{urlencode(kept)}" if kept else ""


def others(visit: Visit, expected: exp.Expected, name: str = "") -> list[tuple[str, str, str]]:
    """The other figures of tonight: name, label, value or that it isn't known."""
    desk = visit.desk
    order = desk.scene.order
    if order is None or order.waiting or desk.phase in OVER:
        return []
    worked = expected.worked(desk)
    known = set(catalogue.names())
    lines = [worked.line(line.name) or line for line in worked.tonight.lines if line.name in known]
    found = [(line.name, figure_name(line.name), _text(line)) for line in lines if line.name != name]
    figures = worked.tonight.figures()
    return found + [
        (time, figure_name(time), figures[time]) for time in TIMES if time in figures and time != name
    ]


def _text(line: Worked) -> str:
    return catalogue.shown(line) if line.value is not None else say("web.work.not_known")


def _time(visit: Visit, name: str) -> Response:
    desk = visit.desk
    expected, figures = basis(visit)
    order = desk.scene.order
    value = ""
    if order is not None and not order.waiting and desk.phase not in OVER:
        tonight = expected.worked(desk).tonight
        at = tonight.finish_at if name == "finish_at" else tonight.heparin_stop_at
        if at is not None and tonight.start_at is not None:
            value = local_text(at, tonight.zone, beside=tonight.start_at)
    rows: list[Given] = [start_row(desk, expected), *(ordered_row(desk, line) for line in TIMES[name])]
    return visit.show(
        "pages/work/page.html",
        name=name,
        title=figure_name(name),
        formula=say(f"web.work.formula.{name}"),
        rows=rows,
        value=value,
        why="" if value else say("web.work.time_missing"),
        rounding=say("web.work.in_utc") if value else "",
        agreed=figures.get(name, ""),
        void=_void(visit),
        source=desk.rulebook.source("arithmetic"),
        others=others(visit, expected, name),
        query=_query(visit),
    )


def index(visit: Visit) -> Response:
    """Every figure of tonight with its value, then every other sum in the program."""
    expected, _ = basis(visit)
    tonight = others(visit, expected)
    named = {name for name, _, _ in tonight}
    rest = [(f.name, say(f.meaning), f.unit) for f in catalogue.formulas() if f.name not in named]
    return visit.show("pages/work/index.html", tonight=tonight, rest=rest, query=_query(visit))


WAYS = (Way("GET", "/work", index, ALL), Way("GET", "/work/{name}", show, ALL))
