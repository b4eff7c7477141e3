"""The sheet of one treatment: everything the record says of it, exceptions first.

Made from entries alone, and judged at the moment of the night's last entry with what stood then, so that an old
sheet reads the same next year.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.core.errors import InputError
from ebbwell.core.reader import read_by
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.chain import Heads
from ebbwell.journal.kinds.bedside import Annotation
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.night import CameOff, Event, Given
from ebbwell.journal.kinds.orders import Advice, Pinned, Plan
from ebbwell.papers.clot_score import beside_dose, score_lines
from ebbwell.papers.describe import describe
from ebbwell.papers.exceptions import exceptions
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.odd_answers import morning_answers
from ebbwell.papers.said_before import said_events
from ebbwell.papers.sheet_figures import chain_key, entries_key, figures, on_dialysis
from ebbwell.papers.sheet_order import BY_GIVEN, BY_PACK, Ordered, ordered_for
from ebbwell.papers.sheet_plan import plan_columns, plan_rows
from ebbwell.papers.sheet_readings import readings, run_on
from ebbwell.papers.sheet_who import second_readings, who_rows
from ebbwell.papers.words import (
    day,
    how_tested,
    item_words,
    measured_words,
    named,
    place_words,
    span,
    step_words,
)
from ebbwell.procedure.evidence import SETTING
from ebbwell.rulebook.own_units import in_units
from ebbwell.state.facts import Fact, Facts, instant
from ebbwell.state.night import Phase, first_blood, pauses, phase, run_time, start_known
from ebbwell.state.standing import household, people
from ebbwell.state.units import chosen_units

EVENTS = (
    "event",
    "given",
    "advice",
    "off",
    "on",
    "rechecked",
    "new_set",
    "happened",
    "handed_over",
    "stop",
    "annotation",
    "reminders",
    "blood_by_hand",
    "sample_due",
    "sample_taken",
)
"""Kinds that stand among the events of the sheet."""


@dataclass(frozen=True)
class Section:
    """One part of the sheet. rows: each a line of its own; a table has its columns under ``columns``.

    parts: where a row is a run of short ones, each of them. lead: how many rows stand before that run.
    """

    id: str
    title: str
    rows: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    table: tuple[tuple[str, ...], ...] = ()
    parts: tuple[str, ...] = ()
    lead: int = 0


@dataclass(frozen=True)
class Sheet:
    """title: the first line. who: under it, whose work the night was. data: the same for a program."""

    title: str
    who: tuple[str, ...]
    invented: bool
    sections: tuple[Section, ...]
    data: dict[str, Any] = field(default_factory=dict)

    def section(self, section_id: str) -> Section | None:
        """The part of that name, if the sheet has it."""
        return next((s for s in self.sections if s.id == section_id), None)


def build_sheet(desk: Desk, heads: Heads) -> Sheet:
    """The sheet of the treatment on the desk. heads: the store's chains, count and newest hash.

    A figure stands as ordered and kept; the one in the household's unit stands beside it.
    Raises InputError when no treatment is on the desk.
    """
    if desk.treatment_id is None or not desk.treatment.of("pinned"):
        raise InputError("sheet.no_treatment")
    stood = as_it_stood(desk)
    with read_by(stood.rulebook.units, kept_first=True, access=stood.access):
        return _sheet(stood, heads)


def _sheet(desk: Desk, heads: Heads) -> Sheet:
    names = {"bedside": say("bedside")}
    names |= {person: body.name for person, body in people(desk.standing).items()}
    odd = exceptions(desk, names)
    times = _times(desk)
    ordered = ordered_for(desk)
    plan = Section("plan", say("sheet.plan"), (), plan_columns(), plan_rows(desk, ordered))
    measured = _run("before", say("sheet.measured"), _measured(desk, ordered))
    lots = _run("lots", say("sheet.lots"), _lots(desk, ordered))
    events = Section("events", say("sheet.events"), _events(desk, names, ordered))
    settings = _run("settings", say("sheet.settings"), ordered.settings(), lead=(ordered.lead(),))
    sections = [
        Section("exceptions", say("sheet.exceptions"), tuple(odd) or (say("sheet.no_exceptions"),)),
        Section("times", say("sheet.times"), _time_rows(desk, times)),
        plan,
        settings,
        Section("readings", say("sheet.readings"), *readings(desk)),
        measured,
        lots,
        events,
        _run("morning", say("sheet.morning"), morning_answers(desk) + score_lines(desk, names)),
        Section("steps", say("sheet.steps"), _steps(desk, names)),
        Section("record", say("sheet.record"), _record(desk, heads)),
    ]
    home = household(desk.standing)
    pinned = _pinned(desk)
    title = say(
        "sheet.title",
        night=day(pinned.night),
        household=home.name if home is not None else say("sheet.no_name"),
        person=on_dialysis(desk),
    )
    kept = tuple(s for s in sections if s.rows or s.table)
    return Sheet(
        title, who_rows(desk, names), home is not None and home.invented, kept, _data(desk, heads, times, odd)
    )


def as_it_stood(desk: Desk) -> Desk:
    """The desk at the moment of the treatment's last entry, without what was written down later.

    A note put on the sheet afterwards moves nothing: the night is judged as it was before it.
    """
    written = [e.envelope for e in desk.treatment if e.envelope.kind != Annotation.KIND]
    last = max(written, key=lambda e: e.recorded_at)
    later = any(e.envelope.recorded_at > last.recorded_at for e in desk.standing.entries.values())
    standing = Facts() if later else desk.standing
    for entry in desk.standing if later else ():
        if entry.envelope.recorded_at <= last.recorded_at:
            standing.step(entry)
    now = Moment(last.recorded_at, last.zone, last.boot, last.mono)
    book = in_units(desk.rulebook, chosen_units(standing))
    return replace(desk, standing=standing, rulebook=book, now=now, drafts=[], findings=[])


def _pinned(desk: Desk) -> Pinned:
    body = desk.treatment.of("pinned")[0].body
    if not isinstance(body, Pinned):
        raise InputError("sheet.no_treatment")
    return body


def _times(desk: Desk) -> dict[str, datetime]:
    treatment = desk.treatment
    found: dict[str, datetime] = {"opened": treatment.of("pinned")[0].at}
    start = first_blood(treatment)
    if start is not None and start_known(treatment):
        found["first_blood"] = start
    off = treatment.last("came_off")
    if off is not None and isinstance(off.body, CameOff):
        found |= {name: at for name, text in off.body.times.items() if (at := instant(text)) is not None}
    for kind in ("safe", "closed"):
        fact = treatment.last(kind)
        if fact is not None:
            found[kind] = fact.at
    return found


def _time_rows(desk: Desk, times: Mapping[str, datetime]) -> tuple[str, ...]:
    spoken = [
        f"{named('sheet.time', name)} {sheet_clock(desk, at)}" for name, at in sorted(times.items(), key=_at)
    ]
    length = run_time(desk.treatment)
    ran = [say("sheet.run_time", length=span(length))] if length is not None else []
    if first_blood(desk.treatment) is not None and not start_known(desk.treatment):
        ran.append(say("sheet.start_not_known"))
    elif length is None and "first_blood" in times:
        ran.append(say("sheet.run_time_unknown"))
    rows = [". ".join([", ".join(spoken), *ran])]
    for start, end in pauses(desk.treatment):
        until = sheet_clock(desk, end) if end is not None else say("sheet.not_on_again")
        rows.append(say("sheet.pause", start=sheet_clock(desk, start), end=until))
    return tuple(rows)


def _at(pair: tuple[str, datetime]) -> datetime:
    return pair[1]


def _measured(desk: Desk, ordered: Ordered) -> list[str]:
    rows = []
    for slot, facts in desk.treatment.slots.items():
        if slot[0] != "measured" or slot[2] == SETTING:
            continue
        for fact in facts:
            if isinstance(fact.body, Measured):
                at = sheet_clock(desk, fact.at)
                method = how_tested(fact.body, method=True)
                words = place_words(fact.body.quantity, fact.body.place)
                line = fact.body.quantity if fact.body.quantity == "heparin_strength" else ""
                said = f"{measured_words(fact.body)}{ordered.beside(line, fact.body.unit)}"
                rows.append((fact.at, f"{at} {words}: {said}{method}"))
    return [text for _, text in sorted(rows)]


def _run(section_id: str, title: str, parts: list[str], lead: tuple[str, ...] = ()) -> Section:
    run = (run_on(parts),) if parts else ()
    return Section(section_id, title, (*lead, *run), parts=tuple(parts), lead=len(lead))


def _lots(desk: Desk, ordered: Ordered) -> list[str]:
    rows = []
    for fact in desk.treatment.of("lot_used"):
        body = fact.body
        if isinstance(body, LotUsed):
            unreadable = say("said.lot_unreadable")
            rows.append(
                say(
                    "sheet.lot",
                    item=f"{item_words(body.item)}{ordered.beside(BY_PACK.get(body.item, ''))}",
                    code=body.code or "-",
                    lot=body.lot or unreadable,
                    expiry=body.expiry or unreadable,
                )
            )
    return rows


def _events(desk: Desk, names: Mapping[str, str], ordered: Ordered) -> tuple[str, ...]:
    facts = [f for kind in EVENTS for f in desk.treatment.of(kind)]
    rows = said_events(desk, names)
    for fact in facts:
        text = describe(fact.body, names)
        if isinstance(fact.body, Event | Annotation) and fact.body.said_by == "person":
            text = f"{text} ({say('sheet.said_by_person')})"
        elif isinstance(fact.body, Annotation):
            text = f"{text} ({say('web.mine.note_by', who=names.get(fact.by, fact.by))})"
        if isinstance(fact.body, Given):
            text += ordered.beside(BY_GIVEN.get(fact.body.what, ""), fact.body.unit)
            text += beside_dose(desk, fact, names)
        if isinstance(fact.body, Advice) and fact.body.about:
            steps = "; ".join(step_words(desk.procedure, i) for i in fact.body.about)
            text = f"{text} ({steps})"
        rows.append((fact.at, f"{sheet_clock(desk, fact.at)} {text}"))
    return tuple(text for _, text in sorted(rows, key=lambda row: row[0]))


def _steps(desk: Desk, names: Mapping[str, str]) -> tuple[str, ...]:
    counted: dict[str, int] = {}
    for view in desk.views.values():
        counted[view.status.value] = counted.get(view.status.value, 0) + 1
    rows = [
        say(
            "sheet.steps_count",
            met=counted.get("met", 0),
            skipped=counted.get("skipped", 0),
            not_needed=counted.get("not_needed", 0),
            open=sum(n for s, n in counted.items() if s not in ("met", "skipped", "not_needed")),
        )
    ]
    checks = second_readings(desk, names)
    if checks:
        rows.append(f"{say('sheet.second_checks')} {run_on(checks)}")
    return tuple(rows)


def _record(desk: Desk, heads: Heads) -> tuple[str, ...]:
    pinned = _pinned(desk)
    count = len(desk.treatment)
    rows = [
        say(entries_key(count), count=count, treatment=desk.treatment_id or ""),
        say(
            "sheet.pins",
            procedure=pinned.procedure,
            procedure_digest=pinned.procedure_digest[:16],
            rulebook_digest=pinned.rulebook_digest[:16],
            formulas_digest=pinned.formulas_digest[:16],
        ),
    ]
    rows += [
        say(chain_key(count), writer=writer[-12:], count=count, head=head.hex()[:16])
        for writer, (count, head) in heads.items()
    ]
    return tuple(rows)


def _fact_data(fact: Fact) -> dict[str, Any]:
    return {
        "id": fact.id,
        "kind": fact.kind,
        "at": fact.at.astimezone(UTC).isoformat(),
        "by": fact.by,
        "says": describe(fact.body),
    }


def _data(desk: Desk, heads: Heads, times: Mapping[str, datetime], odd: list[str]) -> dict[str, Any]:
    length = run_time(desk.treatment)
    pinned = _pinned(desk)
    now_phase: Phase = phase(desk.treatment)
    plan = desk.treatment.last("plan")
    return {
        "treatment": desk.treatment_id,
        "night": pinned.night,
        "phase": now_phase.value,
        "times": {name: at.astimezone(UTC).isoformat() for name, at in times.items()},
        "zone": str(ZoneInfo(desk.now.zone)),
        "run_minutes": None if length is None else round(length.total_seconds() / 60),
        "pauses": [
            {"off": a.astimezone(UTC).isoformat(), "on": None if b is None else b.astimezone(UTC).isoformat()}
            for a, b in pauses(desk.treatment)
        ],
        "exceptions": odd,
        "plan": dict(plan.body.figures) if plan is not None and isinstance(plan.body, Plan) else {},
        "facts": [_fact_data(f) for kind in sorted(desk.treatment.live) for f in desk.treatment.of(kind)],
        "given": [
            {"what": f.body.what, "amount": f.body.amount, "unit": f.body.unit}
            for f in desk.treatment.of("given")
            if isinstance(f.body, Given)
        ],
        "open_steps": [v.step.id for v in desk.views.values() if v.step.gate == "close" and not v.passed],
        "chains": {writer: {"entries": n, "head": head.hex()} for writer, (n, head) in heads.items()},
        "procedure_digest": pinned.procedure_digest,
        "rulebook_digest": pinned.rulebook_digest,
        "formulas_digest": pinned.formulas_digest,
        **figures(desk),
    }
