"""The shipped procedure as plain values to edit, and the TOML text of what was edited."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from ebbwell.procedure.load import load_procedure

Data = dict[str, Any]


def shipped() -> Data:
    """A fresh copy of the shipped data, free to change."""
    return tomllib.loads(load_procedure().text)


def step_of(data: Data, step_id: str) -> Data:
    """The step's own table in the data."""
    found: Data = next(step for step in data["step"] if step["id"] == step_id)
    return found


def dump(data: Mapping[str, Any]) -> str:
    """The data as TOML. Strings and lists are written the same in JSON and TOML."""
    tables = ("step", "words", "fits", "sum")
    lines = [f"{key} = {json.dumps(value)}" for key, value in data.items() if key not in tables]
    for table in ("words", "fits"):
        if table in data:
            lines.append(f"[{table}]")
            lines += [f"{json.dumps(key)} = {json.dumps(value)}" for key, value in data[table].items()]
    for each in data.get("sum", []):
        lines += [
            "[[sum]]",
            *(f"{key} = {json.dumps(value)}" for key, value in each.items() if key != "inputs"),
        ]
        lines += [f"inputs.{name} = {json.dumps(text)}" for name, text in each.get("inputs", {}).items()]
    for step in data.get("step", []):
        lines.append("[[step]]")
        for key, value in step.items():
            if isinstance(value, dict):
                lines += [f"{key}.{name} = {json.dumps(items)}" for name, items in value.items()]
            else:
                lines.append(f"{key} = {json.dumps(value)}")
    return "\n".join(lines) + "\n"


def edited(edit: Callable[[Data], object]) -> str:
    """The text of the shipped procedure after an edit."""
    data = shipped()
    edit(data)
    return dump(data)
