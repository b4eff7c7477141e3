"""Time: instants in UTC with the zone kept for display, and the boot clock beside the wall clock.

Nothing else in Ebbwell asks the machine for the time.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ebbwell.core.errors import InputError

STEP_ALLOWED = timedelta(minutes=2)
"""How far wall and boot clock may part before the clock isn't trusted. Source: design section 5."""

_MS = timedelta(milliseconds=1)
_ALLOWED_MS = STEP_ALLOWED / _MS


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant as the machine saw it.

    at: UTC instant. zone: IANA name, for display. boot: id of this start of the machine ("" = not known).
    mono: milliseconds on the boot clock, which runs through sleep and never steps.
    """

    at: datetime
    zone: str
    boot: str
    mono: int

    @property
    def offset(self) -> int:
        """Minutes that local time was ahead of UTC."""
        delta = self.at.astimezone(ZoneInfo(self.zone)).utcoffset()
        return round((delta or timedelta()).total_seconds() / 60)


class Clock(Protocol):
    """Gives the present moment."""

    def now(self) -> Moment:
        """The moment, with wall clock and boot clock read together."""
        ...


def zone_info(name: str) -> ZoneInfo:
    """The zone by its IANA name. Raises InputError for a name that isn't one."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, IsADirectoryError) as why:
        raise InputError("zone.unknown", zone=name) from why


def boot_id() -> str:
    """This start of the machine, from the kernel; "" where the kernel doesn't tell."""
    path = Path("/proc/sys/kernel/random/boot_id")
    return path.read_text().strip() if path.exists() else ""


class SystemClock:
    """The machine's own clocks. zone: the household's IANA zone."""

    def __init__(self, zone: str) -> None:
        self._zone = zone_info(zone).key
        self._boot = boot_id()
        self._clock = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)

    def now(self) -> Moment:
        """Wall clock in UTC to the millisecond, beside the boot clock."""
        mono = time.clock_gettime_ns(self._clock) // 1_000_000
        ms = time.time_ns() // 1_000_000
        at = datetime.fromtimestamp(ms // 1000, UTC) + timedelta(milliseconds=ms % 1000)
        return Moment(at=at, zone=self._zone, boot=self._boot, mono=mono)


class SetClock:
    """A clock that is moved by hand: for demos, rehearsal and tests, where time is told, not read."""

    def __init__(self, at: datetime, zone: str, boot: str = "boot-1", mono: int = 0) -> None:
        if at.tzinfo is None:
            raise ValueError("a moment must carry a zone")
        self._moment = Moment(at.astimezone(UTC), zone_info(zone).key, boot, mono)

    def now(self) -> Moment:
        """The moment it was set to."""
        return self._moment

    def pass_time(self, delta: timedelta) -> None:
        """Time goes by: both clocks move together."""
        self._move(delta, round(delta.total_seconds() * 1000))

    def step_wall(self, delta: timedelta) -> None:
        """The wall clock jumps; the boot clock doesn't."""
        self._move(delta, 0)

    def restart(self, boot: str) -> None:
        """The machine starts anew: another boot id, the boot clock from zero."""
        m = self._moment
        self._moment = Moment(m.at, m.zone, boot, 0)

    def _move(self, delta: timedelta, mono: int) -> None:
        m = self._moment
        self._moment = Moment(m.at + delta, m.zone, m.boot, m.mono + mono)


class ShiftedClock:
    """The machine's own clock, set to begin at another instant and running on from there: for the demo.

    at: the instant that it begins at. clock: the one that it goes by, in whose zone it shows.
    """

    def __init__(self, at: datetime, clock: Clock) -> None:
        if at.tzinfo is None:
            raise ValueError("a moment must carry a zone")
        self._clock = clock
        self._by = at.astimezone(UTC) - clock.now().at
        self._boot = f"shifted by {self._by // _MS} ms"

    def now(self) -> Moment:
        """The moment, shifted. Each shift counts as a start of its own, since the boot clock wasn't shifted."""
        moment = self._clock.now()
        return replace(moment, at=moment.at + self._by, boot=self._boot)


class ZonedClock:
    """Another clock, shown in a zone of its own: for a home whose zone was entered while the clock ran."""

    def __init__(self, clock: Clock, zone: str) -> None:
        self._clock = clock
        self._zone = zone_info(zone).key

    def now(self) -> Moment:
        """The same moment, in this zone."""
        return replace(self._clock.now(), zone=self._zone)


def elapsed(start: datetime, end: datetime) -> timedelta:
    """Time that really passed between two instants, also over a change of clocks.

    Source: examples:E18.1 and following (Python subtracts same-zone times by the wall clock).
    """
    if start.tzinfo is None or end.tzinfo is None:
        raise ValueError("times must carry a zone")
    return end.astimezone(UTC) - start.astimezone(UTC)


def in_step(earlier: Moment, later: Moment) -> bool | None:
    """Whether the wall clock moved as the boot clock did between two moments, within STEP_ALLOWED.

    None: the machine was restarted in between (or doesn't tell), so the boot clock can't say.
    """
    if not earlier.boot or earlier.boot != later.boot:
        return None
    wall = (later.at - earlier.at) / _MS
    return abs(wall - (later.mono - earlier.mono)) <= _ALLOWED_MS
