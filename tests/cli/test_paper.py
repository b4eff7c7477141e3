"""``ebbwell sheet --pdf``: a file for each sheet, whole or not at all, and never over something else."""

from __future__ import annotations

from pathlib import Path

import pytest

from ebbwell.sim.demo import Demo
from tests.cli.test_commands import run, run_json


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with one invented, closed night in it."""
    home = tmp_path_factory.mktemp("paper") / "home"
    demo = Demo(home)
    told = list(demo.play())
    demo.close()
    assert told[-1].kind == "closed"
    return home


def test_it_writes_the_sheet_and_says_where(played: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.pdf"
    code, out, err = run(played, "sheet", "--pdf", str(target))
    assert (code, err) == (0, "")
    assert target.read_bytes().startswith(b"%PDF-1.7")
    assert "Sheet of 29 April 2026" in out
    assert "pages 1" in out
    assert list(tmp_path.iterdir()) == [target]


def test_the_same_again_is_written_over_with_the_same_bytes(played: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.pdf"
    assert run(played, "sheet", "--pdf", str(target))[0] == 0
    before = target.read_bytes()
    assert run(played, "sheet", "--pdf", str(target))[0] == 0
    assert target.read_bytes() == before
    assert run(played, "sheet", "--pdf", str(target), "--paper", "letter")[0] == 0
    assert target.read_bytes() != before


def test_for_a_program_it_names_treatment_file_and_pages(played: Path, tmp_path: Path) -> None:
    target = tmp_path / "sheet.pdf"
    code, found = run_json(played, "sheet", "--pdf", str(target))
    assert code == 0
    assert [(f["file"], f["pages"]) for f in found] == [(str(target), 1)]


@pytest.mark.parametrize("name", ["missing/sheet.pdf", "a-folder"])
def test_a_place_that_cannot_be_written_has_a_code_of_its_own(
    name: str, played: Path, tmp_path: Path
) -> None:
    (tmp_path / "a-folder").mkdir()
    code, out, err = run(played, "sheet", "--pdf", str(tmp_path / name))
    assert (code, out) == (56, "")
    assert "Name another file" in " ".join(err.split())
    assert [p.name for p in tmp_path.iterdir()] == ["a-folder"]


def test_another_kind_of_file_is_left_alone(played: Path, tmp_path: Path) -> None:
    target = tmp_path / "notes.txt"
    target.write_text("the garden")
    code, _, err = run(played, "sheet", "--pdf", str(target))
    assert code == 56
    assert "is no PDF" in " ".join(err.split())
    assert target.read_text() == "the garden"


def test_only_the_two_sizes_are_known(played: Path, tmp_path: Path) -> None:
    assert run(played, "sheet", "--pdf", str(tmp_path / "x.pdf"), "--paper", "a5")[0] == 2
