"""Tonight's plan with every working and finding, from a set-up that reaches up to the weight before."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from decimal import Decimal

from bench.rows import Row, in_turns, middle, p95, spread, under
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.plan import Draughted, draught
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.spoken import finding_words
from ebbwell.science.catalogue import formula_named
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE, move_in

PLAN_MS = 20.0


def _workings(plan: Draughted) -> list[str]:
    """Each line as it is worked: its formula and everything that went in."""
    return [
        f"{line.name} = {line.formula}: "
        + "; ".join(f"{one.name} {one.value} {one.unit} ({one.entry})" for one in line.inputs)
        for line in plan.tonight.lines
        if line.value is not None and formula_named(line.name)
    ]


def run(small: bool) -> list[Row]:
    """One row: the p95 of working tonight out anew, beside writing its figures out as JSON."""
    clock = SetClock(datetime(2026, 4, 29, 17, 0, tzinfo=UTC), ZONE)
    ids = SeededIds(1)
    house = House(MemoryStore(ids), clock, ids)
    move_in(house, clock)
    house.do(open_night, by=BRAM, sure=(NIGHT_WAS_RUN,))
    hands.set_up(house, clock)
    figures: dict[str, str] = {}

    def ours() -> None:
        desk = house.look(by=BRAM)
        plan = draught(desk, drink=Decimal("0.2"), start_at=clock.now().at)
        figures.update(plan.figures)
        if len(_workings(plan)) < 20:
            raise RuntimeError("a plan without its workings")
        for finding in plan.findings:
            finding_words(finding, desk)

    def bare() -> None:
        json.dumps(figures)

    mine, other = in_turns(10 if small else 300, ours, bare)
    return [
        under("plan.whole p95", p95(mine), middle(other), PLAN_MS, f"{len(figures)} figures; {spread(mine)}")
    ]
