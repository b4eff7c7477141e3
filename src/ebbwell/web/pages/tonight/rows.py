"""Rows of the Tonight page: what is open, what changed, and the course of the night on the clock."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import takewhile
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment, elapsed
from ebbwell.core.findings import Finding
from ebbwell.core.text import say
from ebbwell.deeds.coming_up import every_wait
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.readings_due import planned_end
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.describe import describe
from ebbwell.papers.over_again import over_again
from ebbwell.papers.spoken import bar_words
from ebbwell.papers.standing_now import WHILE_BLOOD_RUNS, stopped_before_blood, urgent_first
from ebbwell.papers.words import clock, day, span, step_words
from ebbwell.plan.clock_times import after, clocks_change, offset_text
from ebbwell.procedure.evidence import plan_void
from ebbwell.procedure.holds import Status
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.night import ON_MACHINE, Phase, first_blood
from ebbwell.state.own_past import Past, latest
from ebbwell.state.standing import people

CHANGES = (
    "prescription",
    "line_amended",
    "advice",
    "lot_recalled",
    "disinfected",
    "water_report",
    "microbe_result",
    "blood_result",
    "blood_target",
    "carbon_changed",
    "water_notice",
    "not_tonight",
    "event",
    "person",
    "skill",
    "first_action",
    "emergency_details",
    "field_order",
)
"""Kinds of entries between two nights that a carer wants to know of."""

MOST = 8
"""Changes that are shown."""

MORNING = ("come_off", "after")
"""Stages that come once the hours are done."""

PLAIN = (Status.OPEN, Status.SHUT)
"""Standings of a step that need no words of their own."""


@dataclass(frozen=True)
class OpenRow:
    """mark: of the margin. words: what is open. to: where it is done, "" for nowhere."""

    mark: str
    words: str
    to: str = ""


def margin_time(instant: datetime, now: Moment) -> str:
    """A clock time for the margin, with its day where that isn't today, and its offset where the clocks changed."""
    zone = ZoneInfo(now.zone)
    there, here = instant.astimezone(zone), now.at.astimezone(zone)
    text = clock(instant, now.zone)
    if elapsed(now.at, instant) > timedelta(0) and clocks_change(now.at, instant, now.zone):
        text = f"{text} {offset_text(instant, now.zone)}"
    if there.date() == here.date():
        return text
    if abs((there.date() - here.date()).days) < 7:
        return f"{say(f'web.day.{there.isoweekday()}')} {text}"
    return f"{there.day} {say(f'month.{there.month}')} {text}"


def open_rows(desk: Desk, told: Collection[Finding] = ()) -> list[OpenRow]:
    """What is still open: before connecting by bundles of steps, later each step that the sheet still needs.

    told: findings that stand on the page already; the step that they keep shut is named, and they aren't told again.
    """
    if desk.phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF) or stopped_before_blood(desk):
        return []
    if desk.phase is not Phase.SETTING_UP:
        runs = desk.phase in ON_MACHINE
        off = desk.phase in (Phase.OFF, Phase.SAFE)
        due = desk.views.where(
            lambda step: (
                step.gate in ("close", "next_night")
                and not (runs and step.stage in MORNING)
                and not (off and step.stage in WHILE_BLOOD_RUNS)
            )
        )
        left = urgent_first(desk, [view for view in due if not view.passed])
        return [
            OpenRow(
                "shut" if v.step.kind == "hold" else "open",
                step_words(desk.procedure, v.step.id),
                "/night" if v.step.stage in WHILE_BLOOD_RUNS else "/off",
            )
            for v in left
        ]
    rows: list[OpenRow] = []
    seen: set[str] = set()
    for bar in desk.bars:
        view = desk.views.get(bar.step) if bar.step else None
        if view is None:
            to = f"/settle/{bar.entries[0]}" if bar.key == "bar.unsettled" and bar.entries else ""
            rows.append(OpenRow("shut", bar_words(bar, desk), to or BARS.get(bar.key, "")))
        elif view.status not in PLAIN:
            rows.append(
                OpenRow("shut", bar_words(bar, desk, told), f"/setup/{view.step.bundle or view.step.id}")
            )
        elif not view.step.bundle:
            words = step_words(desk.procedure, view.step.id)
            rows.append(OpenRow("shut" if view.step.kind == "hold" else "open", words, f"/setup/{bar.step}"))
        elif view.step.bundle not in seen:
            seen.add(view.step.bundle)
            rows.append(_bundle_row(desk, view.step.bundle))
    return rows


BARS = {
    "bar.not_tonight": "/mine",
    "bar.no_holder": "/hand-over",
    "bar.no_prescription": "/prescription",
    "bar.other_steps": "/steps",
}
"""Where what isn't a step is mended."""


def _bundle_row(desk: Desk, bundle: str) -> OpenRow:
    views = [
        v for v in desk.views.where(lambda step: step.bundle == bundle) if v.status is not Status.NOT_NEEDED
    ]
    done = sum(v.passed for v in views)
    held = any(v.step.kind == "hold" and not v.passed for v in views)
    words = say(
        "web.tonight.bundle",
        name=desk.procedure.say(f"bundle.{bundle}"),
        done=done,
        count=len(views),
    )
    return OpenRow("shut" if held else "open", words, f"/setup/{bundle}")


