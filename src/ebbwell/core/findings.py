"""What a rule says: never an alarm, never an all-clear."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from ebbwell.core.text import has_text, say
from ebbwell.core.thousands import thousands


class Grade(Enum):
    """How much a finding matters. ``unknown``: the rule had no data and says so."""

    STOP = "stop"
    CARE = "care"
    NOTE = "note"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Finding:
    """rule: its id; the words are ``finding.<rule>`` in the catalogue, filled with params at display.

    fact: key of what the finding is about, such as ``total_chlorine@tank1``. sources: keys in
    rulebook/sources.toml. entries: ids the finding rests on. next_step: wording key.
    """

    rule: str
    grade: Grade
    params: tuple[tuple[str, str], ...] = ()
    sources: tuple[str, ...] = ()
    entries: tuple[str, ...] = ()
    next_step: str = ""
    fact: str = ""


def name_fact(key: str, language: str = "") -> str:
    """A fact in words: ``total_chlorine@tank1`` is "total chlorine, after tank 1".

    Raises MissingText for a name or place without words.
    """
    base, _, places = key.partition("@")
    found = next(
        (f"{kind}.{base}" for kind in ("quantity", "line", "fact") if has_text(f"{kind}.{base}")), ""
    )
    words = say(found or f"fact.{base}", language)
    return ", ".join((words, *(say(f"at.{place}", language) for place in places.split(".") if place)))


def say_finding(finding: Finding, language: str = "") -> str:
    """The finding in words; one without data says what isn't known."""
    what = name_fact(finding.fact, language) if finding.fact else ""
    what = what[:1].upper() + what[1:]
    if finding.grade is Grade.UNKNOWN:
        own = f"finding.{finding.rule}.not_known"
        return say(own, language) if has_text(own) else say("finding.not_known", language, what=what)
    params = {name: thousands(text) for name, text in finding.params}
    return say(f"finding.{finding.rule}", language, **{"what": what, **params})


def say_grade(grade: Grade, *, connected: bool, language: str = "") -> str:
    """The grade as the screen says it; a stop reads differently once blood runs."""
    if grade is Grade.STOP:
        return say("grade.stop_after" if connected else "grade.stop_before", language)
    return say(f"grade.{grade.value}", language)
