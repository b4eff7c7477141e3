"""What stands about the home's water: results and how they lie to their limits, notices, carbon, the plant."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import TypeVar
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.core.errors import EbbwellError
from ebbwell.core.quantity import Quantity
from ebbwell.journal.kinds.orders import Advice
from ebbwell.journal.kinds.water import (
    CarbonChanged,
    FilterPressure,
    MicrobeResult,
    WaterNotice,
    WaterReport,
    WaterSet,
)
from ebbwell.rulebook.water_lists import OWN_ITEM, MicrobeLine, load_water_lists
from ebbwell.science.microbes import MicrobeLevel, judge_microbes, read_microbes
from ebbwell.science.water_report import LabLine, WaterLevel, WaterLimit, WaterLine, compare_report
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.water_lines import list_now

B = TypeVar("B")
T = TypeVar("T")

FAILS = (WaterLevel.OVER, WaterLevel.CANT_TELL)
"""What fails a line, and with it the report; an item left out is named beside it."""

UNITS = {"microbe": "CFU/mL", "endotoxin": "EU/mL"}
"""What is counted in a fluid, and its unit."""


@dataclass(frozen=True)
class ReportView:
    """A report with each line held against its limit. open: failing lines that no later report of that port answers.

    lines: None where this program can't hold it against its list, such as one that came from a newer program.
    """

    fact: Fact
    body: WaterReport
    lines: tuple[WaterLine, ...] | None
    open: tuple[WaterLine, ...]

    @property
    def fails(self) -> tuple[WaterLine, ...]:
        """The lines that are over their limit, or can't be told from it."""
        return tuple(line for line in self.lines or () if line.level in FAILS)

    @property
    def missing(self) -> tuple[WaterLine, ...]:
        """Limits for which the report has no line."""
        return tuple(line for line in self.lines or () if line.level is WaterLevel.MISSING)


@dataclass(frozen=True)
class Counted:
    """One figure of a microbe result. what: ``microbe`` or ``endotoxin``; typed: as the laboratory wrote it."""

    what: str
    typed: str
    level: MicrobeLevel
    line: MicrobeLine


@dataclass(frozen=True)
class MicrobeView:
    """A result with each figure held against its limit. open: those that no later sample answers.

    counts: None where this program can't hold it against its list.
    """

    fact: Fact
    body: MicrobeResult
    counts: tuple[Counted, ...] | None
    open: tuple[Counted, ...]


def chemical_lists() -> tuple[str, ...]:
    """Places with a list of chemical limits."""
    return tuple(dict.fromkeys(limit.jurisdiction for limit in load_water_lists().chemicals))


def microbe_lists() -> tuple[str, ...]:
    """Places with a list for microbes or endotoxin."""
    return tuple(dict.fromkeys(line.jurisdiction for line in load_water_lists().microbes))


def today(now: Moment) -> date:
    """The day on the home's clock."""
    return now.at.astimezone(ZoneInfo(now.zone)).date()


def as_day(text: str) -> date | None:
    """A stored day; None for none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


@lru_cache(maxsize=512)
def judged(body: WaterReport) -> tuple[WaterLine, ...]:
    """Each limit of the report's list, as shipped, with what the report shows. Raises as ``compare_report`` does."""
    return judged_by(body, load_water_lists().chemical_list(body.list))


def judged_by(body: WaterReport, limits: Sequence[WaterLimit]) -> tuple[WaterLine, ...]:
    """Each of these limits with what the report shows. Raises as ``compare_report`` does.

    A line of the report that is on no limit any more, such as one that the clinic took off again, is left out.
    """
    known = {limit.item for limit in limits}
    lines = [
        LabLine(line.item, Quantity(Decimal(line.value), line.unit, line.below), line.form)
        for line in body.lines
        if line.item in known or not line.item.startswith(OWN_ITEM)
    ]
    return compare_report(limits, lines)


def _judge(standing: Facts, body: WaterReport) -> tuple[WaterLine, ...]:
    own = any(getattr(fact.body, "list", "") == body.list for fact in standing.of("water_line_set"))
    bare = not own and not any(line.item.startswith(OWN_ITEM) for line in body.lines)
    return judged(body) if bare else judged_by(body, list_now(standing, body.list))


@lru_cache(maxsize=512)
def counted(body: MicrobeResult) -> tuple[Counted, ...]:
    """Each figure of a result with its limit. Raises InputError where the list has no limit for it."""
    lists = load_water_lists()
    found = []
    for what, typed in (("microbe", body.count), ("endotoxin", body.endotoxin)):
        if typed:
            line = lists.microbe_line(what, body.fluid, body.list)
            plated = Decimal(body.plated_ml) if body.plated_ml and what == "microbe" else None
            result = read_microbes(typed, UNITS[what], plated)
            found.append(Counted(what, typed, judge_microbes(result, line.limit), line))
    return tuple(found)


