"""Tonight's plan with every working and finding, and the next nights from one's own past, from a set-up that reaches up
to the weight before.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from bench.rows import Row, in_turns, middle, p95, spread, under
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff
from ebbwell.deeds.ahead import next_nights
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.connect import connect
from ebbwell.deeds.plan import Draughted, draught
from ebbwell.deeds.setup import measure, open_night
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.spoken import finding_words
from ebbwell.science.catalogue import formula_named
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE, move_in

PLAN_MS = 20.0

AHEAD_MS = 50.0
"""Several nights ahead, from the gains of the past. Source: goal of the plan's arithmetic."""

PAST = 12
"""Nights run before: enough for a band of gains."""


def _workings(plan: Draughted) -> list[str]:
    """Each line as it is worked: its formula and everything that went in."""
    return [
        f"{line.name} = {line.formula}: "
        + "; ".join(f"{one.name} {one.value} {one.unit} ({one.entry})" for one in line.inputs)
        for line in plan.tonight.lines
        if line.value is not None and formula_named(line.name)
    ]


def run(small: bool) -> list[Row]:
    """Two rows: the p95 of working tonight out anew, and of the next nights, beside writing its figures out as JSON."""
    clock = SetClock(datetime(2026, 4, 29, 17, 0, tzinfo=UTC), ZONE)
    ids = SeededIds(1)
    house = House(MemoryStore(ids), clock, ids)
    move_in(house, clock)
    for _ in range(PAST):
        _night(house, clock)
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

    desk = house.look(by=BRAM)
    plan = draught(desk, drink=Decimal("0.2"), start_at=clock.now().at)

    def ahead() -> None:
        found = next_nights(desk, plan).ahead
        if found is None or len(found.high) < 4:
            raise RuntimeError("no nights ahead")

    turns = 10 if small else 300
    mine, other = in_turns(turns, ours, bare)
    far, beside = in_turns(turns, ahead, bare)
    return [
        under("plan.whole p95", p95(mine), middle(other), PLAN_MS, f"{len(figures)} figures; {spread(mine)}"),
        under("plan.nights_ahead p95", p95(far), middle(beside), AHEAD_MS, spread(far)),
    ]


def _night(house: House, clock: SetClock) -> None:
    """One usual night, from open to closed, and a day after it."""
    house.do(open_night, by=BRAM, sure=(NIGHT_WAS_RUN,))
    hands.set_up(house, clock)
    house.do(connect, by=BRAM)
    clock.pass_time(timedelta(hours=7, minutes=30))
    house.do(comeoff.come_off, by=BRAM)
    house.do(comeoff.person_safe, by=BRAM, sure=(comeoff.UNSAID,))
    house.do(measure, by=BRAM, quantity="weight_after", typed="64.5", sure=("outside_near",))
    views = house.look(by=BRAM).views.values()
    left = {v.step.id: "not done for a benchmark" for v in views if v.step.gate == "close" and not v.passed}
    house.do(comeoff.close, by=BRAM, because=left)
    clock.pass_time(timedelta(hours=36))
