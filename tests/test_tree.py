"""The tree as a whole: locks, generated files, sizes, what no file may hold."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import warnings
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SRC = ROOT / "src"
LOCKS = ("requirements.lock", "requirements-dev.lock")
ASIDE = re.compile(r"(^|/)(\.venv|\.git|\.hypothesis|__pycache__|dist|[^/]*_cache|[^/]*\.egg-info)(/|$)")
AIM, MOST = 400, 420
"""Lines that a file should have at most, and may have at most."""

HOSTS = [
    ".".join(parts)
    for parts in (
        ("pypi", "org"),
        ("pythonhosted", "org"),
        ("npmjs", "org"),
        ("npmjs", "com"),
        ("yarnpkg", "com"),
        ("crates", "io"),
        ("rubygems", "org"),
        ("golang", "org"),
        ("anaconda", "org"),
        ("docker", "io"),
    )
]
"""Package registries, in parts, so that this file doesn't hold their names."""

ONE_MACHINE = re.compile(r"(?<![\w.~$})])/(?:home|Users|work|root)/[\w.]")
"""A path that is right on one computer only."""

INVENTED_PATHS = ("tests/journal/test_place.py",)
"""Files with lists of mounts, in which such paths are made up."""

PLACE_HOLDERS = re.compile("|".join(("TO" + "DO", "FIX" + "ME", "XX" + "X")))


WORKING_WORDS = [
    "".join(parts)
    for parts in (("sub", "agent"), ("sub-", "agent"), ("seed ", "document"), (".libr", "ary/"))
]
"""Words about how files came to be; they belong in none of them."""


def tracked() -> list[Path]:
    """Files under version control; without git, all that aren't made by tools."""
    asked = subprocess.run(
        ["git", "-C", str(ROOT), "-c", f"safe.directory={ROOT}", "ls-files", "-z"],
        capture_output=True,
        check=False,
    )
    names = asked.stdout.decode().split("\0") if asked.returncode == 0 else []
    found = [ROOT / name for name in names if name] or list(ROOT.rglob("*"))
    return sorted(p for p in found if p.is_file() and not ASIDE.search(str(p.relative_to(ROOT))))


def texts() -> list[tuple[str, str]]:
    """Name and text of every tracked text file."""
    out = []
    for path in tracked():
        data = path.read_bytes()
        if b"\0" not in data:
            out.append((str(path.relative_to(ROOT)), data.decode("utf-8")))
    return out


TEXTS = texts()


def pinned(name: str) -> dict[str, str]:
    lines = (ROOT / name).read_text("utf-8").splitlines()
    found = [re.match(r"([A-Za-z0-9._-]+)==([^\s;\\]+)", line) for line in lines]
    return {match[1].lower(): match[2] for match in found if match}


def test_tracked_files_are_found() -> None:
    names = {name for name, _ in TEXTS}
    assert {"Makefile", "pyproject.toml", "src/ebbwell/house.py", "tests/test_tree.py"} <= names


@pytest.mark.parametrize("name", LOCKS)
def test_locks_hold_hashes_and_no_address(name: str) -> None:
    text = (ROOT / name).read_text("utf-8")
    assert "://" not in text
    packages = re.split(r"\n(?=[A-Za-z])", text.strip())
    twice = [package for package in packages if "; python_full_version >=" in package.split("\n")[0]]
    assert len(packages) - len(twice) == len(pinned(name)) > 3
    assert all("--hash=sha256:" in package for package in packages)


def test_both_locks_resolve_the_same_versions() -> None:
    runtime, everything = pinned(LOCKS[0]), pinned(LOCKS[1])
    assert {name: everything.get(name) for name in runtime} == runtime


def test_no_file_names_a_package_registry() -> None:
    assert [(name, host) for name, text in TEXTS for host in HOSTS if host in text.lower()] == []


def test_no_file_names_a_path_of_one_machine() -> None:
    found = {name: m.group() for name, text in TEXTS for m in ONE_MACHINE.finditer(text)}
    assert {name: path for name, path in found.items() if name not in INVENTED_PATHS} == {}


def test_no_file_speaks_of_how_it_was_made() -> None:
    assert [(name, word) for name, text in TEXTS for word in WORKING_WORDS if word in text.lower()] == []


def test_the_patterns_find_what_they_are_for() -> None:
    assert ONE_MACHINE.search("see /" + "home/someone/notes")
    assert not ONE_MACHINE.search("~/copies and $HOME/copies")
    assert PLACE_HOLDERS.search("# TO" + "DO later")


def test_no_placeholder_is_left() -> None:
    code = [(name, text) for name, text in TEXTS if name.startswith(("src/", "tools/", "tests/", "bench/"))]
    assert [name for name, text in code if PLACE_HOLDERS.search(text)] == []


@pytest.mark.parametrize("tool", ["tools.catalogue", "tools.checks", "tools.reference", "tools.signatures"])
def test_generated_files_are_fresh(tool: str) -> None:
    asked = subprocess.run(
        [sys.executable, "-m", tool, "--check"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert asked.returncode == 0, asked.stdout + asked.stderr


def test_files_stay_short() -> None:
    sizes = {p: len(p.read_text("utf-8").splitlines()) for p in SRC.rglob("*.py")}
    long = {str(p.relative_to(ROOT)): size for p, size in sizes.items() if size > AIM}
    if long:
        print(f"over {AIM} lines:", long)
    assert {name: size for name, size in long.items() if size > MOST} == {}


def test_every_package_says_what_it_is_for() -> None:
    packages = [p for p in SRC.rglob("__init__.py") if "__pycache__" not in p.parts]
    assert len(packages) > 10
    assert [str(p) for p in packages if not ast.get_docstring(ast.parse(p.read_text("utf-8")))] == []


def test_every_source_file_compiles_without_a_warning() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for path in SRC.rglob("*.py"):
            compile(path.read_text("utf-8"), str(path), "exec")


def test_make_and_ci_run_the_same_check() -> None:
    assert "exec make test" in (ROOT / ".ci/run").read_text("utf-8")