def _or_none(judge: Callable[[B], T], body: B) -> T | None:
    """What a result shows; None where it came with a list, item or unit that this program doesn't know."""
    try:
        return judge(body)
    except (EbbwellError, ArithmeticError):
        return None


def reports(standing: Facts) -> tuple[ReportView, ...]:
    """Every chemical report that holds, the newest sample first."""
    return standing.worked_out(_reports)


def _reports(standing: Facts) -> tuple[ReportView, ...]:
    held = [
        (f, f.body, _or_none(lambda body: _judge(standing, body), f.body))
        for f in standing.of("water_report")
        if isinstance(f.body, WaterReport)
    ]
    held.sort(key=lambda one: (one[1].sampled_on, one[0].id), reverse=True)
    found = []
    within: dict[tuple[str, str], str] = {}
    for fact, body, lines in held:
        port = body.port.strip().casefold()
        left = tuple(
            line
            for line in lines or ()
            if line.level in FAILS and within.get((port, line.limit.item), "") <= body.sampled_on
        )
        for line in lines or ():
            if line.level is WaterLevel.WITHIN:
                within.setdefault((port, line.limit.item), body.sampled_on)
        found.append(ReportView(fact, body, lines, left))
    return tuple(found)


def microbes(standing: Facts) -> tuple[MicrobeView, ...]:
    """Every microbe result that holds, the newest sample first."""
    return standing.worked_out(_microbes)


def _microbes(standing: Facts) -> tuple[MicrobeView, ...]:
    held = [
        (f, f.body, _or_none(counted, f.body))
        for f in standing.of("microbe_result")
        if isinstance(f.body, MicrobeResult)
    ]
    held.sort(key=lambda one: (one[1].sampled_on, one[0].id), reverse=True)
    found = []
    under: dict[tuple[str, str], str] = {}
    for fact, body, counts in held:
        kind = kind_of_fluid(body.fluid)
        left = tuple(
            one
            for one in counts or ()
            if one.level is not MicrobeLevel.BELOW and under.get((kind, one.what), "") <= body.sampled_on
        )
        for one in counts or ():
            if one.level is MicrobeLevel.BELOW:
                under.setdefault((kind, one.what), body.sampled_on)
        found.append(MicrobeView(fact, body, counts, left))
    return tuple(found)


def kind_of_fluid(fluid: str) -> str:
    """``water`` or ``fluid``, whatever it has to meet."""
    return fluid.partition("_")[0]


def said_about(standing: Facts, fact: Fact) -> tuple[tuple[Fact, Advice], ...]:
    """What the unit said about one result or notice, oldest first."""
    ids = standing.versions(fact)
    return tuple(
        (f, f.body)
        for f in standing.of("advice")
        if isinstance(f.body, Advice) and f.body.spoken and ids & set(f.body.about)
    )


@dataclass(frozen=True)
class NoticeView:
    """A notice. tests_until: last day with more water tests; None: its end isn't known. over: its own end is."""

    fact: Fact
    body: WaterNotice
    tests_until: date | None
    over: bool


def notices(standing: Facts, now: Moment, days: int) -> tuple[NoticeView, ...]:
    """Every notice whose tests aren't over, the newest first. days: how long the tests go on after its end.

    Source: fluids:1.9 (two weeks), fluids:1.10.
    """
    here = today(now)
    found = []
    for fact in reversed(standing.of("water_notice")):
        body = fact.body
        start = as_day(body.from_on) if isinstance(body, WaterNotice) else None
        if not isinstance(body, WaterNotice) or start is None:
            continue
        end = as_day(body.until_on)
        until = None if end is None else max(start, end) + timedelta(days=days)
        if start <= here and (until is None or here <= until):
            found.append(NoticeView(fact, body, until, end is not None and here > end))
    return tuple(found)


def carbon(standing: Facts) -> dict[str, tuple[Fact, CarbonChanged]]:
    """Tank to its newest change."""
    found: dict[str, tuple[Fact, CarbonChanged]] = {}
    for fact in standing.of("carbon_changed"):
        body = fact.body
        if isinstance(body, CarbonChanged):
            held = found.get(body.tank)
            if held is None or (body.on, fact.id) > (held[1].on, held[0].id):
                found[body.tank] = (fact, body)
    return found


