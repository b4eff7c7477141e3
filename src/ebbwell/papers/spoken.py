"""Errors, bars, questions and findings as a person reads them, on any screen or paper."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import TYPE_CHECKING

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import MissingText, has_text, say
from ebbwell.core.thousands import thousands
from ebbwell.papers.first_actions import emergency_lines

if TYPE_CHECKING:
    from ebbwell.core.findings import Finding
    from ebbwell.deeds.desk import Desk
    from ebbwell.procedure.gate import Bar


PICKED = ("symptom", "situation")
"""Params that hold a picked word, which reads as ``<param>.<word>`` in the catalogue."""


def said(key: str, **params: object) -> str:
    """The words for a key with params in words. Where words are missing the key itself, never a blank.

    A missing key is a fault of the program that the tests look for; in the night a key is better than nothing.
    """
    shown = {name: in_words(name, value) for name, value in params.items()}
    try:
        return say(key, **shown)
    except (MissingText, KeyError):
        extra = ", ".join(f"{name} {value}" for name, value in shown.items() if value)
        return f"{key} ({extra})" if extra else key


def said_with_reason(key: str, params: Iterable[tuple[str, str]]) -> str:
    """The same, where ``why`` among the params may be a wording key itself, whose words the other params fill."""
    known = dict(params)
    why = known.pop("why", "")
    reason = said(why, **known) if why and has_text(why) else why
    return said(key, **known, **({"why": reason} if why else {}))


def in_words(name: str, value: object) -> str:
    """A param of an error or finding as a person reads it: a step id with its words, a line by its label."""
    text = str(value)
    if name in ("step", "steps", "waits_for", "about") and text:
        return "; ".join(_step(part) for part in text.split(", "))
    if name in ("line", "lines", "fields", "quantity", "item", "input", "inputs", "question"):
        return ", ".join(label(part) for part in text.split(", "))
    if name == "options":
        return ", ".join(part.replace("_", " ") for part in text.split(", "))
    if name == "checks":
        return ", ".join(
            say(f"again.{part}") if has_text(f"again.{part}") else part for part in text.split(", ")
        )
    if name == "seen" and has_text(f"again.option.{text}"):
        return say(f"again.option.{text}")
    if name in PICKED and has_text(f"{name}.{text}"):
        return say(f"{name}.{text}")
    if name == "why" and has_text(text):
        return say(text)
    if name == "rules":
        return ", ".join(part.replace("_", " ") for part in text.split(", "))
    return text


def _step(step_id: str) -> str:
    key = f"step.{step_id}.do"
    return f"{step_id} {say(key).rstrip('.')}" if has_text(key) else step_id


def label(name: str) -> str:
    """What a field is called."""
    base, _, place = name.partition("@")
    for key in (f"line.{base}", f"quantity.{base}", f"item.{base}", f"choice.{base}", f"ask.{base}"):
        if has_text(key):
            return f"{say(key)}, {say(f'place.{place}')}" if has_text(f"place.{place}") else say(key)
    return name


def error_words(why: EbbwellError) -> str:
    """What stopped a command, and what to do, in one text."""
    return said(why.key, **why.params)


def bar_words(bar: Bar, desk: Desk | None = None, told: Collection[Finding] = ()) -> str:
    """One reason why connecting isn't open. told: what the page says of itself already, which isn't said again."""
    from ebbwell.papers.misfit import one_misfit
    from ebbwell.papers.words import slot_words

    about = bar.about
    if bar.key == "bar.other_steps" and desk is not None and desk.scene.order is not None:
        return say(bar.key, about=one_misfit(desk.procedure, about, desk.scene.order.lines.get(about, "")))
    if about and has_text(about):
        about = say(about)
    elif about:
        about = slot_words(about)
    step = _step(bar.step) if bar.step else about
    words = plain_words(bar.key, step=step, about=about or step, kind=bar.about)
    if desk is None or not bar.step:
        return words
    view = desk.views.get(bar.step)
    found = [f for f in view.findings if f not in told] if view is not None else []
    return " ".join([words, *step_said(desk, bar.step, found, told)])


def step_said(
    desk: Desk, step_id: str, found: Collection[Finding], told: Collection[Finding] = ()
) -> list[str]:
    """What of a step isn't as wanted, and what the rules say of it. A strength is told once, and first: by the rule
    where it speaks, with what to do; the sum of its millilitres comes after it.

    found: findings to be said here; told: those that the page says already.
    """
    said = [finding_words(f, desk) for f in found]
    if any(f.rule == STRENGTH_DIFFERS for f in (*found, *told)):
        return [*said, *apart_words(desk, step_id, strengths_told=True)]
    return [*apart_words(desk, step_id), *said]


STRENGTH_DIFFERS = "heparin_strength_differs"
"""The rule that tells the strength of the vial beside the ordered one."""


def apart_words(desk: Desk, step_id: str, *, strengths_told: bool = False) -> list[str]:
    """What of a step isn't as planned, ordered or asked for: with units, and each pick.

    strengths_told: the strengths of vial and order stand beside already, and only the sum is said.
    """
    from ebbwell.core.numbers import plain
    from ebbwell.papers.own_figures import both_text
    from ebbwell.papers.strength_apart import strength_apart
    from ebbwell.procedure.evidence import settings_apart

    if not desk.procedure.has(step_id):
        return []
    settings = [
        say(
            "said.setting_apart",
            what=say(f"setting.{name}"),
            read=both_text(f"{plain(read)} {unit}".strip()),
            wanted=both_text(f"{plain(wanted)} {unit}".strip()),
        )
        for name, read, wanted, unit in settings_apart(desk.scene, desk.procedure.step(step_id))
    ]
    step = desk.procedure.step(step_id)
    return [*settings, *strength_apart(desk, step, told=strengths_told), *picks_apart(desk, step_id)]


def picks_apart(desk: Desk, step_id: str) -> list[str]:
    """Each pick of a step that isn't what it asks for, with what was picked and what it asks for."""
    from ebbwell.journal.kinds.marks import Choice
    from ebbwell.papers.words import option_words
    from ebbwell.procedure.evidence import accepted, find

    step = desk.procedure.step(step_id)
    out = []
    for evidence in step.evidence:
        for fact in find(desk.scene, step, evidence) if evidence.form == "choice" else ():
            if not isinstance(fact.body, Choice) or not accepted(desk.scene, step, evidence, fact):
                continue
            name = fact.body.name
            wanted = say("said.or").join(option_words(name, word) for word in step.wants[name])
            picked = option_words(name, fact.body.option)
            out.append(
                say(
                    "said.choice_apart",
                    what=desk.procedure.say(f"choice.{name}"),
                    picked=picked,
                    wanted=wanted,
                )
            )
    return out


