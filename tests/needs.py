"""What a test needs of the machine: absent, it is skipped by name; with CI=true its absence is a failure."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
from collections.abc import Callable
from functools import lru_cache

import pytest


def _root() -> bool:
    return os.geteuid() == 0


@lru_cache(maxsize=1)
def _mount() -> bool:
    if not _root() or shutil.which("unshare") is None or shutil.which("mount") is None:
        return False
    tried = subprocess.run(
        ["unshare", "--mount", "sh", "-c", "mount -t tmpfs -o size=64k none /mnt"],
        capture_output=True,
        check=False,
    )
    return tried.returncode == 0


def _chattr() -> bool:
    return _root() and shutil.which("chattr") is not None


def _chromium() -> bool:
    return shutil.which("chromium") is not None


def _pdftotext() -> bool:
    return shutil.which("pdftotext") is not None


@lru_cache(maxsize=1)
def _nlme() -> bool:
    if shutil.which("Rscript") is None:
        return False
    tried = subprocess.run(["Rscript", "--vanilla", "-e", "library(nlme)"], capture_output=True, check=False)
    return tried.returncode == 0


def _phreeqpython() -> bool:
    return importlib.util.find_spec("phreeqpython") is not None


def _mpmath() -> bool:
    return importlib.util.find_spec("mpmath") is not None


def _scipy() -> bool:
    return importlib.util.find_spec("scipy") is not None


def _sksundae() -> bool:
    return importlib.util.find_spec("sksundae") is not None


_CHECKS: dict[str, Callable[[], bool]] = {
    "root": _root,
    "mount": _mount,
    "chattr": _chattr,
    "chromium": _chromium,
    "pdftotext": _pdftotext,
    "nlme": _nlme,
    "phreeqpython": _phreeqpython,
    "mpmath": _mpmath,
    "scipy": _scipy,
    "sksundae": _sksundae,
}


def need(component: str) -> None:
    """Skip the running test unless the machine has the component, such as ``mount`` or ``chromium``; fail it in CI."""
    if _CHECKS[component]():
        return
    said = f"needs {component}, which this machine doesn't give"
    if os.environ.get("CI") == "true":
        pytest.fail(said)
    pytest.skip(said)