@dataclass(frozen=True)
class FilterView:
    """The newest look at a filter, and the clean drop that it is held against. drops in bar; clean None: not known."""

    fact: Fact
    body: FilterPressure
    drop: Decimal
    clean: Decimal | None
    clean_at: Fact | None


def filters(standing: Facts, to_bar: Mapping[str, Decimal]) -> dict[str, FilterView]:
    """Filter to its newest look. to_bar: unit of a gauge to bar."""
    found: dict[str, FilterView] = {}
    clean: dict[str, tuple[Decimal, Fact]] = {}
    rows = [(f, f.body) for f in standing.of("filter_pressure") if isinstance(f.body, FilterPressure)]
    known = (row for row in rows if row[1].unit in to_bar)
    for fact, body in sorted(known, key=lambda row: (row[0].at, row[0].id)):
        drop = (Decimal(body.pressure_in) - Decimal(body.pressure_out)) * to_bar[body.unit]
        if body.changed:
            clean[body.filter] = (drop, fact)
        held = clean.get(body.filter)
        found[body.filter] = FilterView(
            fact, body, drop, held[0] if held else None, held[1] if held else None
        )
    return found


def flows(standing: Facts) -> tuple[tuple[Fact, FilterPressure], ...]:
    """The looks at which product flow and water temperature were both read, oldest first."""
    rows = [(f, f.body) for f in standing.of("filter_pressure") if isinstance(f.body, FilterPressure)]
    both = [(f, b) for f, b in rows if b.product_l_min and b.water_c]
    return tuple(sorted(both, key=lambda row: (row[0].at, row[0].id)))


def both_flows(standing: Facts) -> tuple[Fact, FilterPressure] | None:
    """The newest look at the water unit with the flow of the product and of the reject; None for none."""
    rows = [(f, f.body) for f in standing.of("filter_pressure") if isinstance(f.body, FilterPressure)]
    both = [(f, b) for f, b in rows if b.product_l_min and b.reject_l_min]
    return max(both, key=lambda row: (row[0].at, row[0].id), default=None)


def plant(standing: Facts) -> tuple[Fact | None, WaterSet]:
    """The plant as last entered, with the entry that says so; an empty one where nobody entered it.

    Where two entries stand, as after a merge, only what they agree in is known.
    """
    held = [(f, f.body) for f in standing.of("water_set") if isinstance(f.body, WaterSet)]
    if not held:
        return None, WaterSet(values={})
    bodies = [body for _, body in held]
    first = bodies[0]
    agreed = {
        name: value
        for name, value in first.values.items()
        if all(body.values.get(name) == value for body in bodies)
    }
    same = all((b.list, b.fluid, b.schedule) == (first.list, first.fluid, first.schedule) for b in bodies)
    words = (first.list, first.fluid, first.schedule) if same else ("", "", "")
    steps = first.chlorine_steps if all(b.chlorine_steps == first.chlorine_steps for b in bodies) else ""
    return held[-1][0], WaterSet(
        values=agreed, list=words[0], fluid=words[1], schedule=words[2], chlorine_steps=steps
    )


def plant_number(standing: Facts, name: str) -> Decimal | None:
    """One figure of the plant, in the unit of ``PLANT``; None where it isn't known."""
    text = plant(standing)[1].values.get(name, "")
    return Decimal(text) if text else None


def feed_chlorine_then(standing: Facts, nights: Sequence[datetime]) -> list[Decimal]:
    """The most chlorine in the feed [mg/L] that the plant said on each night, oldest first.

    A figure that was typed later stands in for nights before the first one. [] where it never changed, and where the
    plant is a disagreement. What was typed over counts for the nights on which it stood: so a rise can be seen.
    """
    said = standing.worked_out(_feed_chlorine_said)
    if len(standing.of("water_set")) != 1 or len({value for _, value in said}) < 2:
        return []
    return [next((value for at, value in reversed(said) if at <= night), said[0][1]) for night in nights]


def _feed_chlorine_said(standing: Facts) -> tuple[tuple[datetime, Decimal], ...]:
    """When the plant said which most chlorine in the feed [mg/L], also what was typed over since; oldest first."""
    ids = (entry.envelope.id for entry in standing if entry.envelope.kind == WaterSet.KIND)
    facts = (fact for id in ids if (fact := standing.fact(id)) is not None)
    said = [
        (fact.at, Decimal(text))
        for fact in facts
        if isinstance(fact.body, WaterSet) and (text := fact.body.values.get("feed_chlorine_most", ""))
    ]
    return tuple(sorted(said))


def newest_day(days: Iterable[str]) -> date | None:
    """The latest of some stored days."""
    known = [found for text in days if (found := as_day(text)) is not None]
    return max(known, default=None)
