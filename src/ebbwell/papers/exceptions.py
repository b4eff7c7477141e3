"""What was not as planned: the first part of the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Grade, say_finding, say_grade
from ebbwell.core.text import say
from ebbwell.deeds.desk import LATE, Desk
from ebbwell.deeds.readings_due import missed_readings
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.bedside import Reminders
from ebbwell.journal.kinds.marks import Corrected, LotUsed, Measured, Settled, Withdrawn
from ebbwell.journal.kinds.night import AlreadyRunning, CameOff, Closed, Connected, Reading, Safe
from ebbwell.journal.kinds.orders import Advice, SecondCheck
from ebbwell.papers.describe import describe
from ebbwell.papers.ended_odd import bad_turns, open_checks, what_changed, words_at_closing
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.left_out import left_at_close, left_out
from ebbwell.papers.odd_answers import for_the_sheet, odd_answers, odd_readings
from ebbwell.papers.over_cap import over_cap
from ebbwell.papers.said_before import no_was_said, said_lines, taken_back_no
from ebbwell.papers.spoken import apart_words
from ebbwell.papers.words import (
    Names,
    item_words,
    line_words,
    measured_words,
    named,
    place_words,
    slot_words,
    step_words,
    steps_words,
    when_words,
)
from ebbwell.procedure.asides import ASIDES, asides
from ebbwell.procedure.evidence import lot_refused
from ebbwell.procedure.retest import fails
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.state.again import rounds
from ebbwell.state.facts import Fact
from ebbwell.state.night import first_blood
from ebbwell.state.own_past import tests_of
from ebbwell.state.samples import samples

MANY = 3
"""How many late entries written in one go are still told a line each. Own choice: the sheet is one page."""

ONE_GO = timedelta(minutes=30)
"""Entries written with less than this between them were written in one go. Own choice."""

NAMED = 6
"""Entries of another computer that are told one by one; how many more is said. Own choice: the sheet is one page."""

LATE_NAMED = 8
"""Things written late in one go that are named; each stands in its own part. Own choice: the sheet is one page."""

SHORT = 3
"""A row with no more values than this is told in full. Own choice."""

SILENT = frozenset({"waited", "handed_over"})
"""Kinds whose replacement is no exception: a wait begun again, a hand-over answered."""


def exceptions(desk: Desk, names: Names) -> list[str]:
    """Every exception of the treatment, in words, in the order in which a reader needs them."""
    return [
        *said_lines(desk, names),
        *_called_off(desk),
        *_running(desk),
        *_stops(desk),
        *bad_turns(desk),
        *_blood_kept_out(desk),
        *words_at_closing(desk),
        *odd_readings(desk, Grade.STOP),
        *_findings(desk),
        *odd_readings(desk, Grade.CARE),
        *for_the_sheet(desk),
        *odd_answers(desk),
        *_disagreements(desk),
        *_after_connect(desk),
        *_changes(desk, names),
        *_second_checks(desk),
        *left_out(desk),
        *over_cap(desk),
        *_allowed(desk),
        *_packs(desk),
        *_settings_apart(desk),
        *_not_measured(desk),
        *_again(desk),
        *_samples(desk),
        *_missed(desk),
        *_asked(desk),
        *_late(desk, names),
        *_open(desk),
        *_awaited(desk),
        *_elsewhere(desk, names),
    ]


def _when(desk: Desk, entry: Entry) -> str:
    return sheet_clock(desk, entry.envelope.at)


def _called_off(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("closed"):
        if isinstance(fact.body, Closed) and fact.body.called_off:
            at = sheet_clock(desk, fact.at)
            said = say("odd.said_no") if no_was_said(desk) else "-"
            yield say("odd.called_off", at=at, words=fact.body.words or said)


def _running(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("already_running"):
        if isinstance(fact.body, AlreadyRunning):
            yield say(
                "odd.running",
                at=sheet_clock(desk, fact.at),
                steps=open_checks(desk.procedure, fact.body.open_holds) or say("odd.none"),
                words=fact.body.words or "-",
            )


def _stops(desk: Desk) -> Iterator[str]:
    for kind in ("stop", "blood_by_hand"):
        for fact in desk.treatment.of(kind):
            yield f"{sheet_clock(desk, fact.at)} {describe(fact.body)}"


def _blood_kept_out(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("came_off"):
        if isinstance(fact.body, CameOff) and fact.body.blood_returned != "all":
            yield f"{sheet_clock(desk, fact.at)} {describe(fact.body)}"


def _findings(desk: Desk) -> Iterator[str]:
    for finding in evaluate(desk.scene.rulebook, desk.scene.facts):
        if finding.grade in (Grade.STOP, Grade.CARE):
            connected = first_blood(desk.treatment) is not None
            yield f"{say_grade(finding.grade, connected=connected)}: {say_finding(finding)}"


def _disagreements(desk: Desk) -> Iterator[str]:
    for slot, facts in desk.treatment.disagreements().items():
        said = " / ".join(f"{sheet_clock(desk, f.at)} {describe(f.body)}" for f in facts)
        yield say("odd.unsettled", what=slot_words(".".join(slot[1:]) or slot[0]), said=said)


def _after_connect(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("connected"):
        if not isinstance(fact.body, Connected):
            continue
        for step, ids in fact.body.satisfied.items():
            later = [
                new
                for old in ids
                for new in desk.treatment.replaced.get(old, ())
                if desk.treatment.entries[new].envelope.recorded_at > fact.entry.envelope.recorded_at
            ]
            if later:
                at = ", ".join(sorted(_when(desk, desk.treatment.entries[i]) for i in later))
                yield say("odd.after_connect", step=step_words(desk.procedure, step), at=at)


def _changes(desk: Desk, names: Names) -> Iterator[str]:
    failed = {test.id for test in desk.treatment.worked_out(tests_of) if fails(desk.rulebook, test)}
    for entry in desk.treatment:
        olds = [old for old in entry.envelope.replaces if old in desk.treatment.entries]
        if not olds or entry.envelope.kind in SILENT or taken_back_no(desk.treatment, entry):
            continue
        before = [desk.treatment.fact(old) for old in olds]
        was = " / ".join(describe(f.body, names) for f in before if f is not None) or say("odd.not_readable")
        common = {
            "at": sheet_clock(desk, entry.envelope.recorded_at),
            "by": names.get(entry.envelope.by, entry.envelope.by),
            "was": was,
            "reason": entry.envelope.reason or "-",
        }
        body = entry.body
        if isinstance(body, Withdrawn):
            yield say("odd.withdrawn", **common)
        elif isinstance(body, Settled):
            holds = desk.treatment.fact(body.holds)
            yield say("odd.settled", now=describe(holds.body, names) if holds else body.holds, **common)
        else:
            now = desk.treatment.fact(entry.id)
            said = describe(now.body, names) if now is not None else say("odd.not_readable")
            alike = isinstance(body, Corrected) and said == was and now is not None
            if isinstance(body, Corrected) and alike and now is not None:
                common["was"], said = what_changed(desk, [f for f in before if f is not None], now, body)
            if isinstance(body, Corrected):
                yield say("odd.corrected", now=said, **common)
            elif said != was:
                yield say("odd.tested_again" if failed & set(olds) else "odd.changed", now=said, **common)
            if now is not None and not alike and isinstance(body, Corrected) and "at" in body.changes:
                yield say("odd.time_corrected", now=sheet_clock(desk, now.at), by=common["by"])


def _second_checks(desk: Desk) -> Iterator[str]:
    """Second readings that weren't the same, also one that was settled or taken back: both stay in sight."""
    for entry in desk.treatment:
        body = entry.body
        if isinstance(body, SecondCheck) and not body.agrees:
            firsts = [desk.treatment.fact(i) for i in body.of]
            said = " / ".join(describe(f.body) for f in firsts if f is not None)
            again = ", ".join(value for name, value in body.values.items() if name != "photo")
            at = sheet_clock(desk, entry.envelope.at)
            yield say("odd.second_differs", at=at, first=said, second=again or "-")


