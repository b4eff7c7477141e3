"""The page of bloods, and its forms as a person fills them in."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from ebbwell.deeds import bloods
from ebbwell.deeds.people import enter_person
from ebbwell.journal.kinds.bloods import BloodResult
from ebbwell.rulebook.substances import load_substances
from ebbwell.state.bloods import blood_results
from tests.web.site import Seen, Site

PAPER = {"sampled_on": "2026-04-27", "drawn": "before", "laboratory": "Northmere laboratory"}


@pytest.fixture
def home(site: Site) -> Site:
    """Moved in, with no bloods on record."""
    site.move_in()
    return site


def enter(site: Site, form: str = "result", **typed: str) -> Seen:
    """Fill a form in and send it."""
    return site.fill(site.get(f"/bloods/{form}"), f"/bloods/{form}", **typed)


def result(site: Site, **typed: str) -> Seen:
    return enter(site, **PAPER, **typed)


def held(site: Site) -> BloodResult:
    return blood_results(site.desk.standing)[0].body


def test_with_nothing_entered_the_page_says_so(home: Site) -> None:
    page = home.get("/bloods")
    assert page.status == 200
    assert "No result was entered yet." in page.text
    assert "/bloods/result" in page.links


def test_a_figure_stands_with_unit_age_range_and_target(home: Site) -> None:
    seen = result(
        home, value__phosphate="1,7", unit__phosphate="mmol/L", low__phosphate="0.8", high__phosphate="1.5"
    )
    assert (seen.status, seen.to) == (303, "/bloods?saved=result&kept=bloods-result")
    target = {"substance": "phosphate", "unit": "mmol/L", "low": "1.1", "high": "1.8", "giver": "home team"}
    assert enter(home, "target", **target, given_on="2026-01-05").status == 303
    text = home.get("/bloods?saved=target").text
    for words in (
        "What the clinic wants was kept.",
        "Phosphate 1.7 mmol/L Drawn on 27 April 2026, before a night, 2 days ago.",
        "The range on the paper of Northmere laboratory is 0.8 to 1.5 mmol/L.",
        "Your clinic wants 1.1 to 1.8 mmol/L before a night (home team, 5 January 2026).",
        "Units mostly ask for a call under 0.8 mmol/L before a night (common practice, no source).",
    ):
        assert words in text
    for never in ("normal", "good", "fine", "too high", "too low"):
        assert f" {never} " not in text


@pytest.mark.parametrize("address", ["/bloods", "/review/adequacy", "/review/outlook", "/review/questions"])
def test_a_page_for_the_clinic_says_on_paper_whose_it_is_and_of_which_day(home: Site, address: str) -> None:
    assert "On dialysis: Ilka Venn. As it stood on 29 April 2026." in home.get(address).text


def test_what_is_odd_about_a_result_stands_right_below_the_word_that_it_was_kept(home: Site) -> None:
    for day in ("2026-04-27", "2026-03-30", "2026-04-13", "2026-04-20"):
        head = {**PAPER, "sampled_on": day}
        assert enter(home, **head, value__potassium="4.5", unit__potassium="mmol/L").status == 303
    older = enter(
        home,
        **{**PAPER, "sampled_on": "2026-02-02", "drawn": "after"},
        value__urea="4.1",
        unit__urea="mmol/L",
    )
    kept = home.get(older.to).text.partition("Enter something")[0]
    assert "The result was kept. Drawn on 2 February 2026" in kept
    assert "It belongs to no night" in kept
    assert "It belongs to no night" not in home.get("/bloods").text.partition("Enter something")[0]


def test_two_results_make_a_picture_with_words_and_a_table(home: Site) -> None:
    for day, value in (("2026-03-02", "<1.6"), ("2026-03-30", "1.8"), ("2026-04-27", "1.7")):
        head = {**PAPER, "sampled_on": day}
        assert enter(home, **head, value__phosphate=value, unit__phosphate="mmol/L").status == 303
    page = home.get("/bloods")
    assert page.html.count('aria-labelledby="phosphate-') == 2
    assert "phosphate: 3 figures" in page.html
    assert "Phosphate in numbers: 3" in page.text
    assert "< 1.6 mmol/L" in page.text


def test_a_figure_with_a_sign_has_its_own_mark_in_the_picture(home: Site) -> None:
    for day, value in (("2026-03-02", "700"), ("2026-04-27", ">800")):
        head = {**PAPER, "sampled_on": day}
        assert enter(home, **head, value__ferritin=value, unit__ferritin="ug/L").status == 303
    page = home.get("/bloods")
    assert "> 800 ug/L" in page.text
    assert "more than" in page.text


def test_every_substance_has_its_picture(home: Site) -> None:
    for day in ("2026-03-30", "2026-04-27"):
        typed = {**PAPER, "sampled_on": day}
        for name, known in load_substances().items():
            typed |= {f"value.{name}": f"{(known.ask_low + known.ask_high) / 2}", f"unit.{name}": known.unit}
        assert enter(home, **typed).status == 303
    page = home.get("/bloods")
    assert page.status == 200
    assert page.html.count("<svg") == 2 * len(load_substances())


def test_figures_in_two_units_share_the_newer_one(home: Site) -> None:
    first = {**PAPER, "sampled_on": "2026-03-30"}
    assert enter(home, **first, value__urea="61", unit__urea="mg/dL as nitrogen").status == 303
    assert result(home, value__urea="20.5", unit__urea="mmol/L").status == 303
    page = home.get("/bloods")
    assert "61 mg/dL urea nitrogen (BUN) (21.8 mmol/L)" in page.text
    (words,) = set(re.findall(r"<desc[^>]*>([^<]*)</desc>", page.html))
    assert words == (
        "30 March 2026, before a night: 61 mg/dL urea nitrogen (BUN) (21.8 mmol/L)."
        " 27 April 2026, before a night: 20.5 mmol/L. No target of your clinic is entered."
    )


def test_the_unit_that_came_last_stands_in_the_form(home: Site) -> None:
    assert "unit.urea" not in home.get("/bloods/result").form("/bloods/result").fields
    result(home, value__urea="61", unit__urea="mg/dL as nitrogen")
    fields = home.get("/bloods/result").form("/bloods/result").fields
    assert fields["unit.urea"] == ["mg/dL as nitrogen"]
    assert fields["unit.alkaline_phosphatase"] == ["U/L"]
    assert "unit.creatinine" not in fields


def test_a_slip_stands_beside_its_field_and_what_was_typed_stays(home: Site) -> None:
    rows = home.rows
    seen = result(home, value__urea="20", value__potassium="5,,1", unit__potassium="mmol/L")
    assert seen.status == 409
    assert home.rows == rows
    assert "Urea: pick the unit that stands on the paper" in seen.text
    assert "Potassium: Enter the number with one decimal mark" in seen.text
    fields = seen.form("/bloods/result").fields
    assert (fields["value.potassium"], fields["unit.potassium"]) == (["5,,1"], ["mmol/L"])
    assert (fields["value.urea"], fields["drawn"]) == (["20"], ["before"])


@pytest.mark.hazard("H28")
def test_urea_nitrogen_typed_as_urea_is_asked_once_for_what_was_typed(home: Site) -> None:
    seen = result(home, value__urea="60", unit__urea="mmol/L")
    assert seen.status == 409
    assert "Were it mg/dL urea nitrogen (BUN), that would make 21.4 mmol/L." in seen.text
    assert seen.html.count("that would make 21.4 mmol/L.") == 1, "said once, above the form"
    assert "#value.urea" in seen.links, "and leads to its figure"
    other = home.fill(seen, "/bloods/result", value__urea="61", as_typed="yes")
    assert other.status == 409
    assert "Urea: 61 mmol/L." in other.text
    assert home.fill(other, "/bloods/result", as_typed="yes").status == 303
    assert (held(home).lines[0].value, held(home).asked) == ("61", ("blood_unit_by_usual",))


def test_a_figure_far_out_is_asked_about_twice_over_and_kept(home: Site) -> None:
    seen = result(home, value__potassium="9.9", unit__potassium="mmol/L")
    assert "Mostly it lies between 3 mmol/L and 6.5 mmol/L." in seen.text
    assert "Potassium: look once more. Is it really 9.9 mmol/L?" in seen.text
    assert home.fill(seen, "/bloods/result", as_typed="yes").status == 303
    assert held(home).asked == ("blood_outside", "blood_far")


def test_a_call_stands_on_the_first_page_until_the_unit_s_word(home: Site) -> None:
    seen = result(home, value__potassium="6.8", unit__potassium="mmol/L")
    home.fill(seen, "/bloods/result", as_typed="yes")
    words = "Potassium was 6.8 mmol/L on 27 April 2026. Units ask for a call over 6.5 mmol/L"
    first = home.get("/").text
    assert f"Call now: {words}" in first, "never Not yet: dialysis may be what helps"
    assert f"Not yet: {words}" not in first
    page = home.get("/bloods")
    assert words in page.text
    empty = home.fill(page, "/bloods/unit-said", who="", words="Again on Friday.")
    assert empty.status == 409
    assert "Again on Friday." in empty.html
    kept = home.fill(empty, "/bloods/unit-said", who="home team")
    assert kept.to == "/bloods?saved=word&kept=bloods-word"
    assert words not in home.get("/").text
    text = home.get("/bloods").text
    assert "About this sample home team said: Again on Friday." in text


def test_the_units_of_a_target_are_written_as_the_paper_has_them(home: Site) -> None:
    seen = enter(home, "target", substance="phosphate", low="1.1")
    assert "<span>mmol/L</span>" in seen.html, "Mmol would be another unit"
    assert "Mmol" not in seen.html


def test_the_page_of_a_result_leads_to_typing_it_again_and_back_to_bloods(home: Site) -> None:
    result(home, value__potassium="4.5", unit__potassium="mmol/L")
    first = home.desk.standing.of("blood_result")[0].id
    page = home.get(f"/entry/{first}")
    assert f"/bloods/result?instead={first}" in page.links
    assert "/bloods" in page.links
    assert "When it was so" not in page.text, "the day of drawing is typed again with the rest"
    seen = home.fill(page, f"/entry/{first}/back", reason="typed twice")
    page = home.get(seen.to)
    assert "It was taken back, and stays in sight." in page.text
    assert "Something newer stands in its place" not in page.text
    assert "/bloods" in page.links
    assert f"/bloods/result?instead={first}" not in page.links


def test_a_result_is_put_right_by_typing_it_again(home: Site) -> None:
    result(home, value__urea="20.5", unit__urea="mmol/L", low__urea="2.5", high__urea="7.8")
    first = home.desk.standing.of("blood_result")[0].id
    page = home.get(f"/bloods/result?instead={first}")
    assert page.form("/bloods/result").fields["value.urea"] == ["20.5"]
    assert home.fill(page, "/bloods/result", value__urea="21.5").status == 303
    (fact,) = home.desk.standing.of("blood_result")
    assert isinstance(fact.body, BloodResult)
    assert (fact.body.lines[0].value, fact.body.lines[0].high) == ("21.5", "7.8")


def test_urine_dialyser_and_body_are_kept_and_told(home: Site) -> None:
    assert (
        enter(
            home,
            "urine",
            ended_on="2026-04-27",
            hours="24",
            volume_ml="250",
            value__urea="90",
            unit__urea="mmol/L",
        ).status
        == 303
    )
    page = home.get("/bloods/dialyser")
    assert page.form("/bloods/dialyser").fields["dialyser"] == ["D-18"]
    leaflet = {"blood_flow": "300", "fluid_flow": "500", "clearance.urea": "266", "stands_in": "leaflet"}
    assert home.fill(page, "/bloods/dialyser", **leaflet).status == 303
    assert enter(home, "body", height_cm="168", born="1964", water_by="woman").status == 303
    assert home.get("/bloods/body").form("/bloods/body").fields["height_cm"] == ["168"]
    text = home.get("/bloods").text
    for words in (
        "Urine of 24 h, ended on 27 April 2026: 250 mL. Urea 90 mmol/L",
        "Leaflet of D-18, at blood flow 300, dialysis fluid 500, removal 0 mL/min: urea 266 mL/min.",
        "Height 168 cm, born 1964. Formula for a woman",
    ):
        assert words in text


def test_a_sample_at_the_end_belongs_to_its_night_and_says_how_it_was_drawn(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=9))
    (night,) = site.desk.past
    head = {"sampled_on": "2026-04-30", "drawn": "after", "night": night, "slowed": "not_slowed"}
    page = site.get("/bloods/result")
    assert site.fill(page, "/bloods/result", **head, value__urea="4", unit__urea="mmol/L").status == 303
    text = site.get("/bloods").text
    assert "The blood flow was not slowed for it." in text
    assert "It belongs to the night of 29 April 2026." in text
    assert "There is no urea from before this night." in text


def test_a_reader_at_the_clinic_sees_the_page_and_enters_nothing(home: Site) -> None:
    home.do(bloods.set_body_figures, typed={"height_cm": "168", "born": "1964"})
    home.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    home.who = "ann"
    page = home.get("/bloods")
    assert page.status == 200
    assert "/bloods/result" not in page.links
    actions = {form.action for form in home.get("/bloods/result").forms}
    assert "/bloods/result" not in actions


def test_a_form_that_is_none_says_so(home: Site) -> None:
    assert home.get("/bloods/tea").status == 404
    assert home.post("/bloods/tea", {"key": ""}).status == 404


FOUR = ("/bloods", "/review/adequacy", "/review/outlook", "/review/questions")
"""The pages about bloods."""


@pytest.mark.parametrize("here", FOUR)
def test_each_page_about_bloods_ends_with_links_to_the_others(home: Site, here: str) -> None:
    end = home.get(here).html.partition('id="more"')[2]
    found = [link for link in re.findall(r'href="(/[^"#?]*)"', end) if link in FOUR]
    assert found == [one for one in FOUR if one != here]


def test_a_target_in_a_unit_of_something_else_keeps_the_unit_and_names_those_that_fit(home: Site) -> None:
    target = {"substance": "phosphate", "unit": "g/L", "low": "1.1", "giver": "home team"}
    seen = enter(home, "target", **target, given_on="2026-01-05")
    assert seen.status == 409
    assert "Unit: phosphate doesn't come in g/L. Pick one of these: mmol/L / mg/dL." in seen.text
    assert seen.form("/bloods/target").fields["unit"] == ["g/L"]


def test_a_height_in_feet_is_told_the_unit_to_type(home: Site) -> None:
    seen = enter(home, "body", height_cm="5 ft 6", born="1964")
    assert seen.status == 409
    assert "Height: 5 ft 6 can't be read here. Enter a number in cm." in seen.text
    assert seen.form("/bloods/body").fields["height_cm"] == ["5 ft 6"]
