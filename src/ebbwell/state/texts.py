"""The household's own texts for when things go wrong: the unit's signed words, and what is read out on the phone."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.journal.kinds.house import EmergencyDetails, FirstAction
from ebbwell.state.facts import Fact, Facts, agreed


def first_action(standing: Facts, situation: str, now: Moment) -> FirstAction | None:
    """The unit's own words for a situation, with signer and date; None without any, after their date, or where two
    texts stand that don't say the same. Then nothing more is shown than to stop, clamp and call as taught.

    Source: practice:H58, H74.
    """
    held = agreed(texts_for(standing, situation))
    if held is None:
        return None
    body = held.body
    if not isinstance(body, FirstAction) or not signed(body) or void(body, now):
        return None
    return body


def texts_for(standing: Facts, situation: str) -> tuple[Fact, ...]:
    """Every text that stands for a situation, void ones among them."""
    return tuple(f for f in standing.of("first_action") if getattr(f.body, "situation", "") == situation)


def signed(body: FirstAction) -> bool:
    """Whether somebody of the unit stands for the words, with a date."""
    return bool(body.signed_by.strip()) and _date(body.signed_on) is not None


def void(body: FirstAction, now: Moment) -> bool:
    """Whether the text's last day is over in the home's zone. A last day that is no date makes it void."""
    if not body.valid_until:
        return False
    last = _date(body.valid_until)
    return last is None or now.at.astimezone(ZoneInfo(now.zone)).date() > last


def emergency(standing: Facts) -> EmergencyDetails | None:
    """Number, address and way to the door as the household entered them; None where it didn't, never a guess.

    Where two entries stand that don't say the same, none is shown. Source: practice:H36.
    """
    held = agreed(standing.of("emergency_details"))
    body = None if held is None else held.body
    return body if isinstance(body, EmergencyDetails) and body.number.strip() else None


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
