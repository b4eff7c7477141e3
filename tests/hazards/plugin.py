"""A pytest plugin that takes the control of one hazard away before any test module is loaded.

``EBBWELL_SWITCH_OFF=H5 python -m pytest -p tests.hazards.plugin ...``
"""

from __future__ import annotations

import os

NAME = "EBBWELL_SWITCH_OFF"


def switch_off_from_environment() -> None:
    """Switch off what the environment names, if it names something."""
    hazard = os.environ.get(NAME)
    if hazard:
        from tests.hazards.switches import switch_off

        switch_off(hazard)


def pytest_configure() -> None:
    """Before collection."""
    switch_off_from_environment()
