"""Two families of dilution never go together: kept as read, told at once, and the step of the can stays shut."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.findings import say_finding
from ebbwell.deeds import setup
from ebbwell.deeds.families import family_findings
from ebbwell.deeds.fluid_expected import expected_fluid, expected_powder
from ebbwell.deeds.labels import POWDER, check_label, read_bicarbonate, read_label
from ebbwell.papers.fluid_words import fluid_findings, fluid_words
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import BRAM, TOVE
from ebbwell.state.labels import label_of
from tests.deeds.homes import wrong
from tests.hazards.home import Home, refused

ACID = {"potassium": "2.0", "calcium": "1.50", "magnesium": "0.5", "acetate": "3"}
RECIPE = {
    "sodium_chloride": "165",
    "potassium_chloride": "6.00",
    "calcium_chloride_dihydrate": "8.10",
    "magnesium_chloride_hexahydrate": "3.70",
    "acetic_acid": "9.50",
}
"""The published recipe, g in a litre of the acid. Source: fluids:F2."""


def acid(home: Home, parts: str = "1 + 34") -> list[str]:
    return [f.rule for f in home.do(read_label, code="A-2K", parts=parts, ions=ACID).findings]


def powder(home: Home, parts: str = "", form: str = "dry", grams: str = "650") -> list[str]:
    done = home.do(
        read_bicarbonate, code="B-650", form=form, grams=grams if form == "dry" else "", parts=parts
    )
    return [f.rule for f in done.findings]


def newest(home: Home) -> str:
    return home.look().standing.of("concentrate_label")[-1].id


@pytest.mark.source("fluids:2.1", detail="45x acid on a 35x setting: ions 45/35 as strong as ordered")
def test_read_label_of_another_family_than_the_order_is_kept_told_and_holds(night: Home) -> None:
    night.set_up()
    assert night.status("S9") is Status.MET
    assert acid(night, "1 + 44") == ["two_families"]
    assert label_of(night.look().standing, "A-2K") is not None
    assert (night.status("S9"), night.why("S9")) == (Status.BARRED, "hold.lot.family")
    (found,) = family_findings(night.look())
    assert say_finding(found) == (
        "The papers name two dilutions that do not belong together. The order: 35 parts; the label of A-2K, the"
        " acid: 45 parts. Do not use them together."
    )
    assert found.next_step == "next.call_unit"
    assert acid(night) == []
    assert night.status("S9") is Status.MET


@pytest.mark.parametrize(("form", "parts"), [("dry", "1 + 44"), ("liquid", "1 : 1.83 : 34")])
@pytest.mark.source("fluids:F2", detail="1 : 1.83 : 34 is 36.83 parts; fluids:F1 1 + 44 is 45")
def test_read_bicarbonate_of_another_family_than_the_acid_is_kept_told_and_holds(
    night: Home, form: str, parts: str
) -> None:
    night.set_up()
    assert acid(night) == []
    assert powder(night, parts, form) == ["two_families"]
    assert (night.status("S10"), night.why("S10")) == (Status.BARRED, "hold.lot.family")
    assert night.status("S9") is Status.MET
    assert "two_families" in [f.rule for f in fluid_findings(night.look())]
    assert powder(night, "1 + 1.225 + 32.775", form) == []
    assert night.status("S10") is Status.MET


@pytest.mark.source(
    "fluids:F1", detail="1 : 1.775 : 42.2 is the same family as 1 + 44, printed with fewer digits"
)
def test_one_family_printed_in_two_ways_is_one(home: Home) -> None:
    from ebbwell.state.labels import families

    standing = home.look().standing
    assert families(standing, {"acid_parts": "45"}) == ()
    home.do(read_bicarbonate, code="B-650", form="liquid", parts="1 : 1.775 : 42.2")
    standing = home.look().standing
    assert standing.of("concentrate_label")[-1].body.parts == "44.975"  # type: ignore[attr-defined]
    assert families(standing, {"acid_parts": "45", "bicarbonate_code": "b-650"}) == ()
    assert len(families(standing, {"acid_parts": "35", "bicarbonate_code": "b-650"})) == 2


@pytest.mark.source("fluids:2.1", detail="a 35 read as 34 makes the fluid 2.9 % strong, and has to show")
def test_thirty_four_beside_thirty_five_is_told(home: Home) -> None:
    assert acid(home, "1 + 33") == ["two_families"]


def test_a_dry_label_without_a_dilution_speaks_against_none(night: Home) -> None:
    night.set_up()
    assert powder(night) == []
    assert night.status("S10") is Status.MET


def test_a_label_of_a_code_that_is_not_ordered_holds_nothing(night: Home) -> None:
    night.set_up()
    done = night.do(read_label, code="A-9", parts="1 + 44", ions=ACID)
    assert done.findings == ()
    assert night.status("S9") is Status.MET


@pytest.mark.source(
    "fluids:F2",
    detail="published result K 2.20, Ca 1.50, Mg 0.50, acetate 4.30; recomputed 2.185, 1.496, 0.494, 4.295",
)
def test_read_label_in_grams_gives_the_ions_of_the_published_recipe(home: Home) -> None:
    home.do(read_label, code="F2", parts="36.83", ions={}, grams=RECIPE)
    label = label_of(home.look().standing, "F2")
    assert label is not None
    printed = {"potassium": "2.185", "calcium": "1.496", "magnesium": "0.494", "acetate": "4.295"}
    assert label.body.ions == printed
    assert label.body.grams["calcium_chloride_dihydrate"] == "8.10"


@pytest.mark.source("arithmetic", detail="5.22 g/L / 74.551 g/mol / 35 = 2.0006 mmol/L: the 2.0 of the order")
def test_check_label_in_grams_makes_it_go_by_and_the_order_agrees_to_its_digits(home: Home) -> None:
    salts = {
        "potassium_chloride": "5.22",
        "calcium_chloride_dihydrate": "7.72",
        "magnesium_chloride_hexahydrate": "3.56",
        "acetic_acid": "6.31",
    }
    of = home.do(read_label, code="A-2K", parts="1 + 34", ions={}, grams=salts).entries[0]
    with wrong("enter.label_form_grams"):
        home.do(check_label, by=TOVE, of=of, parts="35", ions=ACID, how="person")
    home.do(check_label, by=TOVE, of=of, parts="35", grams=salts, how="person")
    found = expected_fluid(home.look())
    assert found is not None
    assert found.apart == ()
    assert found.conductivity.value is not None
    assert abs(found.conductivity.value - Decimal("13.811")) < Decimal("0.01")


def test_check_label_names_the_salt_that_differs(home: Home) -> None:
    of = home.do(read_label, code="F2", parts="36.83", ions={}, grams=RECIPE).entries[0]
    other = {**RECIPE, "potassium_chloride": "9.00"}
    done = home.do(check_label, by=TOVE, of=of, parts="36.83", grams=other, how="person")
    assert dict(done.findings[0].params)["names"] == "potassium chloride"


def test_read_label_refuses_two_forms_and_grams_that_no_litre_holds(home: Home) -> None:
    with wrong("enter.label_two_forms"):
        home.do(read_label, code="F2", parts="36.83", ions={"potassium": "2"}, grams=RECIPE)
    with wrong("enter.label_grams"):
        home.do(read_label, code="F2", parts="36.83", ions={}, grams={**RECIPE, "sodium_chloride": "1650"})
    with wrong("enter.label_missing"):
        home.do(read_label, code="F2", parts="36.83", ions={}, grams={"sodium_chloride": "165"})
    of = home.do(read_label, code="A-2K", parts="35", ions=ACID).entries[0]
    with wrong("enter.label_form_ions"):
        home.do(check_label, by=TOVE, of=of, parts="36.83", grams=RECIPE, how="person")


@pytest.mark.source(
    "arithmetic", detail="fluids 2.2: 650 / (35 x 0.084007) = 221.07 L; at 300 mL/min 12.28 h"
)
def test_read_bicarbonate_twice_says_what_it_gives(home: Home) -> None:
    powder(home)
    assert expected_powder(home.look()) is None
    assert fluid_words(home.look()).powder == (
        "The label of B-650 waits for a second reading. Nothing goes by it yet.",
    )
    home.do(check_label, by=TOVE, of=newest(home), parts="", grams={POWDER: "650 g"}, how="person")
    assert fluid_words(home.look()).powder == (
        "A full B-650 holds 650 g. At 35 mmol/L as mixed that makes 221 L, if all of it dissolves. At the ordered"
        " flow that is 12.28 h.",
    )


def test_more_powder_than_a_full_one_holds_is_told(night: Home) -> None:
    powder(night, grams="500")
    night.do(check_label, by=TOVE, of=newest(night), parts="", grams={POWDER: "500"}, how="person")
    night.set_up()
    assert "powder_over_label" in [f.rule for f in fluid_findings(night.look())]


def test_check_label_of_bicarbonate_that_differs_goes_by_nothing(home: Home) -> None:
    powder(home)
    done = home.do(check_label, by=TOVE, of=newest(home), parts="", grams={POWDER: "560"}, how="person")
    assert [f.rule for f in done.findings] == ["label_differs"]
    assert expected_powder(home.look()) is None
    with refused("refuse.same_person"):
        home.do(check_label, by=BRAM, of=newest(home), parts="", grams={POWDER: "650"}, how="person")


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"code": " "}, "enter.label_code"),
        ({"form": ""}, "enter.label_form"),
        ({"grams": ""}, "enter.label_powder"),
        ({"grams": "0.65"}, "enter.label_powder_little"),
        ({"grams": "65000"}, "enter.label_grams"),
        ({"form": "liquid"}, "enter.label_liquid_parts"),
        ({"parts": "1:34"}, "line.parts_two_ways"),
    ],
)
def test_read_bicarbonate_refuses_half_a_label(home: Home, change: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(read_bicarbonate, **{"code": "B-650", "form": "dry", "grams": "650", "parts": "", **change})
    assert home.look().standing.of("concentrate_label") == ()


def test_a_can_whose_label_on_record_is_of_another_family_is_not_for_tonight(night: Home) -> None:
    acid(night, "1 + 44")
    night.until("S9")
    done = night.do(setup.use_lot, item="acid", code="A-2K", lot="A5521", expiry="2027-01-31", scanned=True)
    (found,) = [f for f in done.findings if f.rule == "pack_not_for_tonight"]
    assert dict(found.params)["why"] == "hold.lot.family"
