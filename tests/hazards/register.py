"""The list of hazards, read from docs/hazards.toml."""

from __future__ import annotations

import importlib
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Hazard:
    """One row. where: ``module:Qualname`` of the control, or ``path/of/a/page:words in it``. tests: ``path::name``."""

    id: str
    severity: int
    what: str
    control: str
    state: str
    due: str
    where: tuple[str, ...]
    tests: tuple[str, ...]

    @property
    def controlled(self) -> bool:
        """Whether the control is there and proven."""
        return self.state == "controlled"


def hazards() -> tuple[Hazard, ...]:
    """All rows, in the list's order."""
    rows = tomllib.loads((ROOT / "docs/hazards.toml").read_text("utf-8"))["hazard"]
    return tuple(
        Hazard(**{**row, "where": tuple(row["where"]), "tests": tuple(row["tests"])}) for row in rows
    )


def file_of(target: str) -> Path | None:
    """The page, script, look or sound that a ``path:words`` names, which must have the words; None for a module."""
    name, _, words = target.partition(":")
    if "/" not in name:
        return None
    path = ROOT / "src" / name
    if not words or words.encode() not in path.read_bytes():
        raise AttributeError(target)
    return path


def owner_of(target: str) -> tuple[Any, str]:
    """The module or class that holds a ``module:Qualname``, and the name in it. Raises where it isn't there."""
    module_name, _, qualname = target.partition(":")
    owner: Any = importlib.import_module(module_name)
    *outer, name = qualname.split(".")
    for part in outer:
        owner = getattr(owner, part)
    if name not in vars(owner):
        raise AttributeError(target)
    return owner, name
