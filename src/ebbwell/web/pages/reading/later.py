"""What a screen held back while its server was away: when it was made, by the server's own clock."""

from __future__ import annotations

from datetime import datetime, timedelta

from ebbwell.web.visit import Visit

LONGEST = timedelta(days=3)
"""How old something held back can be and still be dated by the screen that held it. Own choice."""


def made_at(visit: Visit) -> datetime | None:
    """When it was typed or tapped; None (now) for anything that isn't a time within the last days.

    The screen tells by its own clock when it was made and when it was sent; the gap between the two, taken off the
    server's present, is right even where the screen's clock is wrong.
    """
    try:
        gap = int(visit.typed.get("sent", "")) - int(visit.typed.get("made", ""))
    except ValueError:
        return None
    held = timedelta(milliseconds=gap)
    return visit.desk.now.at - held if timedelta() <= held <= LONGEST else None
