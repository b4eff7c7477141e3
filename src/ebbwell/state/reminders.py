"""Reminders as the record has them: on, off, or silent, device by device."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from ebbwell.journal.kinds.bedside import Reminders
from ebbwell.state.facts import Facts
from ebbwell.state.night import Phase, phase

REMINDED_IN = (Phase.SETTING_UP, Phase.RUNNING, Phase.PAUSED)
"""Phases in which reminders can be on; a night that stops or is over has none. Source: practice:H16."""


@dataclass(frozen=True)
class Reminding:
    """One device. state: ``on``, ``off`` or ``silent``; since: from when. A silent one was on and no longer answers."""

    device: str
    state: str
    since: datetime
    wake_lock: bool


def reminders(treatment: Facts) -> tuple[Reminding, ...]:
    """The devices whose reminders were ever on tonight, as each was last written; all are off once the night is over."""
    found: dict[str, Reminding] = {}
    over = phase(treatment) not in REMINDED_IN
    for fact in treatment.of("reminders"):
        body = fact.body
        if isinstance(body, Reminders):
            stage = "off" if over else body.stage
            found[body.device] = Reminding(body.device, stage, fact.at, body.wake_lock)
    return tuple(found[device] for device in sorted(found))
