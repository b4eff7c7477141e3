"""The fields of each form about bloods, in their order, with what may stand in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.deeds.bloods_typed import FORMULAS, LABELS, LEAFLET, URINE, near_night, sampled, units_of
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.bloods import DRAWN, SLOWED, TAKEN
from ebbwell.papers.water_asks import Ask
from ebbwell.rulebook.substances import blood_unit, load_substances, substance_title
from ebbwell.state.bloods import as_date
from ebbwell.state.own_past import latest

NIGHTS = 200
"""Nights that a sample may be told to belong to: about a year of every other night. Own choice."""

Options = tuple[tuple[str, str], ...]


def ask(name: str, kind: str = "text", unit: str = "", options: Options = ()) -> Ask:
    """A field by its name, with its words."""
    key = f"web.bloods.hint.{name}"
    return Ask(name, say(f"{LABELS}{name}"), kind, unit, options, say(key) if has_text(key) else "")


def result(desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """A sample: its head, then every substance with unit and range."""
    return [
        ask("sampled_on", "day"),
        ask("drawn", "pick", options=_words("bloods.drawn", DRAWN)),
        ask("night", "pick", options=nights(desk)),
        ask("minutes_after", "number", "min"),
        ask("slowed", "pick", options=_words("bloods.slowed", SLOWED[:2])),
        *_lines(load_substances(), ranges=True),
        ask("laboratory"),
        ask("reported_on", "day"),
        ask("words", "area"),
    ]


def nights(desk: Desk, on: str = "") -> Options:
    """Treatments that ran, newest first. on: only those that a sample of this day may belong to."""
    found = latest(desk.past, before=desk.now.at, nights=NIGHTS)
    wanted = as_date(on)
    return tuple(
        (one.treatment, say("web.bloods.night_of", day=day(one.night)))
        for one in found
        if sampled(desk, one.treatment) is not None and (wanted is None or near_night(one, wanted))
    )


def target(_desk: Desk, typed: Mapping[str, str]) -> list[Ask]:
    """What the clinic wants; units of the substance that was picked, else of all."""
    name = typed.get("substance", "")
    names = (name,) if name in load_substances() else tuple(load_substances())
    every = dict.fromkeys(unit for one in load_substances() for unit in units_of(one))
    fits = {unit for one in names for unit in units_of(one)}
    units = tuple(unit for unit in every if unit in fits or unit == typed.get("unit"))
    return [
        ask("substance", "pick", options=tuple((one, substance_title(one)) for one in load_substances())),
        ask("unit", "pick", options=_units(units)),
        ask("low", "number"),
        ask("high", "number"),
        ask("take_off", "pick", options=(("yes", say("web.entry.yes")), ("no", say("web.entry.no")))),
        ask("giver"),
        ask("given_on", "day"),
        ask("words", "area"),
    ]


def urine(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """A timed collection."""
    return [
        ask("ended_on", "day"),
        ask("hours", "number", "h"),
        ask("taken", "pick", options=_words("bloods.taken", TAKEN[:3])),
        ask("volume_ml", "number", "mL"),
        *_lines(URINE, ranges=False),
        ask("words", "area"),
    ]


def dialyser(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """The leaflet of a dialyser."""
    return [
        ask("dialyser"),
        ask("blood_flow", "number", "mL/min"),
        ask("fluid_flow", "number", "mL/min"),
        ask("removal", "number", "mL/min"),
        *(ask(f"clearance.{name}", "number", "mL/min") for name in LEAFLET),
        ask("stands_in"),
        ask("words", "area"),
    ]


def body(_desk: Desk, _typed: Mapping[str, str]) -> list[Ask]:
    """Height, year of birth, and the formula of body water."""
    return [
        ask("height_cm", "number", "cm"),
        ask("born", "number"),
        ask("water_by", "pick", options=_words("bloods.water_by", FORMULAS)),
    ]


def about_something(name: str, typed: Mapping[str, str]) -> bool:
    """Whether a field is worth asking at the keyboard: its figure was typed, or the sample is one that it is for."""
    head, _, of = name.partition(".")
    if of and head in ("unit", "low", "high"):
        return bool(typed.get(f"value.{of}", "").strip())
    drawn = typed.get("drawn", "")
    if name in ("minutes_after", "slowed"):
        return drawn == "after"
    return name != "night" or drawn != "between"


def _lines(names: Iterable[str], *, ranges: bool) -> list[Ask]:
    out = []
    for name in names:
        label = substance_title(name)
        hint = f"web.bloods.hint.{name}"
        out += [
            Ask(f"value.{name}", label, "number", hint=say(hint) if has_text(hint) else ""),
            Ask(
                f"unit.{name}",
                say("web.bloods.unit_of", substance=label),
                "pick",
                options=_units(units_of(name, urine=not ranges)),
            ),
        ]
        if ranges:
            out += [
                Ask(f"{end}.{name}", say(f"web.bloods.{end}_of", substance=label), "number")
                for end in ("low", "high")
            ]
    return out


def _words(group: str, names: Iterable[str]) -> Options:
    return tuple((name, say(f"{group}.{name}")) for name in names)


def _units(units: Iterable[str]) -> Options:
    return tuple((unit, blood_unit(unit)) for unit in units)
