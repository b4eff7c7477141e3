"""The page about the water, and its forms as a person fills them in."""

from __future__ import annotations

import pytest

from ebbwell.deeds import setup, water, water_plant
from ebbwell.deeds.people import enter_person
from ebbwell.rulebook.water_lists import load_water_lists
from ebbwell.science.water_report import WaterLimit
from ebbwell.state.water import reports
from tests.web.site import Seen, Site

REPORT = {"laboratory": "Invented laboratory", "sampled_on": "2026-04-01", "port": "after the membrane"}
SAMPLE = {
    "fluid": "fluid_standard",
    "list": "international",
    "drawn_at": "line in",
    "sampled_on": "2026-04-01",
    "read_on": "2026-04-08",
}
PLANT = {
    "feed_flow": "0.6",
    "carbon1": "4",
    "carbon2": "4",
    "feed_chlorine_least": "<0.5",
    "feed_chlorine_most": "1.2",
    "hardness": "250 mg/L CaCO3",
    "softener": "500",
    "recovery": "50",
    "other_water": "40",
    "price": "2",
}


@pytest.fixture
def home(site: Site) -> Site:
    """Moved in, with nothing of the water on record."""
    site.move_in()
    return site


def enter(site: Site, form: str, **typed: str) -> Seen:
    """Fill a form in and send it."""
    return site.fill(site.get(f"/water/{form}"), f"/water/{form}", **typed)


def test_what_is_not_known_is_shown_as_not_known(home: Site) -> None:
    text = home.get("/water").text
    for words in (
        "No report is on record. What the water holds is not known.",
        "Total chlorine after tank 1: no test on record.",
        "Not known. It takes the feed flow, or the share of the feed that becomes product.",
        "How much carbon is in tank 1: not known.",
        "When tank 1 was changed: not known.",
        "Feed: not known. It takes the share of the feed that becomes product.",
        "Not known: no night with both conductivities is on record.",
        "Microbes in the fluid: none on record, so it is due. Every 31 days, until your unit says another time.",
    ):
        assert words in text


@pytest.mark.source(
    "fluids:W1", detail="22-item list of ISO 23500-3:2019, each line at its limit and 1 % over it"
)
@pytest.mark.parametrize(
    "limit", load_water_lists().chemical_list("international"), ids=lambda limit: limit.item
)
def test_each_line_of_the_list_through_the_page(home: Site, limit: WaterLimit) -> None:
    typed = {**REPORT, "unit": "mg/L"}
    if limit.item == "nitrate":
        typed["form.nitrate"] = "as nitrogen"
    at = enter(home, "report", **typed, **{f"line.{limit.item}": str(limit.most)})
    assert at.status == 303
    assert "1 lines, none over its limit on the international list." in home.get("/water").text
    over = {**typed, "sampled_on": "2026-04-02", f"line.{limit.item}": f"{limit.most * 101 / 100:f}"}
    assert enter(home, "report", **over).status == 303
    text = home.get("/water").text
    assert "It fails." in text
    assert "on the international list is" in text
    assert "Call the unit." in text
    assert "The water report of 2 April 2026 (after the membrane) fails." in home.get("/").text


def test_a_slip_stands_beside_its_field_and_what_was_typed_stays(home: Site) -> None:
    rows = home.rows
    typed = {**REPORT, "unit": "mg/L", "line.lead": "0.004", "line.copper": "0,0,2", "line.nitrate": "1"}
    seen = enter(home, "report", **typed)
    assert seen.status == 409
    assert home.rows == rows
    assert "nitrate can be given in two ways" in seen.text
    assert "copper: Enter the number with one decimal mark" in seen.text
    form = seen.form("/water/report")
    assert form.fields["line.copper"] == ["0,0,2"]
    assert form.fields["line.lead"] == ["0.004"]
    assert form.fields["unit"] == ["mg/L"]


