"""Looks a procedure over: what can't work, and where a household's own text is weaker than the one shipped."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from ebbwell.core.text import has_text
from ebbwell.procedure.model import (
    CONDITIONS,
    GATES,
    ITEMS,
    KINDS,
    PARTS_OF_PLAN,
    REOPENERS,
    SECONDS,
    SETTINGS,
    SHOWS,
    SKIPS,
    STAGES,
    STAGES_BEHIND_CONNECT,
    WHENS,
    Evidence,
    Problem,
    Procedure,
    Step,
    split_bound,
)
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import Rulebook
from ebbwell.science.catalogue import formula_named, names

_STEP_ID = re.compile(r"[A-Z][A-Za-z0-9]{0,11}")
_HAZARD = re.compile(r"H([1-9]|[1-6][0-9]|7[0-7])")
_RANK = {name: rank for rank, name in enumerate(SECONDS)}


def lint(procedure: Procedure) -> tuple[Problem, ...]:
    """Everything that is wrong with a procedure by itself; empty when nothing was found.

    Quantities and bounds are looked up in the rulebook; words in the procedure and the catalogue.
    """
    rulebook = load_rulebook()
    places = {quantity.id: quantity.at for quantity in rulebook.quantities()}
    rules = {rule.id for rule in rulebook.rules()}
    lines = {line.id for line in rulebook.lines()}
    problems = [*_whole(procedure), *_head(procedure, rulebook)]
    for step in procedure.steps:
        problems += _step(step)
        problems += _evidence(places, step)
        problems += [
            Problem("problem.unknown_bound", step.id, bound)
            for bound in step.bounds
            if not _bound_known(step, bound, rules, lines)
        ]
        problems += [
            Problem("problem.unknown_word", step.id, line) for line in step.rests_on if line not in lines
        ]
        problems += _order(procedure, step)
        problems += _wording(procedure, step)
    return tuple(problems)


def _whole(procedure: Procedure) -> Iterator[Problem]:
    if not procedure.id or not procedure.steps:
        yield Problem("problem.empty")
    for step_id, times in Counter(step.id for step in procedure.steps).items():
        if times > 1:
            yield Problem("problem.twice", step_id)
    connects = [s.id for s in procedure.steps if any(e.form == "connected" for e in s.evidence)]
    if len(connects) != 1:
        yield Problem("problem.one_connect", detail=", ".join(connects))
    if not any(step.gate == "connect" for step in procedure.steps):
        yield Problem("problem.no_gate")
    try:
        TopologicalSorter({step.id: step.after for step in procedure.steps}).prepare()
    except CycleError as why:
        yield Problem("problem.cycle", detail=" ".join(map(str, why.args[1])))


def _head(procedure: Procedure, rulebook: Rulebook) -> Iterator[Problem]:
    """What stands above the steps: which orders they are for, and the procedure's own lines of the plan."""
    lines = {line.id: line for line in rulebook.lines()}
    for name, words in procedure.fits.items():
        known = {"", *lines[name].options} if name in lines else set()
        if not words or not set(words) <= known:
            yield Problem("problem.fits", detail=name)
    for part in procedure.plan_parts:
        if part not in PARTS_OF_PLAN:
            yield Problem("problem.unknown_word", detail=part)
    quantities = {quantity.id for quantity in rulebook.quantities()}
    known_by = {"line": set(lines), "measured": quantities, "limit": {one.id for one in rulebook.limits()}}
    earlier: set[str] = set()
    for each in procedure.sums:
        if each.name not in names() or set(each.inputs) - {i.name for i in formula_named(each.name).inputs}:
            yield Problem("problem.sum", detail=each.name)
        for text in each.inputs.values():
            source, _, name = text.partition(":")
            if name not in (known_by | {"sum": earlier}).get(source, set()):
                yield Problem("problem.sum", detail=f"{each.name}: {text}")
        earlier.add(each.name)


