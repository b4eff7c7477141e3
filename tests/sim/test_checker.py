"""The model checker: no way round a hold point in the program as it is, and a way round every mutant of it."""

from __future__ import annotations

import pytest

from ebbwell.deeds import setup
from ebbwell.journal.kinds.orders import Advice
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import split_bound
from ebbwell.sim.checker.moves import all_tries
from ebbwell.sim.checker.mutants import Mutant, mutants, noticed
from ebbwell.sim.checker.search import Search, before_needles, explore, near_the_gate, path_of
from ebbwell.sim.checker.world import World
from ebbwell.sim.homes import HOMES
from ebbwell.sim.household import BRAM, UNIT

STATES = 100_000
"""Distinct states that the unmutated run has to visit. Source: design section 6 and the spine's acceptance."""

CHUNKS = 16
NIGHT = load_procedure()
ALL = mutants(NIGHT)


@pytest.mark.hazard("H11")
@pytest.mark.hazard("H56")
@pytest.mark.hazard("H57")
def test_no_way_round_a_hold_point_in_a_hundred_thousand_states(capsys: pytest.CaptureFixture[str]) -> None:
    search = explore(STATES)
    with capsys.disabled():
        print(
            f"\nmodel checker: {len(search.seen):,} distinct states, {search.tried:,} tries, "
            f"{search.refused:,} refused, gate open in {search.gate_open:,}, came off from {search.came_off:,}"
        )
    assert len(search.seen) >= STATES
    assert search.gate_open > 0
    assert search.came_off > 0


@pytest.mark.parametrize("home", HOMES, ids=lambda name: name.replace(" ", "_"))
def test_each_home_reaches_the_gate_and_both_opinions_agree(home: str) -> None:
    worlds = path_of(None, HOMES[home])
    for world in worlds[:-1]:
        assert world.spec(NIGHT).open_holds()
    assert worlds[-1].desk.gate_open
    assert worlds[-1].spec(NIGHT).open_holds() == []


@pytest.mark.parametrize("home", HOMES, ids=lambda name: name.replace(" ", "_"))
def test_nothing_opens_the_gate_of_any_home_from_nearby(home: str) -> None:
    search = Search()
    worlds = path_of(None, HOMES[home])
    for start in (worlds[-1], before_needles(worlds)):
        for _ in near_the_gate(search, start, all_tries(NIGHT), repair=False):
            pass
    assert search.gate_open > 0


@pytest.mark.parametrize(("outcome", "allows"), [("said", True), ("no_answer", False), ("not_called", False)])
def test_both_opinions_let_only_what_the_unit_said_pass_a_step(outcome: str, allows: bool) -> None:
    world = World.fresh()
    step = NIGHT.step("S0")
    for question in step.options:
        answer = "yes" if question == "ill" else step.wants[question][0]
        world.house.do(setup.answer, by=BRAM, question=question, answer=answer)
    entry = Advice(who=UNIT, words="go on", about=("S0",), allows=True, outcome=outcome)
    world.house.do(lambda desk: desk.add(entry), by=BRAM)
    world.moved()
    assert world.spec(NIGHT).passed("S0") is allows
    assert world.desk.views["S0"].passed is allows


def test_the_homes_between_them_need_every_step_of_the_gate() -> None:
    starts = [World.fresh(None, home).spec(NIGHT) for home in HOMES.values()]
    unused = [s.id for s in NIGHT.steps if s.gate == "connect" and not any(spec.needed(s) for spec in starts)]
    assert unused == []


def test_the_second_opinion_knows_every_bound_of_the_procedure() -> None:
    spec = path_of()[-1].spec(NIGHT)
    for step in NIGHT.steps:
        for text in step.bounds:
            parts = split_bound(text)
            assert parts is not None
            assert parts[0] == "rule"
            assert spec.bound(text) in (True, False)


def test_mutants_cover_each_guard_expiry_and_reopening_rule() -> None:
    names = {mutant.name for mutant in ALL}
    for step in NIGHT.steps:
        if step.gate != "connect":
            continue
        wanted = [f"{step.id} no longer after {before}" for before in step.after]
        wanted += [f"{step.id} without {evidence}" for evidence in step.evidence]
        wanted += [f"{step.id} without {bound}" for bound in step.bounds]
        wanted += [f"{step.id} not reopened by {event}" for event in step.reopens_on]
        wanted += [f"{step.id} never expires"] if step.valid is not None else []
        wanted += [f"{step.id} read once"] if step.second not in ("none", "blind") else []
        assert [name for name in wanted if name not in names] == []


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_every_mutant_is_noticed(chunk: int) -> None:
    mine = ALL[chunk::CHUNKS]
    survivors = [mutant.name for mutant in mine if noticed(mutant, NIGHT) is None]
    assert survivors == [], f"{len(survivors)} of {len(mine)} mutants go unnoticed"


def test_the_procedure_as_it_is_is_not_taken_for_a_mutant() -> None:
    untouched = Mutant("untouched", ("S5", "time"), step="S5", undo=("S5",), procedure=NIGHT)
    assert noticed(untouched, NIGHT) is None
    assert Search().seen == set()
