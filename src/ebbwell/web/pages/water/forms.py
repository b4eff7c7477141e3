"""The forms about the water: what was typed stays, each slip stands beside its own field, a question is asked once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.deeds import water, water_plant
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_typed import Form
from ebbwell.journal.kinds.water import (
    CarbonChanged,
    FilterPressure,
    MicrobeResult,
    WaterNotice,
    WaterReport,
    WaterSet,
)
from ebbwell.papers.spoken import error_words
from ebbwell.state.water import chemical_lists, plant
from ebbwell.web.pages.water import asks
from ebbwell.web.pages.water.asks import Ask
from ebbwell.web.visit import HOME, Trouble, Visit

OWN = ("key", "instead", "asked", "sure", "as_typed", "take")
"""Names of a form that aren't fields of it."""


@dataclass(frozen=True)
class WaterForm:
    """One form. kind: of entry that it makes; read, deed: how it is read and kept; fields: what it asks."""

    kind: str
    read: Callable[[Desk, Mapping[str, str]], tuple[Any, Form]]
    deed: Callable[..., None]
    fields: Callable[[Mapping[str, str]], list[Ask]]


FORMS: Mapping[str, WaterForm] = {
    "report": WaterForm("water_report", water.read_report, water.enter_report, asks.report),
    "microbes": WaterForm("microbe_result", water.read_microbe_result, water.enter_microbes, asks.microbes),
    "carbon": WaterForm("carbon_changed", water_plant.read_carbon, water_plant.change_carbon, asks.carbon),
    "notice": WaterForm("water_notice", water_plant.read_notice, water_plant.enter_notice, asks.notice),
    "filter": WaterForm("filter_pressure", water_plant.read_filter, water_plant.enter_filter, asks.gauges),
    "set": WaterForm("water_set", water_plant.read_plant, water_plant.set_plant, asks.plant),
}
"""Name in the address to its form."""


def show_form(visit: Visit) -> Response:
    """A form; with ``instead``, the entry to be typed again stands in it."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.water.no_form"), 404)
    instead = visit.typed.get("instead", "") or visit.query.get("instead", "")
    values = dict(visit.typed) if visit.typed else _held(visit.desk, FORMS[name], instead)
    lists = chemical_lists() if name == "report" else ()
    if lists and values.get("list", "") not in lists:
        own = plant(visit.desk.standing)[1].list
        wanted = (visit.query.get("list", ""), own, lists[0])
        values["list"] = next(one for one in wanted if one in lists)
    return visit.show(
        "pages/water/form.html",
        name=name,
        fields=FORMS[name].fields(values),
        values=values,
        instead=instead,
        asked=_as_typed(values),
        lists=lists,
        may_act=bool(visit.roles & HOME),
    )


def _held(desk: Desk, form: WaterForm, instead: str) -> dict[str, str]:
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
    if isinstance(body, CarbonChanged | WaterNotice):
        return {n: getattr(body, n) for n in body.__struct_fields__ if n != "asked"}
    return {}


def _of_plant(body: WaterSet) -> dict[str, str]:
    values = dict(body.values)
    if "hardness" in values:
        values["hardness"] = f"{values['hardness']} mg/L CaCO3"
    return {**values, "list": body.list, "fluid": body.fluid, "schedule": body.schedule}


def _as_typed(values: Mapping[str, str]) -> str:
    """Everything typed as one text: a question answered "as typed" holds only for what it was asked about."""
    return "|".join(
        f"{name}={values[name].strip()}" for name in sorted(values) if name not in OWN and values[name]
    )


def keep(visit: Visit) -> Response:
    """Keep what a form says; each field that can't be read is named, and nothing is kept by half."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.water.no_form"), 404)
    form = FORMS[name]
    typed = {field: words for field, words in visit.typed.items() if field not in OWN}
    _, read = form.read(visit.desk, typed)
    visit.troubles += [Trouble(error_words(why), field) for field, why in read.wrong.items()]
    if visit.troubles:
        return show_form(visit)
    same = visit.typed.get("asked", "") == _as_typed(typed)
    instead = visit.typed.get("instead", "")
    more: dict[str, Any] = {} if form.kind == WaterSet.KIND else {"instead_of": (instead,) if instead else ()}
    done = visit.do(
        form.deed,
        field="form",
        key=visit.typed.get("key"),
        typed=typed,
        sure=visit.sure if same and "as_typed" in visit.typed else (),
        **more,
    )
    return show_form(visit) if done is None else visit.go(f"/water?saved={name}", kept=f"water-{name}")
