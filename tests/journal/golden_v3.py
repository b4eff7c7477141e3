"""The bodies in ``golden/v3``: one of every kind that came after ``golden/v2``.

``python -m tests.journal.golden_v3 FOLDER`` writes such a bundle. Once released it is never written again.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.bundle import export_bundle
from ebbwell.journal.kinds import Body, fluid, house, water
from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import draft

BODIES: tuple[Body, ...] = (
    house.LimitChanged(
        limit="chlorine", value="0.05", unit="mg/L", reason="new list", allowed_by="unit", how="written"
    ),
    fluid.ConcentrateLabel(
        code="A-2K", parts="35", ions={"potassium": "2.0", "calcium": "1.50"}, asked=("x",)
    ),
)


def made() -> MemoryStore:
    """A store with one entry of each."""
    ids = SeededIds(3)
    store = MemoryStore(ids, writer="018bcfe5-6800-7000-8000-000000000003")
    with store.write() as tx:
        for minute, body in enumerate(BODIES):
            tx.append(draft(ids, body, minute=minute))
    return store


if __name__ == "__main__":
    export_bundle(made(), Path(sys.argv[1]))
