"""The lists of limits for dialysis water and fluid, by the place whose list they are on, for the page of limits."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import Rulebook
from ebbwell.rulebook.water_lists import MicrobeLine, WaterLists, load_water_lists
from ebbwell.science.water_report import WaterLimit


@dataclass(frozen=True)
class WaterLine:
    """One line. value: the limit in words with its unit. more: what the figure counts, or when steps are taken.

    source: how well it is founded, and where it stands.
    """

    id: str
    label: str
    value: str
    more: str
    source: str


@dataclass(frozen=True)
class WaterPlace:
    """One place with the lines of its list."""

    id: str
    label: str
    lines: tuple[WaterLine, ...]


def water_places() -> list[WaterPlace]:
    """Every list as shipped, in the order of the file; no line is left out."""
    lists, book = load_water_lists(), load_rulebook()
    return [
        WaterPlace(place, say(f"water_place.{place}"), _lines(lists, book, place))
        for place in lists.jurisdictions
    ]


def _lines(lists: WaterLists, book: Rulebook, place: str) -> tuple[WaterLine, ...]:
    return (
        *(_chemical(book, one) for one in lists.chemicals if one.jurisdiction == place),
        *(_microbe(book, one) for one in lists.microbes if one.jurisdiction == place),
    )


def _chemical(book: Rulebook, one: WaterLimit) -> WaterLine:
    printed = "".join(f" = {plain(value)} {unit}" for unit, value in one.printed.items())
    return WaterLine(
        id=one.item,
        label=say(f"water_item.{one.item}"),
        value=say("web.limits.water.most", value=f"{plain(one.most)} {one.unit}{printed}"),
        more=say(f"water_form.{one.form.replace(' ', '_')}"),
        source=_source(book, one.source, one.mark),
    )


def _microbe(book: Rulebook, one: MicrobeLine) -> WaterLine:
    limit = one.limit
    action = f"{plain(limit.action)} {limit.unit}" if limit.action is not None else ""
    return WaterLine(
        id=f"{one.what}-{one.fluid}",
        label=f"{say(f'water_what.{one.what}')}, {say(f'water_fluid.{one.fluid}')}",
        value=say("web.limits.water.below", value=f"{plain(limit.below)} {limit.unit}"),
        more=say("web.limits.water.action", value=action) if action else say("web.limits.water.no_action"),
        source=_source(book, one.source, one.mark),
    )


def _source(book: Rulebook, key: str, mark: str) -> str:
    kind = say(f"web.work.kind.{mark.replace(' ', '_')}")
    return f"{kind}: {book.source(key).title} ({key})"
