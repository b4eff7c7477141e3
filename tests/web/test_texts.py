"""The household's own words and numbers, and lots that are called back."""

from __future__ import annotations

import pytest

from ebbwell.papers.first_actions import emergency_lines, first_action_lines
from ebbwell.sim.household import LOTS
from ebbwell.state.fields import READING_ORDER, field_order
from tests.web.site import Site


def test_without_numbers_and_words_it_says_not_filled_in(site: Site) -> None:
    site.move_in()
    page = site.get("/texts")
    assert "Number to call: not filled in. Address: not filled in." in page.text
    assert page.text.count("Stop") >= 1


def test_number_and_address_are_kept_and_shown(site: Site) -> None:
    site.move_in()
    page = site.get("/texts")
    typed = {"number": "000 0000", "address": "1 Saltmarsh Row", "how_to_find": "blue door"}
    assert site.fill(page, "/texts/phone", **typed).status == 303
    assert emergency_lines(site.desk.standing) == (
        "Number to call: 000 0000",
        "Say this address: 1 Saltmarsh Row",
        *emergency_lines(site.desk.standing)[2:],
    )
    assert site.get("/texts").form("/texts/phone").fields["number"] == ["000 0000"]


@pytest.mark.parametrize(
    "typed", [{"number": "the unit", "address": "x"}, {"number": "000 0000", "address": " "}]
)
def test_a_number_without_digits_or_no_address_is_not_kept(site: Site, typed: dict[str, str]) -> None:
    site.move_in()
    rows = site.rows
    seen = site.fill(site.get("/texts"), "/texts/phone", **typed)
    assert seen.status == 409
    assert seen.form("/texts/phone").fields["number"] == [typed["number"]]
    assert site.rows == rows


def test_the_units_words_are_kept_with_signer_and_date(site: Site) -> None:
    site.move_in()
    page = site.get("/texts/bleeding")
    typed = {"words": "Press. Pump off.", "signed_by": "Sister Quill", "signed_on": "2026-04-02"}
    assert site.fill(page, "/texts/bleeding", **typed).status == 303
    desk = site.desk
    lines = first_action_lines(desk.standing, "bleeding", desk.now)
    assert lines[0] == "Press. Pump off."
    for line in lines:
        assert line in site.get("/texts").text


@pytest.mark.parametrize(
    "wrong",
    [
        {"words": " "},
        {"signed_by": ""},
        {"signed_on": ""},
        {"signed_on": "2030-01-01"},
        {"valid_until": "2020-01-01"},
    ],
    ids=lambda wrong: "-".join(*wrong.items()),
)
def test_words_that_nobody_signed_are_not_kept(site: Site, wrong: dict[str, str]) -> None:
    site.move_in()
    rows = site.rows
    typed = {"words": "Press.", "signed_by": "Sister Quill", "signed_on": "2026-04-02", **wrong}
    assert site.fill(site.get("/texts/bleeding"), "/texts/bleeding", **typed).status == 409
    assert site.rows == rows


def test_a_situation_that_is_none(site: Site) -> None:
    site.move_in()
    assert site.get("/texts/nothing").status == 404
    assert site.post("/texts/nothing", {"words": "x"}).status == 404


def test_fields_of_a_reading_are_put_in_the_households_order(site: Site) -> None:
    site.move_in()
    page = site.get("/texts")
    assert field_order(site.desk.standing) == READING_ORDER
    places = {f"place__{name}": "-" for name in READING_ORDER}
    places |= {"place__venous_pressure": "1", "place__pulse": "2"}
    assert site.fill(page, "/texts/fields", **places).status == 303
    assert field_order(site.desk.standing) == ("venous_pressure", "pulse")


def test_no_fields_at_all_are_not_kept(site: Site) -> None:
    site.move_in()
    rows = site.rows
    places = {f"place__{name}": "-" for name in READING_ORDER}
    assert site.fill(site.get("/texts"), "/texts/fields", **places).status == 409
    assert site.rows == rows


def test_a_lot_called_back_names_the_nights_it_was_used_on_and_shuts_its_step(site: Site) -> None:
    site.set_up()
    lot = LOTS["tubing"][1]
    page = site.get("/recall")
    assert site.fill(page, "/recall", item="tubing", lot=lot.lower(), told_by="the supplier").status == 303
    page = site.get("/recall")
    assert f"/sheet/{site.desk.treatment_id}" in page.links
    assert site.desk.bars
    assert "No night in the record used it." not in page.text


@pytest.mark.parametrize(
    "wrong", [{"lot": ""}, {"told_by": " "}, {"item": "soap"}], ids=lambda w: next(iter(w))
)
def test_a_recall_without_item_lot_or_teller_is_not_kept(site: Site, wrong: dict[str, str]) -> None:
    site.move_in()
    rows = site.rows
    seen = site.fill(
        site.get("/recall"), "/recall", **{"item": "tubing", "lot": "T1", "told_by": "us", **wrong}
    )
    assert seen.status == 409
    assert site.rows == rows
