"""A ten-year record: a whole fold, a deed on it, the same after old entries were merged in, a cold start."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlcipher3 import dbapi2 as sqlite

from bench.bare import BareTable
from bench.rows import Row, Work, in_turns, middle, p95, spread, took_ms, under
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.comeoff import come_off
from ebbwell.deeds.connect import connect
from ebbwell.deeds.night import read
from ebbwell.deeds.setup import open_night
from ebbwell.deeds.upkeep import disinfect
from ebbwell.house import House
from ebbwell.journal.envelope import Entry, first_prev, seal
from ebbwell.journal.kinds import encode_body
from ebbwell.journal.kinds.night import Event
from ebbwell.journal.store.schema import SELECT
from ebbwell.journal.store.sqlite import open_store
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, READING, ZONE
from ebbwell.sim.ten_years import NIGHTS, Writer, fill

NOW = datetime(2026, 4, 29, 17, 0, tzinfo=UTC)
STORE = "record.ebbwell"
DEED_MS, COLD_MS, FOLD_MS = 10.0, 1000.0, 5000.0
OLD_ENTRIES = 500
CHAIN = "018bcfe5-0000-7000-8000-0000000000aa"
"""Writer id of the chain that the old entries come from."""

Times = tuple[list[float], list[float]]


class Bench:
    """One long record in a folder, the house that it is used by, and the yardstick in the very same file."""

    def __init__(self, home: Path, small: bool) -> None:
        self.home = home
        self.small = small
        self.path = home / STORE
        self.clock = SetClock(NOW, ZONE)
        self.nights = 40 if small else NIGHTS
        store = open_store(self.path, SeededIds(3))
        self.made_ms = took_ms(lambda: fill(store, SeededIds(4), nights=self.nights))
        self.count = store.count()
        store.close()
        self.size = f"{self.count:,} entries of {self.nights:,} treatments"

    def open(self) -> House:
        """Open the record as a program does."""
        return House.open(self.path, self.clock, SeededIds(5))

    def fold(self) -> Times:
        """A start without a checkpoint, beside a plain reading of all rows; both with the file in memory."""
        ours: list[float] = []
        bare: list[float] = []
        for _ in range(2 if self.small else 3):
            bare.append(took_ms(self._read_rows))
            self.path.with_name(STORE + ".state").unlink(missing_ok=True)
            opened: list[House] = []
            ours.append(took_ms(lambda: opened.append(self.open())))  # noqa: B023
            opened[0].close()
        return ours, bare

    def _read_rows(self) -> None:
        db = sqlite.connect(str(self.path))
        found = sum(1 for _ in db.execute(f"{SELECT} ORDER BY row"))
        db.close()
        if found < self.count:
            raise RuntimeError(f"{found} rows read of {self.count}")

    def set_up(self, house: House, bare: BareTable) -> Times:
        """A whole set-up, each deed beside a bare insert."""
        house.do(open_night, by=BRAM, sure=(NIGHT_WAS_RUN,))
        ours: list[float] = []
        other: list[float] = []
        while not (desk := house.look(by=BRAM)).gate_open:
            move = hands.next_move(desk, hands.SET_UP)
            if move is None:
                wait = hands.waits(desk)
                if wait is None:
                    raise RuntimeError("the night gets no further")
                self.clock.pass_time(max(wait, timedelta(seconds=1)))
                continue
            self.clock.pass_time(move.takes)
            ours.append(took_ms(lambda: hands.play(house, move)))  # noqa: B023
            other.append(took_ms(bare.insert))
        return ours, other

    def readings(self, house: House, bare: BareTable) -> Times:
        """Rows of values through the night, each beside a bare insert."""
        move = hands.Move(read, {"values": dict(READING)})

        def one() -> None:
            self.clock.pass_time(timedelta(minutes=3))
            hands.play(house, move)

        return in_turns(10 if self.small else 100, one, bare.insert)

    def merge(self, house: House) -> tuple[int, float]:
        """Take in year-old entries of another chain; how many, and the milliseconds that all of them took."""
        old = _old_entries(house, 20 if self.small else OLD_ENTRIES)
        new: list[int] = []
        took = took_ms(lambda: new.append(house.take_in(old).new))
        if new != [len(old)]:
            raise RuntimeError(f"{new} of {len(old)} old entries were taken in")
        return len(old), took

    def next_evening(self, house: House) -> None:
        """Come off and disinfect, so that another night can be opened."""
        house.do(come_off, by=BRAM)
        self.clock.pass_time(timedelta(hours=10))
        ended = self.clock.now().at
        started = ended - timedelta(minutes=40)
        house.do(disinfect, by=BRAM, what="machine", agent="heat", started_at=started, ended_at=ended)

    def cold(self) -> tuple[Times, float]:
        """``tonight`` in a fresh process beside a bare interpreter, and once without a checkpoint."""
        tonight = self._process("-m", "ebbwell", "tonight", "--json")
        times = in_turns(3 if self.small else 11, tonight, self._process("-c", "pass"))
        self.path.with_name(STORE + ".state").unlink()
        return times, took_ms(tonight)

    def _process(self, *arguments: str) -> Work:
        environment = {**os.environ, "EBBWELL_HOME": str(self.home)}
        command = [sys.executable, *arguments]
        return lambda: subprocess.run(command, env=environment, check=True, capture_output=True)


def _old_entries(house: House, count: int) -> list[Entry]:
    """Entries of another chain about nights of a year ago, one a night."""
    writer = Writer(SeededIds(77), house.household, 1)
    by_time = sorted(house.state.past.values(), key=lambda s: s.opened_at)
    nights = by_time[-365 - count : -365] or by_time[:count]
    prev = first_prev(CHAIN)
    found = []
    for seq, summary in enumerate(nights, start=1):
        at = summary.opened_at + timedelta(minutes=200)
        draft = writer.draft(Event(what="note typed in from paper"), at, summary.treatment)
        entry = seal(draft.envelope, encode_body(draft.body), bytes(16), CHAIN, seq, prev)
        prev = entry.hash
        found.append(entry)
    return found


def run(small: bool) -> list[Row]:
    """The rows. small: a record of a few nights, to prove that the benchmark works."""
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name), small)
        fold, rows = bench.fold()
        house = bench.open()
        bare = BareTable(bench.path, like=bench.path)
        deed, deed_bare = bench.set_up(house, bare)
        house.do(connect, by=BRAM)
        reading, reading_bare = bench.readings(house, bare)
        old, merged_ms = bench.merge(house)
        reading_after, reading_after_bare = bench.readings(house, bare)
        bench.next_evening(house)
        deed_after, deed_after_bare = bench.set_up(house, bare)
        (cold, cold_bare), without = bench.cold()
        save = took_ms(house.save)
        bare.close()
        house.close()
    held = f"{bench.size}; yardstick in the same file"
    saved = f"one deed in 200 also saves the checkpoint, {save:.0f} ms"
    merged = f"{old} year-old entries merged in first, in {merged_ms:.0f} ms"

    def deeds(name: str, ours: list[float], other: list[float], note: str) -> Row:
        return under(name, p95(ours), p95(other), DEED_MS, f"{held}; {note}; ours {spread(ours)}")

    return [
        deeds("deed.p95", deed, deed_bare, f"each deed of a set-up; {saved}"),
        deeds("deed.p95.after_merge", deed_after, deed_after_bare, merged),
        deeds("read.p95", reading, reading_bare, "a row of values"),
        deeds("read.p95.after_merge", reading_after, reading_after_bare, merged),
        under(
            "tonight.cold",
            middle(cold),
            middle(cold_bare),
            COLD_MS,
            f"{bench.size}, a night set up; beside a bare interpreter; {without:.0f} ms without its checkpoint",
        ),
        under(
            "state.rebuild",
            middle(fold),
            middle(rows),
            FOLD_MS,
            f"{bench.size}, made in {bench.made_ms / 1000:.0f} s; beside reading the rows; ours {spread(fold)}",
        ),
    ]
