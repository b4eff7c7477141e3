"""The fields of each form about the water, in their order, with what may stand in them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ebbwell.core.text import has_text, say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water import FLUIDS, REPORT_UNITS, forms_of
from ebbwell.deeds.water_lines import ANOTHER, LINE_UNITS, items
from ebbwell.deeds.water_plant import GAUGE_UNITS, TANKS
from ebbwell.journal.kinds.house import HEARD
from ebbwell.journal.kinds.water import FILTERS, NOTICES, PLANT
from ebbwell.rulebook.water_lists import item_words
from ebbwell.state.water import chemical_lists, microbe_lists
from ebbwell.state.water_lines import list_now

HARDNESS_UNITS = ("mg/L CaCO3", "dH", "fH", "grain/gal")


@dataclass(frozen=True)
class Ask:
    """One field. kind: ``text``, ``number``, ``day``, ``pick`` or ``area``. hint: a line of words below its label."""

    name: str
    label: str
    kind: str = "text"
    unit: str = ""
    options: tuple[tuple[str, str], ...] = ()
    hint: str = ""


def ask(name: str, kind: str = "text", unit: str = "", options: tuple[tuple[str, str], ...] = ()) -> Ask:
    """A field by its name, with its words."""
    key = f"web.water.hint.{name}"
    return Ask(name, say(f"web.water.field.{name}"), kind, unit, options, say(key) if has_text(key) else "")


def _words(group: str, names: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((name, say(f"water.{group}.{name}")) for name in names)


def _plain(names: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((name, name) for name in names)


def report(desk: Desk, typed: Mapping[str, str]) -> list[Ask]:
    """A laboratory's report: its head, then every line of the list that was picked."""
    lists = chemical_lists()
    chosen = typed.get("list", "")
    chosen = chosen if chosen in lists else lists[0]
    out = [
        ask("laboratory"),
        ask("sampled_on", "day"),
        ask("reported_on", "day"),
        ask("port"),
        ask("unit", "pick", options=_plain(REPORT_UNITS)),
    ]
    for limit in list_now(desk.standing, chosen):
        label = item_words(limit.item)
        label = label[:1].upper() + label[1:]
        hint = f"web.water.hint.{limit.item}"
        out.append(Ask(f"line.{limit.item}", label, "number", hint=say(hint) if has_text(hint) else ""))
        forms = forms_of(limit)
        if forms:
            name = say("web.water.form_of", analyte=label)
            out.append(Ask(f"form.{limit.item}", name, "pick", options=_words("form", forms)))
    return [*out, ask("words", "area")]


def microbes(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """A count of microbes, endotoxin, or both."""
    return [
        ask("fluid", "pick", options=_words("fluid", FLUIDS)),
        ask("list", "pick", options=_words("list", microbe_lists())),
        ask("drawn_at"),
        ask("sampled_on", "day"),
        ask("read_on", "day"),
        ask("count", "number"),
        ask("plated_ml", "number", "mL"),
        ask("endotoxin", "number"),
        ask("days_since", "number", say("web.water.days")),
        ask("laboratory"),
        ask("words", "area"),
    ]


def carbon(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """A tank that was changed."""
    return [
        ask("tank", "pick", options=_words("tank", TANKS)),
        ask("on", "day"),
        ask("carbon_l", "number", "L"),
        ask("rated_mg", "number", "mg"),
        ask("feed_l_min", "number", "L/min"),
        ask("use_by", "day"),
        ask("lot"),
        ask("words", "area"),
    ]


def notice(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """What the supplier told of."""
    return [
        ask("what", "pick", options=_words("notice", NOTICES)),
        ask("from_on", "day"),
        ask("until_on", "day"),
        ask("told_by"),
        ask("chlorine_most", "number", "mg/L"),
        ask("words", "area"),
    ]


def gauges(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """The gauges of a filter, and what else is read off the water unit."""
    return [
        ask("filter", "pick", options=_words("filter", FILTERS)),
        ask("unit", "pick", options=_plain(GAUGE_UNITS)),
        ask("pressure_in", "number"),
        ask("pressure_out", "number"),
        ask("changed", "pick", options=(("yes", say("web.entry.yes")), ("no", say("web.entry.no")))),
        ask("product_l_min", "number", "L/min"),
        ask("reject_l_min", "number", "L/min"),
        ask("water_c", "number", "C"),
        ask("hardness_after", "number"),
        ask("hardness_after_unit", "pick", options=_plain(HARDNESS_UNITS)),
        ask("words", "area"),
    ]


def plant(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """The household's own plant and habits."""
    out = []
    for name, unit in PLANT.items():
        if name == "hardness":
            out += [ask(name, "number"), ask("hardness_unit", "pick", options=_plain(HARDNESS_UNITS))]
        else:
            out.append(ask(name, "number", say("web.water.days") if unit == "days" else unit))
    return [
        *out,
        ask("fluid", "pick", options=_words("fluid", FLUIDS)),
        ask("list", "pick", options=_words("list", chemical_lists())),
        ask("chlorine_steps", "text", "mg/L"),
        ask("schedule", "area"),
    ]


def line(desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """A line of a list of limits: the clinic's own figure for it."""
    named = tuple((item, _capital(item_words(item))) for item in items(desk))
    heard = tuple((word, say(f"limit_how.{word}")) for word in HEARD)
    return [
        ask("list", "pick", options=_words("list", chemical_lists())),
        ask("item", "pick", options=(*named, (ANOTHER, say("web.water.another_item")))),
        ask("name"),
        ask("take_off", "pick", options=(("yes", say("web.entry.yes")), ("no", say("web.entry.no")))),
        ask("unit", "pick", options=_plain(LINE_UNITS)),
        ask("most", "number"),
        ask("again", "number"),
        ask("stands_in"),
        ask("allowed_by"),
        ask("how", "pick", options=heard),
    ]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
