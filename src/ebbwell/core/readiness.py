"""Whether Ebbwell is ready for real treatments: it is when every hazard that can kill has its control.

The list of hazards is ``docs/hazards.toml``; a test holds the two against each other.
"""

from __future__ import annotations

from typing import Final

UNCONTROLLED_5: Final[tuple[str, ...]] = ("H62",)
"""Hazards of severity 5 whose control is still to come."""


def practice_only() -> bool:
    """Whether pages of a real household must say that this is for practice. Source: practice:H65, design gate 9."""
    return bool(UNCONTROLLED_5)
