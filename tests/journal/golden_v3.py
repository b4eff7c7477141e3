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
    water.WaterReport(
        laboratory="Invented laboratory",
        sampled_on="2026-01-05",
        reported_on="2026-01-12",
        port="after the membrane",
        list="international",
        lines=(
            water.ReportLine(item="nitrate", value="0.4", unit="mg/L", form="as nitrate", typed="0.4"),
            water.ReportLine(item="lead", value="0.5", unit="ug/L", below=True, typed="<0.5 ug/L"),
        ),
        words="by post",
        asked=("water_slip",),
    ),
    water.MicrobeResult(
        fluid="fluid_standard",
        drawn_at="line in",
        sampled_on="2026-01-05",
        read_on="2026-01-12",
        list="international",
        count="<10",
        endotoxin="<0.01",
        plated_ml="1",
        days_since_disinfection="2",
        laboratory="Invented laboratory",
        words="second sample",
        asked=("water_plated",),
    ),
    water.CarbonChanged(
        tank="tank1",
        on="2026-01-29",
        carbon_l="4",
        rated_mg="40000",
        feed_l_min="0.6",
        use_by="2026-07-29",
        lot="C1",
        words="by the technician",
        asked=("water_feed",),
    ),
    water.WaterNotice(
        what="repair",
        from_on="2026-03-01",
        until_on="2026-03-02",
        told_by="card",
        chlorine_most="0.05",
        words="the whole street",
    ),
    water.FilterPressure(
        filter="sediment",
        pressure_in="3.2",
        pressure_out="2.9",
        unit="bar",
        changed=True,
        product_l_min="0.31",
        water_c="12",
        hardness_after="<10",
        words="new one",
        asked=("water_drop",),
    ),
    water.WaterSet(
        values={"feed_flow": "0.6", "hardness": "250"},
        list="international",
        fluid="fluid_standard",
        schedule="monthly",
        asked=("water_feed_large",),
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
