"""The bodies in ``golden/v2``: one of every kind that came after ``golden/v1``, and the fields that older ones gained.

``python -m tests.journal.golden_v2 FOLDER`` writes such a bundle. Once released it is never written again.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.bundle import export_bundle
from ebbwell.journal.kinds import Body, bedside, house, marks, night
from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import draft

E = "018bcfe5-6801-7226-b63c-5ab791b7584a"
NOON = "2026-03-03T12:00:00+00:00"

BODIES: tuple[Body, ...] = (
    bedside.NotTonight(words="too tired"),
    bedside.Annotation(words="I slept well \U0001f319"),
    bedside.Reminders(stage="on", device="tablet", heard=True, wake_lock=True),
    bedside.Reminders(stage="silent", device="tablet", since=NOON),
    bedside.Rechecked(aside="on_again", check="air_seen", option="none", words="looked twice"),
    bedside.BloodByHand(why="power", started_at=NOON, ended_at=NOON, amount="300", words="torch"),
    bedside.SampleDue(samples=("urea", "potassium"), when="before", ordered_by="unit", words="blue tube"),
    bedside.SampleTaken(sample="urea", when="before", of=E, label="12-7", how="as_taught"),
    house.FirstAction(
        situation="bleeding",
        words="Press. Call.",
        signed_by="unit",
        signed_on="2026-01-05",
        valid_until="2027-01-05",
    ),
    house.EmergencyDetails(number="1 2 3", address="Invented house, Invented row", how_to_find="blue door"),
    house.StepsAdopted(text="id = 'own'"),
    house.FieldOrder(fields=("pulse", "systolic", "diastolic")),
    night.Event(what="cramp", symptom="cramp", said_by="person"),
    night.Given(what="iron", amount="100", unit="mg", medicine=True, ordered_by="unit"),
    night.Off(words="bathroom", blood="circulating"),
    night.NewSet(why="clotted", blood_returned="part"),
    marks.LotUsed(item="tubing", code="T-1", lot="T9", expiry="2027-05-31", new_set=E),
)


def made() -> MemoryStore:
    """A store with one entry of each."""
    ids = SeededIds(2)
    store = MemoryStore(ids, writer="018bcfe5-6800-7000-8000-000000000002")
    with store.write() as tx:
        for minute, body in enumerate(BODIES):
            tx.append(draft(ids, body, minute=minute))
    return store


if __name__ == "__main__":
    export_bundle(made(), Path(sys.argv[1]))
