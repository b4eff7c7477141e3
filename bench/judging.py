"""Judging every step of a night that is fully set up, as the model checker does a million times."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from bench.rows import Row, in_turns, middle, spread, under
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.journal.kinds import decode_body
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE, move_in

NIGHT_MS = 2.0


def _judge(desk: Desk) -> None:
    fresh = replace(desk)
    for step in fresh.procedure.steps:
        if not fresh.views[step.id].passed and step.gate == "connect":
            raise RuntimeError(f"{step.id} hasn't passed")


def run(small: bool) -> list[Row]:
    """One row: facts and all steps of one night at one look, nothing carried over from the look before."""
    clock = SetClock(datetime(2026, 4, 29, 17, 0, tzinfo=UTC), ZONE)
    ids = SeededIds(1)
    house = House(MemoryStore(ids), clock, ids)
    move_in(house, clock)
    house.do(open_night, by=BRAM, sure=(NIGHT_WAS_RUN,))
    hands.set_up(house, clock)
    desk = house.look(by=BRAM)
    held = list(desk.treatment.entries.values())

    def decode() -> None:
        for entry in held:
            decode_body(entry.envelope.kind, entry.envelope.version, entry.body_bytes)

    ours, bare = in_turns(10 if small else 300, lambda: _judge(desk), decode)
    note = (
        f"{len(held)} entries, {len(desk.procedure.steps)} steps; beside decoding the entries; {spread(ours)}"
    )
    return [under("judge.night", middle(ours), middle(bare), NIGHT_MS, note)]
