"""Deeds of bloods: results, the clinic's targets, collected urine, the dialyser's leaflet, the body."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.errors import InputError
from ebbwell.deeds.bloods_now import call_finding
from ebbwell.deeds.bloods_odd import (
    ask_about_dialyser,
    ask_about_result,
    ask_about_target,
    ask_about_urine,
)
from ebbwell.deeds.bloods_typed import (
    read_body_figures,
    read_dialyser_figures,
    read_result,
    read_target,
    read_urine,
)
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water import keep
from ebbwell.deeds.water_typed import Form
from ebbwell.journal.kinds import Body
from ebbwell.rulebook.substances import substance
from ebbwell.state.bloods import as_date, blood_results, crossed, figure_of, figures_of
from ebbwell.state.facts import Fact


def enter_bloods(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Enter what the laboratory found in one sample; fields as ``read_result`` names them.

    instead_of: the result that it takes the place of. Refuses what can't be read, naming the field; asks about figures
    that are odd, and keeps them as typed. A figure past a line for a call is kept, and stays open until the unit's word.
    """
    body, form = read_result(desk, typed)
    if not form.wrong:
        ask_about_result(form, desk, body, frozenset(instead_of))
    entry = keep(desk, body, form, sure, instead_of)
    if body.drawn == "after":
        return
    others = [view for view in blood_results(desk.standing) if view.fact.id not in instead_of]
    on = as_date(body.sampled_on)
    earlier = [view for view in others if view.on is not None and on is not None and view.on < on]
    for line in body.lines:
        figure = figure_of(line)
        if figure is None:
            continue
        row = figures_of(earlier, line.substance, at_end=False)
        past = crossed(substance(line.substance), figure, row[0][1] if row else None)
        if past is not None:
            desk.findings.append(call_finding(body, substance(line.substance), figure, *past, entry=entry))


def set_target(desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = ()) -> None:
    """Enter what the clinic wants a substance to lie between before a night, in the place of what stood there.

    Fields as ``read_target`` names them; ``take_off`` takes it away again. Refuses what can't be read, what stands there
    already, and taking off what isn't there; asks about a figure far from all usual ones.
    """
    body, form = read_target(desk, typed)
    if not form.wrong:
        ask_about_target(form, body)
    older = [f for f in desk.standing.of(body.KIND) if getattr(f.body, "substance", "") == body.substance]
    if not form.wrong and not body.low and not body.high and not older:
        form.wrong["take_off"] = InputError("bloods.no_target")
    _in_place(desk, body, form, sure, older)


def enter_urine(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Enter a timed collection of urine; fields as ``read_urine`` names them.

    Refuses what can't be read, naming the field; asks about a time or a volume that is far from usual.
    """
    body, form = read_urine(desk, typed)
    if not form.wrong:
        ask_about_urine(form, body)
    keep(desk, body, form, sure, instead_of)


def set_dialyser_figures(desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = ()) -> None:
    """Enter what a dialyser's leaflet says it clears, in the place of what stood there for a dialyser of that name.

    Fields as ``read_dialyser_figures`` names them. Refuses a clearance over a flow that it was measured at, and what
    stands there already; asks where a larger substance is cleared better than a smaller one.
    """
    body, form = read_dialyser_figures(desk, typed)
    if not form.wrong:
        ask_about_dialyser(form, body)
    name = body.dialyser.casefold()
    older = [
        f for f in desk.standing.of(body.KIND) if getattr(f.body, "dialyser", "").strip().casefold() == name
    ]
    _in_place(desk, body, form, sure, older)


def set_body_figures(desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = ()) -> None:
    """Enter height, year of birth, and whose formula of body water is used, in the place of what stood there.

    Fields as ``read_body_figures`` names them. Refuses what can't be read, and what stands there already.
    """
    body, form = read_body_figures(desk, typed)
    _in_place(desk, body, form, sure, list(desk.standing.of(body.KIND)))


def _in_place(desk: Desk, body: Body, form: Form, sure: tuple[str, ...], older: list[Fact]) -> None:
    """Keep a body in the place of every one that stood for the same thing."""
    form.done()
    if len(older) == 1 and older[0].body == body:
        raise InputError("bloods.same")
    keep(desk, body, form, sure, tuple(fact.id for fact in older))
