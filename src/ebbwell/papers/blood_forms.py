"""The forms about bloods: how each is read and kept, what it asks, and what stands in it before anybody types."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.deeds import bloods, bloods_typed
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bloods import (
    BloodLine,
    BloodResult,
    BloodTarget,
    BodyFigures,
    DialyserFigures,
    UrineCollected,
)
from ebbwell.papers import blood_asks as asks
from ebbwell.papers.water_forms import EntryForm
from ebbwell.rulebook.substances import load_substances
from ebbwell.state.bloods import last_units
from ebbwell.state.standing import order

FORMS: Mapping[str, EntryForm] = {
    "result": EntryForm("blood_result", bloods_typed.read_result, bloods.enter_bloods, asks.result),
    "target": EntryForm("blood_target", bloods_typed.read_target, bloods.set_target, asks.target),
    "urine": EntryForm("urine_collected", bloods_typed.read_urine, bloods.enter_urine, asks.urine),
    "dialyser": EntryForm(
        "dialyser_figures",
        bloods_typed.read_dialyser_figures,
        bloods.set_dialyser_figures,
        asks.dialyser,
    ),
    "body": EntryForm("body_figures", bloods_typed.read_body_figures, bloods.set_body_figures, asks.body),
}
"""Name in the address to its form."""

OUTRIGHT = frozenset({"target", "dialyser", "body"})
"""Forms that take the place of what stood there by themselves."""


HEADS: Mapping[str, tuple[str, ...]] = {
    "blood_result": (
        "sampled_on",
        "drawn",
        "night",
        "minutes_after",
        "slowed",
        "laboratory",
        "reported_on",
        "words",
    ),
    "blood_target": ("substance", "unit", "low", "high", "giver", "given_on", "words"),
    "urine_collected": ("ended_on", "hours", "taken", "volume_ml", "words"),
    "dialyser_figures": ("dialyser", "blood_flow", "fluid_flow", "removal", "stands_in", "words"),
    "body_figures": ("height_cm", "born", "water_by"),
}
"""Kind to the fields of its form that stand in the entry under the same name."""


def first_values(desk: Desk, form: EntryForm, instead: str = "") -> dict[str, str]:
    """What stands in a form before anybody types: units as they last came, the order's dialyser, or an entry.

    instead: the entry that is typed again. A substance that has only ever one unit has it.
    """
    fact = next((f for f in desk.standing.of(form.kind) if f.id == instead), None)
    body = fact.body if fact is not None else None
    if body is None and form.kind == BodyFigures.KIND:
        held = desk.standing.of(BodyFigures.KIND)
        body = held[0].body if len(held) == 1 else None
    units = _first_units(desk) if form.kind == BloodResult.KIND else {}
    if isinstance(body, BloodResult):
        return {**units, **_held(body, HEADS["blood_result"]), **_lines(body.lines)}
    if isinstance(body, UrineCollected):
        return {**_held(body, HEADS["urine_collected"]), **_lines(body.lines)}
    if isinstance(body, BloodTarget):
        return _held(body, HEADS["blood_target"])
    if isinstance(body, DialyserFigures):
        cleared = {f"clearance.{name}": value for name, value in body.clearances.items()}
        return {**_held(body, HEADS["dialyser_figures"]), **cleared}
    if isinstance(body, BodyFigures):
        return _held(body, HEADS["body_figures"])
    if form.kind == DialyserFigures.KIND:
        now = order(desk.standing)
        return {"dialyser": now.lines.get("dialyser", "") if now is not None else ""}
    return units


def _first_units(desk: Desk) -> dict[str, str]:
    last = last_units(desk.standing)
    found = {}
    for name in load_substances():
        units = bloods_typed.units_of(name)
        unit = last.get(name, units[0] if len(units) == 1 else "")
        if unit:
            found[f"unit.{name}"] = unit
    return found


def _held(body: Body, names: tuple[str, ...]) -> dict[str, str]:
    return {name: getattr(body, name) for name in names}


def _lines(lines: tuple[BloodLine, ...]) -> dict[str, str]:
    found = {}
    for line in lines:
        found[f"value.{line.substance}"] = line.typed or f"{line.sign}{line.value}"
        found[f"unit.{line.substance}"] = line.unit
        found[f"low.{line.substance}"] = line.low
        found[f"high.{line.substance}"] = line.high
    return found
