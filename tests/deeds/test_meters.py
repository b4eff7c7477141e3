"""How a meter corrects for temperature: asked for once; without it its readings are held against nothing."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.worked import Worked
from ebbwell.deeds.labels import check_label, read_label
from ebbwell.deeds.meters import at_25, set_meter
from ebbwell.papers.fluid_words import fluid_findings, fluid_words
from ebbwell.sim.household import TOVE
from ebbwell.state.meters import meter_of
from tests.deeds.homes import wrong
from tests.hazards.home import Home

D = Decimal
ACID = {"potassium": "2.0", "calcium": "1.50", "magnesium": "0.5", "acetate": "3"}


def labelled(night: Home) -> None:
    of = night.do(read_label, code="A-2K", parts="35", ions=ACID).entries[0]
    night.do(check_label, by=TOVE, of=of, parts="35", ions=ACID, how="person")
    night.set_up()


def value(found: Worked | str) -> Decimal:
    assert isinstance(found, Worked)
    assert found.value is not None
    return found.value


def test_set_meter_stands_and_is_set_anew(home: Home) -> None:
    assert meter_of(home.look().standing, "meter") is None
    home.do(set_meter, place="meter", corrects="yes", reference="25 C")
    home.do(set_meter, place="meter", corrects="yes", reference="20", coefficient="2,1 %")
    meter = meter_of(home.look().standing, "meter")
    assert meter is not None
    assert (meter.reference, meter.coefficient) == ("20", "2.1")
    assert meter_of(home.look().standing, "machine") is None


def test_a_conductivity_without_reference_temperature_is_not_compared(night: Home) -> None:
    labelled(night)
    assert at_25(night.look(), "meter", D("13.9")) == "fluid.read_no_reference"
    lines = fluid_words(night.look()).lines
    assert (
        "Your own meter reads 13.9 mS/cm. The temperature it corrects to is not on record, so it is not compared."
        in lines
    )
    assert "conductivity_off_label" not in [f.rule for f in fluid_findings(night.look())]


@pytest.mark.source("arithmetic", detail="a meter at 25 C needs no correction")
def test_a_meter_that_corrects_to_25_is_compared_as_it_reads(night: Home) -> None:
    labelled(night)
    night.do(set_meter, place="meter", corrects="yes", reference="25")
    assert value(at_25(night.look(), "meter", D("13.9"))) == D("13.9")
    assert "Your own meter reads 13.9 mS/cm. That is +0.6 % off." in fluid_words(night.look()).lines


@pytest.mark.source("fluids:D1", detail="KCl 0.1 mol/kg: 11.6159 mS/cm at 20 C, 12.8246 at 25 C")
def test_a_meter_that_corrects_to_20_is_brought_to_25(night: Home) -> None:
    night.do(set_meter, place="meter", corrects="yes", reference="20", coefficient="2.081")
    assert abs(value(at_25(night.look(), "meter", D("11.6159"))) - D("12.8246")) < D("0.001")


@pytest.mark.source("arithmetic", detail="fluids 1.5: 17.4 / (1 + 0.02 x (36.5 - 25)) = 17.4 / 1.23 = 14.146")
def test_a_meter_that_does_not_correct_needs_the_temperature_of_the_fluid(night: Home) -> None:
    night.do(set_meter, place="meter", corrects="no", coefficient="2")
    assert at_25(night.look(), "meter", D("17.4")) == "fluid.read_no_temperature"
    night.set_up()
    assert abs(value(at_25(night.look(), "meter", D("17.4"))) - D("14.146")) < D("0.001")


@pytest.mark.source(
    "arithmetic", detail="13.9 x (1 + 0.02 x 5) = 15.29, 10.7 % over 13.811: past the 5 % of a stop"
)
def test_the_finding_goes_by_the_figure_at_25(night: Home) -> None:
    labelled(night)
    night.do(set_meter, place="meter", corrects="yes", reference="20", coefficient="2")
    assert "conductivity_off_label" in [f.rule for f in fluid_findings(night.look())]


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"place": ""}, "enter.meter_place"),
        ({"corrects": ""}, "enter.meter_corrects"),
        ({"reference": ""}, "enter.meter_reference"),
        ({"reference": "77"}, "enter.meter_reference_far"),
        ({"reference": "20", "coefficient": ""}, "enter.meter_coefficient"),
        ({"corrects": "no", "coefficient": ""}, "enter.meter_coefficient"),
        ({"coefficient": "0.02"}, "enter.meter_coefficient_far"),
    ],
)
def test_set_meter_refuses_half_a_setting(home: Home, change: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(
            set_meter,
            **{"place": "meter", "corrects": "yes", "reference": "25", "coefficient": "2", **change},
        )
    assert meter_of(home.look().standing, "meter") is None
