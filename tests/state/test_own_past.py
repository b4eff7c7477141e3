"""This person's own past: what later nights are compared with."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.night import CameOff, Closed, Connected, Reading
from ebbwell.state.own_past import NightSummary, latest, recent, summarise, values_of
from tests.state.book import START, TONIGHT, Book, pinned, weight

NIGHT = NightSummary(
    treatment="t",
    night="2026-04-29",
    phase="closed",
    opened_at=START,
    first_blood=None,
    pump_stopped=None,
    values={},
    first={},
    packs=(),
    unsettled=False,
)


def nights(*values: str, phase: str = "closed") -> dict[str, NightSummary]:
    """One summary a day, oldest first."""
    return {
        f"t{day}": NightSummary(
            treatment=f"t{day}",
            night="",
            phase=phase,
            opened_at=START + timedelta(days=day),
            first_blood=None,
            pump_stopped=None,
            values={"weight_before": value},
            first={},
            packs=(),
            unsettled=False,
        )
        for day, value in enumerate(values)
    }


def test_a_summary_holds_what_was_measured_first_read_and_opened() -> None:
    book = Book()
    assert summarise(TONIGHT, book.facts()) is None
    book.add(pinned(), at=START)
    book.add(weight("66.3"))
    book.add(Measured(quantity="total_chlorine", place="tank1", value="0.02", unit="mg/L", below=True))
    book.add(Measured(quantity="pulse", not_measured="cuff broken"))
    book.add(LotUsed(item="saline", lot="S1"))
    book.add(Connected(satisfied={}, shown={}, plan=""), at=START + timedelta(hours=1))
    book.add(Reading(values={"venous_pressure": "120"}))
    book.add(Reading(values={"venous_pressure": "150"}))
    book.add(CameOff(times={"pump_stopped": "2026-04-30T01:30:00+00:00"}, blood_returned="all"))
    summary = summarise(TONIGHT, book.facts())
    assert summary is not None
    assert summary.values == {"weight_before": "66.3", "total_chlorine@tank1": "<0.02"}
    assert summary.first == {"venous_pressure": "120"}
    assert summary.packs == (("saline", "", "S1", ""),)
    assert (summary.phase, summary.unsettled) == ("off", False)
    assert summary.pump_stopped == START + timedelta(hours=8, minutes=30)
    assert summary.first_blood == START + timedelta(hours=1)


@pytest.mark.hazard("H22")
@pytest.mark.source("practice:e", detail="H22: both kept, conflict shown, nothing worked out from them")
def test_a_value_that_is_not_settled_is_left_out() -> None:
    book = Book()
    book.add(pinned())
    book.add(weight("64.8"))
    book.elsewhere(weight("65.8"))
    book.add(Measured(quantity="pulse", value="70", unit="/min"))
    summary = summarise(TONIGHT, book.facts())
    assert summary is not None
    assert (summary.values, summary.unsettled) == ({"pulse": "70"}, True)


def test_only_earlier_nights_on_which_something_ran_count() -> None:
    past = {
        **nights("66.1", "66.2", "66.3"),
        "off": NIGHT.__class__(**{**_fields(NIGHT), "phase": "called_off"}),
    }
    found = latest(past, before=START + timedelta(days=2))
    assert [night.treatment for night in found] == ["t1", "t0"]
    assert len(latest(nights(*["66.0"] * 30), before=START + timedelta(days=60))) == 20


def _fields(night: NightSummary) -> dict[str, object]:
    return {name: getattr(night, name) for name in night.__struct_fields__}


@pytest.mark.source("practice:a0", detail='"own" is the last 10 nights')
def test_own_values_are_the_last_ten_that_are_numbers() -> None:
    past = nights("50.0", *(f"66.{n % 10}" for n in range(12)), "<66", "heavy", "-", "²", "66.4")
    found = recent(past, "weight_before", before=START + timedelta(days=99))
    assert found == tuple(Decimal(v) for v in ("66.4", "66.1", "66.0", *(f"66.{n}" for n in range(9, 2, -1))))
    assert len(found) == 10


def test_the_first_reading_stands_in_for_what_set_up_did_not_measure() -> None:
    one = NightSummary(
        **{**_fields(NIGHT), "first": {"venous_pressure": "120", "pulse": "60"}, "values": {"pulse": "72"}}
    )
    assert values_of([one], "venous_pressure") == (Decimal(120),)
    assert values_of([one], "pulse") == (Decimal(72),)
    assert values_of([one], "systolic") == ()


def test_a_night_called_off_is_no_past() -> None:
    book = Book()
    book.add(pinned())
    book.add(weight("66.3"))
    book.add(Closed(called_off=True, words="no water"))
    summary = summarise(TONIGHT, book.facts())
    assert summary is not None
    assert recent({TONIGHT: summary}, "weight_before", before=START + timedelta(days=1)) == ()