def test_micrograms_as_milligrams_are_asked_once_for_what_was_typed(home: Site) -> None:
    typed = {**REPORT, "unit": "mg/L", "line.copper": "5"}
    seen = enter(home, "report", **typed)
    assert seen.status == 409
    assert (
        "Far over the most: copper: 5 mg/L, and the most is 0.1 mg/L. As ug it would be 5 ug/L." in seen.text
    )
    other = home.fill(seen, "/water/report", **{"line.copper": "6"}, as_typed="yes")
    assert other.status == 409
    assert "copper: 6 mg/L" in other.text
    kept = home.fill(other, "/water/report", as_typed="yes")
    assert kept.status == 303
    (view,) = reports(home.desk.standing)
    assert view.body.asked == ("water_slip",)


def test_another_list_has_its_own_lines(home: Site) -> None:
    page = home.get("/water/report?list=united_kingdom")
    names = {name for name in page.form("/water/report").names if name.startswith("line.")}
    assert len(names) == 9
    typed = {**REPORT, "unit": "ug/L", "line.aluminium": "11"}
    assert home.fill(page, "/water/report", **typed).status == 303
    assert (
        "aluminium: 11 ug/L. The most on the list of the United Kingdom is 10 ug/L" in home.get("/water").text
    )
    stray = home.post("/water/report", {**typed, "list": "united_kingdom", "line.sulphate": "1"})
    assert stray.status == 409
    assert "sulphate is not on the list of the United Kingdom." in stray.text


@pytest.mark.source("fluids:W7", detail="dialysis fluid: action at 50 CFU/mL, below 100")
def test_a_count_at_the_action_level_stands_on_tonight_until_a_later_sample_is_under_it(home: Site) -> None:
    assert enter(home, "microbes", **SAMPLE, count="60").status == 303
    words = "Microbes in dialysis fluid, sample of 1 April 2026: 60 CFU/mL"
    assert f"{words}. That is not under the action level of 50 CFU/mL." in home.get("/").text
    later = {**SAMPLE, "sampled_on": "2026-04-11", "read_on": "2026-04-18", "count": "4"}
    assert enter(home, "microbes", **later).status == 303
    assert words not in home.get("/").text
    text = home.get("/water").text
    assert words in text
    assert "4 CFU/mL, under the limit of 100 CFU/mL on the international list." in text
    assert "Microbes in the fluid: last on 11 April 2026, due on 12 May 2026." in text


def test_what_the_unit_said_is_kept_with_the_result(home: Site) -> None:
    enter(home, "report", **REPORT, unit="mg/L", **{"line.lead": "0.006"})
    page = home.get("/water")
    typed = {"who": "Northmere Kidney Unit", "words": "Send a new sample."}
    assert home.fill(page, "/water/unit-said", **typed).status == 303
    text = home.get("/").text
    assert "Northmere Kidney Unit said: Send a new sample." in text
    assert "Look at this: The water report of 1 April 2026" in text
    blank = home.fill(home.get("/water"), "/water/unit-said", who="", words="")
    assert blank.status == 409


def test_contact_goes_by_the_feed_flow_and_the_usual_mistake_is_named(home: Site) -> None:
    assert enter(home, "set", **PLANT).status == 303
    text = home.get("/water").text
    assert "Feed flow 0.6" in text
    assert "Tank 1, 4 L of carbon: 6.66 min." in text
    assert "Both together: 13.33 min." in text
    assert "With the flow of the dialysis fluid it would look like 13.33 min, which is too long." in text


@pytest.mark.source(
    "fluids:1.8",
    detail="scenario: 135 L for the treatment and 40 L rinse is 175 L product, 350 L feed at 50 %, 175 L reject",
)
def test_litres_softener_and_cost_of_a_night(home: Site) -> None:
    enter(home, "set", **PLANT)
    text = home.get("/water").text
    for words in (
        "Product: 175.0 L.",
        "Feed: 350 L.",
        "Straight from the membrane to the drain: 175 L. With the used fluid: 350 L in all.",
        "Cost: 0.70, in the money of your price.",
        "A night takes 87.5 g CaCO3.",
        "That is 4 nights between two cleanings with salt, with 75 % of the softener counted on.",
    ):
        assert words in text


