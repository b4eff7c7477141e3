"""Entries about the water in one line of words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.water import (
    PLANT,
    CarbonChanged,
    FilterPressure,
    MicrobeResult,
    WaterLineSet,
    WaterNotice,
    WaterReport,
    WaterSet,
)
from ebbwell.rulebook.water_lists import item_words


def _with(words: str, *more: str) -> str:
    return ". ".join([words, *(m for m in more if m)])


def _named(group: str, name: str) -> str:
    """What a picked word is called; the bare word where a newer program wrote one without words here."""
    key = f"water.{group}.{name}"
    return say(key) if has_text(key) else name


def plant_label(name: str) -> str:
    """What a figure of the plant is called."""
    key = f"web.water.field.{name}"
    return say(key) if has_text(key) else name


def plant_value(name: str, value: str) -> str:
    """A figure of the plant with its unit."""
    return f"{value} {PLANT.get(name, '')}".rstrip()


def _report(body: WaterReport) -> str:
    lines = ", ".join(
        f"{item_words(line.item)} "
        f"{'<' if line.below else ''}{line.value} {line.unit}"
        + (f" {_named('form', line.form)}" if line.form else "")
        for line in body.lines
    )
    words = say(
        "said.water_report",
        laboratory=body.laboratory,
        day=day(body.sampled_on),
        port=body.port,
        list=_named("list", body.list),
        lines=lines,
    )
    return _with(words, body.words)


def _microbes(body: MicrobeResult) -> str:
    words = say(
        "said.microbe_result", fluid=_named("fluid", body.fluid), day=day(body.sampled_on), port=body.drawn_at
    )
    return _with(
        words,
        say("said.microbe_count", count=body.count) if body.count else "",
        say("said.microbe_plated", plated=body.plated_ml) if body.plated_ml else "",
        say("said.microbe_endotoxin", count=body.endotoxin) if body.endotoxin else "",
        say("said.microbe_read", day=day(body.read_on)),
        body.laboratory,
        body.words,
    )


def _carbon(body: CarbonChanged) -> str:
    return _with(
        say("said.carbon_changed", tank=_named("tank", body.tank), day=day(body.on)),
        say("said.carbon_litres", litres=body.carbon_l) if body.carbon_l else "",
        say("said.carbon_rated", rated=body.rated_mg) if body.rated_mg else "",
        say("said.carbon_feed", feed=body.feed_l_min) if body.feed_l_min else "",
        say("said.carbon_use_by", day=day(body.use_by)) if body.use_by else "",
        say("said.carbon_lot", lot=body.lot) if body.lot else "",
        body.words,
    )


def _notice(body: WaterNotice) -> str:
    words = say(
        "said.water_notice",
        notice=_named("notice", body.what),
        begins=day(body.from_on),
        ends=day(body.until_on) if body.until_on else say("water.not_known"),
        who=body.told_by,
    )
    own = say("water.own_line", most=f"{body.chlorine_most} mg/L").rstrip(".") if body.chlorine_most else ""
    return _with(words, own, body.words)


def _filter(body: FilterPressure) -> str:
    return _with(
        say(
            "said.filter_pressure",
            filter=_named("filter", body.filter),
            before=f"{body.pressure_in} {body.unit}",
            behind=f"{body.pressure_out} {body.unit}",
        ),
        say("said.filter_new") if body.changed else "",
        say("said.product_flow", flow=body.product_l_min) if body.product_l_min else "",
        say("said.reject_flow", flow=body.reject_l_min) if body.reject_l_min else "",
        say("said.water_warmth", warmth=body.water_c) if body.water_c else "",
        say("said.hardness_after", hardness=body.hardness_after) if body.hardness_after else "",
        body.words,
    )


def _line(body: WaterLineSet) -> str:
    figure = f"{body.most} {body.unit}" if body.most else say("said.water_line_off")
    return say(
        "said.water_line_set",
        item=item_words(body.item),
        list=_named("list", body.list),
        figure=figure,
        source=body.stands_in,
        who=body.allowed_by,
        how=say(f"limit_how.{body.how}") if has_text(f"limit_how.{body.how}") else body.how,
    )


def _set(body: WaterSet) -> str:
    values = ", ".join(
        f"{plant_label(name)} {plant_value(name, value)}" for name, value in body.values.items()
    )
    return _with(
        say("said.water_set", values=values or say("water.not_known")),
        say("said.chlorine_steps", steps=body.chlorine_steps) if body.chlorine_steps else "",
        say("said.water_schedule", words=body.schedule) if body.schedule else "",
    )


WATER_SAYS: dict[type[Body], Callable[[Any], str]] = {
    WaterReport: _report,
    MicrobeResult: _microbes,
    CarbonChanged: _carbon,
    WaterNotice: _notice,
    FilterPressure: _filter,
    WaterLineSet: _line,
    WaterSet: _set,
}
"""Kind of entry to what says it."""
