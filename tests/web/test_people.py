"""People, what they are signed off for, who is here, handing the night over."""

from __future__ import annotations

import pytest

from ebbwell.house import House
from ebbwell.sim.household import BRAM, ILKA, TOVE
from ebbwell.state.night import carer_in_charge
from ebbwell.state.standing import people, signed_off
from tests.web.site import Site

SIX = {
    f"six_{n}": words
    for n, words in enumerate(("well", "dry", "as ordered", "set up", "chlorine", "none"), 1)
}


def test_everyone_with_roles_and_sign_offs(site: Site) -> None:
    site.move_in()
    page = site.get("/people")
    assert "Tove Sallow" in page.text
    assert "stand-in" in page.text
    assert "Signed off to: set up, keep the night" in page.text
    one = site.get("/people/tove")
    assert "Put needles in: not signed off" in one.text
    assert "Signed by Northmere Kidney Unit, the home team on 29 April 2026." in one.text


def test_somebody_is_entered_with_the_roles_picked(site: Site) -> None:
    site.move_in()
    page = site.get("/people")
    assert site.fill(page, "/people", name="Ann Quill", roles=["clinic"]).status == 303
    assert people(site.desk.standing)["ann"].roles == ("clinic",)


@pytest.mark.parametrize("typed", [{"name": "", "roles": ["carer"]}, {"name": "Ann", "roles": []}])
def test_somebody_without_name_or_role_is_not_entered(site: Site, typed: dict[str, str | list[str]]) -> None:
    site.move_in()
    rows = site.rows
    seen = site.fill(site.get("/people"), "/people", **typed)
    assert seen.status == 409
    assert "Not kept yet" in seen.text
    assert seen.form("/people").fields["name"] == [typed["name"]]
    assert site.rows == rows


def test_a_stand_in_is_signed_off_and_it_is_taken_back(site: Site) -> None:
    site.move_in()
    said = {"skill": "connect", "signed_by": "Sister Quill", "signed_on": "2026-04-28"}
    page = site.get("/people/tove")
    assert site.fill(page, "/people/tove/signed", signed="yes", **said).status == 303
    assert signed_off(site.desk.standing, TOVE, "connect")
    page = site.get("/people/tove")
    assert "Connect: signed off" in page.text
    assert site.fill(page, "/people/tove/signed", signed="no", **said).status == 303
    assert not signed_off(site.desk.standing, TOVE, "connect")
    assert "Taken back by Sister Quill on 28 April 2026." in site.get("/people/tove").text


@pytest.mark.parametrize(
    "wrong",
    [{"signed_by": " "}, {"signed_on": "yesterday"}, {"skill": "everything"}],
    ids=lambda w: next(iter(w)),
)
def test_a_sign_off_without_who_when_or_what_is_not_kept(site: Site, wrong: dict[str, str]) -> None:
    site.move_in()
    rows = site.rows
    said = {
        "skill": "connect",
        "signed_by": "Sister Quill",
        "signed_on": "2026-04-28",
        "signed": "yes",
        **wrong,
    }
    seen = site.fill(site.get("/people/tove"), "/people/tove/signed", **said)
    assert seen.status == 409
    assert site.rows == rows


def test_only_a_carer_changes_people_once_there_is_one(site: Site) -> None:
    site.move_in()
    for who in ("bedside", TOVE, ILKA):
        site.who = who
        rows = site.rows
        key = site.act(lambda house: house.ids.new())
        assert site.post("/people", {"key": key, "name": "X", "roles": "carer"}).status == 403
        signed = {"key": key, "skill": "needle", "signed": "yes", "signed_by": "x", "signed_on": "2026-04-01"}
        assert site.post("/people/tove/signed", signed).status == 403
        assert site.rows == rows


def test_a_name_is_changed_and_the_person_stays_the_same(site: Site) -> None:
    site.move_in()
    page = site.get("/people/tove")
    assert site.fill(page, "/people/tove", name="Tove S. Sallow").status == 303
    assert people(site.desk.standing)[TOVE].name == "Tove S. Sallow"
    assert signed_off(site.desk.standing, TOVE, "watch")


