"""The procedure as data: steps in order, what each asks for, and the words they are made of.

Nothing here judges a night. A step says what evidence it wants, how long that holds and what reopens it;
whether the record has it is decided elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cache, cached_property
from typing import Final

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import say

KINDS: Final = ("do", "measure", "confirm", "wait", "hold")
"""What a step is. A ``hold`` must be true before the gate it belongs to opens."""

STAGES: Final = (
    "questions",
    "setup",
    "before_needles",
    "needles",
    "connect",
    "settle",
    "come_off",
    "after",
)
"""Parts of the night, in order."""

STAGES_BEHIND_CONNECT: Final = frozenset({"settle", "come_off", "after"})
"""From first blood on: nothing here may gate readings, emergency or coming off. Source: practice:e H56."""

GATES: Final = ("none", "next_night", "close", "connect")
"""What stays shut until the step is met: nothing, the next night, closing the sheet, connecting."""

SECONDS: Final = ("none", "scan", "reread", "person_or_photo", "blind")
"""The second check. ``scan``: a matching scan counts, else a second reading. ``blind``: typed against the plan."""

SKIPS: Final = ("never", "unit", "reason")
"""Who may leave a step out: nobody, the carer with a reason and a name at the unit, the carer with a reason."""

CONDITIONS: Final = (
    "",
    "chemical_used",
    "two_tanks",
    "dry_bicarbonate",
    "liquid_bicarbonate",
    "blood_thinner",
    "heparin",
    "low_molecular",
    "no_heparin",
    "no_heparin_pump",
    "prime_to_drain",
    "prime_given",
    "overnight",
    "fistula",
    "buttonhole",
    "catheter",
    "blood_returned",
    "blood_kept_out",
)
"""When a step applies. "" is always. ``fistula`` means fistula or graft, anything that takes needles;
``blood_thinner`` means heparin or low molecular heparin; ``no_heparin_pump`` means low molecular heparin or none.

``chemical_used``: a chemical was logged since the last clean result. ``blood_returned``: step C7 chose
``normal`` or is still open, and coming off doesn't say that none was given back; ``blood_kept_out``: C7 chose
anything else or is still open, or not all was given back.
"""

REOPENERS: Final = (
    "prescription",
    "recalled",
    "disinfected:chemical",
    "happened:water_restart",
    "happened:carbon_changed",
    "happened:concentrate_changed",
    "happened:dialyser_changed",
    "happened:set_opened",
    "happened:machine_restart",
)
"""What makes a met step open again. ``prescription``: a new order in force, or an amended line.

``recalled``: a lot was called back, whichever it is: one used tonight may have been changed for another since.
``happened:set_opened``: a fresh blood tubing set took the place of the first.
"""

PLAIN_FORMS: Final = frozenset({"tick", "readback", "plan", "disinfected", "connected", "came_off"})
NAMED_FORMS: Final = frozenset({"answer", "measured", "setting", "choice", "lot", "given", "reading"})

SETTINGS: Final = (
    "treatment_minutes",
    "fluid_to_remove",
    "removal_rate",
    "blood_flow",
    "dialysate_flow",
    "fluid_temperature",
    "sodium",
    "bicarbonate",
    "heparin_rate_ml",
    "heparin_stop_before_end",
)
"""Machine settings that are typed blind against the plan (practice:b S26)."""

ITEMS: Final = (
    "chlorine_test",
    "residual_strip",
    "acid",
    "bicarbonate",
    "dialyser",
    "tubing",
    "saline",
    "heparin",
    "low_molecular",
    "needles",
    "fluid_bags",
)
"""What is opened with a lot and an expiry date (practice:g, lot and recall)."""

SHOWS: Final = (
    "last_cleaning",
    "heparin_volume",
    "heparin_rate_ml",
    "syringe_fill",
    "venous_limit",
    "arterial_limit",
    "blood_flow",
    "heparin_first_dose",
    "low_molecular_dose",
)
"""What a step may show: the last cleaning on record, figures of the plan that need no weight, lines of the order."""

PARTS_OF_PLAN: Final = ("heparin", "concentrates", "water")
"""Parts of tonight's plan that a procedure can have besides fluid, time and blood: a method may do without them."""