def _step(step: Step) -> Iterator[Problem]:
    if not _STEP_ID.fullmatch(step.id):
        yield Problem("problem.bad_id", step.id, step.id)
    words = (
        (step.kind, KINDS),
        (step.stage, STAGES),
        (step.gate, GATES),
        (step.second, SECONDS),
        (step.skip, SKIPS),
        (step.only_if, CONDITIONS),
    )
    for word, known in words:
        if word not in known:
            yield Problem("problem.unknown_word", step.id, word)
    for word in step.reopens_on:
        if word not in REOPENERS:
            yield Problem("problem.unknown_word", step.id, word)
    for word in step.shows:
        if word not in SHOWS:
            yield Problem("problem.unknown_word", step.id, word)
    for hazard in step.hazards:
        if not _HAZARD.fullmatch(hazard):
            yield Problem("problem.unknown_hazard", step.id, hazard)
    if not step.block:
        yield Problem("problem.no_block", step.id)
    forms = {evidence.form for evidence in step.evidence}
    if step.kind == "wait" and "wait" not in forms:
        yield Problem("problem.no_length", step.id)
    if step.kind == "hold" and forms == {"tick"}:
        yield Problem("problem.sole_tick", step.id)
    if not step.evidence:
        yield Problem("problem.no_evidence", step.id)
        if step.second != "none":
            yield Problem("problem.second_of_nothing", step.id)
    if (step.second == "blind") != ("setting" in forms):
        yield Problem("problem.blind", step.id)
    if step.second in ("scan", "reread", "person_or_photo") and not forms & {"measured", "lot", "choice"}:
        yield Problem("problem.second_of_nothing", step.id)
    if step.needles and step.gate != "connect":
        yield Problem("problem.needles", step.id)
    if step.skip != "never" and "connected" in forms:
        yield Problem("problem.skip_never", step.id)


def _evidence(places: Mapping[str, tuple[str, ...]], step: Step) -> Iterator[Problem]:
    asked = set()
    for evidence in step.evidence:
        if not _known(places, evidence):
            yield Problem("problem.unknown_evidence", step.id, str(evidence))
        if evidence.form in ("answer", "choice"):
            asked.add(evidence.name)
            if len(step.options.get(evidence.name, ())) < 2:
                yield Problem("problem.no_options", step.id, evidence.name)
    if len(set(step.evidence)) != len(step.evidence):
        yield Problem("problem.evidence_twice", step.id)
    measured = {evidence.name for evidence in step.evidence if evidence.form == "measured"}
    for name, options in (*step.options.items(), *step.wants.items()):
        if name not in asked | measured:
            yield Problem("problem.options_unused", step.id, name)
        if len(set(options)) != len(options):
            yield Problem("problem.option_twice", step.id, name)
    for name, wants in step.wants.items():
        if not wants or not set(wants) <= set(step.options.get(name, ())):
            yield Problem("problem.wants", step.id, name)


def _bound_known(step: Step, bound: str, rules: set[str], lines: set[str]) -> bool:
    parts = split_bound(bound)
    if parts is None:
        return False
    form, name, line = parts
    if form == "rule":
        return name in rules
    return line in lines and name in {str(evidence) for evidence in step.evidence}


def _known(places: Mapping[str, tuple[str, ...]], evidence: Evidence) -> bool:
    if evidence.form == "measured":
        return evidence.name in places and evidence.place in ("", *places[evidence.name])
    known: Mapping[str, tuple[str, ...]] = {"setting": SETTINGS, "lot": ITEMS, "reading": WHENS}
    return evidence.form not in known or evidence.name in known[evidence.form]


def _order(procedure: Procedure, step: Step) -> Iterator[Problem]:
    for each in step.after:
        if not procedure.has(each):
            yield Problem("problem.unknown_step", step.id, each)
    connect = procedure.connect_id
    behind = step.stage in STAGES_BEHIND_CONNECT
    if behind and step.gate == "connect":
        yield Problem("problem.gate_behind", step.id)
    if behind and set(step.after) != {connect}:
        yield Problem("problem.order_behind", step.id, connect)
    if not behind and step.id != connect and step.gate != "connect":
        yield Problem("problem.gate_before", step.id)
    if step.gate == "connect" and connect and connect in procedure.before(step.id) | {step.id}:
        yield Problem("problem.gate_unreachable", step.id)


