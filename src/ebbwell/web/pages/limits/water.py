"""The lists of limits for dialysis water and fluid, by the place whose list they are on, for the page of limits."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.papers.describe import describe
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import Rulebook
from ebbwell.rulebook.water_lists import MicrobeLine, WaterLists, item_words, load_water_lists
from ebbwell.science.water_report import WaterLimit
from ebbwell.state.facts import Facts
from ebbwell.state.water_lines import ADDED, list_now, own_lines


@dataclass(frozen=True)
class WaterLine:
    """One line. value: the limit in words with its unit. more: what the figure counts, or when steps are taken.

    source: how well it is founded, and where it stands. own: what the clinic set it to, in words.
    """

    id: str
    label: str
    value: str
    more: str
    source: str
    own: tuple[str, ...] = ()


@dataclass(frozen=True)
class WaterPlace:
    """One place with the lines of its list."""

    id: str
    label: str
    lines: tuple[WaterLine, ...]


def water_places(standing: Facts) -> list[WaterPlace]:
    """Every list in the order of the file, with the clinic's own lines; no line is left out."""
    lists, book = load_water_lists(), load_rulebook()
    return [
        WaterPlace(place, say(f"water_place.{place}"), _lines(lists, book, standing, place))
        for place in lists.jurisdictions
    ]


def _lines(lists: WaterLists, book: Rulebook, standing: Facts, place: str) -> tuple[WaterLine, ...]:
    return (
        *(_chemical(book, standing, one) for one in _now(lists, standing, place)),
        *(_microbe(book, one) for one in lists.microbes if one.jurisdiction == place),
    )


def _now(lists: WaterLists, standing: Facts, place: str) -> tuple[WaterLimit, ...]:
    known = any(one.jurisdiction == place for one in lists.chemicals)
    return list_now(standing, place) if known else ()


def _chemical(book: Rulebook, standing: Facts, one: WaterLimit) -> WaterLine:
    printed = "".join(f" = {plain(value)} {unit}" for unit, value in one.printed.items())
    return WaterLine(
        id=one.item,
        label=item_words(one.item),
        value=say("web.limits.water.most", value=f"{plain(one.most)} {one.unit}{printed}"),
        more=say(f"water_form.{one.form.replace(' ', '_')}"),
        source=_source(book, one.source, one.mark) if one.group != ADDED else say("web.limits.water.added"),
        own=tuple(describe(body) for _, body in own_lines(standing, one.jurisdiction, one.item)),
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