def _allowed(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("advice"):
        body = fact.body
        if isinstance(body, Advice) and body.spoken and body.allows:
            steps = steps_words(desk.procedure, body.about) or say("odd.none")
            yield say("odd.allowed", who=body.who, words=body.words, steps=steps)


def _packs(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("lot_used"):
        if isinstance(fact.body, LotUsed):
            why = lot_refused(desk.scene, fact.body)
            if why:
                yield say("odd.pack", item=item_words(fact.body.item), why=say(why))


def _settings_apart(desk: Desk) -> Iterator[str]:
    for step in desk.procedure.steps:
        yield from apart_words(desk, step.id)


def _not_measured(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("measured"):
        body = fact.body
        if isinstance(body, Measured) and body.not_measured:
            yield f"{place_words(body.quantity, body.place)}: {measured_words(body)}"
    for fact in desk.treatment.of("reading"):
        if isinstance(fact.body, Reading) and fact.body.missing:
            reasons = ", ".join(sorted(set(fact.body.missing.values())))
            what = ", ".join(named("quantity", name) for name in fact.body.missing)
            yield say("odd.reading_missing", at=sheet_clock(desk, fact.at), what=what, reason=reasons)


def _again(desk: Desk) -> Iterator[str]:
    """What was not as wanted, or not looked at, before going on again and with a new set."""
    for aside in ASIDES:
        for each in rounds(desk.treatment, aside):
            done = each.ended if aside == "on_again" else each.began
            at = sheet_clock(desk, (done or each.began).at)
            words = describe((done or each.began).body)
            odd = [
                f"{say(f'again.{check.id}')} {say(f'again.option.{each.said[check.id]}')}"
                for check in asides()[aside]
                if each.said.get(check.id, check.wants[0]) not in check.wants
            ]
            left = [say(f"again.{check.id}") for check in asides()[aside] if check.id not in each.said]
            if odd:
                yield say("odd.again", at=at, aside=words, said=", ".join(odd))
            if left and done is not None:
                yield say("odd.not_again", at=at, aside=words, checks=", ".join(left))


def _samples(desk: Desk) -> Iterator[str]:
    for view in samples(desk.treatment):
        if view.due is not None and view.taken is None:
            yield say("odd.sample", sample=view.sample, when=named("sample_when", view.when))


def _missed(desk: Desk) -> Iterator[str]:
    """Readings that a reminder was for and that nobody took, and reminders that fell silent. Source: practice:H75."""
    reminded = desk.treatment.of("reminders")
    for fact in reminded:
        if isinstance(fact.body, Reminders) and fact.body.stage == "silent":
            yield f"{sheet_clock(desk, fact.at)} {describe(fact.body)}"
    for one in missed_readings(desk) if reminded else ():
        if one.due is not None:
            yield say("odd.missed", at=sheet_clock(desk, one.due), what=when_words(one.name))


def _asked(desk: Desk) -> Iterator[str]:
    """Values that were asked about and kept, as they were typed then, also where they were put right later."""
    for entry in desk.treatment:
        body = entry.body
        if isinstance(body, Measured | Reading) and body.asked:
            if isinstance(body, Reading) and len(body.values) > SHORT:
                what = say("odd.asked_row", row=_row_name(body))
            else:
                what = describe(body)
            yield say("odd.asked", at=_when(desk, entry), what=what)


def _late(desk: Desk, names: Names) -> Iterator[str]:
    """What was written down long after it was seen: a line each, or one for many written in one go.

    Many in one go are named by what they are, since each stands in full in its own part of the sheet.
    """
    late: list[tuple[Entry, Fact, int]] = []
    for entry in desk.treatment:
        minutes = elapsed(entry.envelope.at, entry.envelope.recorded_at).total_seconds() / 60
        fact = desk.treatment.fact(entry.id)
        if minutes > LATE and fact is not None and not isinstance(entry.body, Corrected):
            late.append((entry, fact, round(minutes)))
    for run in _in_one_go(late):
        if len(run) > MANY:
            yield _many_late(desk, names, run)
            continue
        for entry, fact, minutes in run:
            yield say(
                "odd.late",
                at=_when(desk, entry),
                what=describe(fact.body, names),
                written=sheet_clock(desk, entry.envelope.recorded_at),
                minutes=minutes,
            )


def _in_one_go(late: list[tuple[Entry, Fact, int]]) -> list[list[tuple[Entry, Fact, int]]]:
    """Late entries by when they were written: those with less than ``ONE_GO`` between them belong together."""
    runs: list[list[tuple[Entry, Fact, int]]] = []
    for one in sorted(late, key=lambda each: each[0].envelope.recorded_at):
        before = runs[-1][-1][0].envelope.recorded_at if runs else None
        if before is not None and elapsed(before, one[0].envelope.recorded_at) < ONE_GO:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _many_late(desk: Desk, names: Names, run: list[tuple[Entry, Fact, int]]) -> str:
    written = [sheet_clock(desk, entry.envelope.recorded_at) for entry, _, _ in run]
    ages = [minutes for _, _, minutes in run]
    by_time = sorted(run, key=lambda one: one[0].envelope.at)
    seen: dict[str, list[str]] = {}
    for entry, fact, _ in by_time:
        seen.setdefault(_short(fact, names), []).append(_when(desk, entry))
    told = [f"{', '.join(times)} {short}" for short, times in seen.items()]
    if len(told) > LATE_NAMED:
        told[LATE_NAMED:] = [say("odd.and_more", count=len(told) - LATE_NAMED)]
    what = "; ".join(told)
    return say(
        "odd.late_many",
        count=len(run),
        first=written[0],
        last=written[-1],
        least=min(ages),
        most=max(ages),
        what=what,
    )


def _row_name(body: Reading) -> str:
    """Which reading of the night it is; its values stand among the readings."""
    return when_words(body.when) if body.when else say("odd.a_reading")


def _short(fact: Fact, names: Names) -> str:
    """What an entry is, without its value."""
    if isinstance(fact.body, Reading):
        return say("odd.a_reading")
    return re.split(r"[:?.(]", describe(fact.body, names), maxsplit=1)[0].strip()


def _open(desk: Desk) -> Iterator[str]:
    for fact in desk.treatment.of("safe"):
        if isinstance(fact.body, Safe) and fact.body.open_steps:
            yield say("odd.open_when_safe", steps=steps_words(desk.procedure, fact.body.open_steps))
    if first_blood(desk.treatment) is not None:
        gates = ("close", "next_night")
        told = left_at_close(desk)
        left = [v.step.id for v in desk.views.values() if v.step.gate in gates and not v.passed]
        left = [step for step in left if step not in told]
        if left:
            yield say("odd.open", steps=steps_words(desk.procedure, left))


def _awaited(desk: Desk) -> Iterator[str]:
    ordered = desk.scene.order
    if ordered is None:
        return
    for line in ordered.unconfirmed:
        yield say("odd.awaited", line=named("line", line))
    for line in ordered.alone:
        yield say("odd.alone", line=line_words(line, ordered.lines[line], desk.rulebook))


def _elsewhere(desk: Desk, names: Names) -> Iterator[str]:
    writers = {entry.writer for entry in desk.treatment}
    if len(writers) > 1:
        holder = desk.scene.holder
        others = [e for e in desk.treatment if holder is None or e.writer != holder[0]]
        told = [f"{_when(desk, e)} {_told(desk, e, names)}" for e in others[:NAMED]]
        if len(others) > NAMED:
            told.append(say("odd.and_more", count=len(others) - NAMED))
        yield say("odd.elsewhere", what="; ".join(told))
    for entry in desk.treatment.not_understood():
        yield say("odd.not_understood", kind=entry.envelope.kind)


def _told(desk: Desk, entry: Entry, names: Names) -> str:
    """What an entry says; the name of its kind where it no longer holds."""
    fact = desk.treatment.fact(entry.id)
    return describe(fact.body if fact is not None else entry.body, names)