def test_nobody_of_that_name(site: Site) -> None:
    site.move_in()
    assert site.get("/people/nobody").status == 404


def test_who_is_here_is_picked_and_leads_back(site: Site) -> None:
    site.move_in()
    page = site.get("/who?back=/hand-over")
    seen = (
        site.fill(page, "/who", who=TOVE)
        if "who" in page.form("/who").names
        else site.post("/who", {"who": TOVE, "back": "/hand-over"})
    )
    assert (seen.status, seen.to) == (303, "/hand-over")
    assert "who=tove" in seen.headers["set-cookie"]
    assert site.post("/who", {"who": "stranger"}).headers["set-cookie"].startswith("who=bedside")


def test_the_night_is_offered_in_six_lines_and_taken_on_by_the_other_alone(site: Site) -> None:
    site.open_night()
    page = site.get("/hand-over")
    assert site.fill(page, "/hand-over", to=TOVE, **SIX).status == 303
    page = site.get("/hand-over")
    assert "Bram Venn offers the night to Tove Sallow" in page.text
    assert "chlorine" in page.text
    assert not [form for form in page.forms if form.action == "/hand-over/accept"]
    assert "Bram Venn offers this night to Tove Sallow" in site.get("/").text
    offer = site.desk.treatment.of("handed_over")[-1].id
    key = site.act(lambda house: house.ids.new())
    rows = site.rows
    assert site.post("/hand-over/accept", {"key": key, "offer": offer}).status == 409
    assert (site.rows, carer_in_charge(site.desk.treatment)) == (rows, BRAM)
    site.who = TOVE
    page = site.get("/hand-over")
    assert site.fill(page, "/hand-over/accept").status == 303
    assert carer_in_charge(site.desk.treatment) == TOVE
    assert "Tove Sallow has this night." in site.get("/").text


def test_an_offer_to_nobody_is_not_kept(site: Site) -> None:
    site.open_night()
    rows = site.rows
    seen = site.fill(site.get("/hand-over"), "/hand-over", **SIX)
    assert seen.status == 409
    assert seen.form("/hand-over").fields["six_1"] == ["well"]
    assert site.rows == rows


def test_without_a_night_there_is_nothing_to_hand_over(site: Site) -> None:
    site.move_in()
    assert "No night is open" in site.get("/hand-over").text
    key = site.act(lambda house: house.ids.new())
    assert site.post("/hand-over", {"key": key, "to": TOVE}).status == 409


def test_this_computer_holds_the_night_already(site: Site) -> None:
    site.open_night()
    assert not [form for form in site.get("/hand-over").forms if form.action == "/hand-over/here"]
    rows = site.rows
    key = site.act(lambda house: house.ids.new())
    assert site.post("/hand-over/here", {"key": key, "words": "x"}).status == 409
    assert site.rows == rows


def test_another_computer_takes_the_night_over_with_a_reason_and_every_check_is_open_again(
    site: Site,
) -> None:
    site.set_up()
    assert not site.desk.bars
    entries = site.act(lambda house: list(house.store.after(0)))
    household = site.act(lambda house: house.household)
    other = Site(site.clock.now().at)
    try:

        def receive(house: House) -> None:
            house.household = household
            house.take_in(entries)

        other.act(receive)
        page = other.get("/hand-over")
        assert "Another computer has this night" in page.text
        assert "/hand-over" in other.get("/").links
        rows = other.rows
        assert other.fill(page, "/hand-over/here", words=" ").status == 409
        assert other.rows == rows
        assert other.fill(page, "/hand-over/here", words="the tablet is flat").status == 303
        desk = other.desk
        assert desk.scene.holder is not None
        assert desk.scene.holder[0] == desk.writer
        assert len(desk.bars) > 10
        assert "This computer holds the night." in other.get("/hand-over").text
    finally:
        other.close()
