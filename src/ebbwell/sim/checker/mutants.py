"""Mutants: the procedure, or the code that judges it, with one guard, expiry or reopening rule taken away.

Each has to be noticed by the search. Generated from the procedure's own data, so a new step brings its mutants.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any
from unittest import mock

from ebbwell.procedure import conditions, two_readings
from ebbwell.procedure.model import Procedure, Step
from ebbwell.sim.checker.moves import Try, all_tries
from ebbwell.sim.checker.search import Counterexample, Search, before_needles, near_the_gate, path_of
from ebbwell.sim.checker.world import World
from ebbwell.sim.homes import HOMES, Home

Change = Callable[[], AbstractContextManager[Any]]


@dataclass(frozen=True)
class Mutant:
    """name: what was taken away. about: the steps and events to try first.
    step: the one that was changed; undo: what to disturb before it. procedure: as mutated; change: of the code."""

    name: str
    about: tuple[str, ...]
    step: str = ""
    undo: tuple[str, ...] = ()
    procedure: Procedure | None = None
    change: Change = nullcontext


DIFFERING = two_readings._differing
"""As it is, for mutants that take something away from it."""

TWICE = ("S5", "S8", "S18")
"""Steps whose value is read twice."""

ELSEWHERE_ONLY = frozenset(
    {"no_heparin", "low_molecular", "catheter", "liquid_bicarbonate", "prime_given", "chemical_used"}
)
"""Conditions that only the homes without heparin meet."""


def _with(procedure: Procedure, step: Step, **changes: Any) -> Procedure:
    steps = tuple(replace(each, **changes) if each.id == step.id else each for each in procedure.steps)
    return replace(procedure, steps=steps)


def of_data(procedure: Procedure) -> Iterator[Mutant]:
    """One mutant for each guard, expiry and reopening rule of the procedure."""
    for line in procedure.fits:
        fits = {each: words for each, words in procedure.fits.items() if each != line}
        about = (f"fits:{line}",)
        yield Mutant(f"for any {line}", about, procedure=replace(procedure, fits=fits))
    for step in procedure.steps:
        if step.gate == "connect":
            yield from _of_step(procedure, step)
        elif step.only_if.startswith("blood_"):
            name, other = f"{step.id} never needed", _with(procedure, step, only_if="no_heparin")
            yield Mutant(name, ("off",), step.id, procedure=other)


def _of_step(procedure: Procedure, step: Step) -> Iterator[Mutant]:
    sharing = [s.id for s in procedure.steps if s is not step and set(s.evidence) & set(step.evidence)]
    here = (step.id, *procedure.successors[step.id], *sharing)

    def mutant(name: str, *undo: str, **changes: Any) -> Mutant:
        mutated = _with(procedure, step, **changes)
        return Mutant(f"{step.id} {name}", (*here, *undo), step.id, undo or (step.id,), mutated)

    for before in step.after:
        rest = tuple(b for b in step.after if b != before)
        yield mutant(f"no longer after {before}", before, after=rest)
    for evidence in step.evidence:
        others = tuple(e for e in step.evidence if e != evidence)
        bounds = () if evidence.form == "measured" else step.bounds
        second = step.second if evidence.form in ("choice", "wait", "tick") else "none"
        undo = (step.id, "S29") if evidence.form == "plan" else (step.id,)
        yield mutant(f"without {evidence}", *undo, evidence=others, bounds=bounds, second=second)
        if evidence.length is not None:
            none = replace(evidence, length=timedelta())
            short = tuple(none if e == evidence else e for e in step.evidence)
            yield mutant("without its wait", evidence=short)
    for wanted, words in step.wants.items():
        if set(step.options.get(wanted, ())) - set(words):
            wants = {name: right for name, right in step.wants.items() if name != wanted}
            yield mutant(f"takes any {wanted}", wants=wants)
    for bound in step.bounds:
        fewer = tuple(b for b in step.bounds if b != bound)
        beside = (each.id for each in procedure.steps if each.block == step.block and each.bounds)
        yield mutant(f"without {bound}", step.id, *beside, bounds=fewer)
    if step.second not in ("none", "blind"):
        yield mutant("read once", second="none")
    if step.valid is not None:
        yield mutant("never expires", "time", valid=None)
    if step.retest is not None:
        yield mutant("may be tested again at once", retest=None)
    if step.unit_after_fail:
        yield mutant("needs no word after a failed test", unit_after_fail=False)
    for event in step.reopens_on:
        events = tuple(e for e in step.reopens_on if e != event)
        yield mutant(f"not reopened by {event}", event, reopens_on=events)
    asked_before = all(
        any(e in procedure.step(b).evidence for b in procedure.before(step.id)) for e in step.evidence
    )
    if step.skip != "reason" and not asked_before:
        yield mutant("may be skipped", skip="reason")
    if not procedure.successors[step.id] or procedure.successors[step.id] == (procedure.connect_id,):
        yield mutant("no longer at the gate", gate="none")
    if step.only_if:
        yield mutant("never needed", only_if="heparin" if step.only_if in ELSEWHERE_ONLY else "no_heparin")


def _patch(target: str, to: Any) -> Change:
    return lambda: mock.patch(target, to)


def of_code() -> Iterator[Mutant]:
    """One mutant for each guard that isn't the procedure's data but the code's."""
    scene = "ebbwell.procedure.scene.Scene"
    evidence = "ebbwell.procedure.evidence"
    yield Mutant(
        "marks made elsewhere count", ("merge",), change=_patch(f"{scene}.counts", lambda self, fact: True)
    )
    yield Mutant(
        "every clock is trusted",
        ("clock",),
        change=_patch(f"{scene}.trusted", lambda self, fact, judged_at: True),
    )
    yield Mutant(
        "nothing reopens",
        ("happened:set_opened",),
        change=_patch(f"{scene}.reopened", lambda self, s, f: False),
    )
    yield Mutant(
        "the unit always allows",
        ("S0",),
        change=_patch(f"{scene}.allowed", lambda self, step, facts: step.advisable),
    )
    yield Mutant(
        "any pack will do", ("S13",), change=_patch(f"{evidence}.lot_refused", lambda scene, body: "")
    )
    yield Mutant(
        "an old reading of the order will do",
        ("prescription",),
        change=_patch(f"{evidence}._readback", lambda scene, body: ""),
    )
    yield Mutant(
        "a void plan will do",
        ("S29", "prescription"),
        change=_patch(f"{evidence}.plan_void", lambda scene, body: ""),
    )
    yield Mutant(
        "any machine setting will do",
        ("S26",),
        change=_patch(f"{evidence}._as_ordered", lambda scene, body: ""),
    )
    yield Mutant(
        "a second reading is made until it fits",
        TWICE,
        change=_patch("ebbwell.procedure.holds.found_otherwise", lambda treatment, facts: None),
    )
    yield Mutant(
        "a second reading taken back is forgotten",
        TWICE,
        change=_patch("ebbwell.procedure.two_readings._differing", _those_that_hold),
    )
    yield Mutant(
        "a corrected first reading is a fresh one",
        TWICE,
        change=_patch("ebbwell.procedure.holds.found_otherwise", _as_last_said),
    )
    yield Mutant(
        "values may disagree",
        ("S27", "disagreement"),
        change=_patch("ebbwell.state.facts.Facts.disagreements", lambda self: {}),
    )
    yield Mutant(
        "unknown kinds are passed over",
        ("merge",),
        change=_patch("ebbwell.state.facts.Facts.not_understood", lambda self: ()),
    )
    yield Mutant(
        "an unchecked order is in force",
        ("prescription",),
        change=_patch("ebbwell.state.standing.checked", _any_check),
    )
    yield Mutant(
        "what holds for tonight alone isn't heard",
        ("prescription",),
        change=_patch("ebbwell.procedure.scene.for_night", lambda *of: frozenset()),
    )
    yield Mutant(
        "not tonight isn't heard",
        ("not_tonight",),
        change=_patch("ebbwell.state.facts.Facts.of", _deaf),
    )
    yield Mutant(
        "anyone is signed off to needle",
        ("people",),
        change=_patch("ebbwell.deeds.turn.signed_off", lambda s, p, k: True),
    )
    yield Mutant(
        "anyone is signed off to connect",
        ("connect",),
        change=_patch("ebbwell.deeds.connect.signed_off", lambda s, p, k: True),
    )
    yield Mutant(
        "steps needn't wait their turn", ("S20",), change=_patch("ebbwell.deeds.setup.need_open", _no_turn)
    )
    for condition in ("blood_returned", "blood_kept_out"):
        name = f"{condition} goes by how the blood looked alone"
        yield Mutant(name, ("off",), change=_blood_by_its_look(condition))
    yield Mutant(
        "coming off waits for the carer",
        ("running", "connect"),
        change=_patch("ebbwell.deeds.comeoff.first_blood", _only_when_running),
    )


