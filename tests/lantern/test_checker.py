"""The model checker over the second procedure: no way round it, and a way round every mutant of what only it has."""

from __future__ import annotations

import pytest

from ebbwell.procedure.load import load_procedure
from ebbwell.sim.checker.moves import all_tries
from ebbwell.sim.checker.mutants import noticed, of_data
from ebbwell.sim.checker.search import Search, before_needles, near_the_gate, path_of
from ebbwell.sim.homes import EVENING_HOMES

EVENING = load_procedure("evening_bags")
OWN = [m for m in of_data(EVENING) if m.step.startswith("B") or not m.step]
"""Mutants of the steps that only the evening has, and of the orders that its steps are written for."""

CHUNKS = 4


@pytest.mark.parametrize("home", EVENING_HOMES, ids=lambda name: name.replace(" ", "_"))
@pytest.mark.hazard("H11")
def test_nothing_opens_the_gate_of_the_evening_from_nearby(home: str) -> None:
    search = Search(spec_by=EVENING)
    worlds = path_of(EVENING, EVENING_HOMES[home])
    for world in worlds[:-1]:
        assert world.spec(EVENING).open_holds()
    assert worlds[-1].spec(EVENING).open_holds() == []
    for start in (worlds[-1], before_needles(worlds)):
        for _ in near_the_gate(search, start, all_tries(EVENING), repair=False):
            pass
    assert search.gate_open > 0


def test_the_evening_homes_need_every_step_of_the_gate() -> None:
    starts = [path_of(EVENING, home)[0].spec(EVENING) for home in EVENING_HOMES.values()]
    unused = [
        s.id for s in EVENING.steps if s.gate == "connect" and not any(spec.needed(s) for spec in starts)
    ]
    assert unused == []


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_every_mutant_of_the_evenings_own_steps_is_noticed(chunk: int) -> None:
    mine = OWN[chunk::CHUNKS]
    assert len(mine) >= 8
    assert [m.name for m in mine if noticed(m, EVENING, EVENING_HOMES) is None] == []