def plain_words(key: str, **params: object) -> str:
    """The words for a key with its params as they are; where words are missing the key itself."""
    try:
        return say(key, **{name: str(value) for name, value in params.items()})
    except (MissingText, KeyError):
        return f"{key} ({', '.join(str(v) for v in params.values() if v)})"


SAID_ILL = frozenset({"symptom_call", "symptom_said", "symptom_seen"})
"""What somebody feels that asks for a call, whether blood runs or not. Source: practice:d2."""
BLOOD_CALLS = frozenset({"blood_call_below", "blood_call_above", "blood_call_half"})
"""Laboratory figures that ask for a call. Dialysis may be what helps, so that none of them may read "Not yet"."""


def finding_words(finding: Finding, desk: Desk | None) -> str:
    """A finding with its grade and the next step: ``Not yet: ...``."""
    from ebbwell.core.findings import Grade, say_finding, say_grade
    from ebbwell.state.night import first_blood

    connected = desk is not None and first_blood(desk.treatment) is not None
    calls = finding.rule in SAID_ILL
    grade = say_grade(finding.grade, connected=connected or calls or finding.rule in BLOOD_CALLS)
    value = dict(finding.params).get("value", "")
    if finding.rule == "carer_leaves_early" and value.startswith("-"):
        text = say(
            "finding.carer_leaves_before", **{**dict(finding.params), "value": value.removeprefix("-")}
        )
    elif finding.fact or finding.grade is Grade.UNKNOWN:
        text = say_finding(finding)
    else:
        params = {name: thousands(text) for name, text in finding.params}
        text = said(f"finding.{finding.rule}", **{"what": "", **params})
    number = f" {emergency_lines(desk.standing)[0]}" if calls and desk is not None else ""
    return f"{grade}: {text}{_following(finding.next_step, connected=connected)}{number}"


def _following(next_step: str, *, connected: bool) -> str:
    """What to do next; once blood has run, the words for then, where what stood before no longer can be done."""
    after = f"{next_step}.after"
    key = after if connected and next_step and has_text(after) else next_step
    return f" {say(key)}" if key and has_text(key) else ""


def finding_data(finding: Finding, desk: Desk | None) -> Mapping[str, object]:
    """A finding for a program."""
    return {
        "rule": finding.rule,
        "grade": finding.grade.value,
        "fact": finding.fact,
        "words": finding_words(finding, desk),
        "sources": list(finding.sources),
    }


def age(minutes: float) -> str:
    """How long ago, in words: ``12 min ago``."""
    whole = max(0, round(minutes))
    if whole < 120:
        return say("cli.age_minutes", minutes=whole)
    hours = round(minutes / 60)
    return say("cli.age_hours", hours=hours) if hours < 48 else say("cli.age_days", days=round(hours / 24))
