"""A ten-year record: a deed on it, the same after old entries were merged in, a cold start, a whole fold."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlcipher3 import dbapi2 as sqlite

from bench.rows import Row, middle, p95, row, took_ms
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.journal.envelope import Entry, encode_envelope, first_prev, seal
from ebbwell.journal.kinds import encode_body
from ebbwell.journal.kinds.night import Event
from ebbwell.journal.store.sqlite import open_store
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE
from ebbwell.sim.ten_years import FIRST, NIGHTS, Writer, fill

NOW = datetime(2026, 4, 29, 17, 0, tzinfo=UTC)
STORE = "record.ebbwell"
DEED_MS = 10.0
COLD_MS = 1000.0
FOLD_MS = 5000.0
OLD_ENTRIES = 500


@contextmanager
def bare_database(folder: Path) -> Iterator[sqlite.Connection]:
    """A database of the same engine at the same durability, with rows of the same size."""
    db = sqlite.connect(str(folder / "bare.db"), isolation_level=None)
    db.execute("pragma journal_mode=wal")
    db.execute("pragma synchronous=full")
    db.execute("CREATE TABLE IF NOT EXISTS entry (row INTEGER PRIMARY KEY, envelope BLOB, body BLOB)")
    yield db
    db.close()


def insert(db: sqlite.Connection) -> None:
    db.execute("BEGIN IMMEDIATE")
    db.execute("INSERT INTO entry (envelope, body) VALUES (?, ?)", (b"e" * 420, b"b" * 160))
    db.execute("COMMIT")


def insert_many(db: sqlite.Connection, count: int) -> None:
    """So many bare committed inserts."""
    for _ in range(count):
        insert(db)


def _deeds(house: House, clock: SetClock, db: sqlite.Connection) -> tuple[list[float], list[float]]:
    """Set up a night on the record; the time of each deed, and of a bare insert beside it."""
    house.do(open_night, by=BRAM)
    ours, bare = [], []
    while not (desk := house.look(by=BRAM)).gate_open:
        move = hands.next_move(desk, hands.SET_UP)
        if move is None:
            wait = hands.waits(desk)
            if wait is None:
                raise RuntimeError("the night gets no further")
            clock.pass_time(max(wait, timedelta(seconds=1)))
            continue
        clock.pass_time(move.takes)
        ours.append(_timed(house, move))
        bare.append(took_ms(lambda: insert(db)))
    return ours, bare


def _timed(house: House, move: hands.Move) -> float:
    return took_ms(lambda: hands.play(house, move))


def _old_entries(house: House, count: int) -> list[Entry]:
    """Entries of another chain about nights of a year ago."""
    writer = Writer(SeededIds(77), house.household, 1)
    by_time = sorted(house.state.past.values(), key=lambda s: s.opened_at)
    nights = by_time[-365 - count : -365] or by_time[:count]
    chain, prev = "018bcfe5-0000-7000-8000-0000000000aa", first_prev("018bcfe5-0000-7000-8000-0000000000aa")
    found = []
    for seq, summary in enumerate((nights * count)[:count], start=1):
        at = summary.opened_at + timedelta(minutes=200)
        draft = writer.draft(Event(what="note typed in from paper"), at, summary.treatment)
        entry = seal(draft.envelope, encode_body(draft.body), bytes(16), chain, seq, prev)
        prev = entry.hash
        found.append(entry)
    if found and len(encode_envelope(found[0].envelope)) < 200:
        raise ValueError("an entry of unlikely size")
    return found


def _cold(home: Path, command: list[str]) -> float:
    environment = {**os.environ, "EBBWELL_HOME": str(home)}
    return took_ms(lambda: subprocess.run(command, env=environment, check=True, capture_output=True))


def run(small: bool) -> list[Row]:
    """The rows. small: a record of a few nights, to prove that the benchmark works."""
    nights = 40 if small else NIGHTS
    size = f"{nights:,} treatments"
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        clock = SetClock(NOW if nights == NIGHTS else FIRST + timedelta(days=NIGHTS), ZONE)
        store = open_store(home / STORE, SeededIds(3))
        count = fill(store, SeededIds(4), nights=nights)
        store.close()
        raw = sqlite.connect(str(home / STORE))
        read = took_ms(
            lambda: [len(r[0]) for r in raw.execute("SELECT envelope, body FROM entry ORDER BY row")]
        )
        raw.close()
        opened: list[House] = []
        fold = took_ms(lambda: opened.append(House.open(home / STORE, clock, SeededIds(5))))
        house = opened[0]
        house.save()
        cold = [_cold(home, [sys.executable, "-m", "ebbwell", "tonight", "--json"]) for _ in range(3)]
        bare_start = [_cold(home, [sys.executable, "-c", "pass"]) for _ in range(3)]
        with bare_database(home) as db:
            ours, bare = _deeds(house, clock, db)
            old = 20 if small else OLD_ENTRIES
            taken = house.take_in(_old_entries(house, old))
            if taken.new != old:
                raise RuntimeError(f"only {taken.new} of {old} old entries were taken in")
            call_off_and_again(house)
            after, bare_after = _deeds(house, clock, db)
        house.close()
    note = f"{count:,} entries, {size}"
    return [
        row("deed.p95", p95(ours), p95(bare), f"under {DEED_MS:g} ms", p95(ours) < DEED_MS, note),
        row(
            "deed.p95.after_merge",
            p95(after),
            p95(bare_after),
            f"under {DEED_MS:g} ms",
            p95(after) < DEED_MS,
            f"{note}; {old} year-old entries merged in before",
        ),
        row(
            "tonight.cold",
            middle(cold),
            middle(bare_start),
            f"under {COLD_MS:g} ms",
            middle(cold) < COLD_MS,
            f"{note}; beside a bare interpreter start",
        ),
        row(
            "state.rebuild",
            fold,
            read,
            f"under {FOLD_MS:g} ms",
            fold < FOLD_MS,
            f"{note}; beside reading the rows",
        ),
    ]


def call_off_and_again(house: House) -> None:
    """End the night that was set up, so that another can be."""
    from ebbwell.deeds.comeoff import call_off

    house.do(call_off, by=BRAM, words="only a benchmark")
