"""Notices when a screen with reminders on falls silent, and writes it down. It wakes nobody."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

from ebbwell.core.clock import Moment
from ebbwell.deeds.reminders import reminders_silent
from ebbwell.house import House
from ebbwell.state.reminders import reminders

SILENT_AFTER = timedelta(seconds=90)
"""How long a screen with reminders on may give no sign of life. A hidden page's timers run once a minute. Own choice."""


@dataclass
class Watch:
    """The last sign of life of each device, by the house's own clocks. Kept in memory: after a start all count anew."""

    heard: dict[str, Moment] = field(default_factory=dict)

    def sign(self, house: House, device: str) -> None:
        """A screen with reminders on is alive."""
        self.heard[device] = house.clock.now()

    def look(self, house: House) -> tuple[str, ...]:
        """Write down each device that fell silent, once. Gives their names.

        Counted on the boot clock, which runs through sleep and isn't set. Raises the store's errors; the next look
        tries again.
        """
        desk = house.look()
        silent = []
        for one in reminders(desk.treatment):
            if one.state != "on":
                continue
            last = self.heard.setdefault(one.device, desk.now)
            gap = timedelta(milliseconds=desk.now.mono - last.mono)
            if last.boot != desk.now.boot or gap <= SILENT_AFTER:
                continue
            house.do(reminders_silent, since=desk.now.at - gap, device=one.device)
            silent.append(one.device)
            del self.heard[one.device]
        return tuple(silent)
