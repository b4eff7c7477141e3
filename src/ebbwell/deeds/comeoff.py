"""Deeds of coming off: off, person safe, closed. Coming off is open from every state; only the sheet has a gate."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.connect import already_running
from ebbwell.deeds.desk import Desk, Refused
from ebbwell.journal.kinds.marks import Skipped
from ebbwell.journal.kinds.night import BLOOD, CameOff, Closed, Safe
from ebbwell.procedure.gate import step_bar
from ebbwell.procedure.holds import unpassed
from ebbwell.state.night import Phase, first_blood

TIMES = ("removal_ended", "pump_stopped", "rinse_back_ended")


def come_off(
    desk: Desk,
    *,
    times: Mapping[str, datetime] | None = None,
    blood_returned: str = "all",
    words: str = "",
    at: datetime | None = None,
) -> None:
    """Record coming off the machine. Never refused for the state of the night, the person or an open step.

    times: of removal end, pump stop, rinse-back end; the pump's stop is now unless told. If no start was ever
    recorded, one is recorded with it as found running. Raises InputError for a word or time that can't be.
    """
    if blood_returned not in BLOOD:
        raise InputError("enter.option", question="blood_returned", options=", ".join(BLOOD))
    given = dict(times or {})
    strange = sorted(set(given) - set(TIMES))
    if strange:
        raise InputError("enter.option", question="times", options=", ".join(TIMES))
    given.setdefault("pump_stopped", at or desk.now.at)
    if desk.treatment_id is None or first_blood(desk.treatment) is None:
        already_running(desk, words="no start was recorded", at=min(given.values()))
    desk.add(
        CameOff(
            times={name: t.astimezone(UTC).isoformat() for name, t in given.items()},
            blood_returned=blood_returned,
            words=words,
        ),
        at=at,
    )


def person_safe(desk: Desk, *, at: datetime | None = None) -> None:
    """Say that the person is safe: needles out, bleeding stopped. Steps not yet recorded are named, never demanded.

    Refuses a night that hasn't come off: that is recorded first, in one step.
    """
    desk.need_phase(Phase.OFF, Phase.SAFE)
    left = tuple(
        view.step.id for view in desk.views.values() if view.step.stage == "come_off" and not view.passed
    )
    desk.add(Safe(open_steps=left), at=at)
    if left:
        desk.findings.append(
            Finding("safe_with_open_steps", Grade.NOTE, (("steps", ", ".join(left)),), ("design",))
        )


def close(desk: Desk, *, words: str = "", because: Mapping[str, str] | None = None) -> None:
    """Close the sheet. Refuses while steps are open that the sheet needs, unless each has a reason (``because``).

    Refuses a night that hasn't come off: then come off first, or call it off. A blank reason is none.
    """
    reasons = {step: reason.strip() for step, reason in (because or {}).items() if reason.strip()}
    desk.need_phase(Phase.OFF, Phase.SAFE)
    left = [v for v in unpassed(desk.views, "close") if v.step.id not in reasons]
    if left:
        raise Refused("refuse.close", bars=tuple(step_bar(v) for v in left), count=len(left))
    closed = desk.add(Closed(words=words))
    for step_id, reason in sorted(reasons.items()):
        if step_id not in desk.procedure.ids:
            raise InputError("enter.step", step=step_id)
        desk.add(Skipped(step=step_id, reason=reason))
    if reasons:
        desk.findings.append(
            Finding(
                "closed_with_open_steps", Grade.NOTE, (("steps", ", ".join(sorted(reasons))),), (), (closed,)
            )
        )


def call_off(desk: Desk, *, words: str) -> None:
    """End a night on which nothing ran. Refuses once blood has run, and without a reason."""
    desk.need_phase(Phase.SETTING_UP, Phase.STOPPING)
    if first_blood(desk.treatment) is not None:
        desk.refuse("refuse.blood_ran")
    if not words.strip():
        raise InputError("enter.reason")
    desk.add(Closed(called_off=True, words=words.strip()))
