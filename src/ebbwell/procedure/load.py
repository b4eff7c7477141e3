"""Reads a procedure from its text, and from the data that comes with the program."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import timedelta
from functools import lru_cache
from hashlib import sha256
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from ebbwell.core.errors import InputError
from ebbwell.procedure.lint import lint
from ebbwell.procedure.model import (
    PARTS_OF_PLAN,
    Evidence,
    Problem,
    Procedure,
    ProcedureRefused,
    Step,
    Sum,
    parse_evidence,
    parse_length,
)

_WORDS = {
    "kind": "",
    "stage": "",
    "gate": "",
    "second": "none",
    "skip": "never",
    "only_if": "",
    "bundle": "",
    "block": "",
}
_LISTS = ("after", "evidence", "bounds", "reopens_on", "hazards", "shows", "rests_on")
_TABLES = ("options", "wants")
_FLAGS = ("needles", "unit_may_allow", "unit_after_fail")
_LENGTHS = ("valid", "retest")
_KNOWN = frozenset({"id", *_LENGTHS, *_WORDS, *_LISTS, *_TABLES, *_FLAGS})
_TOP = frozenset({"id", "version", "step", "words", "fits", "plan_parts", "sum"})


USUAL = "overnight_fistula"
"""The procedure that a home goes by until it chooses another."""


@lru_cache(maxsize=8)
def load_procedure(name: str = USUAL) -> Procedure:
    """A procedure that comes with the program, by name.

    Raises InputError for a name that isn't there, ProcedureRefused for a text with problems.
    """
    path = files("ebbwell.procedure") / "data" / f"{name}.toml"
    if not name.isidentifier() or not path.is_file():
        raise InputError("procedure.no_such", name=name)
    return parse_procedure(path.read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def shipped_names() -> tuple[str, ...]:
    """Names of the procedures that come with the program, the one gone by without a choice first."""
    found = (files("ebbwell.procedure") / "data").iterdir()
    names = {path.name.removesuffix(".toml") for path in found if path.name.endswith(".toml")} - {"asides"}
    return (USUAL, *sorted(names - {USUAL}))


def parse_procedure(text: str) -> Procedure:
    """The procedure that a TOML text describes. Raises ProcedureRefused with every problem the text has."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as why:
        raise ProcedureRefused((Problem("problem.not_toml", detail=str(why)),)) from why
    reader = _Reader()
    procedure = reader.procedure(data, text)
    if reader.problems:
        raise ProcedureRefused(tuple(reader.problems))
    problems = lint(procedure)
    if problems:
        raise ProcedureRefused(problems)
    return procedure


class _Reader:
    """Turns plain TOML values into steps and notes what has the wrong form."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def procedure(self, data: Mapping[str, Any], text: str) -> Procedure:
        for key in sorted(set(data) - _TOP):
            self._problem("problem.unknown_field", "", key)
        steps = data.get("step", [])
        if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
            self._problem("problem.wrong_form", "", "step")
            steps = []
        words = data.get("words", {})
        if not isinstance(words, dict) or not all(
            isinstance(value, str) and value for value in words.values()
        ):
            self._problem("problem.wrong_form", "", "words")
            words = {}
        version = data.get("version")
        if not isinstance(version, int) or isinstance(version, bool):
            self._problem("problem.wrong_form", "", "version")
            version = 0
        return Procedure(
            id=self._word(data, "id", "", ""),
            version=version,
            steps=tuple(self._step(step) for step in steps),
            text=text,
            digest=sha256(text.encode()).hexdigest(),
            words=MappingProxyType(dict(words)),
            fits=self._table(data, "fits", ""),
            plan_parts=self._list(data.get("plan_parts", list(PARTS_OF_PLAN)), "plan_parts", ""),
            sums=self._sums(data.get("sum", [])),
        )

    def _sums(self, value: Any) -> tuple[Sum, ...]:
        if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
            self._problem("problem.wrong_form", "", "sum")
            return ()
        found = []
        for each in value:
            for key in sorted(set(each) - {"name", "inputs"}):
                self._problem("problem.unknown_field", "", f"sum.{key}")
            inputs = each.get("inputs", {})
            if not isinstance(inputs, dict) or not all(isinstance(text, str) for text in inputs.values()):
                self._problem("problem.wrong_form", "", "sum.inputs")
                inputs = {}
            found.append(Sum(self._word(each, "name", "", ""), MappingProxyType(dict(inputs))))
        return tuple(found)

    def _step(self, data: Mapping[str, Any]) -> Step:
        step_id = self._word(data, "id", "", "")
        for key in sorted(set(data) - _KNOWN):
            self._problem("problem.unknown_field", step_id, key)
        words = {name: self._word(data, name, step_id, default) for name, default in _WORDS.items()}
        lists = {name: self._list(data.get(name, []), name, step_id) for name in _LISTS}
        tables = {name: self._table(data, name, step_id) for name in _TABLES}
        flags = {name: self._flag(data, name, step_id) for name in _FLAGS}
        lengths = {name: self._length(data, name, step_id) for name in _LENGTHS}
        return Step(
            id=step_id,
            **words,
            after=lists["after"],
            evidence=self._evidence(lists["evidence"], step_id),
            options=tables["options"],
            wants=tables["wants"],
            bounds=lists["bounds"],
            valid=lengths["valid"],
            retest=lengths["retest"],
            reopens_on=lists["reopens_on"],
            needles=flags["needles"],
            hazards=lists["hazards"],
            advisable=flags["unit_may_allow"],
            shows=lists["shows"],
            rests_on=lists["rests_on"],
            unit_after_fail=flags["unit_after_fail"],
        )

    def _length(self, data: Mapping[str, Any], name: str, step: str) -> timedelta | None:
        if name not in data:
            return None
        found = parse_length(self._word(data, name, step, ""))
        if found is None:
            self._problem("problem.no_length", step, str(data[name]))
        return found

    def _problem(self, key: str, step: str, detail: str) -> None:
        self.problems.append(Problem(key, step, detail))

    def _word(self, data: Mapping[str, Any], name: str, step: str, default: str) -> str:
        value = data.get(name, default)
        if isinstance(value, str):
            return value
        self._problem("problem.wrong_form", step, name)
        return default

    def _flag(self, data: Mapping[str, Any], name: str, step: str) -> bool:
        value = data.get(name, False)
        if isinstance(value, bool):
            return value
        self._problem("problem.wrong_form", step, name)
        return False

    def _list(self, value: Any, name: str, step: str) -> tuple[str, ...]:
        if isinstance(value, list) and all(isinstance(item, str) for item in value):
            return tuple(value)
        self._problem("problem.wrong_form", step, name)
        return ()

    def _table(self, data: Mapping[str, Any], name: str, step: str) -> Mapping[str, tuple[str, ...]]:
        value = data.get(name, {})
        if not isinstance(value, dict):
            self._problem("problem.wrong_form", step, name)
            value = {}
        return MappingProxyType(
            {key: self._list(items, f"{name}.{key}", step) for key, items in value.items()}
        )

    def _evidence(self, texts: tuple[str, ...], step: str) -> tuple[Evidence, ...]:
        found = []
        for text in texts:
            evidence = parse_evidence(text)
            if evidence is None:
                key = "problem.no_length" if text.startswith("wait") else "problem.unknown_evidence"
                self._problem(key, step, text)
            else:
                found.append(evidence)
        return tuple(found)