@pytest.mark.parametrize(
    ("form", "typed", "field", "words"),
    [
        (
            "set",
            {"hardness": "250"},
            "hardness",
            "Type the unit with the number: mg/L CaCO3 / dH / fH / grain/gal.",
        ),
        ("set", {"hardness": "250 ppm"}, "hardness", "250 ppm does not say what is counted."),
        (
            "report",
            {**REPORT, "unit": "mg/L", "line.nitrate": "8.5 as NO3", "form.nitrate": "as nitrate"},
            "line.nitrate",
            "Type the figure with its unit alone, like 8.5 mg/L.",
        ),
        (
            "report",
            {**REPORT, "unit": "mg/L", "line.nitrate": "8.5"},
            "line.nitrate",
            "Look at the report and pick one: as nitrogen or as nitrate.",
        ),
        (
            "microbes",
            {**SAMPLE, "count": "12 cfu"},
            "count",
            "The figure has to be in CFU/mL. Look at the paper, and type the number alone.",
        ),
        ("set", {"recovery": "105"}, "recovery", "enter a number from 5 to 95 %."),
        ("set", {"feed_flow": "0.6 bar"}, "feed_flow", "bar can't be changed to L/min"),
        ("set", {"feed_chlorine_most": "<0.1"}, "feed_chlorine_most", "without the sign for less than"),
        ("carbon", {"tank": "tank1", "on": "2026-04-30"}, "on", "this day is still to come"),
        ("carbon", {"tank": "tank1", "on": "2026-04-02", "carbon_l": "four"}, "carbon_l", "You typed four"),
        (
            "notice",
            {"what": "repair", "from_on": "2026-04-29", "told_by": ""},
            "told_by",
            "Fill in: Who told you.",
        ),
        (
            "notice",
            {"what": "repair", "from_on": "2026-04-29", "told_by": "card", "chlorine_most": "0.2"},
            "chlorine_most",
            "Enter a number from 0.02 to 0.10 mg/L. This can be made stricter only.",
        ),
        (
            "notice",
            {"what": "repair", "from_on": "2026-04-29", "until_on": "2026-04-28", "told_by": "card"},
            "until_on",
            'this is before "From"',
        ),
        (
            "filter",
            {"filter": "sediment", "unit": "bar", "changed": "no"},
            "pressure_in",
            "enter a number in bar",
        ),
        ("microbes", {**SAMPLE, "count": "lots"}, "count", "Enter just the number"),
        (
            "microbes",
            {**SAMPLE, "list": "japan", "count": "5"},
            "count",
            "There is no limit for it on the list of Japan",
        ),
    ],
)
def test_bad_input_says_what_to_do_at_its_label(
    home: Site, form: str, typed: dict[str, str], field: str, words: str
) -> None:
    rows = home.rows
    seen = enter(home, form, **typed)
    assert seen.status == 409
    assert words in seen.text
    assert f'href="#{field}"' in seen.html
    assert home.rows == rows
    for name, value in typed.items():
        assert seen.form(f"/water/{form}").fields.get(name) == [value]


@pytest.mark.source(
    "fluids:1.4", detail="flow is the feed flow, not product, not dialysate flow: the usual mistake"
)
def test_a_feed_flow_of_the_dialysis_fluid_is_asked_about(home: Site) -> None:
    seen = enter(home, "set", feed_flow="300 mL/min")
    assert seen.status == 409
    assert "The dialysis fluid runs at 300 mL/min, and the feed is always more than that." in seen.text
    assert home.fill(seen, "/water/set", as_typed="yes").status == 303