WHENS: Final = ("start", "min5", "min15", "before_off", "lying", "sitting", "standing")
"""The readings a step can ask for."""

_NAME = re.compile(r"[a-z][a-z0-9_]*")
_LENGTH = re.compile(r"PT(?:([0-9]{1,3})H)?(?:([0-9]{1,3})M)?")


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing that must be on record. form: ``answer``, ``measured``, ``wait`` and so on.

    name: question, quantity, setting, choice, item, what was given, or which reading. place: where it was
    measured. length: of a wait.
    """

    form: str
    name: str = ""
    place: str = ""
    length: timedelta | None = None

    def __str__(self) -> str:
        if self.length is not None:
            return f"wait:{iso_length(self.length)}"
        named = f"{self.form}:{self.name}" if self.name else self.form
        return f"{named}@{self.place}" if self.place else named


@dataclass(frozen=True, slots=True)
class Step:
    """One step. All evidence listed is needed.

    after: steps that must be met (or rightly left out) first. options: words allowed for an answer or a choice;
    wants: those that meet the step (a name without wants is met by any option). bounds: ``rule:<id>``, a rule of
    the rulebook that keeps the step open while it says stop or has no data, or ``same:<evidence>=<line>``, what was
    read must be what that line of the prescription says. valid: how long it holds. retest: how long after a
    failed test a new one counts. unit_after_fail: once a test failed, one that passes needs the unit's word too.
    needles: from here on validity is only warned about. advisable: the unit's word can open it although the answer or
    value wouldn't.
    shows: what stands beside the step for the hands at work (``SHOWS``). rests_on: lines of the order of which one
    has to change for an amended line to reopen the step; where none is named any line does. A new order always does.
    """

    id: str
    kind: str
    stage: str
    gate: str
    after: tuple[str, ...]
    evidence: tuple[Evidence, ...]
    options: Mapping[str, tuple[str, ...]]
    wants: Mapping[str, tuple[str, ...]]
    bounds: tuple[str, ...]
    second: str
    valid: timedelta | None
    retest: timedelta | None
    skip: str
    reopens_on: tuple[str, ...]
    only_if: str
    bundle: str
    block: str
    needles: bool
    hazards: tuple[str, ...]
    advisable: bool
    shows: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    unit_after_fail: bool = False


@dataclass(frozen=True, slots=True)
class Sum:
    """A line of the plan that the procedure itself asks for. name: of a formula in the catalogue.

    inputs: input of the formula to where it comes from: a ``line`` of the order, a ``measured`` value, a ``limit``, or a
    ``sum`` before it, such as ``line:dialysate_flow``.
    """

    name: str
    inputs: Mapping[str, str]


@dataclass(frozen=True)
class Procedure:
    """Ordered steps, as read from ``text``. digest: SHA-256 of the text, in hex.

    words: the household's own wording by key, which goes before the catalogue's. fits: line of the order to the words
    that these steps are written for ("" stands for a line that isn't there). plan_parts: of ``PARTS_OF_PLAN``. sums: the
    procedure's own lines of the plan, in their order.
    """

    id: str
    version: int
    steps: tuple[Step, ...]
    text: str
    digest: str
    words: Mapping[str, str] = field(default_factory=dict)
    fits: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    plan_parts: tuple[str, ...] = PARTS_OF_PLAN
    sums: tuple[Sum, ...] = ()

    @cached_property
    def settings(self) -> frozenset[str]:
        """Machine settings that are typed against the plan."""
        return frozenset(e.name for s in self.steps for e in s.evidence if e.form == "setting")

    @cached_property
    def _by_id(self) -> dict[str, Step]:
        return {step.id: step for step in self.steps}

    @cached_property
    def ids(self) -> tuple[str, ...]:
        """Step ids in the order of the text."""
        return tuple(step.id for step in self.steps)

    @cached_property
    def successors(self) -> Mapping[str, tuple[str, ...]]:
        """Step id to the ids of the steps that name it in ``after``."""
        return {each: tuple(s.id for s in self.steps if each in s.after) for each in self.ids}

    @cached_property
    def connect_id(self) -> str:
        """Id of the step that is the connect deed itself; "" where there is none."""
        return next((s.id for s in self.steps if any(e.form == "connected" for e in s.evidence)), "")

    def step(self, step_id: str) -> Step:
        """The step by its id. Raises InputError for an id that isn't in this procedure."""
        found = self._by_id.get(step_id)
        if found is None:
            raise InputError("procedure.no_step", step=step_id)
        return found

    def has(self, step_id: str) -> bool:
        """Whether this procedure has a step of that id."""
        return step_id in self._by_id

    def misfits(self, lines: Mapping[str, str]) -> tuple[str, ...]:
        """Lines of an order that these steps aren't written for, in the order of ``fits``."""
        return tuple(line for line, words in self.fits.items() if lines.get(line, "") not in words)

    def behind(self, step_id: str) -> frozenset[str]:
        """Every step that can't be met before this one, near or far."""
        return _reach(step_id, self.successors)

    def before(self, step_id: str) -> frozenset[str]:
        """Every step that must come before this one, near or far."""
        return _reach(step_id, {step.id: step.after for step in self.steps})

    def say(self, key: str, **params: object) -> str:
        """Words for a key: the household's own, else the catalogue's. Raises MissingText without either."""
        own = self.words.get(key)
        if own is None:
            return say(key, "", **params)
        return own.format_map({name: str(value) for name, value in params.items()}) if params else own


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with a procedure. key: wording key; step: where; detail: the word in question."""

    key: str
    step: str = ""
    detail: str = ""

    def __str__(self) -> str:
        return say(self.key, step=self.step, detail=self.detail)


class ProcedureRefused(EbbwellError):
    """The text of a procedure has problems; all of them are in ``problems``."""

    exit_code = 17

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        shown = "; ".join(str(problem) for problem in problems)
        super().__init__("procedure.refused", count=len(problems), problems=shown)
        self.problems = problems


def parse_length(text: str) -> timedelta | None:
    """A length of time as in ``PT4H`` or ``PT1H30M``; None for anything else, and for no time at all."""
    match = _LENGTH.fullmatch(text)
    if match is None:
        return None
    hours, minutes = (int(part or 0) for part in match.groups())
    return timedelta(hours=hours, minutes=minutes) or None


def iso_length(length: timedelta) -> str:
    """The length in hours and minutes, as in ``PT1H30M``."""
    hours, minutes = divmod(round(length / timedelta(minutes=1)), 60)
    return "PT" + (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes or not hours else "")


@cache
def parse_evidence(text: str) -> Evidence | None:
    """One evidence word of a step; None when it has no form that is known.

    >>> parse_evidence("measured:total_chlorine@tank1")
    Evidence(form='measured', name='total_chlorine', place='tank1', length=None)
    """
    form, colon, rest = text.partition(":")
    if not colon:
        return Evidence(form) if form in PLAIN_FORMS else None
    if form == "wait":
        length = parse_length(rest)
        return None if length is None else Evidence(form, length=length)
    name, at, place = rest.partition("@")
    if form not in NAMED_FORMS or not _NAME.fullmatch(name):
        return None
    if at and (form != "measured" or not _NAME.fullmatch(place)):
        return None
    return Evidence(form, name, place)


@cache
def split_bound(text: str) -> tuple[str, str, str] | None:
    """A bound in parts: ("rule", id, "") or ("same", evidence, line); None for any other text."""
    form, _, rest = text.partition(":")
    if form == "rule" and _NAME.fullmatch(rest):
        return form, rest, ""
    evidence, equals, line = rest.rpartition("=")
    if form == "same" and equals and parse_evidence(evidence) and _NAME.fullmatch(line):
        return form, evidence, line
    return None


def _reach(start: str, arrows: Mapping[str, tuple[str, ...]]) -> frozenset[str]:
    seen: set[str] = set()
    waiting = list(arrows.get(start, ()))
    while waiting:
        each = waiting.pop()
        if each not in seen:
            seen.add(each)
            waiting.extend(arrows.get(each, ()))
    return frozenset(seen)
