"""Both kinds of heparin on one night: found whichever way the second comes on record, told on every screen, kept."""

from __future__ import annotations

import pytest

from ebbwell.core.findings import Grade
from ebbwell.deeds import record
from ebbwell.deeds.night import give, read
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.warned import warnings
from ebbwell.state.night_thinner import READY_DOSE, kind_of
from tests.deeds.test_dose_typed import low
from tests.hazards.home import Home, rules

NEVER = pytest.mark.source("fluids:A7", detail="never both kinds in one night")
WORDS = (
    "Call now: Heparin and low molecular heparin are both on record for tonight."
    " They must not both go in on one night."
    " Call your unit now and do as they say. Tell them what went in, how much and when."
)


def told(home: Home) -> bool:
    desk = home.look()
    found = [f for f in warnings(desk) if f.rule == "both_heparins"]
    assert all(f.grade is Grade.STOP and finding_words(f, desk).startswith(WORDS) for f in found)
    assert len(found) <= 1
    return bool(found)


@NEVER
@pytest.mark.parametrize(
    ("what", "typed", "unit"),
    [
        (READY_DOSE, "4000 IU", ""),
        ("enoxaparin", "40", "mg"),
        ("Low-molecular heparin", "4000", "IU"),
        ("LMWH", "4000", "IU"),
    ],
)
def test_give_of_a_low_molecular_dose_on_a_heparin_night_is_kept_and_found(
    running: Home, what: str, typed: str, unit: str
) -> None:
    assert not told(running)
    done = running.do(give, what=what, typed=typed, unit=unit, medicine=True, ordered_by="the unit")
    assert rules(done.findings) == ["both_heparins"]
    assert len(running.look().treatment.of("given")) == 1
    assert told(running)
    assert "Heparin and low molecular heparin are both on record" in running.sheet()


@NEVER
@pytest.mark.parametrize("what", ["heparin_first_dose", "Heparin", "heparin 1000 units/mL"])
def test_give_of_heparin_after_the_ready_dose_is_kept_and_found(what: str) -> None:
    home = low()
    home.do(give, what=READY_DOSE, typed="4000 IU", unit="")
    assert not told(home)
    done = home.do(give, what=what, typed="1500", unit="units", medicine=True, ordered_by="the unit")
    assert "both_heparins" in rules(done.findings)
    assert told(home)


@NEVER
def test_a_heparin_pump_that_shows_millilitres_counts_as_heparin() -> None:
    home = low()
    home.do(give, what=READY_DOSE, typed="4000 IU", unit="")
    sure = ("outside_asked", "outside_expected", "digits")
    home.do(read, values={"heparin_given": "0"}, sure=sure)
    assert not told(home)
    home.do(read, values={"heparin_given": "0.9"}, sure=sure)
    assert told(home)


@pytest.mark.source("common practice", detail="no source: a lock fills the catheter and stays in it")
@pytest.mark.parametrize(
    ("what", "amount"), [("heparin lock", "2"), ("saline", "200"), ("heparin", "0"), ("enoxaparin", "40")]
)
def test_what_is_no_heparin_of_the_other_kind_is_not_found(what: str, amount: str) -> None:
    home = low()
    home.do(give, what=READY_DOSE, typed="4000 IU", unit="")
    done = home.do(give, what=what, typed=amount, unit="mL", medicine=True, ordered_by="the unit")
    assert rules(done.findings) == []
    assert not told(home)


@NEVER
def test_a_slip_of_typing_taken_back_ends_it(running: Home) -> None:
    running.do(give, what="enoxaparin", typed="40", unit="mg", medicine=True, ordered_by="the unit")
    (fact,) = running.look().treatment.of("given")
    running.do(record.withdraw, of=fact.id, reason="typed on the wrong night")
    assert not told(running)


@pytest.mark.source(
    "from memory", detail="names of this group end in -parin; heparin alone is the other kind"
)
@pytest.mark.parametrize(
    ("what", "kind"),
    [
        ("dalteparin", "low_molecular"),
        ("Tinzaparin 3500", "low_molecular"),
        ("low molecular weight heparin", "low_molecular"),
        ("heparin", "heparin"),
        ("unfractionated heparin", "heparin"),
        ("heparinised saline", ""),
        ("paracetamol", ""),
        ("iron", ""),
    ],
)
def test_a_name_tells_the_kind(what: str, kind: str) -> None:
    assert kind_of(what) == kind
