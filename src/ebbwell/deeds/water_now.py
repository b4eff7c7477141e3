"""What of the water stands open now: failing results, counts at their action level, notices from the supplier."""

from __future__ import annotations

from decimal import Context, Decimal, InvalidOperation

from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_plant import present_limit
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.water import WaterNotice
from ebbwell.rulebook.water_lists import item_words
from ebbwell.science.microbes import MicrobeLevel, least_plated
from ebbwell.science.water_report import WaterLevel, WaterLine
from ebbwell.state.facts import Fact
from ebbwell.state.water import (
    Counted,
    MicrobeView,
    NoticeView,
    ReportView,
    microbes,
    notices,
    reports,
    said_about,
)

FORM_SHOWN = ("as nitrogen", "as nitrate")
"""Forms that are told with the figure, because both are met."""

SIX = Context(prec=6)

UNIT_FIRST = ("extra_chlorine", "do_not_use")
"""Notices after which nothing is begun before the unit spoke. Source: fluids:1.10."""

NEVER_HERE = ("do_not_use",)
"""Notices that the unit's word doesn't turn into something to look at only. Source: fluids:1.10."""

MICROBE_GRADES = {
    MicrobeLevel.OVER: ("water_count_over", Grade.STOP, "next.water_unit"),
    MicrobeLevel.ACTION: ("water_count_action", Grade.CARE, "next.water_repeat"),
    MicrobeLevel.CANT_TELL: ("water_count_unclear", Grade.CARE, "next.water_ask"),
}


def water_findings(desk: Desk) -> tuple[Finding, ...]:
    """Everything about the water that stands open, what asks for a call first. Nothing of it holds a step shut.

    Source: fluids:1.1, fluids:1.2, fluids:1.10.
    """
    found = [finding for view in reports(desk.standing) if (finding := of_report(desk, view))]
    for counts in microbes(desk.standing):
        found += of_microbes(desk, counts)
    for notice in running(desk):
        found += of_notice(desk, notice)
    return tuple(found)


def running(desk: Desk) -> tuple[NoticeView, ...]:
    """The notices that ask for more tests now."""
    return notices(desk.standing, desk.now, int(present_limit(desk, "notice_days")))


def shown_limit(line: WaterLine) -> str:
    """A limit as its list prints it, with the form that it counts where that matters."""
    return f"{plain(line.limit.most)} {line.limit.unit}{_form(line.limit.form)}"


def _form(form: str) -> str:
    return f" {say(f'water.form.{form}')}" if form in FORM_SHOWN else ""


def shown_result(view: ReportView, line: WaterLine) -> str:
    """A result as the paper has it, and beside it what it is in the unit and form of its limit where those differ."""
    on_paper = next((one for one in view.body.lines if one.item == line.limit.item), None)
    if line.result is None or on_paper is None:
        return say("water.not_on_report")
    sign = "<" if on_paper.below else ""
    first = f"{sign}{on_paper.value} {on_paper.unit}{_form(on_paper.form)}"
    if (on_paper.unit, on_paper.form or line.limit.form) == (line.result.unit, line.limit.form):
        return first
    return f"{first} ({sign}{plain(_short(line.result.value))} {line.result.unit}{_form(line.limit.form)})"


def _short(value: Decimal) -> Decimal:
    """At most six figures of a converted value: enough to show on which side of a limit it lies."""
    return SIX.plus(value).normalize() if len(value.as_tuple().digits) > 6 else value


def of_report(desk: Desk, view: ReportView) -> Finding | None:
    """A failing report with its first failing line, its limit, list and place; None for one that doesn't stand open."""
    if view.lines is None:
        return unjudged(view.fact, view.body.sampled_on)
    if not view.open:
        return None
    first = view.open[0]
    others = [item_words(line.limit.item) for line in view.open[1:]]
    params = {
        "analyte": item_words(first.limit.item),
        "result": shown_result(view, first),
        "limit": shown_limit(first),
        "list": worded("list", view.body.list),
        "sampled": day(view.body.sampled_on),
        "port": view.body.port,
        "others": f" {say('water.others', others=', '.join(others))}" if others else "",
    }
    rule = "water_report_over" if first.level is WaterLevel.OVER else "water_report_unclear"
    return _with_word(
        desk, view.fact, rule, Grade.STOP, params, (first.limit.source, "fluids:1.1"), "next.water_unit"
    )


def of_microbes(desk: Desk, view: MicrobeView) -> list[Finding]:
    """Each figure of a result that stands open, in the words of its level."""
    if view.counts is None:
        return [unjudged(view.fact, view.body.sampled_on)]
    return [_counted(desk, view, one) for one in view.open]


