"""No module of the solute engine, and none that looks back or ahead with it, can be left out of the import contracts."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
ENGINE = "the solute engine stays in review"
NOT_OF_IT = {"ebbwell.review.weights"}
"""Modules of review that take nothing of the engine: weights alone, night by night."""


def forbidden() -> dict[str, set[str]]:
    """Name of a contract to what it forbids."""
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    contracts = tomllib.loads(text)["tool"]["importlinter"]["contracts"]
    return {one["name"]: set(one["forbidden_modules"]) for one in contracts if one["type"] == "forbidden"}


def modules(package: str) -> Iterator[tuple[str, Path]]:
    """Name and file of each module of a package."""
    for path in sorted((ROOT / "src/ebbwell" / package).glob("*.py")):
        if path.stem != "__init__":
            yield f"ebbwell.{package}.{path.stem}", path


def imported(path: Path) -> set[str]:
    """Modules that a file names in its imports."""
    tree = ast.walk(ast.parse(path.read_text("utf-8")))
    return {node.module for node in tree if isinstance(node, ast.ImportFrom) and node.module is not None}


def test_every_module_of_review_is_kept_from_the_bedside() -> None:
    kept = set().union(*forbidden().values())
    there = {name for name, _ in modules("review")}
    assert there - kept == NOT_OF_IT


def test_what_is_made_of_the_engine_is_kept_from_the_bedside_with_it() -> None:
    engine = forbidden()[ENGINE]
    made_of_it = {name for name, path in modules("science") if imported(path) & engine}
    assert made_of_it <= engine
    assert {"ebbwell.science.pools_outer", "ebbwell.science.mobilised_many"} <= made_of_it


def test_what_is_left_out_takes_nothing_of_the_engine() -> None:
    kept = {name for names in forbidden().values() for name in names if name.startswith("ebbwell.review")}
    for name, path in modules("review"):
        if name in NOT_OF_IT:
            assert not imported(path) & (kept | forbidden()[ENGINE])
