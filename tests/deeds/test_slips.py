"""Slips of a unit, a mark or a form, each typed as a tired person would: what is said names the label and what to do."""

from __future__ import annotations

from typing import Any

import pytest

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds import setup
from ebbwell.deeds.desk import Asked
from ebbwell.journal.kinds.marks import Measured
from ebbwell.papers.spoken import error_words
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.typed import say_question
from tests.hazards.home import Home


def questions(home: Home, quantity: str, typed: str, **more: Any) -> str:
    """What is asked about a typed value; nothing is kept by it."""
    before = len(home.look().treatment.of("measured"))
    with pytest.raises(Asked) as why:
        home.do(setup.measure, quantity=quantity, typed=typed, **more)
    assert len(home.look().treatment.of("measured")) == before
    return " ".join(say_question(one) for one in why.value.questions)


def error(home: Home, quantity: str, typed: str, **more: Any) -> str:
    """What a typed value is refused with."""
    with pytest.raises(EbbwellError) as why:
        home.do(setup.measure, quantity=quantity, typed=typed, **more)
    return error_words(why.value)


@pytest.mark.hazard("H40")
@pytest.mark.source("fluids:0", detail="1 mS/cm is 1,000 uS/cm")
@pytest.mark.parametrize(
    ("quantity", "typed", "meant"),
    [
        ("feed_conductivity", "0.62", "620 uS/cm"),
        ("feed_conductivity", "0.62 uS/cm", "620 uS/cm"),
        ("product_conductivity", "0.012", "12 uS/cm"),
    ],
)
def test_milli_for_micro_is_asked_even_on_a_first_night(
    night: Home, quantity: str, typed: str, meant: str
) -> None:
    night.until("S6")
    said = questions(night, quantity, typed)
    assert "Does the meter show mS/cm?" in said
    assert f"Then it is {meant}." in said


@pytest.mark.hazard("H40")
@pytest.mark.source("fluids:0", detail="1 mS/cm is 1,000 uS/cm")
def test_micro_for_milli_of_the_fluid_is_asked(ready: Home) -> None:
    said = questions(ready, "fluid_conductivity", "13800", place="meter")
    assert "Does the meter show uS/cm?" in said
    assert "Then it is 13.8 mS/cm." in said
    assert "mS/cm" in questions(ready, "fluid_conductivity", "13.8 uS/cm", place="meter")


@pytest.mark.hazard("H40")
@pytest.mark.source("fluids:1.5", detail="rough solids: mg/L = 0.5 to 0.7 x uS/cm, so ppm is no conductivity")
@pytest.mark.parametrize("quantity", ["feed_conductivity", "product_conductivity"])
def test_ppm_for_a_conductivity_says_what_to_set_the_meter_to(night: Home, quantity: str) -> None:
    night.until("S6")
    said = error(night, quantity, "310 ppm")
    assert "310 ppm is no conductivity. Set the meter to uS/cm or mS/cm." in said


@pytest.mark.source("fluids:0", detail="refuse, don't guess: hardness without its unit; 1 mg/L is 1 ppm")
def test_hardness_without_its_unit_or_in_ppm_asks_what_is_counted(night: Home) -> None:
    night.until("S6")
    assert "Type the unit with the number: mg/L CaCO3" in error(night, "hardness", "10")
    assert "10 ppm does not say what is counted." in error(night, "hardness", "10 ppm")


@pytest.mark.source("fluids:1.5", detail="rejection = 100 x (1 - product / feed): never over 100 %")
def test_rejection_over_a_hundred_says_to_read_again(night: Home) -> None:
    night.until("S6")
    assert "rejection can't be more than 100. Read it again" in error(night, "rejection", "105")


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "fluids:1.3", detail="a strip can't tell 0.09 from 0.12: 0.1 by strip is handled as a fail"
)
def test_a_strip_step_of_a_tenth_shuts_the_step(night: Home) -> None:
    night.until("S5")
    test = {"quantity": "total_chlorine", "place": "tank1", "method": "strip"}
    night.do(setup.measure, typed="0.1", sure=("outside_asked", "past_limit"), **test)
    body = night.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].body
    assert isinstance(body, Measured)
    assert (body.value, body.method) == ("0.1", "strip")
    assert night.status("S5") is Status.BARRED
