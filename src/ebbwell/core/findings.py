"""What a rule says: never an alarm, never an all-clear."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Grade(Enum):
    """How much a finding matters. ``unknown``: the rule had no data and says so."""

    STOP = "stop"
    CARE = "care"
    NOTE = "note"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Finding:
    """rule: its id; the words are ``finding.<rule>`` in the catalogue, filled with params at display.

    sources: keys in rulebook/sources.toml. entries: ids the finding rests on. next_step: wording key.
    """

    rule: str
    grade: Grade
    params: tuple[tuple[str, str], ...] = ()
    sources: tuple[str, ...] = ()
    entries: tuple[str, ...] = ()
    next_step: str = ""
