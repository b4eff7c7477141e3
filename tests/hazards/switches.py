"""For each controlled hazard the switches that take its control away: the same code without the guard.

Each switch proves something by itself: with it alone, a test fails.

``switch_off`` patches the control where it is defined and under every name that other modules took it in by. A control
that is words of a page, a script or a look is taken out of the file as it is served.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import re
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from unittest.mock import patch
from zoneinfo import ZoneInfo

from jinja2 import PackageLoader
from starlette.staticfiles import StaticFiles

import ebbwell
from tests.hazards.register import file_of, owner_of

NAME = "EBBWELL_SWITCH_OFF"
"""Names, in the environment, the hazard whose control, or part of one, a test's program takes away."""

Off = tuple[str, Callable[[Any], Any]]
"""A control, and what makes of it the same thing without the guard."""


def gives(value: Any) -> Callable[[Any], Any]:
    """A function that gives the same whatever it is asked."""
    return lambda original: lambda *args, **inputs: value


def holds(value: Any) -> Callable[[Any], Any]:
    """A property that is the same for everyone."""
    return lambda original: property(lambda self: value)


def becomes(value: Any) -> Callable[[Any], Any]:
    """A constant with another value."""
    return lambda original: value


def reads(*changes: tuple[str, str]) -> Callable[[Any], Any]:
    """A page, script or look in which some words read otherwise."""

    def off(original: bytes) -> bytes:
        text = original.decode()
        for words, others in changes:
            assert words in text, words
            text = text.replace(words, others)
        return text.encode()

    return off


def rules_of(hazard: str) -> Callable[[Any], Any]:
    """Judging without the rules that stand against a hazard."""

    def off(original: Any) -> Any:
        def evaluate(rulebook: Any, facts: Any, only: Any = None) -> Any:
            found = original(rulebook, facts, only)
            return tuple(f for f in found if hazard not in rulebook.rule(f.rule).hazards)

        return evaluate

    return off


def _take_in_anything(original: Any) -> Any:
    def take_in(self: Any, entries: Any) -> Any:
        with self.store.write() as transaction:
            taken = transaction.take_in(list(entries))
        self._catch_up(self.state, self.store.after(self.state.row), self.store.of_treatment)
        return taken

    return take_in


def _check_is_not_asked_for(original: Any) -> Any:
    return lambda facts, entry_id: facts.fact(entry_id)


def _marks_are_dropped(original: Any) -> Any:
    def parse_decimal(typed: str, *, places: int | None = None) -> Decimal:
        return Decimal("".join(char for char in typed if char in "0123456789.-") or "0")

    return parse_decimal


def _never_stale(original: Any) -> Any:
    from ebbwell.procedure import holds as module

    return lambda scene, step, counted: module._accepted(scene, step, counted, None)


def _any_step(original: Any) -> Any:
    return lambda desk, step_id: desk.procedure.step(step_id)


def _tick_anything(original: Any) -> Any:
    from ebbwell.journal.kinds.marks import Tick

    def tick(desk: Any, *, step: str, note: str = "") -> None:
        desk.add(Tick(step=step, note=note))

    return tick


def _by_the_wall(original: Any) -> Any:
    return lambda start, minutes: (start + timedelta(minutes=float(minutes))).astimezone(UTC)


def _start_by_the_wall(original: Any) -> Any:
    from ebbwell.journal.kinds.night import Connected

    def add(self: Any, body: Any, **inputs: Any) -> str:
        if isinstance(body, Connected):
            local = self.now.at.astimezone(ZoneInfo(self.now.zone))
            inputs["at"] = local.replace(tzinfo=UTC)
        return original(self, body, **inputs)

    return add


def _acknowledge_first(original: Any) -> Any:
    @contextmanager
    def write(self: Any) -> Iterator[Any]:
        from ebbwell.journal.store.sqlite_store import _SqliteTransaction

        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield _SqliteTransaction(self)
        finally:
            self._db.execute("ROLLBACK")

    return write