def _those_that_hold(treatment: Any) -> Any:
    differing = DIFFERING(treatment)
    return tuple((entry, of) for entry, of in differing if entry.id not in treatment.replaced)


def _as_last_said(treatment: Any, facts: Any) -> Any:
    ids = {fact.id for fact in facts}
    found = [entry for entry, of in DIFFERING(treatment) if ids & set(of)]
    return found[-1] if found else None


def _deaf(facts: Any, kind: str) -> Any:
    return () if kind == "not_tonight" else facts.live.get(kind, ())


def _any_check(facts: Any, entry_id: str) -> Any:
    return facts.last("second_check")


def _no_turn(desk: Any, step_id: str) -> Any:
    return desk.procedure.step(step_id)


def _blood_by_its_look(condition: str) -> Change:
    looks = ("normal",) if condition == "blood_returned" else ("clotted", "haemolysis", "chemical", "other")
    checks = {condition: lambda scene: conditions._looks(scene, *looks)}
    return lambda: mock.patch.dict(conditions.CHECKS, checks)


def _only_when_running(treatment: Any) -> Any:
    raise_from = treatment.of("off") or treatment.of("connected")
    if raise_from:
        from ebbwell.deeds.desk import Refused

        raise Refused("refuse.no_night")
    return None


def mutants(procedure: Procedure) -> list[Mutant]:
    """All of them, in a fixed order."""
    return [*of_data(procedure), *of_code()]