def _wording(procedure: Procedure, step: Step) -> Iterator[Problem]:
    for key in wording_keys(step):
        if key not in procedure.words and not has_text(key):
            yield Problem("problem.no_words", step.id, key)


def wording_keys(step: Step) -> tuple[str, ...]:
    """Every key that a page needs to show this step."""
    keys = [f"step.{step.id}.{part}" for part in ("do", "why", "how")]
    keys += [f"block.{step.block}"] if step.block else []
    keys += [f"bundle.{step.bundle}"] if step.bundle else []
    keys += [f"condition.{step.only_if}"] if step.only_if else []
    keys += [f"reopens.{word}" for word in step.reopens_on]
    for evidence in step.evidence:
        shown = {"answer": "ask", "choice": "choice", "lot": "item", "setting": "setting"}.get(evidence.form)
        shown = {"reading": "when", "given": "given"}.get(evidence.form, shown)
        if shown is not None:
            keys.append(f"{shown}.{evidence.name}")
        if evidence.place:
            keys.append(f"place.{evidence.place}")
    keys += [f"option.{name}.{option}" for name, options in step.options.items() for option in options]
    return tuple(keys)


def weakened(household: Procedure, shipped: Procedure) -> tuple[Problem, ...]:
    """Where a household's procedure asks for less than the shipped one; empty when it asks for as much or more.

    Steps may be added and words, bundles and blocks changed; by step id nothing may be taken away or loosened.
    Source: practice:H67.
    """
    problems: list[Problem] = []
    problems += [
        Problem("problem.weaker.fits", detail=line)
        for line, words in shipped.fits.items()
        if not household.fits.get(line) or not set(household.fits[line]) <= set(words)
    ]
    gone = [part for part in shipped.plan_parts if part not in household.plan_parts]
    gone += [each.name for each in shipped.sums if each not in household.sums]
    problems += [Problem("problem.weaker.plan", detail=name) for name in gone]
    for ours in shipped.steps:
        if not household.has(ours.id):
            problems.append(Problem("problem.weaker.dropped", ours.id))
            continue
        problems += _weaker(household.step(ours.id), ours)
    return tuple(problems)


def _weaker(theirs: Step, ours: Step) -> Iterator[Problem]:
    def weak(name: str) -> Problem:
        return Problem(f"problem.weaker.{name}", ours.id, name)

    for name in ("kind", "stage", "gate", "only_if", "needles"):
        if getattr(theirs, name) != getattr(ours, name):
            yield weak(name)
    for name in ("after", "bounds", "reopens_on", "hazards"):
        if not set(getattr(theirs, name)) >= set(getattr(ours, name)):
            yield weak(name)
    if theirs.rests_on and not (ours.rests_on and set(theirs.rests_on) >= set(ours.rests_on)):
        yield weak("reopens_on")
    if not all(_still_asked(evidence, theirs) for evidence in ours.evidence):
        yield weak("evidence")
    if ours.valid is not None and (theirs.valid is None or theirs.valid > ours.valid):
        yield weak("valid")
    if ours.unit_after_fail and not theirs.unit_after_fail:
        yield weak("retest")
    if ours.retest is not None and (theirs.retest is None or theirs.retest < ours.retest):
        yield weak("retest")
    if (theirs.second == "blind") != (ours.second == "blind") or _RANK[theirs.second] < _RANK[ours.second]:
        yield weak("second")
    if SKIPS.index(theirs.skip) > SKIPS.index(ours.skip):
        yield weak("skip")
    if theirs.advisable and not ours.advisable:
        yield weak("advisable")
    if not _options_kept(theirs, ours):
        yield weak("options")


def _still_asked(evidence: Evidence, theirs: Step) -> bool:
    if evidence.length is None:
        return evidence in theirs.evidence
    return any(each.length is not None and each.length >= evidence.length for each in theirs.evidence)


def _options_kept(theirs: Step, ours: Step) -> bool:
    """Every answer that can be given stays, and none that didn't meet the step meets it now."""
    for name, options in ours.options.items():
        given = set(theirs.options.get(name, ()))
        meets = set(ours.wants.get(name, options))
        if not given >= set(options) or not set(theirs.wants.get(name, given)) <= meets:
            return False
    return True
