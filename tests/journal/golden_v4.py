"""The bodies in ``golden/v4``: the kinds that came after ``golden/v3``, and the fields that older ones gained.

``python -m tests.journal.golden_v4 FOLDER`` writes such a bundle. Once released it is never written again.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.bundle import export_bundle
from ebbwell.journal.kinds import Body, bloods, fluid, house, marks, night, orders, pressures, units, water
from ebbwell.journal.store.memory import MemoryStore
from tests.journal.making import draft

BODIES: tuple[Body, ...] = (
    units.UnitsChosen(weight="lb", temperature="F", glucose="mg/dL"),
    marks.Measured(quantity="weight_before", value="66.3", unit="kg", typed="146.2", entered="146.2 lb"),
    night.Reading(values={"body_temperature": "37.06"}, entered={"body_temperature": "98.7 F"}),
    pressures.MembraneForm(form="four_point", machine="the new one", words="on its screen"),
    pressures.FlowShort(
        percent="4", measured_by="unit", measured_on="2026-03-02", at_flow="230", at_arterial="-90"
    ),
    night.Reading(values={"transmembrane_pressure": "30"}, membrane_form="four_point"),
    orders.Plan(
        figures={"removal_rate_per_kg": "4.8 mL/kg/h"}, rests_on=(), limits={"removal_rate_care": "13"}
    ),
    water.WaterLineSet(
        list="international",
        item="own.Free_copper",
        most="20",
        unit="ug/L",
        stands_in="sheet of May",
        allowed_by="the unit",
        how="written",
    ),
    fluid.ConcentrateLabel(
        code="A-2K", parts="36.83", ions={"potassium": "2.185"}, grams={"potassium_chloride": "6.00"}
    ),
    fluid.ConcentrateLabel(code="B-650", parts="", ions={}, what="dry", grams={"sodium_bicarbonate": "650"}),
    fluid.ConductivityMeter(place="meter", reference="20", coefficient="2.1"),
    marks.Measured(
        quantity="total_chlorine",
        place="tank1",
        value="0.1",
        unit="mg/L",
        below=True,
        method="strip",
        typed="<0.1",
        step="S5",
        steps="0 / 0.1 / 0.5",
        control="coloured",
    ),
    water.WaterSet(values={}, chlorine_steps="0 / 0.1 / 0.5"),
    water.FilterPressure(
        filter="sediment",
        pressure_in="3.1",
        pressure_out="3.0",
        unit="bar",
        product_l_min="0.31",
        reject_l_min="0.31",
    ),
    fluid.ConcentrateLabel(
        code="B-45", parts="45", ions={"bicarbonate": "39"}, what="liquid", bicarbonate_parts="1.72"
    ),
    house.EmergencyDetails(
        number="000 0000",
        address="1 Saltmarsh Row",
        unit_number="000 0100",
        unit_hours="8 to 18",
        unit_other="000 0101",
    ),
    bloods.BloodResult(
        sampled_on="2026-03-02",
        drawn="after",
        night="018bcfe5-6800-7000-8000-0000000000aa",
        minutes_after="0",
        slowed="slowed",
        laboratory="Northmere laboratory",
        reported_on="2026-03-04",
        lines=(
            bloods.BloodLine(
                substance="urea", value="5.1", unit="mmol/L", low="2.5", high="7.8", typed="5,1"
            ),
            bloods.BloodLine(
                substance="c_reactive_protein", value="0.3", unit="mg/dL", below=True, typed="<0.3"
            ),
        ),
        asked=("blood_far",),
    ),
    bloods.BloodTarget(
        substance="phosphate",
        unit="mg/dL",
        low="",
        high="5.5",
        giver="home team",
        given_on="2026-01-05",
        words="before treatment",
    ),
    bloods.UrineCollected(
        ended_on="2026-01-05",
        hours="24",
        volume_ml="250",
        lines=(bloods.BloodLine(substance="urea", value="90", unit="mmol/L"),),
    ),
    bloods.DialyserFigures(
        dialyser="Invented 18",
        blood_flow="300",
        fluid_flow="500",
        removal="0",
        clearances={"urea": "266", "phosphate": "218"},
        stands_in="leaflet, page 2",
    ),
    bloods.BodyFigures(height_cm="168", born="1964", water_by="woman"),
    bloods.BloodResult(
        sampled_on="2026-03-09",
        drawn="between",
        lines=(bloods.BloodLine(substance="ferritin", value="1500", unit="ug/L", above=True, typed=">1500"),),
    ),
    bloods.UrineCollected(
        ended_on="2026-03-09",
        hours="40",
        taken="between",
        volume_ml="250",
        lines=(bloods.BloodLine(substance="urea", value="90", unit="mmol/L"),),
    ),
)


def made() -> MemoryStore:
    """A store with one entry of each."""
    ids = SeededIds(4)
    store = MemoryStore(ids, writer="018bcfe5-6800-7000-8000-000000000004")
    with store.write() as tx:
        for minute, body in enumerate(BODIES):
            tx.append(draft(ids, body, minute=minute))
    return store


if __name__ == "__main__":
    export_bundle(made(), Path(sys.argv[1]))
