"""What stands between nights: the order in force, who may do what, recalls, disinfection."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.house import Household, Person, Skill
from ebbwell.journal.kinds.marks import Corrected, LotRecalled, Measured
from ebbwell.journal.kinds.night import Disinfected
from ebbwell.journal.kinds.orders import LineAmended, Prescription, SecondCheck
from ebbwell.state.facts import Facts
from ebbwell.state.standing import (
    checked,
    household,
    order,
    people,
    recalled,
    residual_test_needed,
    signed_off,
    stands,
)
from tests.state.book import START, Book, weight

LINES = {"target_weight": "64.5", "heparin_rate": "900"}


def paper(number: str = "3", **lines: str) -> Prescription:
    return Prescription(number=number, giver="the unit", valid_from="2026-04-01", lines={**LINES, **lines})


def phoned(of: str, value: str = "64.0", awaited: bool = True) -> LineAmended:
    return LineAmended(
        prescription=of,
        line="target_weight",
        value=value,
        giver="the unit",
        read_back=value,
        written_awaited=awaited,
    )


def check(*of: str, agrees: bool = True) -> SecondCheck:
    return SecondCheck(of=of, how="reread", values={}, agrees=agrees)


class Shelf(Book):
    """Entries that stand: none is of a treatment unless told."""

    def put(self, body: Body, **more: object) -> str:
        return self.add(body, **{"treatment": None, **more}).id

    def standing(self) -> Facts:
        facts = Facts()
        for entry in self.entries:
            if stands(entry):
                facts.step(entry)
        return facts


@pytest.mark.hazard("H3")
@pytest.mark.source("practice:e", detail="H3: unsigned version can't be used at night")
def test_a_prescription_waits_for_a_check_that_agrees() -> None:
    shelf = Shelf()
    assert order(shelf.standing(), frozenset()) is None
    first = shelf.put(paper())
    shelf.put(check(first, agrees=False))
    held = order(shelf.standing(), frozenset())
    assert held is not None
    assert held.waiting == (first,)
    again = shelf.put(check(first))
    held = order(shelf.standing(), frozenset())
    assert held is not None
    assert held.waiting == ()
    assert {fact.id for fact in held.facts} == {first, again}
    assert held.lines == LINES
    found = checked(shelf.standing(), first)
    assert found is not None
    assert found.id == again


def test_an_amended_line_waits_then_holds_and_says_that_paper_is_awaited() -> None:
    shelf = Shelf()
    first = shelf.put(paper())
    shelf.put(check(first))
    amended = shelf.put(phoned(first))
    held = order(shelf.standing(), frozenset())
    assert held is not None
    assert (held.waiting, held.lines["target_weight"]) == ((amended,), "64.5")
    shelf.put(check(amended))
    held = order(shelf.standing(), frozenset())
    assert held is not None
    assert (held.waiting, held.unconfirmed) == ((), ("target_weight",))
    assert held.lines == {**LINES, "target_weight": "64.0"}
    assert held.from_entry == {"target_weight": amended, "heparin_rate": first}
    assert amended in {fact.id for fact in held.facts}


@pytest.mark.hazard("H2")
def test_an_amended_line_belongs_to_its_own_prescription() -> None:
    shelf = Shelf()
    first = shelf.put(paper())
    amended = shelf.put(phoned(first))
    shelf.put(check(first, amended))
    second = shelf.put(paper("4"), replaces=(first,))
    shelf.put(check(second))
    held = order(shelf.standing(), frozenset())
    assert held is not None
    assert held.lines == LINES
    assert amended not in {fact.id for fact in held.facts}


@pytest.mark.hazard("H2")
def test_an_amended_line_stays_with_a_prescription_whose_slip_was_put_right() -> None:
    shelf = Shelf()
    first = shelf.put(paper())
    amended = shelf.put(phoned(first))
    right = shelf.put(Corrected(of=first, changes={"lines.heparin_rate": "800"}), replaces=(first,))
    shelf.put(check(amended, right))
    held = order(shelf.standing(), frozenset())
    assert held is not None
    assert held.lines == {"target_weight": "64.0", "heparin_rate": "800"}
    assert held.from_entry == {"target_weight": amended, "heparin_rate": right}


@pytest.mark.hazard("H22")
def test_two_prescriptions_from_two_stores_leave_none_in_force() -> None:
    shelf = Shelf()
    first = shelf.put(paper())
    shelf.put(check(first))
    shelf.elsewhere(paper("4"), treatment=None)
    assert order(shelf.standing(), frozenset()) is None


@pytest.mark.hazard("H44")
@pytest.mark.source("practice:e", detail="H44: role for each step")
def test_who_may_do_what() -> None:
    shelf = Shelf()
    for person, roles in (("bram", ("carer",)), ("tove", ("stand_in",)), ("ilka", ("dialysis",))):
        shelf.put(Person(person=person, name=person.title(), roles=roles))
    facts = shelf.standing()
    assert people(facts)["tove"].name == "Tove"
    assert [p for p in ("bram", "tove", "ilka", "bedside", "") if signed_off(facts, p, "needle")] == ["bram"]

    def sign(person: str, yes: bool) -> None:
        shelf.put(
            Skill(person=person, skill="needle", signed_off=yes, signed_by="unit", signed_on="2026-04-01")
        )

    sign("tove", True)
    assert signed_off(shelf.standing(), "tove", "needle")
    assert not signed_off(shelf.standing(), "tove", "connect")
    sign("tove", False)
    assert not signed_off(shelf.standing(), "tove", "needle")
    sign("bram", False)
    assert not signed_off(shelf.standing(), "bram", "needle")
    sign("bedside", True)
    assert not signed_off(shelf.standing(), "bedside", "needle")


@pytest.mark.hazard("H24")
def test_a_recall_names_item_and_lot() -> None:
    shelf = Shelf()
    shelf.put(LotRecalled(item="dialyser", lot="D4410", told_by="the unit"))
    facts = shelf.standing()
    assert recalled(facts, "dialyser", " d4410 ") is not None
    assert recalled(facts, "dialyser", "D4411") is None
    assert recalled(facts, "tubing", "D4410") is None


def cleaned(agent: str) -> Disinfected:
    return Disinfected(what="machine", agent=agent, started_at="", ended_at="")


def residual(value: str) -> Measured:
    return Measured(quantity="residual_disinfectant", value=value)


@pytest.mark.hazard("H10")
@pytest.mark.source(
    "practice:e", detail="H10: a chemical logged since the last negative; chemical after negative: shut"
)
@pytest.mark.parametrize(
    ("bodies", "needed"),
    [
        ([], True),
        ([cleaned("heat")], False),
        ([cleaned("citric_heat")], False),
        ([cleaned("peracetic")], True),
        ([cleaned("peracetic"), cleaned("heat")], True),
        ([cleaned("peracetic"), residual("positive")], True),
        ([cleaned("peracetic"), residual("negative")], False),
        ([cleaned("peracetic"), residual("negative"), cleaned("hypochlorite")], True),
        ([residual("negative"), cleaned("other")], True),
        ([cleaned("hypochlorite"), residual("negative"), cleaned("heat")], False),
    ],
)
def test_when_a_residual_test_is_needed(bodies: list[Body], needed: bool) -> None:
    shelf = Shelf()
    for body in bodies:
        shelf.add(body)
    assert residual_test_needed(shelf.standing()) is needed


@pytest.mark.hazard("H10")
def test_a_negative_at_the_very_time_of_the_chemical_does_not_count() -> None:
    shelf = Shelf()
    shelf.add(cleaned("peracetic"), at=START)
    shelf.add(residual("negative"), at=START)
    assert residual_test_needed(shelf.standing())
    shelf.add(residual("negative"), at=START + timedelta(minutes=1))
    assert not residual_test_needed(shelf.standing())


def test_what_stands_beside_its_treatment() -> None:
    shelf = Shelf()
    assert stands(shelf.add(cleaned("heat")))
    assert stands(shelf.add(residual("negative")))
    assert not stands(shelf.add(weight("66.3")))
    assert stands(shelf.add(weight("66.3"), treatment=None))


def test_the_home_is_as_last_written() -> None:
    shelf = Shelf()
    assert household(shelf.standing()) is None
    first = shelf.put(Household(name="Saltmarsh Row", zone="Europe/Dublin"))
    shelf.put(Household(name="Saltmarsh Row", zone="Europe/Dublin", carbon_tanks=1), replaces=(first,))
    found = household(shelf.standing())
    assert found is not None
    assert found.carbon_tanks == 1
