"""Writes the public names of the Python API with their signatures, read from the source without running it.

``python -m tools.signatures`` writes tests/api.txt; ``--check`` only says whether it is fresh. A line that changes
there is a change for everyone who builds on Ebbwell: it belongs in CHANGELOG.md.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
SRC = ROOT / "src"
TARGET = ROOT / "tests/api.txt"

PUBLIC = (
    "house.py",
    "deeds/*.py",
    "science/*.py",
    "rulebook/*.py",
    "review/adequacy.py",
    "review/adequacy_kinds.py",
    "review/basis.py",
    "review/estimate.py",
    "review/pair_fit.py",
    "review/pairs.py",
    "review/pairs_of_record.py",
    "review/patterns.py",
    "exchange/*.py",
    "procedure/model.py",
    "procedure/load.py",
    "procedure/lint.py",
    "procedure/gate.py",
    "procedure/holds.py",
    "journal/bundle.py",
    "journal/chain.py",
    "journal/envelope.py",
    "journal/errors.py",
    "journal/kinds/*.py",
    "journal/store/base.py",
    "journal/store/memory.py",
    "journal/store/sqlite.py",
    "core/errors.py",
    "core/findings.py",
    "core/worked.py",
)
"""What counts as public, from the package folder; names with a leading underscore never do."""


def public_files() -> list[Path]:
    """The files of the public modules, sorted. Raises FileNotFoundError for a pattern that finds none."""
    package = SRC / "ebbwell"
    found: set[Path] = set()
    for pattern in PUBLIC:
        here = set(package.glob(pattern))
        if not here:
            raise FileNotFoundError(f"no public module at {pattern}")
        found |= here
    return sorted(found)


def module_name(path: Path) -> str:
    """The dotted name of a module by its file."""
    parts = path.relative_to(SRC).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def public_names(path: Path) -> Iterator[tuple[str, str, str]]:
    """Name, signature and first line of the docstring of each public class and function of a module."""
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            said = (ast.get_docstring(node) or "").partition("\n")[0]
            yield node.name, _head(node), said


def _head(node: ast.FunctionDef | ast.ClassDef) -> str:
    if isinstance(node, ast.ClassDef):
        bases = ", ".join(ast.unparse(base) for base in node.bases)
        return f"class {node.name}({bases})" if bases else f"class {node.name}"
    returns = f" -> {ast.unparse(node.returns)}" if node.returns is not None else ""
    return f"def {node.name}({ast.unparse(node.args)}){returns}"


def _inside(node: ast.ClassDef) -> Iterator[str]:
    for part in node.body:
        if isinstance(part, ast.AnnAssign) and isinstance(part.target, ast.Name):
            if not part.target.id.startswith("_"):
                yield ast.unparse(part)
        elif isinstance(part, ast.Assign):
            yield from (ast.unparse(part) for t in part.targets if isinstance(t, ast.Name) and t.id[0] != "_")
        elif isinstance(part, ast.FunctionDef) and (part.name[0] != "_" or part.name == "__init__"):
            marks = "".join(f"@{ast.unparse(mark)} " for mark in part.decorator_list)
            yield marks + _head(part)


def text() -> str:
    """The whole snapshot."""
    out = []
    for path in public_files():
        lines = []
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                lines.append(f"  {_head(node)}")
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                lines += [f"    {line}" for line in _inside(node)]
        if lines:
            out.append("\n".join([module_name(path), *lines]))
    return "\n\n".join(out) + "\n"


def main() -> int:
    """Write or check the snapshot; 1 when a check finds it stale."""
    fresh = text()
    if "--check" not in sys.argv:
        TARGET.write_text(fresh, "utf-8")
        return 0
    if TARGET.exists() and TARGET.read_text("utf-8") == fresh:
        return 0
    print("stale: tests/api.txt; run `make docs`, and say in CHANGELOG.md what changed")
    return 1


if __name__ == "__main__":
    sys.exit(main())
