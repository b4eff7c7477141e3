"""The forms about the water: how each is read and kept, what it asks, and what stands in an entry typed again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from ebbwell.deeds import water, water_lines, water_plant
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_typed import Form
from ebbwell.journal.kinds.water import (
    CarbonChanged,
    FilterPressure,
    MicrobeResult,
    WaterLineSet,
    WaterNotice,
    WaterReport,
    WaterSet,
)
from ebbwell.papers import water_asks as asks
from ebbwell.papers.water_asks import Ask
from ebbwell.state.water import plant


@dataclass(frozen=True)
class EntryForm:
    """One form. kind: of entry that it makes; read, deed: how it is read and kept; fields: what it asks."""

    kind: str
    read: Callable[[Desk, Mapping[str, str]], tuple[Any, Form]]
    deed: Callable[..., None]
    fields: Callable[[Desk, Mapping[str, str]], list[Ask]]


FORMS: Mapping[str, EntryForm] = {
    "report": EntryForm("water_report", water.read_report, water.enter_report, asks.report),
    "microbes": EntryForm("microbe_result", water.read_microbe_result, water.enter_microbes, asks.microbes),
    "carbon": EntryForm("carbon_changed", water_plant.read_carbon, water_plant.change_carbon, asks.carbon),
    "notice": EntryForm("water_notice", water_plant.read_notice, water_plant.enter_notice, asks.notice),
    "filter": EntryForm("filter_pressure", water_plant.read_filter, water_plant.enter_filter, asks.gauges),
    "line": EntryForm("water_line_set", water_lines.read_line, water_lines.set_water_line, asks.line),
    "set": EntryForm("water_set", water_plant.read_plant, water_plant.set_plant, asks.plant),
}
"""Name in the address, and at the keyboard, to its form."""

OUTRIGHT = frozenset({"line", "set"})
"""Forms that take the place of what stood there by themselves, and ask about nothing that is odd."""

CARERS = frozenset({"line"})
"""Forms for the carer and the person on dialysis alone."""


def held_values(desk: Desk, form: EntryForm, instead: str) -> dict[str, str]:
    """What stands in an entry that is typed again, as its form has it; the plant as it stands."""
    if form.kind == WaterSet.KIND:
        return _of_plant(plant(desk.standing)[1])
    fact = next((f for f in desk.standing.of(form.kind) if f.id == instead), None)
    body = fact.body if fact is not None else None
    if isinstance(body, WaterReport):
        lines = {f"line.{line.item}": line.typed or f"{line.value} {line.unit}" for line in body.lines}
        forms = {f"form.{line.item}": line.form for line in body.lines if line.form}
        head = {
            n: getattr(body, n) for n in ("laboratory", "sampled_on", "reported_on", "port", "list", "words")
        }
        bare = {line.unit for line in body.lines if line.typed and line.typed[-1].isdigit()}
        return {**head, **lines, **forms, "unit": bare.pop() if len(bare) == 1 else ""}
    if isinstance(body, MicrobeResult):
        names = [n for n in body.__struct_fields__ if n not in ("asked", "days_since_disinfection")]
        return {**{n: getattr(body, n) for n in names}, "days_since": body.days_since_disinfection}
    if isinstance(body, FilterPressure):
        held = {n: str(getattr(body, n)) for n in body.__struct_fields__ if n not in ("asked", "changed")}
        hard = f"{body.hardness_after} mg/L CaCO3" if body.hardness_after else ""
        return {**held, "changed": "yes" if body.changed else "no", "hardness_after": hard}
    if isinstance(body, WaterLineSet):
        return {name: getattr(body, name) for name in ("list", "item", "unit", "most", "stands_in")}
    if isinstance(body, CarbonChanged | WaterNotice):
        return {n: getattr(body, n) for n in body.__struct_fields__ if n != "asked"}
    return {}


def _of_plant(body: WaterSet) -> dict[str, str]:
    values = dict(body.values)
    if "hardness" in values:
        values["hardness"] = f"{values['hardness']} mg/L CaCO3"
    named = ("list", "fluid", "schedule", "chlorine_steps")
    return {**values, **{name: getattr(body, name) for name in named}}