def noticed(mutant: Mutant, spec_by: Procedure, homes: Mapping[str, Home] = HOMES) -> Counterexample | None:
    """The first counterexample that the search finds in a mutant, in any of the homes; None when it finds none."""
    tries = all_tries(spec_by)
    first = [t for t in tries if t.about in mutant.about]
    try:
        with mutant.change():
            for home in homes.values():
                search = Search(spec_by=spec_by)
                opened = World.fresh(mutant.procedure, home)
                if mutant.step and not opened.spec(spec_by).needed(spec_by.step(mutant.step)):
                    continue
                worlds = path_of(mutant.procedure, home)
                _look_everywhere(search, worlds, tries, first, mutant)
    except Counterexample as found:
        return found
    return None


def _look_everywhere(
    search: Search, worlds: list[World], tries: list[Try], first: list[Try], mutant: Mutant
) -> None:
    """What is nearest to the mutant first: from the open gate, before the needles, in pairs, along the way.

    Where what was taken away stands between two steps: first the one disturbed and the other one given.
    """
    for world in reversed(worlds):
        search.look(world, ("set up",))
    starts = (worlds[-1], before_needles(worlds))
    if set(mutant.undo) & set(search.spec_by.ids) - {mutant.step}:
        before = [t for t in first if t.about in mutant.undo]
        for start in starts:
            _in_pairs(search, start, before, [t for t in first if t.gives == mutant.step])
    for start in starts:
        for _ in near_the_gate(search, start, first):
            pass
    ones = [t for t in first if t.about in (mutant.undo or mutant.about)]
    twos = [t for t in first if t.gives or t.name.startswith("advice") or not mutant.step]
    for start in starts:
        _in_pairs(search, start, ones, twos)
    for index in range(len(worlds) - 2, -1, -1):
        for one in first:
            search.attempt(worlds[index], one, (f"move {index}",))
    if not mutant.step:
        for start in starts:
            for _ in near_the_gate(search, start, tries):
                pass


def _in_pairs(search: Search, start: World, ones: list[Try], twos: list[Try]) -> None:
    """Two tries, one after the other, then put right again."""
    for one in ones:
        child = search.attempt(start, one, ("set up",))
        if child is None:
            continue
        for two in twos:
            search.attempt(child, two, ("set up", one.name))
