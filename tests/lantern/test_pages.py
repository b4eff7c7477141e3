"""The second household at its screen: every page is there, and none asks for water, needles or concentrates."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from ebbwell.papers.night_now import reading_fields
from ebbwell.sim import lantern
from tests.lantern.site import LanternSite
from tests.web.site import Site
from tests.web.test_links import walk

FOREIGN = ("acid", "chlorine", "needles in", "tank", "overnight", "softener", "can of")


@pytest.fixture
def site() -> Iterator[LanternSite]:
    made = LanternSite()
    yield made
    made.close()


@pytest.mark.parametrize("phase", ["move_in", "open_night", "set_up", "connect", "close_sheet"])
def test_every_link_leads_to_a_page(site: LanternSite, phase: str) -> None:
    getattr(site, phase)()
    pages = walk(site)
    assert len(pages) > 100
    assert [address for address, page in pages.items() if page.status >= 400] == []


def test_the_plan_shows_the_bags_and_no_concentrates(site: LanternSite) -> None:
    site.set_up()
    page = site.get("/plan")
    assert "Bags of fluid for tonight 6 bags" in page.text
    assert "How long the bags last 4.16 h" in page.text
    assert "No heparin tonight, as the prescription says." in page.text
    found = [word for word in (*FOREIGN, "Sodium", "Bicarbonate") if word in page.text]
    assert found == []
    for name in ("fluid_volume", "bags_needed", "bag_fluid_lasts"):
        working = site.get(f"/working/{name}")
        assert working.status == 200
        assert "120 mL/min" in working.text or "25.2 L" in working.text


@pytest.mark.source(
    "common practice",
    detail="fluid that comes ready in bags is not mixed, so no machine shows how it conducts",
)
def test_no_reading_asks_for_the_conductivity_of_a_fluid_that_nobody_mixes(site: LanternSite) -> None:
    site.connect()
    page = site.get("/night/reading")
    assert page.status == 200
    assert "fluid_conductivity" not in page.html
    assert "fluid_conductivity" not in reading_fields(site.desk)


@pytest.mark.parametrize(
    "screen", ["/setup/bags", "/setup/packs", "/setup/lines", "/setup/person", "/setup/alarms"]
)
def test_a_screen_of_the_set_up_is_of_this_machine(site: LanternSite, screen: str) -> None:
    site.open_night()
    page = site.get(screen)
    assert page.status == 200
    assert [word for word in FOREIGN if word in page.text] == []


def test_the_steps_page_chooses_between_the_procedures() -> None:
    site = Site()
    try:
        site.move_in()
        page = site.get("/steps")
        assert "Overnight, the machine makes the fluid" in page.text
        done = site.post(
            "/steps/method", {"key": page.form("/steps/method").fields["key"][0], "method": lantern.STEPS}
        )
        assert done.status == 303
        after = site.get("/steps")
        assert "These steps are not for your order." in after.text
        assert "Where the dialysis fluid comes from: the order says The machine makes it." in after.text
        assert "Access: the order says Fistula. The steps are for Catheter." in after.text
        key = after.form("/steps/method").fields["key"][0]
        again = site.post("/steps/method", {"key": key, "method": lantern.STEPS})
        assert "The next night already goes by these steps." in again.text
        strange = site.post("/steps/method", {"method": "none_such"})
        assert "There are no steps named none_such." in strange.text
    finally:
        site.close()


def test_the_prescription_asks_for_acid_or_for_bags_and_never_for_both(site: LanternSite) -> None:
    site.move_in()
    page = site.get("/prescription")
    assert "Code of the fluid bags F-2K" in page.text
    assert "Acid concentrate" not in page.text
    new = site.get("/prescription/new")
    missing = site.fill(
        new,
        "/prescription/new",
        number="2",
        giver=lantern.UNIT,
        line__fluid_from="bags",
        line__access="catheter",
        line__anticoagulant="none",
    )
    assert "Code of the fluid bags" in missing.text


def test_the_page_of_the_water_asks_for_nothing_where_no_tap_water_is_used(site: LanternSite) -> None:
    site.move_in()
    page = site.get("/water")
    assert "The steps of this home use no tap water." in page.text
    assert "before each night" not in page.text
    assert "so it is due" not in page.text
    other = Site()
    try:
        other.move_in()
        page = other.get("/water")
    finally:
        other.close()
    assert "Total chlorine and both conductivities: before each night." in page.text
    assert "no tap water" not in page.text
