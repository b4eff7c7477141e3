"""Deeds about what the clinic ordered: the prescription whole, one line by phone, second checks, advice."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.thousands import thousands
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.dose_typed import ordered_dose
from ebbwell.deeds.turn import independent, need_open
from ebbwell.journal.kinds.orders import (
    OUTCOMES,
    UNANSWERED,
    Advice,
    LineAmended,
    Prescription,
    Readback,
    SecondCheck,
)
from ebbwell.procedure.evidence import same_value
from ebbwell.rulebook.own_units import said
from ebbwell.rulebook.typed import Question, check_typed, read_line
from ebbwell.science.catalogue import work
from ebbwell.state.alone import GOES_ON, for_next, for_one_night
from ebbwell.state.facts import Fact
from ebbwell.state.night_thinner import READY_DOSE, STRENGTH

READ_STEP = "S2"
"""The step at which the prescription is read fresh."""


def read_lines(desk: Desk, lines: Mapping[str, str]) -> dict[str, str]:
    """All lines in their plain form. Raises InputError naming the first line that can't be read."""
    return {line: read_line(desk.rulebook, line, typed) for line, typed in lines.items()}


def transcribe(
    desk: Desk, *, number: str, giver: str, valid_from: str, lines: Mapping[str, str], free_text: str = ""
) -> None:
    """Write the clinic's prescription down, whole. It comes into force with its second check.

    From this moment the prescription before it no longer holds, so that nobody works from the old one.
    Refuses a giver or date left out, lines that the prescription must have, and values that can't be read:
    each with the line's own label.
    """
    if not giver.strip():
        raise InputError("enter.giver")
    try:
        date.fromisoformat(valid_from)
    except ValueError as why:
        raise InputError("enter.valid_from", typed=valid_from) from why
    as_read = read_lines(desk, lines)
    missing = [line.id for line in desk.rulebook.lines() if line.needed(as_read) and not as_read.get(line.id)]
    if missing:
        raise InputError("enter.lines", lines=", ".join(missing))
    now = holding(desk)
    amended = desk.standing.of("line_amended")
    lasting = tuple(f for f in amended if not _tonight_only(f) or f.id in now)
    before = desk.standing.of("prescription") + lasting
    desk.add(
        Prescription(
            number=number.strip(),
            giver=giver.strip(),
            valid_from=valid_from,
            lines=as_read,
            free_text=free_text,
        ),
        replaces=tuple(fact.id for fact in before),
        reason="a newer prescription" if before else None,
        standing=True,
    )


def amend_line(
    desk: Desk,
    *,
    line: str,
    value: str,
    giver: str,
    read_back: str,
    written_awaited: bool = True,
    tonight_only: bool = False,
) -> None:
    """Take down one changed line, by phone or on paper. In force after a second check of that line.

    tonight_only: it holds for the open night alone; with none open, or after coming off, for the next one opened within
    24 hours. What holds from the next night on stays as it is. A change from now on takes the place of both.
    Refuses when there is no one prescription to amend, when the line can't be read, and when what was read back
    isn't what was heard: then the unit says it again.
    """
    held = desk.standing.of("prescription")
    if len(held) != 1:
        desk.refuse("refuse.no_prescription")
    if not giver.strip():
        raise InputError("enter.giver")
    heard = read_line(desk.rulebook, line, value)
    again = read_line(desk.rulebook, line, read_back)
    if not _same(desk, line, again, heard):
        desk.refuse(
            "refuse.read_back",
            line=line,
            heard=_as_said(desk, line, heard),
            read_back=_as_said(desk, line, again),
        )
    alone, now = for_one_night(desk.standing), holding(desk)
    before = [f for f in alone if f.id in now and getattr(f.body, "line", "") == line]
    if not tonight_only:
        before += desk.standing.at_slot("line_amended", line)
    desk.add(
        LineAmended(
            prescription=held[0].id,
            line=line,
            value=heard,
            giver=giver.strip(),
            read_back=heard,
            written_awaited=written_awaited,
            during=(desk.treatment_id or "") if desk.phase in GOES_ON else "",
            tonight_only=tonight_only,
        ),
        replaces=tuple(fact.id for fact in before),
        reason="a newer word from the unit" if before else None,
        standing=True,
    )


def holding(desk: Desk) -> frozenset[str]:
    """Ids of the changes for one night alone that hold now: for the night that goes on, else for the next one."""
    if desk.phase in GOES_ON:
        return desk.scene.alone
    return for_next(desk.standing, desk.past, desk.now.at)


def _tonight_only(fact: Fact) -> bool:
    return isinstance(fact.body, LineAmended) and fact.body.tonight_only


