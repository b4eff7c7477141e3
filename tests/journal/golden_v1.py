"""The bodies in ``golden/v1``: one of every kind of the first released format, all of it invented.

``python -m tests.journal.golden_v1 FOLDER`` writes such a bundle. The committed one is never written again: a
later format gets a golden journal of its own beside it.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.bundle import export_bundle
from ebbwell.journal.kinds import Body, house, marks, night, orders
from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import draft, erasing

E = "018bcfe5-6801-7226-b63c-5ab791b7584a"
NOON = "2026-03-03T12:00:00Z"

BODIES: tuple[Body, ...] = (
    house.Household(name="Invented house", zone="Europe/Dublin", invented=True),
    house.Person(person="p1", name="Invented carer", roles=("carer",)),
    house.Skill(person="p1", skill="connect", signed_off=True, signed_by="unit", signed_on="2026-01-05"),
    house.HandedOver(stage="offered", to_person="p2", six_lines=("one", "two")),
    orders.Prescription(
        number="7", giver="unit", valid_from="2026-03-01", lines={"hours": "8", "target_weight": "66.3"}
    ),
    orders.LineAmended(
        prescription=E, line="hours", value="7.5", giver="unit", read_back="7.5", written_awaited=True
    ),
    orders.SecondCheck(of=(E,), how="reread", values={"hours": "8"}, agrees=True, step="S2"),
    orders.Readback(prescription=E, amendments=(E,), shown={"hours": "8 h"}),
    orders.Advice(who="nurse on call", words="Wait for 20 min.", about=("S5",), allows=False),
    orders.Pinned(
        night="2026-03-02",
        procedure="overnight",
        procedure_digest="aa",
        rulebook_digest="bb",
        formulas_digest="cc",
    ),
    orders.Plan(figures={"removal": "2.4 L"}, rests_on=(E,), findings=("cap",)),
    marks.Answer(question="fever", answer="no", said_by="person", step="S0"),
    marks.Measured(
        quantity="total_chlorine", place="tank1", value="0.05", unit="mg/L", below=True, step="S5"
    ),
    marks.Measured(quantity="temperature", not_measured="thermometer broken"),
    marks.Tick(step="S3", note="ü 3½ \U0001f319"),
    marks.Skipped(step="S9", reason="none here", unit="nurse"),
    marks.Waited(step="S11"),
    marks.Choice(step="S30", name="drip_chamber", option="three_quarters"),
    marks.LotUsed(item="dialyser", code="0101", lot="L7", expiry="2027-05", scanned=True),
    marks.LotRecalled(item="dialyser", lot="L7", told_by="supplier"),
    marks.Happened(what="water_restart"),
    marks.Corrected(of=E, changes={"value": "0.06"}),
    marks.Settled(of=(E, E), holds=E),
    marks.Withdrawn(of=E),
    night.Connected(satisfied={"S5": (E,)}, shown={"hours": "8 h"}, plan=E),
    night.AlreadyRunning(open_holds=("S5",), words="was running"),
    night.Reading(values={"venous_pressure": "120"}, missing={"pulse": "asleep"}, when=NOON),
    night.Event(what="alarm", words="venous", done="moved the line"),
    night.Given(what="saline", amount="100", unit="mL"),
    night.Stop(said_by="person"),
    night.Off(words="bathroom"),
    night.On(),
    night.NewSet(words="clotted"),
    night.CameOff(times={"pump_stopped": NOON}, blood_returned="all"),
    night.Safe(open_steps=("C9",)),
    night.Closed(called_off=False, words="quiet"),
    night.Disinfected(what="machine", agent="heat", started_at=NOON, ended_at=NOON),
)


def made() -> MemoryStore:
    """A store with one entry of each, the fourteenth of them erased at the end."""
    ids = SeededIds(1)
    store = MemoryStore(ids, writer="018bcfe5-6800-7000-8000-000000000001")
    with store.write() as tx:
        entries = [tx.append(draft(ids, body, minute=minute)) for minute, body in enumerate(BODIES)]
        tx.erase(entries[13].id, erasing(ids, entries[13].id))
    return store


if __name__ == "__main__":
    export_bundle(made(), Path(sys.argv[1]))