def waits(desk: Desk) -> list[tuple[datetime, str]]:
    """Every wait that isn't over: when it will be, and of which step, the first to end first.

    Once off the machine, what is waited for while blood runs is over.
    """
    off = desk.phase in (Phase.OFF, Phase.SAFE)
    return [
        (until, step_words(desk.procedure, view.step.id))
        for until, view in every_wait(desk)
        if not (off and view.step.stage in WHILE_BLOOD_RUNS)
    ]


def set_up_times(desk: Desk) -> str:
    """How long this home's last ten set-ups took, from opening the night to first blood; "" without any."""
    spans = [
        elapsed(s.opened_at, s.first_blood)
        for s in latest(desk.past, before=desk.now.at, nights=10)
        if s.first_blood is not None and s.treatment != desk.treatment_id
    ]
    if not spans:
        return ""
    shortest, longest = span(min(spans)), span(max(spans))
    if shortest == longest:
        return say("web.tonight.took_one", count=len(spans), length=shortest)
    return say("web.tonight.took", count=len(spans), shortest=shortest, longest=longest)


def changed_since(desk: Desk) -> list[tuple[datetime, str]]:
    """What was written between the last night and this moment, newest first."""
    nights = [s for s in latest(desk.past, before=desk.now.at, nights=2) if s.treatment != desk.treatment_id]
    if not nights:
        return []
    since = nights[0].pump_stopped or nights[0].first_blood or nights[0].opened_at
    names = {person: one.name for person, one in people(desk.standing).items()}
    facts = list(takewhile(lambda fact: fact.at > since, desk.standing.worked_out(_changes)))
    found = over_again(desk, nights[0])
    over = {fact.id for fact, _, _ in found}
    told = [(f.at, describe(f.body, names)) for f in facts if f.id not in over]
    told += [(at, words) for _, at, words in found]
    return sorted(told, key=lambda row: row[0], reverse=True)[:MOST]


def _changes(standing: Facts) -> list[Fact]:
    """Everything of the kinds that a carer wants to know of, newest first."""
    held = [f for kind in CHANGES for f in standing.of(kind)]
    return sorted(held, key=lambda fact: fact.at, reverse=True)


def open_sheets(desk: Desk) -> list[tuple[str, str]]:
    """Sheets of earlier nights that wait to be closed: treatment and date."""
    past = desk.past
    ids = past.open_ones() if isinstance(past, Past) else ()
    return [(one, day(past[one].night)) for one in ids if one != desk.treatment_id]


AS_LAST = "web.tonight.course.last"
"""Where a night that isn't planned yet takes its times from."""


@dataclass(frozen=True)
class Course:
    """The night on the clock. basis: wording key of where the times come from. rows: margin and words."""

    basis: str
    rows: tuple[tuple[str, str], ...]

    @property
    def heading(self) -> str:
        """Wording key of what stands above it."""
        return "web.tonight.if_as_last" if self.basis == AS_LAST else "web.tonight.if_all"


def if_all_goes(desk: Desk) -> Course | None:
    """First blood, heparin off and end: of the night that runs, else of the plan, else as on the last night.

    Times are added in UTC. Source: practice:H17.
    """
    held = desk.scene.order
    if held is None or held.waiting:
        return None
    minutes = _number(held.lines.get("treatment_minutes", ""))
    stop = _number(held.lines.get("heparin_stop_before_end", ""))
    if held.lines.get("anticoagulant") != "heparin":
        stop = None
    start = first_blood(desk.treatment) if desk.treatment_id is not None else None
    if start is not None and desk.phase in ON_MACHINE:
        end = planned_end(desk)
        return None if end is None else _course(desk, "web.tonight.course.running", start, end, stop)
    if start is not None:
        return None
    planned = _planned(desk)
    if planned is not None:
        return planned
    before = [s.first_blood for s in latest(desk.past, before=desk.now.at, nights=3) if s.first_blood]
    if not before or minutes is None:
        return None
    begins = _same_time_today(before[0], desk.now)
    if elapsed(desk.now.at, begins) < timedelta(0):
        return None
    return _course(desk, AS_LAST, begins, after(begins, minutes), stop)


def _planned(desk: Desk) -> Course | None:
    fact = desk.treatment.last("plan") if desk.treatment_id is not None else None
    if fact is None or not isinstance(fact.body, Plan) or plan_void(desk.scene, fact.body):
        return None
    figures = fact.body.figures
    names = (("heparin_stop_at", "web.tonight.heparin_off"), ("finish_at", "web.tonight.end"))
    rows = tuple((figures[name], say(key)) for name, key in names if name in figures)
    return Course("web.tonight.course.plan", rows) if rows else None


def _course(desk: Desk, basis: str, start: datetime, end: datetime, stop: Decimal | None) -> Course:
    rows = [(margin_time(start, desk.now), say("web.tonight.first_blood"))]
    if stop is not None:
        off = end - timedelta(minutes=float(stop))
        rows.append((margin_time(off, desk.now), say("web.tonight.heparin_off")))
    length = span(elapsed(start, end))
    rows.append((margin_time(end, desk.now), say("web.tonight.done", length=length)))
    return Course(basis, tuple(rows))


def _same_time_today(then: datetime, now: Moment) -> datetime:
    zone = ZoneInfo(now.zone)
    today = now.at.astimezone(zone).date()
    local = then.astimezone(zone)
    return local.replace(year=today.year, month=today.month, day=today.day)


def _number(text: str) -> Decimal | None:
    return Decimal(text) if text.replace(".", "", 1).isdecimal() else None
