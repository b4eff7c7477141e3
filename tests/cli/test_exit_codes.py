"""One exit code a cause, and all of them in the docs."""

from __future__ import annotations

import importlib
import pkgutil
import re
from pathlib import Path

import ebbwell
from ebbwell.core.errors import EbbwellError

DOCS = Path(__file__).parents[2] / "docs/exit_codes.md"
ROW = re.compile(r"\| (\d+) \| `(\w+)` \|")
BASES = ("RecordError",)
"""Classes that only stand for those below them."""


def causes() -> dict[str, int]:
    """Every error class with its code; those of the simulator never reach a person."""
    for module in pkgutil.walk_packages(ebbwell.__path__, "ebbwell."):
        if not module.name.endswith("__main__") and not module.name.startswith("ebbwell.sim."):
            importlib.import_module(module.name)
    found: dict[str, int] = {}
    waiting = list(EbbwellError.__subclasses__())
    while waiting:
        cls = waiting.pop()
        waiting += cls.__subclasses__()
        if cls.__module__.startswith("ebbwell.") and not cls.__module__.startswith("ebbwell.sim."):
            found[cls.__name__] = cls.exit_code
    return found


def test_no_two_causes_share_a_code() -> None:
    codes = [code for name, code in causes().items() if name not in BASES]
    assert len(codes) == len(set(codes))
    assert not {0, 1, 2} & set(codes)


def test_each_class_names_a_code_of_its_own() -> None:
    names = causes()
    waiting = list(EbbwellError.__subclasses__())
    while waiting:
        cls = waiting.pop()
        waiting += cls.__subclasses__()
        if cls.__name__ in names:
            assert "exit_code" in vars(cls), cls.__name__


def test_the_docs_list_exactly_these() -> None:
    told = {name: int(code) for code, name in ROW.findall(DOCS.read_text(encoding="utf-8"))}
    assert told == {name: code for name, code in causes().items() if name not in BASES}
