"""Entries about bloods, urine, the dialyser's leaflet and the body in one line of words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bloods import (
    BloodLine,
    BloodResult,
    BloodTarget,
    BodyFigures,
    DialyserFigures,
    UrineCollected,
)
from ebbwell.rulebook.substances import blood_unit, load_substances, range_words, substance_words


def drawn_words(drawn: str) -> str:
    """When a sample was drawn; the bare word where a newer program wrote one without words here."""
    return _named("bloods.drawn", drawn)


def line_words(line: BloodLine) -> str:
    """A figure as the laboratory gave it, with its unit: ``< 0.3 mg/L``."""
    return f"{line.sign} {line.value} {blood_unit(line.unit)}".lstrip()


def _with(words: str, *more: str) -> str:
    return ". ".join([words, *(m[:1].upper() + m[1:] for m in more if m)])


def _named(group: str, name: str) -> str:
    key = f"{group}.{name}"
    return say(key) if has_text(key) else name


def _lines(lines: Iterable[BloodLine]) -> str:
    return "; ".join(
        f"{substance_words(line.substance)} {line_words(line)}{_printed(line)}" for line in lines
    )


def _printed(line: BloodLine) -> str:
    found = range_words(line.low, line.high, line.unit)
    return f" ({say('bloods.laboratory_range', range=found)})" if found else ""


def _result(body: BloodResult) -> str:
    return _with(
        say(
            "said.blood_result",
            day=day(body.sampled_on),
            drawn=drawn_words(body.drawn),
            lines=_lines(body.lines),
        ),
        say("said.blood_minutes", minutes=body.minutes_after) if body.minutes_after else "",
        _named("bloods.slowed", body.slowed) if body.slowed else "",
        say("said.blood_laboratory", laboratory=body.laboratory) if body.laboratory else "",
        say("said.blood_reported", day=day(body.reported_on)) if body.reported_on else "",
        body.words,
    )


def _target(body: BloodTarget) -> str:
    found = range_words(body.low, body.high, body.unit)
    return _with(
        say(
            "said.blood_target" if found else "said.blood_target_off",
            substance=substance_words(body.substance),
            range=found,
            who=body.giver,
            day=day(body.given_on),
        ),
        body.words,
    )


def _urine(body: UrineCollected) -> str:
    return _with(
        say("said.urine_collected", day=day(body.ended_on), hours=body.hours, volume=body.volume_ml),
        _named("bloods.taken", body.taken) if body.taken else "",
        _lines(body.lines),
        body.words,
    )


def clearances_words(body: DialyserFigures) -> str:
    """What a leaflet says is cleared of each substance: ``urea 266, phosphate 218 mL/min``."""
    order = list(load_substances())
    row = sorted(body.clearances, key=lambda name: order.index(name) if name in order else len(order))
    found = ", ".join(f"{substance_words(name)} {body.clearances[name]}" for name in row)
    return f"{found} mL/min"


def _dialyser(body: DialyserFigures) -> str:
    return _with(
        say(
            "said.dialyser_figures",
            dialyser=body.dialyser,
            blood=body.blood_flow,
            fluid=body.fluid_flow,
            removal=body.removal,
            cleared=clearances_words(body),
            source=body.stands_in,
        ),
        body.words,
    )


def _body(body: BodyFigures) -> str:
    formula = say(f"bloods.water_by.{body.water_by}") if body.water_by in ("woman", "man") else ""
    return _with(say("said.body_figures", height=body.height_cm, born=body.born), formula)


BLOOD_SAYS: dict[type[Body], Callable[[Any], str]] = {
    BloodResult: _result,
    BloodTarget: _target,
    UrineCollected: _urine,
    DialyserFigures: _dialyser,
    BodyFigures: _body,
}
"""Kind of entry to what says it."""
