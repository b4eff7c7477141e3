"""The packs of last time: the same ones are written down at once, the others are asked for one by one."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, setup, upkeep
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import LOTS, UNIT
from tests.web.site import Seen, Site, up_to

SETS = ("dialyser", "tubing", "saline")


@pytest.fixture
def second(site: Site) -> Site:
    """The second night, before its packs."""
    site.connect()
    site.clock.pass_time(timedelta(hours=7))
    site.do(comeoff.come_off)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    left = [v.step.id for v in site.desk.views.values() if v.step.gate == "close" and not v.passed]
    site.do(comeoff.close, because=dict.fromkeys(left, "not done in this test"))
    site.clock.pass_time(timedelta(hours=30))
    site.do(setup.open_night)
    site.act(lambda house: up_to(house, site.clock, "S12"))
    return site


def used(site: Site) -> dict[str, LotUsed]:
    """The packs of tonight by item."""
    bodies = [f.body for f in site.desk.treatment.of("lot_used") if isinstance(f.body, LotUsed)]
    return {body.item: body for body in bodies}


def send(site: Site, **picks: str) -> Seen:
    """The page of packs, filled in and sent."""
    return site.fill(site.get("/kit"), "/kit", **{f"pack__{item}": pick for item, pick in picks.items()})


def test_the_first_night_has_nothing_to_show(site: Site) -> None:
    site.open_night()
    page = site.get("/kit")
    assert "No pack that is asked for now can be shown from last time." in page.text
    assert [form for form in page.forms if form.action == "/kit"] == []
    assert site.post("/kit", {}).status == 409


def test_the_labels_of_last_time_are_shown_and_nothing_is_picked(second: Site) -> None:
    page = second.get("/kit")
    for item in SETS:
        code, lot = LOTS[item]
        assert f"Code {code}, lot {lot}, use by" in page.text
    assert "29 April 2026" in page.text
    assert not [name for name in page.form("/kit").fields if name.startswith("pack.")]
    assert "/kit" in second.get("/setup/packs").links


def test_the_same_packs_are_entries_of_their_own_and_a_second_reading_is_still_asked_for(
    second: Site,
) -> None:
    assert send(second, dialyser="same", tubing="same", saline="same").status == 303
    held = used(second)
    assert set(SETS) <= set(held)
    for item in SETS:
        assert (held[item].lot, held[item].intact, held[item].scanned) == (LOTS[item][1], True, False)
    assert second.desk.views["S12"].status is Status.SECOND


def test_what_is_another_label_or_left_open_stays_open(second: Site) -> None:
    assert send(second, dialyser="other", tubing="same").status == 303
    assert set(SETS) & set(used(second)) == {"tubing"}
    assert second.desk.views["S12"].status is Status.OPEN
    assert second.desk.views["S14"].status is Status.OPEN


def test_a_pack_that_is_not_whole_is_kept_and_keeps_its_step_shut(second: Site) -> None:
    assert send(second, dialyser="torn").status == 303
    assert used(second)["dialyser"].intact is False
    assert second.desk.views["S12"].status is Status.BARRED


def test_nothing_picked_writes_nothing(second: Site) -> None:
    rows = second.rows
    assert second.fill(second.get("/kit"), "/kit").status == 409
    assert second.rows == rows


@pytest.mark.hazard("H24")
def test_a_label_called_back_is_not_shown_and_a_stale_page_writes_nothing_of_it(second: Site) -> None:
    stale = second.get("/kit")
    second.do(upkeep.recall_lot, item="tubing", lot=LOTS["tubing"][1], told_by=UNIT)
    assert LOTS["tubing"][1] not in second.get("/kit").text
    rows = second.rows
    assert second.fill(stale, "/kit", pack__tubing="same").status == 409
    assert second.rows == rows


def test_a_page_that_shows_another_pack_than_the_last_one_writes_nothing(second: Site) -> None:
    rows = second.rows
    seen = second.fill(second.get("/kit"), "/kit", pack__dialyser="same", was__dialyser="X|Y|2027-01-01")
    assert seen.status == 409
    assert "The pack used last is another one now." in seen.text
    assert second.rows == rows