def test_the_plant_shows_what_stands_and_hardness_keeps_its_unit(home: Site) -> None:
    enter(home, "set", hardness="14", hardness_unit="dH")
    text = home.get("/water").text
    assert "249.872 mg/L CaCO3" in text
    assert home.get("/water/set").form("/water/set").fields["hardness"] == ["249.872 mg/L CaCO3"]
    assert enter(home, "set", feed_flow="0.7").status == 303
    assert len(home.desk.standing.of("water_set")) == 1


def test_a_filter_is_held_against_its_clean_drop(home: Site) -> None:
    look = {
        "filter": "sediment",
        "unit": "bar",
        "pressure_in": "3.2",
        "pressure_out": "3.0",
        "changed": "yes",
    }
    assert enter(home, "filter", **look).status == 303
    assert "Sediment filter: drop 0.20 bar on 29 April 2026. Clean it was 0.20 bar" in home.get("/water").text
    full = {**look, "pressure_out": "2.5", "changed": "no"}
    assert enter(home, "filter", **full).status == 303
    assert "The drop over the sediment filter is up by 0.5 bar or more." in home.get("/water").text
    fallen = {**look, "unit": "psi", "pressure_in": "45", "pressure_out": "44", "changed": "no"}
    assert enter(home, "filter", **fallen).status == 303
    assert "is less than half of its clean drop." in home.get("/water").text
    crossed = enter(home, "filter", **{**look, "pressure_in": "3.0", "pressure_out": "3.2"})
    assert crossed.status == 409
    assert "Did the two change places?" in crossed.text


@pytest.mark.source("arithmetic", detail="0.2 x e^(b (1/281.15 - 1/298.15)), b 2700 and 3000: 0.346 to 0.368")
def test_flow_is_brought_to_25_and_hardness_behind_the_softener_is_judged(home: Site) -> None:
    look = {"filter": "sediment", "unit": "bar", "pressure_in": "3.2", "pressure_out": "3.0", "changed": "no"}
    enter(home, "filter", **look, product_l_min="0.2", water_c="8", hardness_after="1.2 grain/gal")
    text = home.get("/water").text
    assert "0.2 L/min at 8 C. At 25 C that is 0.346 to 0.368 L/min." in text
    assert "Hardness is over 17 mg/L CaCO3." in text
    enter(home, "filter", **look, hardness_after="<10", hardness_after_unit="mg/L CaCO3")
    assert "Behind the softener: <10 mg/L CaCO3" in home.get("/water").text


def test_a_notice_asks_for_more_tests_and_only_tightens(home: Site) -> None:
    typed = {"what": "boil", "from_on": "2026-04-28", "until_on": "2026-04-29", "told_by": "card at the door"}
    assert enter(home, "notice", **typed).status == 303
    text = home.get("/").text
    told = "Notice of the water supplier, from 28 April 2026 on (told by card at the door)"
    assert f"{told}: boil the water before you drink it." in text
    assert "Boiled water is not dialysis water." in text
    assert "Test total chlorine and read both conductivities each night until 13 May 2026." in text
    entry = home.desk.standing.of("water_notice")[0].id
    again = home.get(f"/water/notice?instead={entry}")
    assert again.form("/water/notice").fields["told_by"] == ["card at the door"]
    assert (
        home.fill(again, "/water/notice", what="do_not_use", until_on="", chlorine_most="0.02").status == 303
    )
    text = home.get("/").text
    assert f"Not yet: {told}: do not use the water." in text
    assert "Its end is not known." in text
    assert "Call your unit before you open a pack." in text


def test_a_test_over_the_line_of_a_notice_is_told_though_the_step_is_done(site: Site) -> None:
    site.set_up()
    assert site.desk.gate_open
    typed = {"what": "repair", "from_on": "2026-04-28", "told_by": "card", "chlorine_most": "0.02"}
    assert enter(site, "notice", **typed).status == 303
    assert "Total chlorine after tank 1 is 0.03 mg/L. While the supplier's notice lasts" in site.get("/").text
    assert site.desk.gate_open


