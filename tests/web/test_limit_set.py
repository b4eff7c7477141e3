"""The page of one limit: its form, what it refuses, who may use it, and what the list of limits says afterwards."""

from __future__ import annotations

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import setup
from ebbwell.deeds.limits import change_limit
from ebbwell.deeds.units import choose_units
from ebbwell.journal.kinds.house import LimitChanged
from ebbwell.rulebook.load import load_rulebook
from ebbwell.sim.elsewhere import written_elsewhere
from tests.web.site import Seen, Site

GOOD = {
    "typed": "0.05",
    "again": "0.05 mg/L",
    "reason": "on the sheet of May",
    "allowed_by": "Sister Quill",
    "how": "written",
}


def keep(site: Site, limit: str = "chlorine", **typed: str) -> Seen:
    page = site.get(f"/limits/{limit}")
    return site.fill(page, f"/limits/{limit}", **{**GOOD, **typed})


def row(site: Site, limit: str) -> str:
    """What the list says of one limit."""
    text = site.get("/limits").text
    start = text.index(say(f"limit.{limit}"), text.index(say("web.limits.all")))
    return text[start : start + 700]


def test_a_limit_is_set_and_both_figures_stand_on_record(site: Site) -> None:
    site.move_in()
    assert keep(site).to.startswith("/limits")
    assert site.desk.rulebook.limit("chlorine").value == site.desk.rulebook.limit("chlorine_rising").value
    words = row(site, "chlorine")
    assert "Set to 0.05 mg/L by Bram Venn on 29 April 2026: on the sheet of May" in words
    assert "Sister Quill" in words
    assert "The list that comes with Ebbwell now says 0.10 mg/L" in words


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"again": "0.06"}, "0.06"),
        ({"typed": "0.2", "again": "0.2"}, "0.02 mg/L"),
        ({"typed": "a bit"}, "a bit"),
        ({"reason": " "}, ""),
        ({"allowed_by": ""}, ""),
        ({"how": ""}, ""),
        ({"typed": "0.10", "again": "0.10"}, "0.10 mg/L"),
    ],
    ids=lambda value: "-".join(value) if isinstance(value, dict) else "",
)
@pytest.mark.hazard("H67")
def test_what_cannot_be_taken_is_said_and_stays_typed(site: Site, typed: dict[str, str], words: str) -> None:
    site.move_in()
    rows = site.rows
    page = keep(site, **typed)
    assert page.status == 409
    assert site.rows == rows
    assert say("web.not_kept") in page.text
    assert words in page.text
    again = page.form("/limits/chlorine").fields
    assert {name: again[name][0] for name in ("typed", "again", "reason", "allowed_by")} == {
        name: value for name, value in {**GOOD, **typed}.items() if name != "how"
    }


@pytest.mark.hazard("H6")
@pytest.mark.source("arithmetic", detail="(100.4 - 32) x 5 / 9 = 38.0 C; 38.5 x 9 / 5 + 32 = 101.3 F")
def test_the_form_takes_a_figure_in_the_unit_of_the_home_and_says_both(site: Site) -> None:
    site.move_in()
    site.do(choose_units, weight="lb", temperature="F", glucose="mg/dL")
    page = site.get("/limits/fluid_temperature_stop")
    assert '<span id="typed-unit">F</span>' in page.html
    low = keep(site, "fluid_temperature_stop", typed="38", again="38")
    assert low.status == 409
    assert "99.5 F (37.5 C) to 101.3 F (38.5 C)" in low.text
    assert keep(site, "fluid_temperature_stop", typed="100.4", again="100.4").status == 303
    assert "Set to 100.4 F (38.0 C) by Bram Venn" in row(site, "fluid_temperature_stop")
    assert '<span id="typed-unit">mg/dL</span>' in site.get("/limits/glucose_low").html


def test_the_same_form_twice_makes_one_entry(site: Site) -> None:
    site.move_in()
    page = site.get("/limits/chlorine")
    assert site.fill(page, "/limits/chlorine", **GOOD).status == 303
    rows = site.rows
    assert site.fill(page, "/limits/chlorine", **GOOD).status == 303
    assert site.rows == rows


@pytest.mark.parametrize(("who", "may"), [("bram", True), ("ilka", True), ("tove", False), ("ann", False)])
def test_who_may_set_a_limit(site: Site, who: str, may: bool) -> None:
    site.move_in()
    site.who = who
    page = site.get("/limits/chlorine")
    assert page.status == 200
    assert ("/limits/chlorine" in {form.action for form in page.forms}) is may
    sent = site.post("/limits/chlorine", GOOD)
    assert (sent.status == 303) is may
    assert (site.desk.rulebook.limit("chlorine").value != load_rulebook().limit("chlorine").value) is may


def test_a_fixed_limit_has_no_form_and_takes_nothing(site: Site) -> None:
    site.move_in()
    assert "/limits/heparin_factor" not in {form.action for form in site.get("/limits/heparin_factor").forms}
    rows = site.rows
    sent = site.post("/limits/heparin_factor", {**GOOD, "typed": "5", "again": "5"})
    assert sent.status == 409
    assert site.rows == rows


def test_a_limit_of_the_household_asks_for_no_name(site: Site) -> None:
    site.move_in()
    page = site.get("/limits/expiry_near")
    assert "allowed_by" not in page.form("/limits/expiry_near").names
    sent = site.fill(page, "/limits/expiry_near", typed="60", again="60", reason="slow post")
    assert sent.status == 303
    assert "Set to 60 days by Bram Venn" in row(site, "expiry_near")


def test_a_looser_figure_waits_and_the_page_says_so(site: Site) -> None:
    site.move_in()
    assert keep(site, "systolic_low", typed="120", again="120").status == 303
    site.do(setup.open_night)
    assert keep(site, "systolic_low", typed="105", again="105").status == 303
    assert site.desk.rulebook.limit("systolic_low").value == 120
    assert "From the next night on: 105 mmHg" in site.get("/limits/systolic_low").text


def test_two_figures_made_apart_are_both_shown(site: Site) -> None:
    site.move_in()
    site.do(
        change_limit,
        limit="systolic_low",
        typed="110",
        again="110",
        reason="one",
        allowed_by="Sister Quill",
        how="phone",
    )
    other = LimitChanged(limit="systolic_low", value="105", unit="mmHg", reason="elsewhere")
    site.act(lambda house: house.take_in([written_elsewhere(house, None, other)]))
    text = site.get("/limits/systolic_low").text
    assert say("web.limits.two") in text
    assert "Set to 110 mmHg" in text
    assert "Set to 105 mmHg" in text
    assert text.index("110 mmHg") < text.index("Set to")


def test_a_limit_that_is_none(site: Site) -> None:
    site.move_in()
    assert site.get("/limits/moon").status == 404
    assert site.post("/limits/moon", GOOD).status in (404, 409)
