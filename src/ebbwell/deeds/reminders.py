"""Deeds of reminders: rows of the record, so that another device and the sheet see them. They listen to nothing."""

from __future__ import annotations

from datetime import UTC, datetime

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.setup import _when
from ebbwell.journal.kinds.bedside import Reminders
from ebbwell.state.reminders import REMINDED_IN, reminders


def reminders_on(desk: Desk, *, heard: bool, wake_lock: bool, device: str) -> None:
    """Note that reminders are on at a device, after its real sound was played and somebody heard it.

    Refuses a sound that nobody heard, a device without a name, and a night that isn't open or is over: reminders
    belong to one treatment.
    """
    desk.need_phase(*REMINDED_IN)
    name = _named(device)
    if not heard:
        desk.refuse("refuse.not_heard")
    desk.add(Reminders(stage="on", device=name, heard=True, wake_lock=wake_lock))
    if not wake_lock:
        desk.findings.append(Finding("reminders_may_sleep", Grade.CARE, (("device", name),), ("practice:e",)))


def reminders_off(desk: Desk, *, device: str) -> None:
    """Note that somebody turned the reminders of a device off. Refuses a device that has none on."""
    name = _named(device)
    _need_on(desk, name, "on", "silent")
    desk.add(Reminders(stage="off", device=name))


def reminders_silent(desk: Desk, *, since: datetime, device: str) -> None:
    """Note that a page with reminders on has given no sign of life since then; the server writes it.

    It stands on the sheet. Refuses a device whose reminders aren't on, or are told as silent already, and a time to
    come.
    """
    name = _named(device)
    _need_on(desk, name, "on")
    at = _when(desk, since)
    desk.add(Reminders(stage="silent", device=name, since=at.astimezone(UTC).isoformat()), at=at)
    desk.findings.append(Finding("reminders_silent", Grade.CARE, (("device", name),), ("practice:e",)))


def _named(device: str) -> str:
    if not device.strip():
        raise InputError("enter.device")
    return device.strip()


def _need_on(desk: Desk, device: str, *states: str) -> None:
    if not any(r.device == device and r.state in states for r in reminders(desk.treatment)):
        desk.refuse("refuse.reminders_not_on", device=device)
