"""Deeds of upkeep."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from ebbwell.deeds import upkeep
from ebbwell.journal.kinds.night import Disinfected
from ebbwell.procedure.holds import Status
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home


def _given(home: Home, **change: Any) -> dict[str, Any]:
    ended: datetime = home.clock.now().at
    return {
        "what": "machine",
        "agent": "heat",
        "started_at": ended - 40 * MINUTE,
        "ended_at": ended,
        **change,
    }


def test_disinfect_after_the_night_meets_its_step(off: Home) -> None:
    given = _given(off, lot=" L1 ")
    off.do(upkeep.disinfect, **given)
    fact = off.look().treatment.of("disinfected")[0]
    assert isinstance(fact.body, Disinfected)
    assert (fact.body.step, fact.body.lot, fact.at) == ("C16", "L1", given["ended_at"])
    assert off.status("C16") is Status.MET


@pytest.mark.parametrize(("agent", "asked"), [("heat", False), ("citric_heat", False), ("peracetic", True)])
@pytest.mark.source("practice:b", detail="S8: a residual test follows a chemical, not heat")
def test_disinfect_by_a_chemical_asks_for_a_residual_test(night: Home, agent: str, asked: bool) -> None:
    assert night.status("S8") is Status.NOT_NEEDED
    night.clock.pass_time(timedelta(hours=1))
    night.do(upkeep.disinfect, **_given(night, agent=agent))
    assert (night.status("S8") is not Status.NOT_NEEDED) is asked
    body: Any = night.look().treatment.of("disinfected")[0].body
    assert body.step == ""


def test_disinfect_refuses_other_agents_and_impossible_times(home: Home) -> None:
    now = home.clock.now().at
    with wrong("enter.option"):
        home.do(upkeep.disinfect, **_given(home, agent="vinegar"))
    with wrong("enter.start_end"):
        home.do(upkeep.disinfect, **_given(home, started_at=now, ended_at=now - MINUTE))
    with wrong("enter.start_end"):
        home.do(upkeep.disinfect, **_given(home, ended_at=now + 5 * MINUTE))
    assert len(home.look().standing.of("disinfected")) == 1


def test_recall_lot_reopens_the_pack_in_use(ready: Home) -> None:
    ready.do(upkeep.recall_lot, item="tubing", lot=" T6605 ", told_by="supplier")
    assert "S13" in ready.bars()
    assert ready.status("S13") is Status.STALE


def test_recall_lot_stays_for_later_nights(home: Home) -> None:
    home.do(upkeep.recall_lot, item="tubing", lot="T6605", told_by="supplier")
    assert [getattr(f.body, "lot", "") for f in home.look().standing.of("lot_recalled")] == ["T6605"]


@pytest.mark.parametrize("empty", ["item", "lot", "told_by"])
def test_recall_lot_refuses_what_is_left_out(home: Home, empty: str) -> None:
    given = {"item": "tubing", "lot": "T6605", "told_by": "supplier", empty: " "}
    with wrong("enter.recall"):
        home.do(upkeep.recall_lot, **given)