def _without_key(original: Any) -> Any:
    def do(self: Any, deed: Any, /, *, key: str | None = None, **inputs: Any) -> Any:
        return original(self, deed, **inputs)

    return do


def _rinse_twice(original: Any) -> Any:
    def weight_after_expected(treatment: Any) -> Any:
        found = original(treatment)
        given = any(f.body.what == "rinse_back" for f in treatment.of("given"))
        return found + Decimal("0.3") if found is not None and given else found

    return weight_after_expected


def _says(*keys: str, text: str) -> Callable[[Any], Any]:
    """A catalogue into which other words slipped."""

    def off(original: Any) -> Any:
        def say(key: str, /, language: str = "en", **params: object) -> str:
            return text if key in keys else original(key, language, **params)

        return say

    return off


def _at_once(original: Any) -> Any:
    return lambda desk, at: at or desk.now.at


def _present_rules(original: Any) -> Any:
    return lambda self, facts: (self.procedure, self.rulebook)


def _offered_is_taken(original: Any) -> Any:
    def carer_in_charge(treatment: Any) -> Any:
        offers = treatment.of("handed_over")
        return offers[-1].body.to_person if offers else original(treatment)

    return carer_in_charge


def _gated(original: Any) -> Any:
    def come_off(desk: Any, **inputs: Any) -> None:
        from ebbwell.state.standing import signed_off

        if not signed_off(desk.standing, desk.by, "come_off"):
            desk.refuse("refuse.skill.come_off")
        original(desk, **inputs)

    return come_off


def _any_key_is_the_first(original: Any) -> Any:
    def pick(self: Any, question: str, options: Any, *, fresh: bool = False) -> Any:
        self.tell(question)
        self.line()
        return options[0][0]

    return pick


def _beyond_the_cap(original: Any) -> Any:
    def plan_tonight(inputs: Any, *method: Any) -> Any:
        cap = inputs.removal_cap
        return original(replace(inputs, removal_cap=replace(cap, value=cap.value + 3)), *method)

    return plan_tonight


def _nameless(original: Any) -> Any:
    return lambda home, stands="": [stands or "-"]


def _tells_the_curve(original: Any) -> Any:
    return lambda desk: (*original(desk), "By a half-life of 54 min 1171 units are left.")


def _credits_the_carer(original: Any) -> Any:
    def add(self: Any, body: Any, **inputs: Any) -> str:
        from ebbwell.state.night import carer_in_charge

        self.by = carer_in_charge(self.treatment) or self.by
        return original(self, body, **inputs)

    return add


def _a_number_of_ours(original: Any) -> Any:
    from ebbwell.journal.kinds.house import EmergencyDetails

    ours = EmergencyDetails(number="00", address="as entered")
    return lambda standing: original(standing) or ours


def _every_phase(original: Any) -> Any:
    return tuple(type(original[0]))


def _skip_without_reason(original: Any) -> Any:
    from ebbwell.journal.kinds.marks import Skipped

    def skip(desk: Any, *, step: str, reason: str, unit: str = "") -> None:
        desk.add(Skipped(step=step, reason=reason, unit=unit))

    return skip


