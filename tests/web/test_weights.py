"""Weight and fluid for the clinic: figures and a table, nothing known from nothing, no verdict."""

from __future__ import annotations

from datetime import timedelta

from ebbwell.house import House
from tests.hazards.home import Home
from tests.web.site import Site


def test_without_a_night_it_says_so(site: Site) -> None:
    site.move_in()
    assert "No night has come to its end yet" in site.get("/weights").text


def test_nights_are_told_in_figures_and_each_leads_to_its_sheet(site: Site) -> None:
    site.move_in()
    treatments: list[str] = []

    def nights(house: House) -> None:
        home = Home(site.clock, house)
        for _ in range(6):
            treatments.append(home.whole_night())
            home.clock.pass_time(timedelta(hours=36))

    site.act(nights)
    page = site.get("/weights")
    assert "The last 6 nights in figures" in page.text
    assert "0 of 6 nights ended 1" in page.text
    assert "Gain between nights: 1.8 kg in the middle of 5 nights, 1.8 to 1.8 in eight of ten." in page.text
    assert "Gain as a share of the target: 2.8 %" in page.text
    assert "Cramps: written down in 0 of 6 nights." in page.text
    assert "Not known yet." in page.text
    assert [f"/sheet/{one}" for one in reversed(treatments)] == [
        link for link in page.links if link.startswith("/sheet/")
    ][:6]


def test_another_scale_is_written_beside_the_weight_and_named_here(site: Site) -> None:
    site.until("S29")
    page = site.get("/setup/person")
    assert "Another scale, or other clothes?" in page.text
    site.fill(page, "/setup/person", S29__weight_before="66.3", S29__weight_before__device="the guest  scale")
    fact = site.desk.treatment.at_slot("measured", "weight_before", "")[0]
    assert getattr(fact.body, "device", "") == "the guest scale"
    assert site.desk.past[site.desk.treatment_id or ""].fluid.unlike == ("the guest scale",)
