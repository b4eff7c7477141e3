"""What the lint finds in a procedure, and that a household's text can't ask for less than the shipped one."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import ebbwell.procedure.lint as lint_module
import ebbwell.procedure.load as load_module
from ebbwell.core.text import has_text
from ebbwell.procedure.lint import weakened
from ebbwell.procedure.load import load_procedure, parse_procedure
from ebbwell.procedure.model import (
    Evidence,
    ProcedureRefused,
    iso_length,
    parse_evidence,
    parse_length,
    split_bound,
)
from tests.procedure.texts import Data, dump, edited, shipped, step_of

SHIPPED = load_procedure()
Edit = Callable[[Data], object]


def problems_of(text: str) -> set[tuple[str, str]]:
    with pytest.raises(ProcedureRefused) as caught:
        parse_procedure(text)
    assert caught.value.exit_code == 17
    assert caught.value.params["count"] == len(caught.value.problems)
    assert all(str(problem) for problem in caught.value.problems)
    return {(problem.key.removeprefix("problem."), problem.step) for problem in caught.value.problems}


def put(step_id: str, **fields: object) -> Edit:
    return lambda data: step_of(data, step_id).update(fields)


def drop(step_id: str, *fields: str) -> Edit:
    def edit(data: Data) -> None:
        for name in fields:
            del step_of(data, step_id)[name]

    return edit


def options(step_id: str, name: str, *words: str, table: str = "options") -> Edit:
    return lambda data: step_of(data, step_id)[table].update({name: list(words)})


def without_gate(data: Data) -> None:
    for step in data["step"]:
        step["gate"] = "close"


BROKEN: list[tuple[str, str, Edit]] = [
    ("empty", "", lambda data: data.update(step=[], id="")),
    ("unknown_field", "S5", put("S5", colour="red")),
    ("unknown_field", "", lambda data: data.update(author="x")),
    ("unknown_field", "", lambda data: data.update(sum=[{"name": "fluid_volume", "places": 2}])),
    ("wrong_form", "", lambda data: data.update(version="1")),
    ("fits", "", lambda data: data.update(fits={"access": ["wing"]})),
    ("fits", "", lambda data: data.update(fits={"access": []})),
    ("fits", "", lambda data: data.update(fits={"moon": ["full"]})),
    ("unknown_word", "", lambda data: data.update(plan_parts=["tide"])),
    ("sum", "", lambda data: data.update(sum=[{"name": "tide"}])),
    (
        "sum",
        "",
        lambda data: data.update(sum=[{"name": "bags_needed", "inputs": {"moon_l": "line:bag_size"}}]),
    ),
    ("sum", "", lambda data: data.update(sum=[{"name": "bags_needed", "inputs": {"bag_l": "line:moon"}}])),
    ("sum", "", lambda data: data.update(sum=[{"name": "bags_needed", "inputs": {"fluid_l": "sum:later"}}])),
    ("sum", "", lambda data: data.update(sum=[{"name": "bags_needed", "inputs": {"bag_l": "guess:5"}}])),
    ("wrong_form", "", lambda data: data.update(version=True)),
    ("wrong_form", "S5", put("S5", after="S3")),
    ("wrong_form", "S5", put("S5", kind=3)),
    ("wrong_form", "S30", put("S30", needles="yes")),
    ("no_length", "S5", put("S5", valid="4 hours")),
    ("no_length", "S5", put("S5", valid="PT0M")),
    ("no_length", "S3", put("S3", evidence=["choice:supply_pressure", "wait:soon"])),
    ("no_length", "S3", put("S3", evidence=["choice:supply_pressure"])),
    ("unknown_evidence", "S5", put("S5", evidence=["guess:total_chlorine"])),
    ("unknown_evidence", "S5", put("S5", evidence=["measured:total_chlorine@tank3"])),
    ("unknown_evidence", "S5", put("S5", evidence=["measured:happiness"])),
    ("unknown_evidence", "S13", put("S13", evidence=["lot:biscuits"])),
    ("unknown_evidence", "S26", put("S26", evidence=["plan", "setting:colour"])),
    ("unknown_word", "S5", put("S5", kind="maybe")),
    ("unknown_word", "S5", put("S5", stage="noon")),
    ("unknown_word", "S5", put("S5", gate="half")),
    ("unknown_word", "S5", put("S5", second="twice")),
    ("unknown_word", "S5", put("S5", skip="always")),
    ("unknown_word", "S5", put("S5", only_if="raining")),
    ("unknown_word", "S5", put("S5", reopens_on=["happened:rain"])),
    ("unknown_step", "S5", put("S5", after=["S99"])),
    ("unknown_hazard", "S5", put("S5", hazards=["H78"])),
    ("unknown_hazard", "S5", put("S5", hazards=["H0"])),
    ("unknown_bound", "S5", put("S5", bounds=["rule:no_such_rule"])),
    ("unknown_bound", "S5", put("S5", bounds=["chlorine"])),
    ("unknown_bound", "S9", put("S9", bounds=["same:lot:acid=no_such_line"])),
    ("unknown_bound", "S9", put("S9", bounds=["same:lot:dialyser=dialyser"])),
    ("bad_id", "5!", lambda data: data["step"].append({**step_of(data, "C20"), "id": "5!"})),
    ("twice", "S5", lambda data: data["step"].append(dict(step_of(data, "S5")))),
    ("cycle", "", put("S2", after=["S31"])),
    ("one_connect", "", put("S32", evidence=["tick"])),
    ("one_connect", "", put("C14", evidence=["connected"])),
    ("no_gate", "", without_gate),
    ("no_block", "S5", drop("S5", "block")),
    ("no_evidence", "S5", put("S5", evidence=[])),
    ("evidence_twice", "S6", put("S6", evidence=["measured:feed_conductivity"] * 2)),
    ("sole_tick", "S5", put("S5", evidence=["tick"])),
    ("second_of_nothing", "S5", put("S5", evidence=[])),
    ("second_of_nothing", "S2", put("S2", second="scan")),
    ("blind", "S26", put("S26", second="none")),
    ("blind", "S5", put("S5", second="blind")),
    ("needles", "C14", put("C14", needles=True)),
    ("skip_never", "S32", put("S32", skip="reason")),
    ("no_options", "S17", options("S17", "venous_line", "in_detector_and_clamp")),
    ("options_unused", "S17", options("S17", "weather", "dry", "wet")),
    ("option_twice", "S17", options("S17", "venous_line", "not_in_yet", "not_in_yet")),
    ("wants", "S17", options("S17", "venous_line", "somewhere", table="wants")),
    ("wants", "S17", options("S17", "venous_line", table="wants")),
    ("gate_behind", "C8", put("C8", gate="connect")),
    ("order_behind", "C8", put("C8", after=["S32", "C7"])),
    ("order_behind", "C8", put("C8", after=[])),
    ("gate_before", "S5", put("S5", gate="close")),
    ("gate_unreachable", "S4", put("S4", after=["S32"])),
    ("no_words", "S5", put("S5", block="attic")),
    ("no_words", "X1", lambda data: data["step"].append({**step_of(data, "C20"), "id": "X1"})),
]


@pytest.mark.parametrize(
    ("key", "step", "edit"), BROKEN, ids=[f"{n}-{row[0]}" for n, row in enumerate(BROKEN)]
)
def test_a_broken_text_is_refused_with_the_reason(key: str, step: str, edit: Edit) -> None:
    assert (key, step) in problems_of(edited(edit))


@pytest.mark.parametrize("text", ["", "id = ", "[[step]]\nid = 1", "step = 3", "words = 3"])
def test_what_is_no_procedure_is_refused(text: str) -> None:
    assert problems_of(text)


def test_text_that_is_no_toml_is_named_as_such() -> None:
    assert problems_of("id = ") == {("not_toml", "")}


def test_every_problem_has_a_case_and_words() -> None:
    """Source: arithmetic. Keys are read from the code, so that a new one without case or words is found."""
    source = "".join(Path(str(module.__file__)).read_text() for module in (lint_module, load_module))
    keys = set(re.findall(r'"problem\.([a-z_]+)"', source))
    assert keys == {key for key, _, _ in BROKEN} | {"not_toml"}
    assert all(has_text(f"problem.{key}") for key in keys)


def test_all_problems_are_told_at_once() -> None:
    def edit(data: Data) -> None:
        put("S5", after=["S99"])(data)
        put("S8", hazards=["H99"])(data)

    assert problems_of(edited(edit)) == {("unknown_step", "S5"), ("unknown_hazard", "S8")}


def test_the_shipped_text_survives_a_round_trip() -> None:
    again = parse_procedure(dump(shipped()))
    assert again.steps == SHIPPED.steps
    assert again.digest != SHIPPED.digest
    assert weakened(again, SHIPPED) == ()


# ---- weakening ---------------------------------------------------------------------------------------------


def _longer(text: str, minutes: int) -> str:
    length = parse_length(text)
    assert length is not None
    return f"PT{round(length.total_seconds() / 60) + minutes}M"


def _drop_step(step_id: str) -> Edit:
    def edit(data: Data) -> None:
        data["step"] = [step for step in data["step"] if step["id"] != step_id]
        for step in data["step"]:
            if step_id in step.get("after", []):
                step["after"] = [each for each in step["after"] if each != step_id]

    return edit


def _less(step_id: str, name: str, item: str) -> Edit:
    return lambda data: step_of(data, step_id).update(
        {name: [each for each in step_of(data, step_id)[name] if each != item]}
    )


def weakening_edits() -> Iterator[tuple[str, Edit]]:
    """Every single edit of the shipped text that makes a step ask for less."""
    for step in shipped()["step"]:
        i = step["id"]
        if i != "S32":
            yield f"{i} dropped", _drop_step(i)
        for name in ("after", "bounds", "reopens_on", "hazards", "evidence"):
            for item in step.get(name, []):
                yield f"{i} {name} {item}", _less(i, name, item)
        for item in step["evidence"]:
            if item.startswith("wait:"):
                shorter = [_longer(e[5:], -1) if e == item else e for e in step["evidence"]]
                yield (
                    f"{i} wait",
                    put(i, evidence=[f"wait:{e}" if e.startswith("PT") else e for e in shorter]),
                )
        if "valid" in step:
            yield f"{i} valid a minute longer", put(i, valid=_longer(step["valid"], 1))
            yield f"{i} valid for ever", drop(i, "valid")
        if "second" in step:
            yield f"{i} second dropped", drop(i, "second")
        if step.get("second") == "person_or_photo":
            yield f"{i} second reread", put(i, second="reread")
        if step.get("second") == "reread":
            yield f"{i} second scan", put(i, second="scan")
        if "skip" not in step and i != "S32":
            yield f"{i} skip reason", put(i, skip="reason")
            yield f"{i} skip unit", put(i, skip="unit")
        if step.get("skip") == "unit":
            yield f"{i} skip reason", put(i, skip="reason")
        if step["kind"] == "hold":
            yield f"{i} kind", put(i, kind="confirm")
        yield f"{i} gate", put(i, gate="none" if step["gate"] != "none" else "close")
        if "unit_may_allow" not in step:
            yield f"{i} advisable", put(i, unit_may_allow=True)
        if step.get("needles"):
            yield f"{i} needles", drop(i, "needles")
        yield f"{i} only_if", put(i, only_if="two_tanks" if step.get("only_if") != "two_tanks" else "heparin")
        for name, words in step.get("options", {}).items():
            wants = step.get("wants", {}).get(name)
            if wants is None:
                yield f"{i} new word {name}", options(i, name, *words, "whatever")
                continue
            others = [word for word in words if word not in wants]
            yield f"{i} wants all of {name}", options(i, name, *wants, *others, table="wants")
            yield f"{i} no bad word in {name}", options(i, name, *words[:1], "whatever")


EDITS = dict(weakening_edits())
SEEDED = random.Random(67).sample(sorted(EDITS), 100)


@pytest.mark.hazard("H67")
@pytest.mark.source("practice:e", detail="H67: 100 weakening edits refused")
@pytest.mark.parametrize("name", SEEDED)
def test_a_weakening_edit_is_refused(name: str) -> None:
    step_id = name.split()[0]
    data = shipped()
    EDITS[name](data)
    household = _read(data)
    assert step_id in {problem.step for problem in weakened(household, SHIPPED)}


def _read(data: Data) -> lint_module.Procedure:
    """The steps as read, without the lint: the comparison must find the loss by itself."""
    reader = load_module._Reader()
    procedure = reader.procedure(data, dump(data))
    assert reader.problems == []
    return procedure


@pytest.mark.hazard("H67")
def test_every_single_weakening_edit_is_found() -> None:
    """Source: arithmetic. All the edits there are, not a sample."""
    assert len(EDITS) > 700
    missed = []
    for name, edit in EDITS.items():
        data = shipped()
        edit(data)
        if name.split()[0] not in {problem.step for problem in weakened(_read(data), SHIPPED)}:
            missed.append(name)
    assert missed == []


def _extra_step(data: Data) -> None:
    own = {"kind": "hold", "stage": "setup", "gate": "connect", "block": "room", "after": ["S2"]}
    data["step"].append({"id": "X1", **own, "evidence": ["choice:lamp"], "options": {"lamp": ["on", "off"]}})
    data["words"] = {
        **{f"step.X1.{part}": "Turn the lamp on." for part in ("do", "why", "how")},
        "choice.lamp": "How is the lamp?",
        "option.lamp.on": "On",
        "option.lamp.off": "Off",
    }


@pytest.mark.parametrize(
    "edit",
    [
        put("S5", valid="PT2H"),
        put("S29e", valid="PT60M"),
        put("S24", skip="never"),
        put("S23c", skip="never"),
        put("S9", second="reread"),
        put("S4", bundle="packs", block="machine"),
        put("S4", hazards=["H9"]),
        put("S7", after=["S2", "S6"]),
        put("S3", evidence=["choice:supply_pressure", "wait:PT20M"]),
        put("S18", bounds=["rule:heparin_strength_differs", "rule:heparin_strength_factor"]),
        put("S0", unit_may_allow=False),
        options("S14b", "second_bag", "hung", table="wants"),
        lambda data: step_of(data, "S4").update(wants={"softener_salt": ["enough", "no_softener"]}),
        _extra_step,
        lambda data: data.update(words={"step.S5.do": "Test the tap by the green door."}, version=2),
    ],
    ids=lambda edit: "",
)
def test_what_only_tightens_or_rewords_is_taken(edit: Edit) -> None:
    household = parse_procedure(edited(edit))
    assert weakened(household, SHIPPED) == ()
    assert household.digest != SHIPPED.digest


def test_the_households_words_go_first() -> None:
    reworded = parse_procedure(edited(lambda data: data.update(words={"step.S5.do": "Test the tap, {who}."})))
    assert reworded.say("step.S5.do", who="Bram") == "Test the tap, Bram."
    assert reworded.say("step.S5.why") == SHIPPED.say("step.S5.why")


def test_a_weakened_text_names_what_was_lost() -> None:
    household = parse_procedure(edited(put("S5", valid="PT5H", second="reread")))
    lost = weakened(household, SHIPPED)
    assert [(problem.key, problem.step) for problem in lost] == [
        ("problem.weaker.valid", "S5"),
        ("problem.weaker.second", "S5"),
    ]
    assert all(str(problem).startswith("S5: ") for problem in lost)


# ---- words of the data -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "evidence"),
    [
        ("tick", Evidence("tick")),
        ("measured:pulse", Evidence("measured", "pulse")),
        ("measured:total_chlorine@tank1", Evidence("measured", "total_chlorine", "tank1")),
        ("lot:acid", Evidence("lot", "acid")),
    ],
)
def test_evidence_is_read_and_written_alike(text: str, evidence: Evidence) -> None:
    assert parse_evidence(text) == evidence
    assert str(evidence) == text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "tock",
        "tick:now",
        "measured",
        "measured:",
        "lot:a@b",
        "measured:a@",
        "wait:5",
        "wait:PT",
        "answer:A",
    ],
)
def test_no_evidence_is_read_from_other_words(text: str) -> None:
    assert parse_evidence(text) is None


@pytest.mark.parametrize(("text", "minutes"), [("PT4H", 240), ("PT60M", 60), ("PT1H30M", 90), ("PT5M", 5)])
def test_lengths_of_time(text: str, minutes: int) -> None:
    """Source: arithmetic; the form is that of ISO 8601, from memory."""
    length = parse_length(text)
    assert length is not None
    assert length.total_seconds() == minutes * 60
    assert parse_length(iso_length(length)) == length


@pytest.mark.parametrize("text", ["", "PT", "4H", "PT4", "P4H", "PT-4H", "PT4.5H", "PT0H", "PT1M2H", "PT4h"])
def test_no_length_is_read_from_other_words(text: str) -> None:
    assert parse_length(text) is None


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("rule:fluid_too_hot", ("rule", "fluid_too_hot", "")),
        ("same:lot:acid=acid_code", ("same", "lot:acid", "acid_code")),
        ("same:lot:acid", None),
        ("same:wish:acid=acid_code", None),
        ("rule:", None),
        ("acid", None),
    ],
)
def test_bounds_are_taken_apart(text: str, parts: tuple[str, str, str] | None) -> None:
    assert split_bound(text) == parts
