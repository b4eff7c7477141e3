"""The clotting score of a night: picked at coming off, and on the sheet beside the heparin of that night."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from ebbwell.deeds import night, record, setup
from ebbwell.procedure.load import load_procedure
from ebbwell.review.heparin import curve, thinner_nights
from ebbwell.sim.household import PRESCRIPTION
from ebbwell.state.night_thinner import SCORES
from tests.hazards.home import Home, night_open

WITHOUT = {name: value for name, value in PRESCRIPTION.items() if not name.startswith("heparin")}
NONE = {**WITHOUT, "anticoagulant": "none"}
LOW = {**WITHOUT, "anticoagulant": "low_molecular", "low_molecular_dose": "4000 IU at the start"}
LOOK = "How do the dialyser and the drip chamber look?"


def closed(home: Home, *picks: str, hours: float = 7.5) -> str:
    """The sheet of a night that came off, with these picks one after the other, each in its own right."""
    home.come_off(hours=hours)
    treatment = home.look().treatment_id
    for pick in picks:
        home.do(setup.choose, step="C6b", name="clot_score", option=pick)
    home.close()
    return home.sheet(treatment)


@pytest.mark.source(
    "fluids:3.4", detail="own scale, 0 clean to 3 clotted; the two between: common practice, no source"
)
def test_the_scale_has_four_words_from_clean_to_clotted() -> None:
    step = load_procedure().step("C6b")
    assert step.options["clot_score"] == SCORES == ("clean", "streaks", "clots", "clotted")
    assert "clot_score" not in step.wants, "each of them is an answer"
    assert (step.stage, step.gate) == ("come_off", "close")


@pytest.mark.source(
    "fluids:3.3", detail="1,500 + 5,850 = 7,350 units = 114 units/kg at 64.5 kg; fluids:3.4, keep who scored"
)
@pytest.mark.parametrize(("pick", "score"), [("clean", 0), ("streaks", 1), ("clots", 2), ("clotted", 3)])
def test_it_stands_beside_the_dose_with_who_gave_it_and_nothing_is_made_of_it(pick: str, score: int) -> None:
    home = night_open()
    home.connected()
    home.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    sheet = " ".join(closed(home, pick).split())
    assert (
        "first heparin dose: 1500 units (ordered 1500); pump by plan 5850 units, sum 7350 units, 114 units/kg, "
        f"clotting score {score} (3 is clotted), Bram Venn" in sheet
    )
    assert sheet.count("clotting score") == 1
    assert LOOK not in sheet, "said once: not among the answers again, and not as something odd"


@pytest.mark.source("arithmetic", detail="off the machine after 4 h: 4 x 900 = 3,600 units by the pump")
def test_of_a_night_cut_short_only_what_ran_is_counted_and_no_first_dose_is_taken_from_the_order() -> None:
    home = night_open()
    home.connected()
    sheet = " ".join(closed(home, "streaks", hours=4).split())
    before = "clotting score 1 (3 is clotted), Bram Venn, heparin: first dose not written down, "
    found = re.search(re.escape(before) + r"pump by plan (\d+) units", sheet)
    assert found is not None
    assert abs(int(found[1]) - 3600) <= 2, "a few seconds lie between the deeds"
    assert "sum " not in sheet
    assert "units/kg" not in sheet


def test_other_nights_have_their_own_words_beside_it() -> None:
    low = night_open(LOW)
    low.connected()
    low.do(night.give, what="low_molecular_dose", typed="4000 IU", unit="")
    low.do(setup.choose, step="S33c", name="given_into", option="venous_line")
    sheet = " ".join(closed(low, "clots").split())
    assert (
        "clotting score 2 (3 is clotted), Bram Venn, Low molecular heparin, "
        "low molecular heparin 4000 IU" in sheet
    )
    assert "(ordered 4000 IU at the start); The venous line, after the dialyser" in sheet
    assert "units/kg" not in sheet
    none = night_open(NONE)
    none.connected()
    assert "clotting score 0 (3 is clotted), Bram Venn, No heparin" in " ".join(closed(none, "clean").split())


def test_without_one_pick_that_holds_there_is_no_score() -> None:
    home = night_open()
    home.connected()
    sheet = " ".join(closed(home, "clean", "clots").split())
    assert "clotting score" not in sheet
    assert f"{LOOK} Clean" in sheet, "both stand until somebody settles it"
    assert f"{LOOK} Many streaks, or a clot" in sheet
    other = night_open()
    other.connected()
    assert "clotting score" not in closed(other), "nobody looked"


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "practice:e", detail="H29: the pump gives mL; from another vial the units of the order are not true"
)
def test_a_vial_of_another_strength_leaves_no_sum_by_the_order_on_sheet_and_review() -> None:
    home = night_open()
    home.connected()
    home.do(night.give, what="heparin_first_dose", typed="1500", unit="units")
    (read,) = home.look().treatment.at_slot("measured", "heparin_strength", "")
    home.do(record.correct, of=read.id, changes={"value": "5000"}, reason="the vial in the bin says 5000")
    sheet = " ".join(closed(home, "clean").split())
    assert "first heparin dose: 1500 units (ordered 1500); pump by plan not known, clotting score 0" in sheet
    assert "5850 units" not in sheet
    assert "7350 units" not in sheet
    assert "heparin strength: 5000 units/mL (ordered 1000)" in sheet
    (one,) = thinner_nights(home.look().past.values())
    assert (one.first, one.pumped, one.total, one.per_kg) == (Decimal(1500), None, None, None)
    assert curve(one) == ()
