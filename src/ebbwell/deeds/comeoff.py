"""Deeds of coming off: off, person safe, closed. Coming off is open from every state; only the sheet has a gate."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import msgspec

from ebbwell.core.clock import STEP_ALLOWED, elapsed
from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.deeds.connect import already_running
from ebbwell.deeds.desk import Desk, Refused, ask_first
from ebbwell.deeds.setup import _when
from ebbwell.journal.kinds.bedside import WHY_BY_HAND, BloodByHand
from ebbwell.journal.kinds.marks import Skipped
from ebbwell.journal.kinds.night import BLOOD, CameOff, Closed, Safe
from ebbwell.procedure.gate import step_bar
from ebbwell.procedure.holds import unpassed
from ebbwell.rulebook.typed import Question
from ebbwell.state.night import Phase, first_blood, stop_noted
from ebbwell.state.standing import said_no

TIMES = ("removal_ended", "pump_stopped", "rinse_back_ended")

NEEDLES, CATHETER = "C10", "C10b"
"""Steps that hold whether the needles are out and the bleeding stopped, and whether the catheter is closed."""

UNSAID, UNSAID_CATHETER = "safe_unsaid", "safe_unsaid_catheter"
"""What is asked before the person is marked as safe while that isn't on record."""


def come_off(
    desk: Desk,
    *,
    times: Mapping[str, datetime] | None = None,
    blood_returned: str = "all",
    words: str = "",
    at: datetime | None = None,
    began: datetime | None = None,
) -> None:
    """Record coming off the machine. Never refused for the state of the night, the person or an open step.

    times: of removal end, pump stop, rinse-back end; the pump's stop is when a stop was noted, else now, unless told.
    blood_returned: "" where nobody said yet; ``say_blood`` says it. at: the last of the times unless told. If no start
    was ever recorded, one is recorded with it as found running: at ``began``, else as not known. Raises InputError
    for a word or time that can't be: one told that lies before first blood or is still to come, by a clock that
    hasn't gone back.
    """
    if blood_returned not in ("", *BLOOD):
        raise InputError("enter.option", question="blood_returned", options=", ".join(BLOOD))
    given = dict(times or {})
    strange = sorted(set(given) - set(TIMES))
    if strange:
        raise InputError("enter.option", question="times", options=", ".join(TIMES))
    _can_be(desk, given)
    noted = stop_noted(desk.treatment) if desk.treatment_id is not None else None
    given.setdefault("pump_stopped", at or noted or desk.now.at)
    if desk.treatment_id is None or first_blood(desk.treatment) is None:
        first = min(given.values())
        if began is not None and began > first:
            raise InputError("enter.off_before", time=_hour(desk, first), began=_hour(desk, began))
        words_of_start = "no start was recorded" if began is None else ""
        already_running(desk, words=words_of_start, at=began or first, start_not_known=began is None)
    desk.add(
        CameOff(
            times={name: t.astimezone(UTC).isoformat() for name, t in given.items()},
            blood_returned=blood_returned,
            words=words,
        ),
        at=at or min(max(given.values()), desk.now.at),
    )


def say_blood(desk: Desk, *, blood_returned: str) -> None:
    """Say how much blood was given back, where coming off was written down without it.

    Raises InputError for a word that is none. Refuses where nothing waits for it; what was said is put right instead.
    """
    if blood_returned not in BLOOD:
        raise InputError("enter.option", question="blood_returned", options=", ".join(BLOOD))
    desk.need_phase(Phase.OFF, Phase.SAFE)
    off = desk.treatment.last("came_off")
    if off is None or not isinstance(off.body, CameOff) or off.body.blood_returned:
        desk.refuse("refuse.blood_said")
    said = msgspec.structs.replace(off.body, blood_returned=blood_returned)
    desk.add(said, at=off.at, replaces=(off.id,), reason="said later")