def _bursts(original: bytes) -> bytes:
    """The same sound, chopped five times a second."""
    head, samples = original[:44], bytearray(original[44:])
    for n in range(len(samples)):
        if (n // 1102) % 2:
            samples[n] = 128
    return head + bytes(samples)


def _carers_only(original: Any) -> Any:
    return tuple(replace(way, roles=frozenset({"carer"})) for way in original)


def _rounded(original: Any) -> Any:
    from ebbwell.papers.sheet_model import each_text

    def model_of(sheet: Any, paper: str) -> Any:
        return each_text(original(sheet, paper), lambda text: re.sub(r"(\d)\.\d+", r"\1", text))

    return model_of


COUNTDOWN = "at=((until - desk.now.at).total_seconds() // 60) | int"
"""What a wait would say if it counted down."""

DIM = "--soft:#6B6455"
"""Small words of the night look at a contrast of 3 to 1."""


SWITCHES: Mapping[str, tuple[Off, ...]] = {
    "H1": (("ebbwell.house:House.take_in", _take_in_anything),),
    "H2": (
        ("ebbwell.procedure.evidence:accepted", gives("")),
        ("ebbwell.procedure.scene:Scene.reopened", gives(False)),
    ),
    "H3": (("ebbwell.state.standing:checked", _check_is_not_asked_for),),
    "H5": (("ebbwell.rulebook.typed:check_typed", gives(())),),
    "H6": (("ebbwell.rulebook.typed:POUND_BAND", becomes(Decimal(-1))),),
    "H7": (("ebbwell.core.numbers:parse_decimal", _marks_are_dropped),),
    "H8": (("ebbwell.rulebook.evaluate:evaluate", rules_of("H8")),),
    "H9": (
        ("ebbwell.procedure.scene:Scene.reopened", gives(False)),
        ("ebbwell.procedure.holds:_timed", _never_stale),
    ),
    "H10": (("ebbwell.state.standing:residual_test_needed", gives(False)),),
    "H11": (("ebbwell.deeds.turn:need_open", _any_step),),
    "H12": (("ebbwell.deeds.setup:tick", _tick_anything),),
    "H13": (
        ("ebbwell.deeds.turn:independent", gives(None)),
        ("ebbwell.deeds.turn:LOOK_AGAIN", becomes(timedelta())),
    ),
    "H14": (
        ("ebbwell/web/templates/figure.html:v stale", reads(("v stale", "v"))),
        ("ebbwell/web/static/ledger.js:SILENT = 30000", reads(("SILENT = 30000", "SILENT = 3e8"))),
    ),
    "H15": (("ebbwell.web.watch:Watch.look", gives(())),),
    "H16": (
        ("ebbwell.state.reminders:REMINDED_IN", _every_phase),
        ("ebbwell.deeds.readings_due:DUE_IN", _every_phase),
    ),
    "H17": (("ebbwell.plan.clock_times:after", _by_the_wall),),
    "H18": (("ebbwell.core.clock:in_step", gives(True)),),
    "H19": (("ebbwell.deeds.desk:Desk.add", _start_by_the_wall),),
    "H20": (("ebbwell.journal.store.sqlite_store:SqliteStore.write", _acknowledge_first),),
    "H21": (("ebbwell.house:House.do", _without_key),),
    "H22": (("ebbwell.state.facts:Fact.says", holds(())),),
    "H23": (("ebbwell.papers.exceptions:_changes", gives(())),),
    "H24": (("ebbwell.procedure.evidence:lot_refused", gives("")),),
    "H26": (("ebbwell.deeds.plan:Draughted.refused", holds(())),),
    "H27": (("ebbwell.procedure.rule_facts:weight_after_expected", _rinse_twice),),
    "H28": (
        ("ebbwell.deeds.bloods_typed:_unit", gives("mmol/L")),
        ("ebbwell.science.blood_checks:odd_unit", gives(None)),
        ("ebbwell.science.blood_checks:odd_ratio", gives(None)),
    ),
    "H29": (
        ("ebbwell.rulebook.evaluate:evaluate", rules_of("H29")),
        ("ebbwell.procedure.heparin_facts:vial_times", gives(Decimal(1))),
        ("ebbwell.deeds.orders:odd_lines", gives(())),
    ),
    "H30": (("ebbwell.procedure.evidence:accepted", gives("")),),
    "H32": (("ebbwell.core.text:say", _says("grade.note", text="Everything is fine.")),),
    "H34": (("ebbwell.web.visit:Visit.needles_in", holds(False)),),
    "H35": (("ebbwell.web.pages.stop.page:WAYS", _carers_only),),
    "H36": (("ebbwell.state.texts:emergency", _a_number_of_ours),),
    "H37": (("ebbwell.papers.sheet_model:model_of", _rounded),),
    "H38": (("ebbwell.procedure.evidence:accepted", gives("")),),
    "H39": (("ebbwell.rulebook.typed:_Check._sign", gives(None)),),
    "H40": (("ebbwell.rulebook.typed:_Check._swapped", gives(None)),),
    "H41": (("ebbwell.rulebook.typed:_Check._explained", gives(None)),),
    "H42": (("ebbwell.deeds.setup:_when", _at_once),),
    "H44": (("ebbwell.state.standing:signed_off", gives(True)),),
    "H45": (
        ("ebbwell.journal.store.place:disk_test", gives("")),
        (
            "ebbwell/web/pages/tonight/page.html:visit.house.store.notes",
            reads(("visit.house.store.notes", "()")),
        ),
        (
            "ebbwell/web/templates/ledger.html:t.lost and loop.first",
            reads(("t.lost and loop.first", "false")),
        ),
    ),
    "H47": (("ebbwell/web/static/ledger.css:.night{", reads(("--soft:#B9AD95", DIM))),),
    "H51": (("ebbwell.house:House._pinned", _present_rules),),
    "H52": (("ebbwell.core.text:say", _says("next.over_cap", text="Raise the target to 65 kg.")),),
    "H53": (("ebbwell/web/static/reminders.js:loud ? 1 : 0.7", reads(("loud ? 1 : 0.7", "0.7"))),),
    "H54": (("ebbwell.procedure.rule_facts:_past", gives(None)),),
    "H55": (("ebbwell.state.night:carer_in_charge", _offered_is_taken),),
    "H56": (("ebbwell.deeds.comeoff:come_off", _gated),),
    "H57": (("ebbwell.procedure.scene:Scene.counts", gives(True)),),
    "H58": (
        (
            "ebbwell/web/pages/connect/page.html:before_connecting(desk)",
            reads(("{{ before_connecting(desk) }}", "")),
        ),
        ("ebbwell.state.texts:void", gives(False)),
    ),
    "H59": (
        ("ebbwell/web/static/sounds/reminder.wav:RIFF", _bursts),
        ("ebbwell.core.text:say", _says("web.reminders.cannot_1", text="It watches with you.")),
    ),
    "H60": (("ebbwell.cli.walk.prompt:Walk.pick", _any_key_is_the_first),),
    "H61": (("ebbwell.plan.tonight:plan_tonight", _beyond_the_cap),),
    "H64": (
        ("ebbwell/web/templates/base.html:not hands_full", reads((" and not hands_full", ""))),
        (
            "ebbwell/web/static/reminders.js:.first-action:target",
            reads((' || document.querySelector(".first-action:target")', "")),
        ),
    ),
    "H65": (("ebbwell.core.readiness:practice_only", gives(False)),),
    "H67": (
        ("ebbwell.procedure.lint:weakened", gives(())),
        ("ebbwell.procedure.plan_limits:moved_limits", gives(())),
        ("ebbwell.state.limits:loosens", gives("")),
        ("ebbwell.state.limits:_every_change", gives(())),
    ),
    "H68": (("ebbwell.cli.session:DEMO", becomes("")),),
    "H69": (("ebbwell.papers.heading:heading", _nameless),),
    "H70": (
        ("ebbwell.papers.heparin_now:heparin_lines", _tells_the_curve),
        ("ebbwell.core.text:say", _says("web.heparin.curve.never", text="Needles come out at 5 %.")),
    ),
    "H71": (
        (
            "ebbwell/web/static/hands.js:value.replace(/\\d/g",
            reads(('value.replace(/\\d/g, "$& ")', "value")),
        ),
        (
            'ebbwell/web/static/hands.js:addEventListener("keydown", hush)',
            reads(('document.addEventListener("keydown", hush);', "")),
        ),
        (
            'ebbwell/web/static/hands.js:addEventListener("pointerdown", hush)',
            reads(('document.addEventListener("pointerdown", hush);', "")),
        ),
        (
            "ebbwell/web/static/hands.js:.first-action:target",
            reads((' || document.querySelector(".first-action:target")', "")),
        ),
    ),
    "H72": (("ebbwell/web/pages/setup/parts.html:at=hour(until)", reads(("at=hour(until)", COUNTDOWN))),),
    "H73": (
        ("ebbwell.procedure.scene:Scene.counts", gives(True)),
        ("ebbwell.deeds.desk:Desk.need_holder", gives(None)),
    ),
    "H74": (
        ("ebbwell.web.pages.card.page:last_day", gives("")),
        ("ebbwell.web.pages.prescription.page:older_papers", gives(None)),
    ),
    "H75": (
        (
            "ebbwell/web/pages/connect/page.html:web.connect.wakes_nobody",
            reads(('<strong>{{ say("web.connect.wakes_nobody") }}</strong>', "")),
        ),
        (
            'ebbwell/web/pages/connect/page.html:href="/paper-night"',
            reads(('href="/paper-night"', 'href="/"')),
        ),
        ("ebbwell.papers.exceptions:_missed", gives(())),
    ),
    "H76": (("ebbwell.deeds.desk:Desk.add", _credits_the_carer),),
    "H77": (
        ("ebbwell.deeds.setup:skip", _skip_without_reason),
        ("ebbwell.papers.left_out:left_out", gives(())),
    ),
}


def load_all() -> None:
    """Import every module of the program, so that each name by which a control was taken in is known."""
    for found in pkgutil.walk_packages(ebbwell.__path__, "ebbwell."):
        if not found.name.endswith("__main__"):
            importlib.import_module(found.name)


def switches_of(name: str) -> tuple[Off, ...]:
    """The switches of a hazard; of ``H14.2`` the second one alone."""
    hazard, _, part = name.partition(".")
    return SWITCHES[hazard][int(part) - 1 : int(part)] if part else SWITCHES[hazard]


def runs_of(hazard: str) -> tuple[str, ...]:
    """What has to be run to prove each switch of a hazard by itself: ``H14.1`` and ``H14.2``; ``H11`` has but one."""
    parts = range(1, len(SWITCHES[hazard]) + 1)
    return tuple(f"{hazard}.{part}" for part in parts) if len(parts) > 1 else (hazard,)


def switch_off(name: str) -> None:
    """Take the control of a hazard away, or one part of it, for as long as this process lives."""
    load_all()
    for target, make in switches_of(name):
        path = file_of(target)
        if path is not None:
            _serve_instead(path, make(path.read_bytes()))
            continue
        owner, name = owner_of(target)
        original = vars(owner)[name]
        put = make(original)
        patch.object(owner, name, put).start()
        for module in [m for key, m in sys.modules.items() if key.partition(".")[0] == "ebbwell"]:
            for alias, held in list(vars(module).items()):
                if held is original and (callable(original) or alias == name):
                    patch.object(module, alias, put).start()


def _serve_instead(path: Path, instead: bytes) -> None:
    """Another text in the place of a file of the pages, for templates and for what is served as it lies."""
    source, served = PackageLoader.get_source, StaticFiles.lookup_path
    with tempfile.NamedTemporaryFile(suffix=path.suffix, delete=False) as file:
        file.write(instead)

    def get_source(self: Any, environment: Any, template: str) -> Any:
        found = source(self, environment, template)
        return (instead.decode(), *found[1:]) if Path(str(found[1])).resolve() == path else found

    def lookup_path(self: Any, name: str) -> Any:
        full, stat = served(self, name)
        return (file.name, os.stat(file.name)) if full and Path(full).resolve() == path else (full, stat)

    patch.object(PackageLoader, "get_source", get_source).start()
    patch.object(StaticFiles, "lookup_path", lookup_path).start()


def switch_off_from_environment() -> None:
    """Switch off what the environment names, if it names something."""
    hazard = os.environ.get(NAME)
    if hazard:
        switch_off(hazard)
