"""The first run, one thing at a time, up to the prescription."""

from __future__ import annotations

import pytest

from ebbwell.sim.household import BRAM, ILKA
from ebbwell.state.standing import household, people
from tests.web.site import Site


def test_it_says_what_it_is_and_is_not_before_anything_is_asked(site: Site) -> None:
    site.who = "bedside"
    page = site.get("/begin")
    for words in ("It is no alarm", "never tried on patients", "Paper works without it", "come first"):
        assert words in page.text
    assert "Practice only" in page.text
    assert page.text.index("It is no alarm") < page.text.index("Who at the unit?")


def test_the_whole_first_run(site: Site) -> None:
    site.who = "bedside"
    page = site.get("/begin")
    seen = site.fill(page, "/begin", who="Sister Quill, home team", words="Use it beside our sheet.")
    assert (seen.status, seen.to) == (303, "/begin?kept=begin-unit")
    page = site.get("/begin")
    assert site.fill(page, "/begin", name="Low Ferry", zone="Europe/Dublin", tanks="1").status == 303
    home = household(site.desk.standing)
    assert home is not None
    assert (home.name, home.zone, home.carbon_tanks, home.invented) == (
        "Low Ferry",
        "Europe/Dublin",
        1,
        False,
    )
    page = site.get("/begin")
    assert site.fill(page, "/begin", name="Ilka Venn").status == 303
    page = site.get("/begin")
    seen = site.fill(page, "/begin", name="Bram Venn")
    assert "who=bram" in seen.headers["set-cookie"]
    known = people(site.desk.standing)
    assert known[ILKA].roles == ("dialysis",)
    assert known[BRAM].roles == ("carer",)
    site.who = BRAM
    page = site.get("/begin")
    assert "/prescription/new" in page.links
    assert "/people" in page.links
    assert site.get("/").status == 200


def test_the_unit_may_be_asked_later_and_stays_open_on_the_list(site: Site) -> None:
    site.who = "bedside"
    assert "/begin?unit=later" in site.get("/begin").links
    page = site.get("/begin?unit=later")
    assert "What shall this home be called?" in page.text
    assert "Your unit knows of it" in page.text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"name": "", "zone": "Europe/Dublin", "tanks": "2"}, "Enter a name for your home."),
        ({"name": "Low Ferry", "zone": "Ireland please", "tanks": "2"}, "is not a time zone"),
    ],
)
def test_a_home_that_cannot_be_kept_says_why_and_keeps_what_was_typed(
    site: Site, typed: dict[str, str], said: str
) -> None:
    site.who = "bedside"
    page = site.get("/begin?unit=later")
    seen = site.fill(page, "/begin", **typed)
    assert seen.status == 409
    assert said in seen.text
    fields = seen.form("/begin").fields
    assert fields["name"] == [typed["name"]]
    assert fields["zone"] == [typed["zone"]]
    assert site.rows == 0


def test_a_home_in_another_zone_shows_its_own_hours_at_once(site: Site) -> None:
    site.who = "bedside"
    page = site.get("/begin?unit=later")
    site.fill(page, "/begin", name="Lantern Yard", zone="America/Santiago", tanks="2")
    assert site.desk.now.zone == "America/Santiago"


@pytest.mark.parametrize("part", ["home", "person", "carer"])
def test_what_is_entered_already_is_not_entered_again_from_an_old_page(site: Site, part: str) -> None:
    site.move_in()
    site.who = "bedside"
    rows = site.rows
    key = site.act(lambda house: house.ids.new())
    typed = {"part": part, "key": key, "name": "Somebody", "zone": "Europe/Dublin", "tanks": "1"}
    assert site.post("/begin", typed).to == "/begin"
    assert site.rows == rows


def test_the_home_is_changed_by_a_carer_alone_and_keeps_being_invented(site: Site) -> None:
    site.move_in()
    page = site.get("/home")
    assert site.fill(page, "/home", name="Low Ferry", zone="America/Santiago", tanks="1").status == 303
    home = household(site.desk.standing)
    assert home is not None
    assert (home.name, home.zone, home.carbon_tanks, home.invented) == (
        "Low Ferry",
        "America/Santiago",
        1,
        True,
    )
    assert site.desk.now.zone == "America/Santiago"
    site.who = "tove"
    assert [form for form in site.get("/home").forms if form.action == "/home"] == []
    assert site.post("/home", {"name": "x", "zone": "UTC", "tanks": "1"}).status == 403


def test_a_tank_less_waits_until_the_set_up_is_over(site: Site) -> None:
    site.open_night()
    rows = site.rows
    seen = site.fill(site.get("/home"), "/home", tanks="1")
    assert seen.status == 409
    assert site.rows == rows


def test_nobody_without_a_name_is_entered(site: Site) -> None:
    rows = site.rows
    key = site.act(lambda house: house.ids.new())
    seen = site.post("/begin", {"part": "person", "key": key, "name": "  "})
    assert seen.status == 409
    assert "Enter the person's name." in seen.text
    assert site.rows == rows


def test_a_part_that_there_is_none_of_changes_nothing(site: Site) -> None:
    rows = site.rows
    assert site.post("/begin", {"part": "clinic", "name": "x"}).status == 200
    assert site.rows == rows
