"""Steps in the household's own words and order: more can be asked for, never less."""

from __future__ import annotations

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import setup
from ebbwell.deeds.comeoff import call_off
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.own import own_procedure
from ebbwell.state.standing import adopted_steps
from tests.web.site import Seen, Site

SHIPPED = load_procedure()


def keep(site: Site, page: str, **typed: str) -> Seen:
    """Fill in the form of a page of steps."""
    return site.fill(site.get(page), page, **typed)


def test_a_step_is_worded_anew_and_reads_so_in_the_next_night(site: Site) -> None:
    site.move_in()
    page = site.get("/steps/S5")
    assert say("step.S5.how") in page.text
    assert "total chlorine, after tank 1" in page.text.casefold()
    assert "Holds for" in page.text
    assert page.form("/steps/S5").fields["step.S5.do"] == [""]
    answer = keep(site, "/steps/S5", step__S5__do="Green cupboard: chlorine,\r\nafter tank 1.")
    assert answer.status == 303
    assert "Green cupboard: chlorine, after tank 1." in site.get("/steps").text
    assert "your own words" in site.get("/steps").text
    site.do(setup.open_night)
    assert site.desk.procedure.say("step.S5.do") == "Green cupboard: chlorine, after tank 1."
    assert site.desk.procedure.steps == SHIPPED.steps


def test_an_open_night_keeps_its_words_and_the_page_says_so(site: Site) -> None:
    site.open_night()
    assert say("finding.steps_from_next_night") not in site.get("/steps").text
    keep(site, "/steps/S5", step__S5__do="Chlorine after tank 1.")
    assert say("finding.steps_from_next_night") in site.get("/steps").text
    assert site.desk.procedure.say("step.S5.do") == say("step.S5.do")


def test_words_that_are_left_as_they_are_write_nothing(site: Site) -> None:
    site.move_in()
    rows = site.rows
    assert site.post("/steps/S5", site.get("/steps/S5").form("/steps/S5").fields).status == 303
    assert site.post("/steps/names", site.get("/steps").form("/steps/names").fields).status == 303
    assert site.post("/steps/order", site.get("/steps").form("/steps/order").fields).status == 303
    assert site.rows == rows


def test_braces_are_not_kept_and_stand_in_the_field(site: Site) -> None:
    site.move_in()
    rows = site.rows
    seen = keep(site, "/steps/S5", step__S5__do="test {this}")
    assert seen.status == 409
    assert say("enter.no_braces") in seen.text
    assert seen.form("/steps/S5").fields["step.S5.do"] == ["test {this}"]
    assert site.rows == rows


def test_a_part_gets_a_name_of_its_own_and_the_programs_again(site: Site) -> None:
    site.move_in()
    names = {f"bundle.{step.bundle}": "" for step in SHIPPED.steps if step.bundle}
    assert site.fill(site.get("/steps"), "/steps/names", bundle__packs="The blue box").status == 303
    assert "The blue box" in site.get("/steps").text
    assert site.post("/steps/names", names).status == 303
    assert "The blue box" not in site.get("/steps").text
    assert say("bundle.packs") in site.get("/steps").text


def test_the_set_up_goes_by_the_households_order(site: Site) -> None:
    site.move_in()
    page = site.get("/steps")
    places = {name: given for name, given in page.form("/steps/order").fields.items() if "place" in name}
    assert "place.needles_out" not in places, "the morning's order is not theirs to change"
    was, first = places["place.packs"][0], places["place.concentrates"][0]
    assert int(first) < int(was)
    moved = {"place__packs": first, "place__concentrates": was}
    assert site.fill(page, "/steps/order", **moved).status == 303
    ids = own_procedure(adopted_steps(site.desk.standing)).ids
    assert ids.index("S12") < ids.index("S9")
    assert set(ids) == set(SHIPPED.ids)
    assert site.get("/steps").form("/steps/order").fields["place.packs"] == [first]


@pytest.mark.hazard("H67")
@pytest.mark.source(
    "practice:e", detail="H67: a household's own procedure can't be weaker than the shipped one"
)
@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ('valid = "PT12H"', 'valid = "PT48H"'),
        ('"measured:total_chlorine@tank1"', '"tick"'),
        ('wants.ill = ["no"]', 'wants.ill = ["no", "yes"]'),
        ('[[step]]\nid = "S27"', '[[step]]\nid = "S99"'),
        ('second = "blind"', 'second = "none"'),
    ],
)
def test_a_text_that_asks_for_less_is_refused_and_nothing_is_written(
    site: Site, was: str, becomes: str
) -> None:
    site.move_in()
    assert was in SHIPPED.text
    rows = site.rows
    page = site.get("/steps/text")
    assert page.form("/steps/text").fields["text"][0].strip() == SHIPPED.text.strip()
    less = SHIPPED.text.replace(was, becomes).replace("\n", "\r\n")
    seen = site.fill(page, "/steps/text", text=less)
    assert seen.status == 409
    assert becomes.split("\n")[-1] in seen.form("/steps/text").fields["text"][0]
    assert site.rows == rows
    site.do(setup.open_night)
    assert site.desk.procedure.digest == SHIPPED.digest


def test_a_text_that_asks_for_more_is_taken_and_gone_back_from(site: Site) -> None:
    site.move_in()
    more = SHIPPED.text.replace('valid = "PT12H"', 'valid = "PT6H"', 1).replace("\n", "\r\n")
    assert site.fill(site.get("/steps/text"), "/steps/text", text=more).status == 303
    site.do(setup.open_night)
    assert site.desk.procedure.digest != SHIPPED.digest
    site.do(call_off, words="another day")
    page = site.get("/steps/text")
    assert "Go back to the steps of the program" in page.text
    assert site.post("/steps/text", {"back": "yes"}).status == 303
    site.do(setup.open_night)
    assert site.desk.procedure.digest == SHIPPED.digest


def test_who_may_not_word_the_steps_reads_them(site: Site) -> None:
    site.move_in()
    site.who = "tove"
    page = site.get("/steps/S5")
    assert say("step.S5.do") in page.text
    assert [form.action for form in page.forms if form.action.startswith("/steps")] == []
    assert "/steps/text" in site.get("/steps").links
    for path in ("/steps/S5", "/steps/order", "/steps/names", "/steps/text"):
        assert site.post(path, {}).status == 403


def test_a_step_that_is_none(site: Site) -> None:
    site.move_in()
    assert site.get("/steps/S99").status == 404
    assert site.post("/steps/S99", {"step.S99.do": "x"}).status == 404


def test_every_step_says_what_it_asks_for(site: Site) -> None:
    site.move_in()
    for step in SHIPPED.ids:
        assert site.get(f"/steps/{step}").status == 200, step