@pytest.mark.source("fluids:1.3", detail="a change of carbon makes the test stale")
def test_changed_carbon_reopens_the_chlorine_test_of_a_night(site: Site) -> None:
    site.set_up()
    assert enter(site, "carbon", tank="tank1", on="2026-04-29", carbon_l="4").status == 303
    assert not site.desk.gate_open
    assert {"S5", "S5b"} & {bar.step for bar in site.desk.bars}
    assert "Tank 1 was changed on 29 April 2026. Nights since then: 0." in site.get("/water").text


def test_the_clinic_reads_and_finds_no_form(home: Site) -> None:
    home.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    home.who = "ann"
    assert "/water/report" not in home.get("/water").links
    assert home.get("/water/report").forms == [] or all(
        f.action != "/water/report" for f in home.get("/water/report").forms
    )
    assert home.get("/water/nothing").status == 404


def test_every_entry_can_be_opened_and_words_put_right(home: Site) -> None:
    done = home.do(
        water.enter_report, typed={**REPORT, "list": "international", "unit": "mg/L", "line.lead": "0.001"}
    )
    page = home.get(f"/entry/{done.entries[0]}")
    assert "Water report of Invented laboratory, sample of 1 April 2026" in page.text
    fixed = home.fill(
        page, f"/entry/{done.entries[0]}", **{"change.port": "before the membrane"}, reason="slip"
    )
    assert fixed.status == 303
    assert "before the membrane" in home.get("/water").text
    for deed, typed in (
        (water.enter_microbes, {**SAMPLE, "count": "TNTC"}),
        (
            water_plant.change_carbon,
            {"tank": "tank2", "on": "2026-04-02", "rated_mg": "40000", "use_by": "2026-09-01"},
        ),
        (water_plant.set_plant, PLANT),
    ):
        entry = home.do(deed, typed=typed).entries[0]
        assert home.get(f"/entry/{entry}").status == 200


def test_a_called_off_evening_is_in_the_row_of_chlorine(site: Site) -> None:
    site.until("S5")
    site.do(
        setup.measure,
        quantity="total_chlorine",
        place="tank1",
        typed="0.13",
        method="meter",
        sure=("outside_asked",),
    )
    assert "Total chlorine after tank 1: 0.13 mg/L" in site.get("/water").text


@pytest.mark.source("fluids:1.1", detail="nitrate as nitrate x 14.007/62.005")
def test_a_figure_in_another_form_or_unit_stands_beside_the_one_on_the_paper(home: Site) -> None:
    typed = {
        **REPORT,
        "unit": "mg/L",
        "form.nitrate": "as nitrate",
        "line.nitrate": "9",
        "line.lead": "6 ug/L",
    }
    assert enter(home, "report", **typed).status == 303
    text = home.get("/water").text
    assert "Lead: 6 ug/L (0.006 mg/L). That is over 0.005 mg/L." in text
    assert "Nitrate: 9 mg/L as nitrate (2.03311 mg/L as nitrogen). That is over 2 mg/L as nitrogen." in text


def test_what_stands_open_is_told_at_the_first_questions_and_beside_the_water_tests(home: Site) -> None:
    enter(home, "notice", what="repair", from_on="2026-04-28", told_by="card")
    home.do(setup.open_night)
    assert "(told by card): a repair of the mains." in home.get(home.get("/setup").to).text


