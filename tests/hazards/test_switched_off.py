"""Each control is what keeps its tests passing: with the control taken away, at least one of them fails."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.hazards.plugin import NAME
from tests.hazards.register import ROOT, Hazard, hazards
from tests.hazards.switches import SWITCHES

CONTROLLED = tuple(hazard for hazard in hazards() if hazard.controlled)

SLIPS = re.compile(r"\b(?:TypeError|NameError|AttributeError|ImportError|ModuleNotFoundError|SyntaxError)\b")
"""What a switch that doesn't fit the program would raise; that would prove nothing."""


def test_every_control_has_a_switch_of_what_the_list_names() -> None:
    assert set(SWITCHES) == {hazard.id for hazard in CONTROLLED}
    for hazard in CONTROLLED:
        targets = {target for target, _ in SWITCHES[hazard.id]}
        assert targets, hazard.id
        assert targets <= set(hazard.where), hazard.id


@pytest.mark.parametrize("hazard", CONTROLLED, ids=lambda hazard: hazard.id)
def test_without_its_control_a_test_fails(hazard: Hazard, tmp_path: Path) -> None:
    done = run(hazard, tmp_path, off=True)
    said = done.stdout + done.stderr
    assert done.returncode == 1, f"with the control of {hazard.id} off:\n{said}"
    assert "FAILED" in done.stdout, said
    assert "ERROR" not in done.stdout, said
    assert not SLIPS.search(failures(done.stdout)), said


def failures(text: str) -> str:
    """The lines that say what was raised."""
    return "\n".join(line for line in text.splitlines() if line.startswith(("E  ", "FAILED")))


def run(hazard: Hazard, scratch: Path, *, off: bool) -> subprocess.CompletedProcess[str]:
    """The tests that the list names, in a program of their own, up to the first that fails."""
    environ = {**os.environ, "HYPOTHESIS_STORAGE_DIRECTORY": str(scratch / "examples")}
    environ.pop("PYTEST_XDIST_WORKER", None)
    environ.pop("PYTEST_ADDOPTS", None)
    environ.pop(NAME, None)
    if off:
        environ[NAME] = hazard.id
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:xdist", "-p", "tests.hazards.plugin"]
    command += ["--basetemp", str(scratch / "base"), *hazard.tests]
    return subprocess.run(
        command, cwd=ROOT, env=environ, capture_output=True, text=True, timeout=120, check=False
    )


def test_with_nothing_switched_off_the_same_way_of_running_passes(tmp_path: Path) -> None:
    hazard = next(h for h in CONTROLLED if h.id == "H11")
    done = run(hazard, tmp_path, off=False)
    assert done.returncode == 0, done.stdout
