"""Every example in the documents and docstrings is run, and every link between documents leads somewhere."""

from __future__ import annotations

import io
import re
import shlex
from pathlib import Path

import pytest
from sybil import Example, Sybil
from sybil.document import PythonDocStringDocument
from sybil.parsers.markdown import CodeBlockParser, PythonCodeBlockParser
from sybil.parsers.rest import DocTestParser

from ebbwell.cli.main import build_parser, main
from ebbwell.cli.session import Session
from ebbwell.core.readiness import practice_only
from tests.test_tree import ROOT, tracked

PAGES = [p for p in tracked() if p.suffix == ".md"]
MODULES = [
    p for p in tracked() if p.suffix == ".py" and p.is_relative_to(ROOT / "src") and ">>> " in p.read_text()
]
COMMAND = ".venv/bin/ebbwell "
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\((?!\w+:)([^)#\s]*)(#[^)\s]*)?\)")


def named(paths: list[Path]) -> list[object]:
    return [pytest.param(path, id=str(path.relative_to(ROOT))) for path in paths]


def run_console(example: Example) -> str | None:
    """One ``$ .venv/bin/ebbwell ...`` with its output, run in this process."""
    first, _, expected = str(example.parsed).partition("\n")
    if not first.startswith(f"$ {COMMAND}"):
        return f"a console example begins with `$ {COMMAND.strip()}`, not with {first!r}"
    out, err = io.StringIO(), io.StringIO()
    session = Session(stdin=io.StringIO(), out=out, err=err, environ={"EBBWELL_HOME": "/nowhere"})
    main(shlex.split(first.removeprefix(f"$ {COMMAND}")), session)
    said = out.getvalue() + err.getvalue()
    return None if said.rstrip() == expected.rstrip() else f"{first}\nsays\n{said}\nnot\n{expected}"


MARKDOWN = Sybil(
    parsers=[CodeBlockParser(language="console", evaluator=run_console), PythonCodeBlockParser()],
    path=str(ROOT),
)
DOCSTRINGS = Sybil(parsers=[DocTestParser()], document_types={".py": PythonDocStringDocument}, path=str(ROOT))


def run_all(sybil: Sybil, path: Path) -> int:
    count = 0
    for example in sybil.parse(path).examples():
        example.evaluate()
        count += 1
    return count


@pytest.mark.parametrize("path", named(PAGES))
def test_examples_of_a_page(path: Path) -> None:
    wanted = sum(language in ("console", "python") for language, _ in FENCE.findall(path.read_text("utf-8")))
    assert run_all(MARKDOWN, path) >= wanted


@pytest.mark.parametrize("path", named(MODULES))
def test_examples_of_a_module(path: Path) -> None:
    assert run_all(DOCSTRINGS, path) > 0


def test_the_pages_that_need_examples_have_them() -> None:
    assert run_all(MARKDOWN, ROOT / "README.md") == 1
    assert run_all(MARKDOWN, ROOT / "docs/theory.md") >= 3


def test_the_first_page_says_whether_it_is_for_practice_only() -> None:
    first, _, _ = (ROOT / "README.md").read_text("utf-8").partition("## Start")
    assert ("for practice only" in first) == practice_only()


def test_a_wrong_output_fails(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("```console\n$ .venv/bin/ebbwell --version\nebbwell 99\n```\n")
    sybil = Sybil(parsers=MARKDOWN.parsers, path=str(tmp_path))
    with pytest.raises(AssertionError):
        run_all(sybil, page)


@pytest.mark.parametrize("path", named(PAGES))
def test_commands_named_in_a_page_exist(path: Path) -> None:
    text = path.read_text("utf-8")
    shown = [
        line for language, block in FENCE.findall(text) if language == "sh" for line in block.splitlines()
    ]
    for line in [*shown, *re.findall(r"`([^`\n]*)`", text)]:
        _, found, typed = line.partition(COMMAND)
        if found and typed != "--help":
            build_parser().parse_args(shlex.split(typed))
        if line.startswith("make "):
            assert f"\n{line.split()[1]}:" in (ROOT / "Makefile").read_text("utf-8"), line


@pytest.mark.parametrize("path", named(PAGES))
def test_links_of_a_page_lead_somewhere(path: Path) -> None:
    for target, anchor in LINK.findall(path.read_text("utf-8")):
        there = (path.parent / target).resolve() if target else path
        assert there.exists(), f"{target} isn't there"
        if anchor and there.suffix == ".md":
            heads = re.findall(r"^#+ (.+)$", there.read_text("utf-8"), re.MULTILINE)
            assert anchor[1:] in {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in heads}, anchor
