"""Which steps tonight needs, by what the prescription, the home and the record say; not knowing means needed."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from ebbwell.deeds import people, setup
from ebbwell.procedure.conditions import CHECKS
from ebbwell.procedure.holds import Status
from ebbwell.procedure.load import load_procedure
from ebbwell.sim.household import PRESCRIPTION, ZONE
from tests.hazards.home import Home, moved_in


def _without(*heads: str) -> dict[str, str]:
    return {line: text for line, text in PRESCRIPTION.items() if not line.startswith(heads)}


NO_HEPARIN = {**_without("heparin"), "anticoagulant": "none"}
LIQUID = {**_without("bicarbonate_mixed"), "bicarbonate_form": "liquid"}
GIVEN = {**PRESCRIPTION, "connection": "prime_given", "prime_given": "0.2"}
READY = {**_without("heparin"), "anticoagulant": "low_molecular", "low_molecular_dose": "as on the paper"}
CATHETER = {**_without("needle"), "access": "catheter"}

CASES: tuple[tuple[str, Mapping[str, str], set[str], set[str]], ...] = (
    (
        "as usual",
        PRESCRIPTION,
        {"S18", "S18a", "S18d", "S26b", "S33b", "C5", "S10c", "S28", "S30", "S30b"},
        {"S18b", "S18c", "S33c", "C5b", "S10b", "S28b", "S29d", "S30c"},
    ),
    (
        "no heparin",
        NO_HEPARIN,
        {"S18b", "C5b"},
        {"S18", "S18a", "S18c", "S18d", "S26b", "S33b", "S33c", "C5"},
    ),
    ("ready dose", READY, {"S18a", "S18c", "S33c", "C5b"}, {"S18", "S18b", "S18d", "S26b", "S33b", "C5"}),
    ("liquid", LIQUID, {"S10b"}, {"S10c"}),
    ("prime given", GIVEN, {"S28b"}, {"S28"}),
    ("ladder", {**PRESCRIPTION, "needle_method": "ladder"}, {"S30", "S30a"}, {"S30b"}),
    ("graft", {**PRESCRIPTION, "access": "graft"}, {"S30", "S29c"}, {"S29d", "S30c"}),
    ("catheter", CATHETER, {"S29d", "S30c"}, {"S0b", "S29c", "S30", "S30a", "S30b"}),
)


def _open(lines: Mapping[str, str]) -> Home:
    home = moved_in(lines)
    home.do(setup.open_night)
    return home


@pytest.mark.parametrize(("lines", "asked", "not_asked"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_the_prescription_says_which_steps(
    lines: Mapping[str, str], asked: set[str], not_asked: set[str]
) -> None:
    home = _open(lines)
    left_out = {v.step.id for v in home.look().views.values() if v.status is Status.NOT_NEEDED}
    assert left_out >= not_asked
    assert left_out.isdisjoint(asked)


@pytest.mark.parametrize("lines", [c[1] for c in CASES], ids=[c[0] for c in CASES])
def test_every_night_leads_to_the_gate(lines: Mapping[str, str]) -> None:
    home = _open(lines)
    home.set_up()
    assert home.look().gate_open


def test_a_line_not_known_asks_for_both() -> None:
    home = _open(_without("needle"))
    assert home.status("S30b") is not Status.NOT_NEEDED


def test_one_carbon_tank_has_no_second_test() -> None:
    assert _open(PRESCRIPTION).status("S5b") is not Status.NOT_NEEDED
    home = moved_in(PRESCRIPTION)
    home.do(people.found_household, name="Saltmarsh Row", zone=ZONE, carbon_tanks=1)
    home.do(setup.open_night)
    assert home.status("S5b") is Status.NOT_NEEDED
    home.set_up()
    assert home.look().gate_open


def test_every_condition_of_the_steps_is_judged() -> None:
    used = {step.only_if for step in load_procedure().steps if step.only_if}
    assert used <= set(CHECKS)
