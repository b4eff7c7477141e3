"""The fluid to expect tonight, gathered from the order in force and the label of its acid concentrate."""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.worked import Input
from ebbwell.deeds.desk import Desk
from ebbwell.plan.fluid import ORDERED, FluidExpected, expect_fluid
from ebbwell.state.labels import Label, label_of


def ordered_label(desk: Desk) -> tuple[str, Label | None]:
    """The code of the acid concentrate on the order, "" without one, and its label; None where none was read."""
    order = desk.scene.order
    code = order.lines.get("acid_code", "") if order is not None else ""
    return code, label_of(desk.standing, code) if code else None


def expected_fluid(desk: Desk) -> FluidExpected | None:
    """What the fluid should be; None without an order, or without a label that was read twice."""
    order = desk.scene.order
    _, label = ordered_label(desk)
    if order is None or order.waiting or label is None or not label.goes_by:
        return None
    ordered = {
        name: Input(name, Decimal(order.lines[name]), desk.rulebook.line(name).unit, order.from_entry[name])
        for name in (*ORDERED, "acid_parts", "fluid_temperature")
        if order.lines.get(name)
    }
    source = label.facts[-1].id
    on_label = {name: Input(name, Decimal(text), "mmol/L", source) for name, text in label.body.ions.items()}
    on_label["acid_parts"] = Input("acid_parts", Decimal(label.body.parts), "parts", source)
    return expect_fluid(ordered, on_label, ordered.get("fluid_temperature"))
