"""Each control is what keeps its tests passing: with it, or one part of it, taken away, at least one of them fails."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.hazards.register import ROOT, hazards
from tests.hazards.switches import NAME, SWITCHES, runs_of

CONTROLLED = tuple(hazard for hazard in hazards() if hazard.controlled)

GROUPS = 4
"""Programs that share the hazards out, so that those with two processors run two at a time."""

SLIPS = re.compile(r"\b(?:TypeError|NameError|AttributeError|ImportError|ModuleNotFoundError|SyntaxError)\b")
"""What a switch that doesn't fit the program would raise; that would prove nothing."""


def test_every_control_has_a_switch_of_what_the_list_names() -> None:
    assert set(SWITCHES) == {hazard.id for hazard in CONTROLLED}
    for hazard in CONTROLLED:
        targets = {target for target, _ in SWITCHES[hazard.id]}
        assert targets, hazard.id
        assert targets <= set(hazard.where), hazard.id


@pytest.mark.parametrize("group", range(GROUPS))
def test_without_its_control_a_test_fails(group: int, tmp_path: Path) -> None:
    every = [run for hazard in CONTROLLED for run in runs_of(hazard.id)]
    ids = every[group::GROUPS]
    runs = {name: run for name, run in ran(tmp_path, ids).items() if not cannot_run(*run)}
    wrong = {name: said for name, run in runs.items() if (said := proves_nothing(*run))}
    assert not wrong, "\n\n".join(f"{name}, its control off: {said}" for name, said in wrong.items())


def test_with_nothing_switched_off_the_same_way_of_running_passes(tmp_path: Path) -> None:
    code, said = ran(tmp_path, ["-H11"])["-H11"]
    assert code == 0, said
    assert proves_nothing(code, said)


def cannot_run(code: int, said: str) -> bool:
    """Whether every test passed or was skipped, and one for want of something that this machine doesn't give."""
    return code == 0 and "which this machine doesn't give" in said


def proves_nothing(code: int, said: str) -> str:
    """Why a run with a control off doesn't prove the control; "" when it does."""
    raised = "\n".join(line for line in said.splitlines() if line.startswith(("E  ", "FAILED")))
    if code == 0:
        return f"every test passes\n{said}"
    if code != 1 or "FAILED" not in said or re.search(r"^ERROR", said, re.MULTILINE):
        return f"the tests didn't run\n{said}"
    if SLIPS.search(raised):
        return f"the switch doesn't fit\n{said}"
    return ""


def ran(folder: Path, names: list[str]) -> dict[str, tuple[int, str]]:
    """Exit code and words of each run; they are made once a folder."""
    if not (folder / f"{names[-1]}.code").exists():
        environ = {k: v for k, v in os.environ.items() if k != NAME and not k.startswith("PYTEST_")}
        environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(folder / "examples")
        command = [sys.executable, "-m", "tests.hazards.without", str(folder), *names]
        done = subprocess.run(
            command, cwd=ROOT, env=environ, capture_output=True, text=True, timeout=240, check=False
        )
        assert done.returncode == 0, done.stderr
    return {
        name: (
            int((folder / f"{name}.code").read_text("utf-8")),
            (folder / f"{name}.txt").read_text("utf-8"),
        )
        for name in names
    }
