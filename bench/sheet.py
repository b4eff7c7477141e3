"""A sheet as PDF, beside the typesetter setting the same words as one plain paragraph."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count

import typst

from bench.rows import Row, in_turns, middle, spread, under
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.comeoff import come_off
from ebbwell.deeds.connect import connect
from ebbwell.deeds.night import note_event, read
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.papers.sheet_pdf import sheet_pdf
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, READING, ZONE, move_in

SHEET_MS = 100.0
PLAIN = b'#set text(font: "Libertinus Serif", size: 8pt)\n#text(json(bytes(sys.inputs.data)))\n'


def _night(readings: int) -> Sheet:
    clock = SetClock(datetime(2026, 4, 29, 19, 0, tzinfo=UTC), ZONE)
    house = House(MemoryStore(SeededIds(1)), clock, SeededIds(1))
    move_in(house, clock)
    house.do(open_night, by=BRAM, sure=(NIGHT_WAS_RUN,))
    hands.set_up(house, clock)
    hands.play(house, hands.Move(connect, {}))
    for n in range(readings):
        clock.pass_time(timedelta(minutes=420 // readings))
        row = {**READING, "venous_pressure": str(112 + n % 17)}
        hands.play(house, hands.Move(read, {"values": row}))
    hands.play(house, hands.Move(note_event, {"what": "a noise", "done": "looked"}))
    hands.play(house, hands.Move(come_off, {}))
    newest = max(house.look().past.values(), key=lambda s: s.opened_at)
    return build_sheet(house.look(treatment=newest.treatment), house.store.heads())


def _other_each_time(sheet: Sheet) -> Callable[[], Sheet]:
    """The same night with other figures at each call, since the typesetter remembers what it has set."""
    turn = count()

    def changed() -> Sheet:
        mark = f"-{next(turn)}"
        sections = tuple(
            replace(
                s,
                rows=tuple(row + mark for row in s.rows),
                parts=tuple(part + mark for part in s.parts),
                table=tuple(tuple(cell + mark for cell in row) for row in s.table),
            )
            for s in sheet.sections
        )
        return replace(sheet, sections=sections)

    return changed


def run(small: bool) -> list[Row]:
    """A row for an ordinary night, and one for a night of forty readings, which has to be fitted to the page."""
    rows = []
    compiler = typst.Compiler(ignore_system_fonts=True)
    for name, readings in (("sheet.pdf", 6), ("sheet.pdf.fitted", 40)):
        fresh = _other_each_time(_night(readings))

        def plain(fresh: Callable[[], Sheet] = fresh) -> None:
            compiler.compile(PLAIN, sys_inputs={"data": json.dumps(sheet_text(fresh()))})

        def ours(fresh: Callable[[], Sheet] = fresh) -> None:
            sheet_pdf(fresh())

        ours()
        plain()
        mine, bare = in_turns(3 if small else 40, ours, plain)
        note = f"beside the same words as one paragraph without tags or tables; {spread(mine)}"
        rows.append(under(name, middle(mine), middle(bare), SHEET_MS, note))
    return rows