def check_order(desk: Desk, *, of: str, values: Mapping[str, str], how: str) -> None:
    """Second check of a prescription or of one amended line: every line read again, the first reading hidden.

    values: of a whole prescription each line that a paper can have; "" says that it isn't on the paper. how:
    ``person`` (someone else) or ``reread`` (the same person, from the paper, 20 seconds later at least).
    A reading that differs is kept and shown, also a line that only one of the two found; the order then isn't in force.
    Refuses a check of something that isn't there or no longer holds, one that passes over a line, and a "second
    person" who is the first.
    """
    fact = desk.standing.fact(of)
    if fact is None or of in desk.standing.replaced or fact.kind not in ("prescription", "line_amended"):
        desk.refuse("refuse.nothing_to_check")
    independent(desk, fact, how)
    first = fact.body.lines if isinstance(fact.body, Prescription) else _one_line(fact)
    wanted = whole_paper(desk, values) if isinstance(fact.body, Prescription) else tuple(first)
    passed_over = [line for line in wanted if line not in values]
    if passed_over:
        raise InputError("enter.lines_again", lines=", ".join(passed_over))
    again = {line: "" for line, typed in values.items() if not typed.strip()}
    again |= read_lines(desk, {line: typed for line, typed in values.items() if typed.strip()})
    differing = sorted(
        line for line in {*first, *again} if not _same(desk, line, again.get(line, ""), first.get(line, ""))
    )
    desk.add(
        SecondCheck(of=(of,), how=how, values=again, agrees=not differing),
        standing=True,
    )
    if differing:
        desk.findings.append(
            Finding("second_check_differs", Grade.STOP, (("lines", ", ".join(differing)),), ("practice:e",))
        )


def whole_paper(desk: Desk, lines: Mapping[str, str]) -> tuple[str, ...]:
    """Ids of every line that a paper with these lines can have, in the order of the form."""
    return tuple(line.id for line in desk.rulebook.lines() if line.possible(lines))


def confirm_written(desk: Desk, *, line: str, value: str, giver: str) -> None:
    """The paper has come for a line that was taken by phone: the line is read off it, what was heard not shown.

    The reading from the paper is the second reading of what was heard, so the line stays in force. A plan that rests
    on the phone order is worked out again. Refuses a line that waits for no paper, and a paper that says something
    else: then the line is taken down anew, and the unit is asked which one holds.
    """
    held = [f for f in desk.standing.at_slot("line_amended", line) if isinstance(f.body, LineAmended)]
    order = desk.scene.order
    if order is None or line not in order.unconfirmed or len(held) != 1:
        desk.refuse("refuse.no_paper_awaited")
    if not giver.strip():
        raise InputError("enter.giver")
    fact, heard = held[0], getattr(held[0].body, "value", "")
    read = read_line(desk.rulebook, line, value)
    if not _same(desk, line, read, heard):
        desk.refuse(
            "refuse.paper_differs",
            line=line,
            heard=_as_said(desk, line, heard),
            paper=_as_said(desk, line, read),
        )
    confirmed = desk.add(
        LineAmended(
            prescription=order.prescription.id,
            line=line,
            value=heard,
            giver=giver.strip(),
            read_back=heard,
            written_awaited=False,
            during=getattr(fact.body, "during", ""),
        ),
        replaces=(fact.id,),
        reason="confirmed in writing",
        standing=True,
    )
    desk.add(SecondCheck(of=(confirmed,), how="reread", values={line: read}, agrees=True), standing=True)


def odd_lines(desk: Desk, lines: Mapping[str, str]) -> tuple[tuple[str, Question], ...]:
    """What to ask about typed lines before they are kept: line and question.

    lines: in their plain form. A line is held against its usual range, and against the order in force: a target
    weight that moves by over 1.0 kg or 2 % is asked about, and a heparin strength that is another. So is a line in
    units whose figure would be a usual one in mL, a stop whose minutes would be a usual number of hours, and a ready
    dose that says nothing but mL, or not one number with its unit. The pages and the keyboard ask what is found here.
    Sources: practice:a0, fluids:3.1, fluids:3.3, fluids:3.4.
    """
    order = desk.scene.order
    known = {quantity.id for quantity in desk.rulebook.quantities()}
    found: list[tuple[str, Question]] = []
    for line, text in lines.items():
        found += [(line, q) for q in _heparin_units(line, text)]
        if line not in known or desk.rulebook.line(line).kind != "number":
            continue
        before = order.lines.get(line, "") if order is not None else ""
        others = {f"{line}@last": Decimal(before)} if before else {}
        found += [(line, q) for q in check_typed(desk.rulebook, line, Decimal(text), others=others)]
        found += [(line, q) for q in _as_ml(desk, line, Decimal(text))]
        found += [(line, q) for q in _strength_apart(desk, line, Decimal(text), before)]
    return tuple(found)


_IN_ML = re.compile(r"\d\s*ml\b", re.IGNORECASE)
_STRONG = re.compile(r"\d\s*(?:i\.?u\b|units?\b|mg\b)", re.IGNORECASE)

IN_UNITS = {"heparin_first_dose": "mL", "heparin_rate": "mL/h"}
"""Lines in units that a label or a pump may also show in mL."""


