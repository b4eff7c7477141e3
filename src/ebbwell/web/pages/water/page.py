"""The water: what stands open, what is due, the figures with what they rest on, and the ways to enter more."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water import unit_said
from ebbwell.deeds.water_now import count_params, running, shown_limit, shown_result, water_findings, worded
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.describe import describe
from ebbwell.papers.described_water import plant_label, plant_value
from ebbwell.papers.water_forms import FORMS
from ebbwell.rulebook.water_lists import item_words
from ebbwell.science.microbes import MicrobeLevel
from ebbwell.science.water_report import WaterLevel, WaterLine
from ebbwell.state.facts import Fact
from ebbwell.state.water import MicrobeView, ReportView, microbes, plant, reports
from ebbwell.web.pages.water.charts import drawn
from ebbwell.web.pages.water.due import due_rows, uses_tap_water
from ebbwell.web.pages.water.figures import parts, schedule
from ebbwell.web.pages.water.forms import keep, show_form
from ebbwell.web.visit import ALL, HOME, Visit, Way

MOST = 6
"""Results of each kind that are shown."""

MOST_WRITTEN = 12
"""Entries that are listed before all of them are asked for."""

LEVELS = {
    MicrobeLevel.BELOW: "web.water.count_below",
    MicrobeLevel.ACTION: "web.water.count_action",
    MicrobeLevel.OVER: "web.water.count_over",
    MicrobeLevel.CANT_TELL: "web.water.count_unclear",
}


def show(visit: Visit) -> Response:
    """The page. Writes nothing."""
    desk = visit.desk
    charts = drawn(desk, PALETTES[visit.look])
    every = visit.query.get("written") == "all"
    return visit.show(
        "pages/water/page.html",
        found=water_findings(desk),
        answers=[(fact, words) for fact, words in _to_answer(desk)],
        due=due_rows(desk),
        tap_water=uses_tap_water(desk),
        schedule=schedule(desk),
        parts=[(part, charts.get(part.name, ())) for part in parts(desk)],
        reports=[(view, report_head(view), report_lines(view)) for view in reports(desk.standing)[:MOST]],
        microbes=[(view, count_lines(view)) for view in microbes(desk.standing)[:MOST]],
        notices=running(desk),
        worded=worded,
        plant=_plant(desk),
        written=written(desk, None if every else MOST_WRITTEN),
        entries=sum(len(desk.standing.of(form.kind)) for form in FORMS.values()),
        forms=tuple(FORMS),
        saved=visit.query.get("saved", "") if visit.query.get("saved", "") in (*FORMS, "word") else "",
        may_act=bool(visit.roles & HOME),
    )


def written(desk: Desk, most: int | None) -> list[tuple[Fact, str, str]]:
    """What stands on record about the water, newest first: entry, words, form to type it again. most: how many."""
    rows = [(fact, name) for name, form in FORMS.items() for fact in desk.standing.of(form.kind)]
    rows.sort(key=lambda row: (row[0].at, row[0].id), reverse=True)
    return [(fact, describe(fact.body), name) for fact, name in rows[:most]]


def _to_answer(desk: Desk) -> list[tuple[Fact, str]]:
    """Results and notices that the unit may have said something about, with the words that tell them apart."""
    rows = [(v.fact, _head_of(v)) for v in reports(desk.standing) if v.open]
    rows += [
        (
            v.fact,
            say("web.water.sample_of", fluid=worded("fluid", v.body.fluid), day=day(v.body.sampled_on)),
        )
        for v in microbes(desk.standing)
        if v.open
    ]
    rows += [(v.fact, worded("notice", v.body.what)) for v in running(desk)]
    return rows


def _head_of(view: ReportView) -> str:
    return say("web.water.report_of", laboratory=view.body.laboratory, day=day(view.body.sampled_on))


def report_head(view: ReportView) -> str:
    """What came of a report: the first failing line first; never that it holds, only which limits it is held against."""
    held = worded("list", view.body.list)
    if view.lines is None:
        return say("finding.water_unjudged", sampled=day(view.body.sampled_on))
    if view.fails:
        first = view.fails[0]
        return say(
            "web.water.report_fails",
            analyte=item_words(first.limit.item),
            result=shown_result(view, first),
            limit=shown_limit(first),
            list=held,
        )
    return say("web.water.report_under", list=held, count=len(view.lines) - len(view.missing))


def report_lines(view: ReportView) -> list[str]:
    """Every line with its limit, the failing ones first, then what the report leaves out."""
    order = {WaterLevel.OVER: 0, WaterLevel.CANT_TELL: 1, WaterLevel.WITHIN: 2}
    if view.lines is None:
        return [describe(view.body)]
    rows = sorted((one for one in view.lines if one.level in order), key=lambda one: order[one.level])
    out = [_line(view, one) for one in rows]
    if view.missing:
        names = ", ".join(item_words(one.limit.item) for one in view.missing)
        out.append(say("web.water.report_missing", names=names))
    return out


def _line(view: ReportView, line: WaterLine) -> str:
    keys = {WaterLevel.OVER: "over", WaterLevel.CANT_TELL: "unclear", WaterLevel.WITHIN: "within"}
    return say(
        f"web.water.line_is_{keys[line.level]}",
        analyte=item_words(line.limit.item),
        result=shown_result(view, line),
        limit=shown_limit(line),
    )


def count_lines(view: MicrobeView) -> list[str]:
    """Each figure of a result in the words of its level."""
    if view.counts is None:
        return [describe(view.body)]
    return [say(LEVELS[one.level], "", **count_params(view, one)) for one in view.counts]


def _plant(desk: Desk) -> list[tuple[str, str]]:
    _, body = plant(desk.standing)
    return [(plant_label(name), plant_value(name, value)) for name, value in body.values.items()]


def keep_word(visit: Visit) -> Response:
    """Keep what the unit said about a result or a notice."""
    done = visit.do(
        unit_said,
        field="word",
        key=visit.typed.get("key"),
        of=visit.typed.get("of", ""),
        who=visit.typed.get("who", ""),
        words=visit.typed.get("words", ""),
    )
    return show(visit) if done is None else visit.go("/water?saved=word", kept="water-word")


WAYS = (
    Way("GET", "/water", show, ALL),
    Way("POST", "/water/unit-said", keep_word, HOME),
    Way("GET", "/water/{form}", show_form, ALL),
    Way("POST", "/water/{form}", keep, HOME),
)