def test_everything_written_down_can_be_found_and_typed_again(home: Site) -> None:
    typed = {"tank": "tank1", "on": "2026-04-02", "carbon_l": "4", "lot": "C7"}
    assert enter(home, "carbon", **typed).status == 303
    look = {
        "filter": "sediment",
        "unit": "bar",
        "pressure_in": "3.2",
        "pressure_out": "3.0",
        "changed": "yes",
    }
    enter(home, "filter", **look, hardness_after="10 mg/L CaCO3")
    page = home.get("/water")
    assert "Entries: 2" in page.text
    for form, kept in (("carbon", typed), ("filter", {**look, "hardness_after": "10 mg/L CaCO3"})):
        (to,) = {one for one in page.links if one.startswith(f"/water/{form}?instead=")}
        again = home.get(to)
        for name, value in kept.items():
            assert again.form(f"/water/{form}").fields[name] == [value]
        assert home.fill(again, f"/water/{form}", words="typed again").status == 303
    assert "Entries: 2" in home.get("/water").text


def test_a_report_begins_with_the_households_own_list(home: Site) -> None:
    enter(home, "set", list="united_kingdom")
    assert home.get("/water/report").form("/water/report").fields["list"] == ["united_kingdom"]


def test_more_entries_than_a_screen_holds_are_one_link_away(home: Site) -> None:
    look = {"filter": "sediment", "unit": "bar", "pressure_in": "3.2", "pressure_out": "3.0", "changed": "no"}
    for _ in range(13):
        home.do(water_plant.enter_filter, typed=look)
    page = home.get("/water")
    assert "Entries: 13" in page.text
    assert sum(one.startswith("/water/filter?instead=") for one in page.links) == 12
    every = home.get("/water?written=all")
    assert sum(one.startswith("/water/filter?instead=") for one in every.links) == 13


LINE = {
    "list": "international",
    "item": "lead",
    "unit": "mg/L",
    "most": "0.002",
    "again": "0.002",
    "stands_in": "sheet of May",
    "allowed_by": "Sister Quill",
    "how": "written",
}


@pytest.mark.hazard("H67")
def test_the_units_own_line_stands_on_the_page_of_limits_and_in_the_form_of_a_report(home: Site) -> None:
    page = enter(home, "line", **{**LINE, "most": "0.006", "again": "0.006", "allowed_by": ""})
    assert "the list says 0.005 mg/L. Your unit can set it lower, not higher." in page.text
    assert 'value="sheet of May"' in page.html
    assert not home.desk.standing.of("water_line_set")
    enter(home, "line", **LINE)
    enter(home, "line", **{**LINE, "item": "another", "name": "Boron", "most": "0.3", "again": "0.3"})
    text = home.get("/limits").text
    for words in (
        "lead: set to 0.002 mg/L by your unit. It stands in: sheet of May. Allowed by Sister Quill, in writing",
        "A line that your unit added.",
    ):
        assert words in text
    assert "Boron" in home.get("/water/report").text
    enter(home, "report", **{**REPORT, "unit": "mg/L", "line.lead": "0.003", "line.own.Boron": "0.2"})
    assert "lead 0.003 mg/L" in home.get("/water").text
    assert "0.002 mg/L" in home.get("/water").text
    page = enter(home, "line", **{**LINE, "most": "0.004", "again": "0.004"})
    assert "This is less strict than 0.002 mg/L, which holds now." in page.text


def test_a_stand_in_sets_no_line(home: Site) -> None:
    home.who = "tove"
    assert "/water/line" not in home.get("/limits").links
    home.post("/water/line", LINE)
    assert not home.desk.standing.of("water_line_set")


@pytest.mark.source(
    "fluids:1.5",
    detail="feed 620, product 12 uS/cm: R = 98.06 %; at 50 % recovery (1 - 0.5 x 0.0194) / 0.5 = 1.98 times the feed",
)
def test_what_the_membrane_sends_away_is_told_with_recovery_and_rejection(home: Site) -> None:
    home.set_up()
    assert "sends away holds" not in home.get("/water").text
    enter(home, "set", recovery="50")
    assert "With 50 % of the feed made into product, what the membrane sends away holds 1.98 times" in (
        home.get("/water").text
    )
