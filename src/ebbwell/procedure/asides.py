"""What is looked at again in mid-night, read from ``data/asides.toml``: asked and recorded, a gate on nothing."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Final

ASIDES: Final = ("on_again", "new_set")
"""Before going on after a time off; with a new set."""


@dataclass(frozen=True)
class AsideCheck:
    """One thing to look at. options: the words to pick from; wants: those that need no word with the unit."""

    id: str
    options: tuple[str, ...]
    wants: tuple[str, ...]


@cache
def asides() -> Mapping[str, tuple[AsideCheck, ...]]:
    """Each aside with its checks, in the order in which they are asked."""
    text = (resources.files("ebbwell.procedure") / "data" / "asides.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    return {
        name: tuple(
            AsideCheck(row["id"], tuple(row["options"]), tuple(row["wants"])) for row in data[name]["check"]
        )
        for name in ASIDES
    }