def _as_ml(desk: Desk, line: str, value: Decimal) -> tuple[Question, ...]:
    """Asks about so few units that they are likely mL: up to the highest rate a pump is set to. Source: practice:a0."""
    most = desk.rulebook.quantity("heparin_rate_ml").last_high
    if line not in IN_UNITS or most is None or not 0 < value <= most:
        return ()
    shown = f"{plain(value)} {desk.rulebook.line(line).unit}"
    params = {"quantity": line, "value": shown, "number": plain(value), "other": IN_UNITS[line]}
    return (Question("as_ml", 1, tuple(sorted(params.items()))),)


def _strength_apart(desk: Desk, line: str, value: Decimal, before: str) -> tuple[Question, ...]:
    """Asks about a strength that isn't the one in force, whatever it is: 1,000, 5,000 and 25,000 are all sold.

    Sources: fluids:3.3 (a 5 or 25-fold error), fluids:3.1 (differs by any amount: show both).
    """
    if line != STRENGTH or not before or value == Decimal(before):
        return ()
    inputs = {"vial_units_ml": value, "prescribed_units_ml": Decimal(before)}
    times = work("strength_ratio", inputs).value or value / Decimal(before)
    unit = desk.rulebook.line(line).unit
    params = {
        "quantity": line,
        "value": thousands(f"{plain(value)} {unit}"),
        "other": thousands(f"{plain(Decimal(before))} {unit}"),
        "times": plain(times.quantize(Decimal("0.001")).normalize() + 0),
    }
    return (Question("strength_apart", 1, tuple(sorted(params.items()))),)


def _heparin_units(line: str, text: str) -> tuple[Question, ...]:
    """Asks about minutes that are likely hours, about a ready dose in mL alone, and about one without one amount.

    1 to 4: common practice, no source; the range of the line ends at 4 h. Source: fluids:3.4 (a dose in IU or mg).
    """
    if line == "heparin_stop_before_end" and text in ("1", "2", "3", "4"):
        said = {"number": text, "value": f"{text} min", "what": say(f"line.{line}")}
        return (Question("as_hours", 1, tuple(sorted(said.items()))),)
    if line == READY_DOSE and _IN_ML.search(text) and not _STRONG.search(text):
        return (Question("ready_dose_in_ml", 1, (("value", text),)),)
    if line == READY_DOSE and text and ordered_dose(text) is None:
        return (Question("ready_dose_no_amount", 1, (("value", text),)),)
    return ()


def _same(desk: Desk, line: str, again: str, first: str) -> bool:
    """Whether two readings of a line agree; a code made of digits is text, so 007 isn't 7."""
    if desk.rulebook.line(line).kind == "text":
        return again.casefold() == first.casefold()
    return same_value(again, first)


def _as_said(desk: Desk, line: str, value: str) -> str:
    """A stored value of a line with its unit; a word as it reads."""
    known = desk.rulebook.line(line)
    if known.kind == "word":
        return say(f"option.{line}.{value}")
    if known.kind == "number":
        return said(desk.rulebook, known, Decimal(value))
    return value


def _one_line(fact: Fact) -> dict[str, str]:
    if not isinstance(fact.body, LineAmended):
        raise TypeError(f"not an amended line: {fact.kind}")
    return {fact.body.line: fact.body.value}


def read_back(desk: Desk, *, version_read: str) -> None:
    """Tonight's prescription read from the paper at the start of the night (S2), and found to be the one in force.

    version_read: the number on the paper in hand. Refuses before the first questions are answered, when nothing is
    in force, when a line still waits for its second check, and when the paper has another number.
    """
    need_open(desk, READ_STEP)
    order = desk.scene.order
    if order is None:
        desk.refuse("refuse.no_prescription")
    if order.waiting:
        desk.refuse("refuse.second_check_waits")
    if version_read.strip().casefold() != order.body.number.strip().casefold():
        desk.refuse("refuse.other_paper", typed=version_read.strip(), number=order.body.number)
    desk.add(
        Readback(
            prescription=order.prescription.id,
            amendments=tuple(f.id for f in order.facts if f.kind == "line_amended"),
            shown=order.lines,
        ),
        replaces=tuple(f.id for f in desk.treatment.of("readback")),
        reason="read again" if desk.treatment.of("readback") else None,
    )


def advise(
    desk: Desk,
    *,
    who: str = "",
    words: str = "",
    about: tuple[str, ...] = (),
    allows: bool = False,
    outcome: str = "said",
) -> None:
    """Write down what the unit said, in its words. It may let a step pass that the unit may decide on.

    outcome: ``no_answer`` or ``not_called`` where nobody spoke; then who and words may be empty, and the entry answers
    no call. Refuses advice without a name or without words, an outcome that isn't known, and one in which nobody
    spoke that allows a step. Never refused for the time of night.
    """
    if outcome not in OUTCOMES:
        raise InputError("enter.outcome")
    if outcome in UNANSWERED:
        if allows:
            raise InputError("enter.nobody_allows")
    elif not who.strip():
        raise InputError("enter.who_advised")
    elif not words.strip():
        raise InputError("enter.words")
    known = set(desk.procedure.ids)
    strange = sorted(step for step in about if step not in known)
    if strange:
        raise InputError("enter.about", about=", ".join(strange))
    desk.add(Advice(who=who.strip(), words=words.strip(), about=about, allows=allows, outcome=outcome))
