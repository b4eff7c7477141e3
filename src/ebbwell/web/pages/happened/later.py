"""An event that a screen held back while its server was away: kept as it was written, at the time it was made."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds.night import note_event
from ebbwell.journal.kinds.night import SYMPTOMS
from ebbwell.web.pages.happened.forms import ALARMS, SEEN, event_words
from ebbwell.web.pages.reading.later import made_at
from ebbwell.web.visit import Visit


def take_later(visit: Visit) -> Response:
    """Keep it. A word that isn't offered any more is kept as it came."""
    what = visit.typed.get("what", "").strip()
    words = [visit.typed.get("words", "").strip(), visit.typed.get("at", "").strip()]
    done = visit.do(
        note_event,
        key=visit.typed.get("key"),
        what=event_words(what) if what in (*ALARMS, *SEEN) else what or say("web.happened.note.what"),
        symptom=what if what in SYMPTOMS else "",
        words=" ".join(w for w in (*words, say("web.reading.sent_later")) if w),
        done=visit.typed.get("done", ""),
        said_by="person" if visit.typed.get("said_by") == "person" else "carer",
        at=made_at(visit),
        made_under=visit.typed.get("made_under", ""),
    )
    return visit.go(f"/happened/kept/{done.entries[0]}") if done else visit.go("/happened")
