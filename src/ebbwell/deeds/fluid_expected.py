"""The fluid to expect tonight, gathered from the order in force and the label of its acid concentrate."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.worked import Input, Worked
from ebbwell.deeds.desk import Desk
from ebbwell.plan.fluid import ORDERED, FluidExpected, expect_fluid
from ebbwell.science.catalogue import work
from ebbwell.state.facts import agreed_measure
from ebbwell.state.labels import Label, label_of


def ordered_label(desk: Desk) -> tuple[str, Label | None]:
    """The code of the acid concentrate on the order, "" without one, and its label; None where none was read."""
    order = desk.scene.order
    code = order.lines.get("acid_code", "") if order is not None else ""
    return code, label_of(desk.standing, code) if code else None


def expected_fluid(desk: Desk) -> FluidExpected | None:
    """What the fluid should be; None without an order, or without a label that was read twice.

    Dilutions are held together by themselves, see ``deeds.families``.
    """
    order = desk.scene.order
    _, label = ordered_label(desk)
    if order is None or order.waiting or label is None or not label.goes_by:
        return None
    ordered = {
        name: Input(name, Decimal(order.lines[name]), desk.rulebook.line(name).unit, order.from_entry[name])
        for name in (*ORDERED, "fluid_temperature")
        if order.lines.get(name)
    }
    source = label.facts[-1].id
    on_label = {name: Input(name, Decimal(text), "mmol/L", source) for name, text in label.body.ions.items()}
    for name in ("potassium", "calcium") if label.body.grams else ():
        on_label[name] = _to_places(on_label[name], desk.rulebook.line(name).places)
    return expect_fluid(ordered, on_label, ordered.get("fluid_temperature"))


def _to_places(value: Input, places: int) -> Input:
    """What was worked out from grams, with the digits that an order has, so that the two can be held together."""
    exact = value.value or Decimal(0)
    return Input(
        value.name, exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP), value.unit, value.entry
    )


@dataclass(frozen=True)
class Powder:
    """The ordered dry bicarbonate by its label. makes: litres of fluid at the ordered bicarbonate as mixed, if all of it
    dissolves; lasts: hours of that, at the ordered flow. over: grams as measured tonight that are more than it holds.
    """

    label: Label
    grams: Input
    mixed: Input
    makes: Worked
    lasts: Worked
    over: Decimal | None


def ordered_powder(desk: Desk) -> Label | None:
    """The label of the bicarbonate on the order; None where none was read."""
    order = desk.scene.order
    code = order.lines.get("bicarbonate_code", "") if order is not None else ""
    return label_of(desk.standing, code, bicarbonate=True) if code else None


def expected_powder(desk: Desk) -> Powder | None:
    """What the dry bicarbonate gives; None without an order in force, or a label of a dry one that was read twice.

    Source: arithmetic (fluids 2.2).
    """
    order, label = desk.scene.order, ordered_powder(desk)
    if order is None or order.waiting or label is None or not label.goes_by or not label.body.grams:
        return None
    lines = {name: order.lines.get(name, "") for name in ("bicarbonate_mixed", "dialysate_flow")}
    if not all(lines.values()):
        return None
    mixed, flow = (
        Input(name, Decimal(text), desk.rulebook.line(name).unit, order.from_entry[name])
        for name, text in lines.items()
    )
    grams = Input("powder_g", Decimal(next(iter(label.body.grams.values()))), "g", label.facts[-1].id)
    rests = {"powder_g": grams, "bicarbonate_mixed_mmol_l": mixed}
    return Powder(
        label,
        grams,
        mixed,
        work("bicarbonate_powder_makes", rests),
        work("bicarbonate_runs_dry_after", {**rests, "dialysate_flow_ml_min": flow}),
        _over(desk, grams.value or Decimal(0)),
    )


def _over(desk: Desk, held: Decimal) -> Decimal | None:
    """Grams that were measured tonight, where a full container holds fewer."""
    facts = desk.treatment.at_slot("measured", "bicarbonate_powder", "") if desk.treatment_id else ()
    body = agreed_measure(facts)
    found = None if body is None else Decimal(body.value)
    return found if found is not None and found > held else None