def unjudged(fact: Fact, sampled_on: str) -> Finding:
    """A result that this program can't hold against its list: it came from a newer one."""
    return Finding(
        "water_unjudged",
        Grade.CARE,
        (("sampled", day(sampled_on)),),
        ("design",),
        (fact.id,),
        "next.water_ask_unit",
    )


def worded(group: str, name: str) -> str:
    """What a picked word is called; the bare word where a newer program wrote one without words here."""
    key = f"water.{group}.{name}"
    return say(key) if has_text(key) else name


def count_params(view: MicrobeView, one: Counted) -> dict[str, str]:
    """What a count is told with: the figure as written, its limit, action level and list."""
    limit = one.line.limit
    return {
        "counted": say(f"water.counted.{one.what}"),
        "fluid": worded("fluid", view.body.fluid),
        "result": one.typed if one.typed.isalpha() else f"{one.typed} {limit.unit}",
        "limit": f"{plain(limit.below)} {limit.unit}",
        "action": f"{plain(limit.action)} {limit.unit}" if limit.action is not None else say("water.by_unit"),
        "list": worded("list", view.body.list),
        "sampled": day(view.body.sampled_on),
        "plate": _plate(view, one),
    }


def _plate(view: MicrobeView, one: Counted) -> str:
    """Why a 0 shows nothing: how much has to be plated."""
    limit = one.line.limit
    if one.level is not MicrobeLevel.CANT_TELL or one.what != "microbe" or one.typed.strip() != "0":
        return ""
    least = plain(least_plated(limit_cfu_ml=limit.below).normalize().quantize(Decimal(1)))
    if not view.body.plated_ml:
        return f" {say('water.plate_unknown', least=least)}"
    return f" {say('water.plate', plated=view.body.plated_ml, least=least)}"


def _counted(desk: Desk, view: MicrobeView, one: Counted) -> Finding:
    rule, grade, following = MICROBE_GRADES[one.level]
    sources = (one.line.source, "fluids:1.2")
    return _with_word(desk, view.fact, rule, grade, count_params(view, one), sources, following)


def _with_word(
    desk: Desk,
    fact: Fact,
    rule: str,
    grade: Grade,
    params: dict[str, str],
    sources: tuple[str, ...],
    following: str,
) -> Finding:
    """A finding; once the unit spoke about it, its words stand beside it and it no longer asks for the call."""
    said = said_about(desk.standing, fact)
    words = ""
    if said:
        _, advice = said[-1]
        words = f" {say('water.unit_said', who=advice.who, words=advice.words)}"
        grade, following = Grade.CARE, ""
    full = {**params, "unit_words": words}
    return Finding(rule, grade, tuple(sorted(full.items())), sources, (fact.id,), following)


def of_notice(desk: Desk, view: NoticeView) -> list[Finding]:
    """A notice with what to do while it lasts, and a test tonight over the household's own line."""
    body = view.body
    do = f"water.notice_do.{body.what}"
    params = {
        "notice": worded("notice", body.what),
        "begins": day(body.from_on),
        "teller": body.told_by,
        "do": say("water.notice_over" if view.over else do if has_text(do) else "water.notice_do.other"),
        "until": say("water.tests_until", until=day(view.tests_until.isoformat()))
        if view.tests_until is not None
        else say("water.no_end"),
        "own": f" {say('water.own_line', most=f'{body.chlorine_most} mg/L')}" if body.chlorine_most else "",
    }
    first = body.what in UNIT_FIRST and not view.over
    grade = Grade.STOP if first else Grade.CARE
    following = "next.water_notice" if first else ""
    found = _with_word(
        desk, view.fact, "water_notice", grade, params, ("fluids:1.9", "fluids:1.10"), following
    )
    if first and body.what in NEVER_HERE:
        found = Finding(found.rule, grade, found.params, found.sources, found.entries, following)
    return [found, *_over_own(desk, view.fact, body)]


def _over_own(desk: Desk, fact: Fact, body: WaterNotice) -> list[Finding]:
    """Tonight's chlorine after a tank against the line that holds while a notice lasts."""
    if not body.chlorine_most or desk.treatment_id is None:
        return []
    out = []
    for tank in ("tank1", "tank2"):
        for held in desk.treatment.at_slot("measured", "total_chlorine", tank):
            value = _value(held.body) if isinstance(held.body, Measured) else None
            if value is not None and value > Decimal(body.chlorine_most):
                out.append(
                    Finding(
                        "water_notice_chlorine",
                        Grade.STOP,
                        (
                            ("most", f"{body.chlorine_most} mg/L"),
                            ("result", f"{plain(value)} mg/L"),
                            ("tank", say(f"place.{tank}")),
                        ),
                        ("fluids:1.9",),
                        (fact.id, held.id),
                        "next.water_unit",
                    )
                )
    return out


def _value(body: Measured) -> Decimal | None:
    try:
        return Decimal(body.value) if body.value and not body.below else None
    except InvalidOperation:
        return None
