"""Packs offered until the box changes, and a kit written down at once."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import kit, setup, upkeep
from ebbwell.deeds.kit import Pack
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import LOTS, UNIT
from ebbwell.state.packs import LastLot
from tests.deeds.homes import wrong
from tests.hazards.home import Home, refused, rules

SETS = ("dialyser", "tubing", "saline")


def _packs(home: Home, *items: str) -> tuple[Pack, ...]:
    offered = kit.kit(home.look(), items)
    return tuple(Pack(o.item, o.code, o.lot, o.expiry, intact=True) for o in offered.values())


def _second_night(home: Home) -> Home:
    home.whole_night()
    home.clock.pass_time(timedelta(hours=36))
    home.do(setup.open_night)
    home.until("S12")
    return home


def _body(home: Home, item: str) -> LotUsed:
    (body,) = [f.body for f in home.look().treatment.of("lot_used") if getattr(f.body, "item", "") == item]
    assert isinstance(body, LotUsed)
    return body


def test_nothing_is_offered_on_the_first_night(night: Home) -> None:
    assert kit.kit(night.look(), SETS) == {}
    assert kit.last_lot(night.look(), "dialyser") is None


def test_the_last_pack_is_offered_with_the_night_it_was_used(home: Home) -> None:
    _second_night(home)
    code, lot = LOTS["dialyser"]
    found = kit.last_lot(home.look(), "dialyser")
    assert isinstance(found, LastLot)
    assert (found.code, found.lot, found.night) == (code, lot, "2026-04-29")


@pytest.mark.hazard("H24")
def test_a_recalled_or_expired_pack_is_not_offered_and_no_older_one_is(home: Home) -> None:
    _second_night(home)
    assert set(kit.kit(home.look(), SETS)) == set(SETS)
    home.do(upkeep.recall_lot, item="tubing", lot=LOTS["tubing"][1], told_by=UNIT)
    assert set(kit.kit(home.look(), SETS)) == {"dialyser", "saline"}
    home.clock.pass_time(timedelta(days=5000))
    assert kit.kit(home.look(), SETS) == {}


def test_use_kit_writes_each_pack_as_an_entry_of_its_own(home: Home) -> None:
    _second_night(home)
    done = home.do(kit.use_kit, packs=_packs(home, *SETS))
    assert len(done.entries) == 3
    body = _body(home, "dialyser")
    assert (body.lot, body.intact, body.prefilled, body.step) == (LOTS["dialyser"][1], True, True, "S12")


@pytest.mark.hazard("H13")
def test_use_kit_counts_as_no_scan_and_a_second_reading_is_still_asked_for(home: Home) -> None:
    _second_night(home)
    home.do(kit.use_kit, packs=_packs(home, "dialyser"))
    assert not _body(home, "dialyser").scanned
    assert home.status("S12") is Status.SECOND


def test_use_kit_takes_an_exception_and_finds_what_is_wrong_with_it(home: Home) -> None:
    _second_night(home)
    dialyser, tubing = _packs(home, "dialyser", "tubing")
    torn = Pack("tubing", tubing.code, "T-new", tubing.expiry, intact=False)
    done = home.do(kit.use_kit, packs=(dialyser, torn))
    assert rules(done.findings) == ["pack_not_for_tonight"]
    body = _body(home, "tubing")
    assert (body.lot, body.intact, body.prefilled) == ("T-new", False, False)
    assert home.status("S13") is Status.BARRED


def test_use_kit_refuses_a_step_that_is_not_open_and_writes_none(home: Home, night: Home) -> None:
    _second_night(home)
    packs = _packs(home, "dialyser", "tubing")
    with refused("refuse.shut"):
        night.do(kit.use_kit, packs=packs)
    assert night.look().treatment.of("lot_used") == ()
    with wrong("enter.kit"):
        home.do(kit.use_kit, packs=())
    with wrong("enter.kit_twice"):
        home.do(kit.use_kit, packs=(packs[0], packs[0]))
    with wrong("enter.option"):
        home.do(kit.use_kit, packs=(Pack("lamp", "", "", "", intact=True),))


def test_of_two_salines_the_newer_is_offered(running: Home) -> None:
    running.do(setup.use_lot, item="saline", code="S-9", lot="SL-NEW", expiry="2028-01-31")
    found = kit.last_lot(running.look(), "saline")
    assert found == LastLot("saline", "S-9", "SL-NEW", "2028-01-31")


def test_a_pack_whose_lot_could_not_be_read_is_not_offered(running: Home) -> None:
    running.do(setup.use_lot, item="saline", code="S-9", expiry="2028-01-31")
    assert kit.last_lot(running.look(), "saline") is None
