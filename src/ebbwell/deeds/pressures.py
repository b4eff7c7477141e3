"""Deeds about pressures: how the machine forms the one across the membrane, and how far the true flow falls short."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.errors import InputError
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_typed import Form
from ebbwell.journal.kinds.pressures import FORMS, FlowShort, MembraneForm
from ebbwell.state.water import today


def _form(desk: Desk, typed: Mapping[str, str]) -> Form:
    return Form(typed, today(desk.now), labels="pressures.field.")


def read_form(desk: Desk, typed: Mapping[str, str]) -> tuple[MembraneForm, Form]:
    """The machine's way as typed: ``form``, ``machine``, ``words``."""
    form = _form(desk, typed)
    body = MembraneForm(form=form.pick("form", FORMS), machine=form.text("machine"), words=form.text("words"))
    return body, form


def set_form(desk: Desk, *, typed: Mapping[str, str]) -> None:
    """Say how the machine forms the pressure across the membrane, in the place of what stood there.

    Readings from here on carry it, and are held against nights of the same form and machine only. Refuses what can't be
    read, naming the field, and what stands there already. Source: fluids:P8, fluids 5.3.
    """
    body, form = read_form(desk, typed)
    form.done()
    _keep(desk, body)


def read_short(desk: Desk, typed: Mapping[str, str]) -> tuple[FlowShort, Form]:
    """The unit's measurement as typed: ``percent``, ``measured_by``, ``measured_on``, ``at_flow``, ``at_arterial``."""
    form = _form(desk, typed)
    arterial = form.number("at_arterial", "mmHg", "-300", "300", places=0)
    if arterial and not arterial.startswith("-") and arterial != "0":
        form.wrong["at_arterial"] = InputError(
            "pressures.minus", label=form.label("at_arterial"), typed=arterial, meant=f"-{arterial}"
        )
    body = FlowShort(
        percent=form.number("percent", "%", "0", "50", needed=True, places=1),
        measured_by=form.text("measured_by", needed=True),
        measured_on=form.day("measured_on"),
        at_flow=form.number("at_flow", "mL/min", "50", "600", places=0),
        at_arterial=arterial,
    )
    return body, form


def set_short(desk: Desk, *, typed: Mapping[str, str]) -> None:
    """Enter how far the true flow falls short of the pump, as the unit measured it, in the place of what stood there.

    Refuses what can't be read, naming the field, and what stands there already. Source: fluids:P6.
    """
    body, form = read_short(desk, typed)
    form.done()
    _keep(desk, body)


def _keep(desk: Desk, body: MembraneForm | FlowShort) -> None:
    older = desk.standing.of(body.KIND)
    if len(older) == 1 and older[0].body == body:
        raise InputError("pressures.same")
    desk.add(
        body,
        replaces=tuple(fact.id for fact in older),
        reason="set anew" if older else None,
        standing=True,
    )
