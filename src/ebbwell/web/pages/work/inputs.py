"""The inputs of a sum, each with where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from ebbwell.core.clock import elapsed
from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.worked import Input, Worked
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.orders import LineAmended, Prescription
from ebbwell.papers.own_figures import both_text
from ebbwell.papers.spoken import age
from ebbwell.papers.words import clock, day, figure_words, line_value, span
from ebbwell.science import catalogue
from ebbwell.state.facts import Fact
from ebbwell.state.night import paused_for
from ebbwell.state.own_past import latest
from ebbwell.state.standing import people
from ebbwell.web.pages.plan.expected import Expected

FROM = {
    ("fits_tonight", "removal_l"): "removal_volume",
    ("fits_tonight", "cap_volume_l"): "cap_volume",
    ("remains_after", "removal_l"): "removal_volume",
    ("remains_after", "cap_volume_l"): "cap_volume",
    ("removal_rate", "volume_l"): "fits_tonight",
    ("profile_top_rate", "volume_l"): "fits_tonight",
    ("rate_beside_isolated", "volume_l"): "fits_tonight",
    ("removal_rate_per_kg", "rate_ml_h"): "removal_rate",
    ("weight_after_expected", "removed_l"): "fits_tonight",
    ("heparin_total", "run_time_h"): "heparin_run_time",
    ("syringe_fill", "rate_ml_h"): "heparin_rate_ml",
    ("syringe_fill", "run_time_h"): "heparin_run_time",
    ("syringe_fill", "first_dose_ml"): "heparin_volume",
    ("acid_needed", "fluid_l"): "fluid_volume",
    ("bicarbonate_powder_needed", "fluid_l"): "fluid_volume",
    ("bicarbonate_liquid_needed", "acid_l"): "acid_needed",
    ("bags_needed", "fluid_l"): "fluid_volume",
    ("feed_needed", "product_l"): "product_needed",
}
"""Formula and input to the figure of the plan that it is."""

EXPECTED = {"drink_l": "drink", "saline_l": "saline", "losses_l": "losses"}
"""Input to what was expected of tonight."""

LIMITS = {"start_up_l": "acid_start_up", "usable_percent": "bicarbonate_usable"}
"""Input to the limit that it is."""


def figure_name(name: str) -> str:
    """What a figure is called among the workings: what is to be removed stands there before and after the cap."""
    own = f"web.work.name.{name}"
    return say(own) if has_text(own) else figure_words(name)


@dataclass(frozen=True)
class Given:
    """One input: its label, value with unit ("" where it isn't known), where it came from, and a page about that."""

    label: str
    value: str
    origin: str
    link: str = ""


def given_rows(desk: Desk, worked: Worked, expected: Expected, query: str) -> list[Given]:
    """Each input of a worked value."""
    return [_row(desk, worked, one, expected, query) for one in worked.inputs]


def _row(desk: Desk, worked: Worked, one: Input, expected: Expected, query: str) -> Given:
    label = say(f"input.{one.name}") if has_text(f"input.{one.name}") else one.name
    value = (
        both_text(f"{_short(one.value)} {one.unit}".rstrip(), _substance(one.name))
        if one.value is not None
        else ""
    )
    origin, link = _origin(desk, worked, one, expected, query)
    return Given(label[:1].upper() + label[1:], value, origin, link)


def _substance(name: str) -> str:
    """What an input measured as an amount in a litre is of, where a household can choose its unit."""
    return "glucose" if name.startswith("glucose") else ""


def _short(value: Decimal) -> str:
    """The number without the digits that a sum before it brought along; at most 6 places."""
    places = value.as_tuple().exponent
    if isinstance(places, int) and places < -6:
        return plain(round(value, 6))
    return plain(value)


def _origin(desk: Desk, worked: Worked, one: Input, expected: Expected, query: str) -> tuple[str, str]:
    before = FROM.get((worked.name, one.name))
    if (
        before is not None
        and one.entry is None
        and "removal_by_unit" in expected.litres
        and before == "fits_tonight"
    ):
        return say("web.work.from.by_unit"), ""
    if before is not None and one.entry is None:
        return say("web.work.from.worked", figure=figure_name(before)), f"/working/{before}{query}"
    if one.entry is not None:
        fact = desk.treatment.fact(one.entry) or desk.standing.fact(one.entry)
        if fact is not None:
            return entry_words(desk, fact)
    if one.value is None:
        return say("web.work.from.unknown"), ""
    if one.name in EXPECTED and EXPECTED[one.name] in expected.litres:
        return say("web.work.from.expected"), "/plan"
    if one.name in LIMITS:
        return say("web.work.from.limit"), f"/limits#limit-{LIMITS[one.name]}"
    if one.name == "last_weight_after_kg":
        return _last_night(desk), "/nights"
    default = next(
        (i.default for i in catalogue.formula_named(worked.name).inputs if i.name == one.name), None
    )
    if default is not None and default == one.value:
        return say("web.work.from.default"), ""
    return say("web.work.from.nowhere"), ""


def _last_night(desk: Desk) -> str:
    pinned = desk.treatment.of("pinned")
    before = pinned[0].at if pinned else desk.now.at
    night = next((s for s in latest(desk.past, before=before) if s.values.get("weight_after")), None)
    return (
        say("web.work.from.last", day=day(night.night)) if night is not None else say("web.work.from.unknown")
    )


def entry_words(desk: Desk, fact: Fact) -> tuple[str, str]:
    """Where an entry came from, and the page about it."""
    local = fact.at.astimezone(ZoneInfo(desk.now.zone)).date().isoformat()
    known = people(desk.standing).get(fact.by)
    params = {
        "at": clock(fact.at, desk.now.zone),
        "day": day(local),
        "who": known.name if known is not None else say("web.work.somebody"),
        "age": age(elapsed(fact.at, desk.now.at).total_seconds() / 60),
    }
    body = fact.body
    if isinstance(body, Prescription):
        return say(
            "web.work.from.prescription", number=body.number, giver=body.giver, **params
        ), "/prescription"
    if isinstance(body, LineAmended):
        words = say("web.work.from.amended", giver=body.giver, **params)
        return words, f"/prescription#line-{body.line}"
    return say("web.work.from.measured", **params), f"/entry/{fact.id}"


def ordered_row(desk: Desk, line: str) -> Given:
    """A line of the prescription as an input."""
    order = desk.scene.order
    label = say(f"line.{line}")
    if order is None or line not in order.lines:
        return Given(label, "", say("web.work.from.unknown"))
    fact = desk.standing.fact(order.from_entry[line])
    origin, link = entry_words(desk, fact) if fact is not None else ("", "")
    return Given(label, line_value(line, order.lines[line], desk.rulebook), origin, link)


def start_row(desk: Desk, expected: Expected) -> Given:
    """The expected first blood as an input."""
    label = say("web.work.start")
    if expected.start_at is None:
        return Given(label, "", say("web.work.from.unknown"))
    return Given(label, clock(expected.start_at, desk.now.zone), say("web.work.from.expected"), "/plan")


def begun_rows(desk: Desk, begun: datetime) -> list[Given]:
    """First blood as it was, and the time off the machine that is added."""
    rows = [Given(say("web.work.begun"), clock(begun, desk.now.zone), say("web.work.from.record"), "/night")]
    paused = paused_for(desk.treatment, desk.now.at)
    if paused:
        rows.append(Given(say("web.work.paused"), span(paused), say("web.work.from.record"), "/night"))
    return rows