def _can_be(desk: Desk, times: Mapping[str, datetime]) -> None:
    began = first_blood(desk.treatment) if desk.treatment_id is not None else None
    for at in times.values():
        if began is not None and at < began <= desk.now.at:
            raise InputError("enter.off_before", time=_hour(desk, at), began=_hour(desk, began))
        if at > desk.now.at + STEP_ALLOWED and (began is None or began <= desk.now.at):
            raise InputError("enter.off_ahead", time=_hour(desk, at), now=_hour(desk, desk.now.at))


def _hour(desk: Desk, at: datetime) -> str:
    return at.astimezone(ZoneInfo(desk.now.zone)).strftime("%H:%M on %d.%m.")


def blood_by_hand(
    desk: Desk,
    *,
    why: str,
    started_at: datetime | None = None,
    ended_at: datetime | None = None,
    amount: str = "",
    words: str = "",
) -> None:
    """Record that blood was given back with the pump turned by hand, as the unit taught. ``come_off`` follows.

    why: one of ``WHY_BY_HAND``. started_at, ended_at: where anyone knows. amount: mL as typed, "" where not known.
    Never refused for the state of the night; where no start was recorded one is recorded with it. Raises InputError
    for a word that is none, an amount that can't be read, an end before its start, and a time to come.
    """
    if why not in WHY_BY_HAND:
        raise InputError("enter.option", question="why", options=", ".join(WHY_BY_HAND))
    volume = parse_decimal(amount) if amount.strip() else None
    if volume is not None and volume < 0:
        raise InputError("enter.amount", typed=amount)
    known = [_when(desk, t) for t in (started_at, ended_at) if t is not None]
    if started_at is not None and ended_at is not None and elapsed(started_at, ended_at) < timedelta():
        raise InputError("enter.start_end")
    first = min(known, default=desk.now.at)
    if desk.treatment_id is None or first_blood(desk.treatment) is None:
        already_running(desk, words="no start was recorded", at=first)
    desk.add(
        BloodByHand(
            why=why,
            started_at=started_at.astimezone(UTC).isoformat() if started_at is not None else "",
            ended_at=ended_at.astimezone(UTC).isoformat() if ended_at is not None else "",
            amount=plain(volume) if volume is not None else "",
            words=words.strip(),
        ),
        at=first,
    )
    desk.findings.append(Finding("blood_by_hand", Grade.CARE, (), ("practice:section c",)))


def person_safe(desk: Desk, *, at: datetime | None = None, sure: tuple[str, ...] = ()) -> None:
    """Say that the person is safe. Steps not yet recorded are named, never demanded.

    Asks once while needles out and bleeding stopped aren't on record; never refused for it. Refuses a night that
    hasn't come off: that is recorded first, in one step.
    """
    desk.need_phase(Phase.OFF, Phase.SAFE)
    ask_first(_unsaid(desk), sure)
    left = tuple(
        view.step.id for view in desk.views.values() if view.step.stage == "come_off" and not view.passed
    )
    desk.add(Safe(open_steps=left), at=at)
    if left:
        desk.findings.append(
            Finding("safe_with_open_steps", Grade.NOTE, (("steps", ", ".join(left)),), ("design",))
        )


def _unsaid(desk: Desk) -> tuple[Question, ...]:
    """What to ask before the person is marked as safe: () where needles and bleeding, or the catheter, are on record."""
    left = {view.step.id for view in desk.views.values() if not view.passed}
    asked = ((NEEDLES, UNSAID), (CATHETER, UNSAID_CATHETER))
    return tuple(Question(key, 1) for step, key in asked if step in left)


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


def call_off(desk: Desk, *, words: str = "") -> None:
    """End a night on which nothing ran. Refuses once blood has run, and without a reason.

    No reason is asked for where the person said "not tonight": that stands on record with the night.
    """
    desk.need_phase(Phase.SETTING_UP, Phase.STOPPING)
    if first_blood(desk.treatment) is not None:
        desk.refuse("refuse.blood_ran")
    if not words.strip() and said_no(desk.treatment, desk.standing, desk.now.at) is None:
        raise InputError("enter.reason")
    desk.add(Closed(called_off=True, words=words.strip()))
