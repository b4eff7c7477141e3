"""Whole nights without a heparin pump: what is asked at set-up, what is kept of what was given, what the sheet says."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.deeds import night
from ebbwell.journal.kinds.orders import Plan
from ebbwell.procedure.holds import Status
from ebbwell.procedure.rule_facts import weight_after_expected
from ebbwell.sim.household import PRESCRIPTION, READING
from tests.hazards.home import Home, night_open

WITHOUT = {name: value for name, value in PRESCRIPTION.items() if not name.startswith("heparin")}
NONE = {**WITHOUT, "anticoagulant": "none"}
LOW = {**WITHOUT, "anticoagulant": "low_molecular", "low_molecular_dose": "4000 IU at the start"}

HEPARIN = {"S18", "S18d", "S26b", "S33b"}
"""Steps of the heparin vial, syringe, pump and first dose."""


def asked_about(home: Home) -> set[str]:
    """Steps about a blood thinner that tonight needs."""
    steps = {*HEPARIN, "S18a", "S18b", "S18c", "S33c"}
    return {step for step in steps if home.look().views[step].status is not Status.NOT_NEEDED}


def figures(home: Home) -> Mapping[str, str]:
    """The figures of the plan that was agreed."""
    body = home.look().treatment.of("plan")[-1].body
    assert isinstance(body, Plan)
    return body.figures


@pytest.mark.source(
    "fluids:3.4", detail="never both kinds in one night; units differ and are never converted"
)
def test_low_molecular_heparin_is_kept_as_given_and_nothing_is_worked_out() -> None:
    home = night_open(LOW)
    assert asked_about(home) == {"S18a", "S18c", "S33c"}, "no vial of heparin, no pump, no first dose"
    home.connected()
    assert not [name for name in figures(home) if name.startswith(("heparin_", "syringe", "units_per"))]
    home.do(
        night.give,
        what="low molecular heparin",
        typed="4000",
        unit="IU",
        medicine=True,
        ordered_by="the unit",
    )
    home.come_off()
    treatment = home.look().treatment_id
    home.close()
    sheet = home.sheet(treatment)
    assert "low molecular heparin: 4000 IU. Ordered by the unit" in sheet, "in the unit that was typed"
    assert "Low molecular heparin dose 4000 IU at the start" in sheet
    assert "7350" not in sheet
    assert "Heparin stops" not in sheet


@pytest.mark.source("fluids:3.4", detail="no heparin: saline flushes, each added to the fluid; arithmetic")
def test_without_heparin_each_flush_counts_as_fluid_given_once() -> None:
    home = night_open(NONE)
    assert asked_about(home) == {"S18b"}
    home.connected()
    assert not [name for name in figures(home) if name.startswith(("heparin_", "syringe", "units_per"))]
    home.do(night.read, values={**READING, "fluid_removed": "0"}, when="start")
    for _ in range(3):
        home.clock.pass_time(timedelta(minutes=30))
        home.do(night.give, what="saline", typed="100", unit="mL")
    home.come_off(hours=6)
    treatment = home.look().treatment_id
    before, rinse_back, flushes = Decimal("66.3"), Decimal("0.3"), 3 * Decimal("0.1")
    assert weight_after_expected(home.look().treatment) == before + rinse_back + flushes
    home.close()
    sheet = home.sheet(treatment)
    assert sheet.count("saline: 100 mL") == 3
    assert "No heparin" in sheet
