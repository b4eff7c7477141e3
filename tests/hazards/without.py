"""Runs the tests of hazards with their controls off: one program, one fork of it a hazard.

``python -m tests.hazards.without FOLDER H5 H6 ...`` writes what pytest said to ``FOLDER/H5.txt`` and the exit code
to ``FOLDER/H5.code``. ``H5.2`` takes away the second part of its control alone; with ``-H5`` nothing is off.
"""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from pathlib import Path

import hypothesis  # noqa: F401 - loaded once, before the forks
import pytest

from tests.hazards.register import hazards
from tests.hazards.switches import NAME, load_all, switch_off_from_environment


def main(folder: Path, names: list[str]) -> None:
    """Everything is imported once; each fork then takes one control away and runs the tests that prove it."""
    load_all()
    tests = {hazard.id: hazard.tests for hazard in hazards()}
    for name in names:
        off = name.removeprefix("-")
        child = os.fork()
        if child == 0:
            os.environ.pop(NAME, None)
            if off == name:
                os.environ[NAME] = off
            _run(folder, name, tests[off.partition(".")[0]])
        _, status = os.waitpid(child, 0)
        (folder / f"{name}.code").write_text(str(os.waitstatus_to_exitcode(status)), "utf-8")


def _run(folder: Path, name: str, tests: tuple[str, ...]) -> None:
    """In the fork: never comes back."""
    code = 70
    try:
        out = os.open(folder / f"{name}.txt", os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
        os.dup2(out, 1)
        os.dup2(out, 2)
        tempfile.tempdir = str(folder)
        switch_off_from_environment()
        os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
        options = ["-x", "-q", "-rfEs", "--assert=plain", "--tb=short"]
        code = int(pytest.main([*options, "--basetemp", str(folder / f"{name}.tmp"), *tests]))
    except BaseException:  # noqa: BLE001 - the fork must end here, and say why
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
