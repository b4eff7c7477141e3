"""The benchmarks work: each is run at a tiny size. No time is judged here; ``make bench`` does that."""

from __future__ import annotations

import math
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest
from bench.__main__ import MODULES, collect, table
from bench.bare import BareTable
from bench.rows import Row
from sqlcipher3 import dbapi2 as sqlite

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.house import House
from ebbwell.journal.kinds import Unknown
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.journal.store.rows import row_of
from ebbwell.journal.store.sqlite import open_store
from ebbwell.sim.household import ZONE
from ebbwell.sim.ten_years import ENTRIES_A_NIGHT, NIGHTS_AN_ORDER, fill


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return collect(small=True)


def test_every_benchmark_gives_a_figure_and_its_yardstick(rows: list[Row]) -> None:
    assert len(MODULES) >= 3
    names = [row.name for row in rows]
    assert len(set(names)) == len(names)
    assert {"journal.append", "deed.p95", "deed.p95.after_merge", "tonight.cold", "state.rebuild"} <= set(
        names
    )
    assert {"read.p95", "read.p95.after_merge", "judge.night", "nights.1000", "help.all"} <= set(names)
    for row in rows:
        assert math.isfinite(row.ours)
        assert row.ours > 0
        assert row.other > 0
        assert row.goal


def test_the_table_names_every_row(rows: list[Row]) -> None:
    text = table(rows)
    assert [row.name for row in rows if row.name not in text] == []


def test_the_ten_years_are_proven_and_read_like_nights_that_ended() -> None:
    store = MemoryStore(SeededIds(1))
    count = fill(store, SeededIds(2), nights=NIGHTS_AN_ORDER + 2)
    entries = list(store.after(0))
    assert (store.verify().holds, store.count()) == (True, count)
    assert [e.id for e in entries if isinstance(e.body, Unknown)] == []
    nights = Counter(e.envelope.treatment for e in entries if e.envelope.treatment is not None)
    assert set(nights.values()) == {ENTRIES_A_NIGHT}
    house = House(store, SetClock(datetime(2026, 4, 29, 17, 0, tzinfo=UTC), ZONE), SeededIds(3))
    desk = house.look()
    assert Counter(s.phase for s in desk.past.values()) == {"closed": NIGHTS_AN_ORDER + 2}
    assert not any(s.unsettled for s in desk.past.values())
    assert desk.scene.order is not None
    assert desk.scene.order.waiting == ()
    assert len(desk.standing.of("prescription")) == 1
    assert sum(e.envelope.kind == "prescription" for e in entries) == 2


def test_the_yardstick_writes_as_much_as_an_entry(tmp_path: Path) -> None:
    store = open_store(tmp_path / "record.db", SeededIds(1))
    fill(store, SeededIds(2), nights=1)
    bare = BareTable(tmp_path / "bare.db", like=tmp_path / "record.db")
    bare.insert(3)
    bare.close()
    newest = list(store.after(0))[-1]
    store.close()
    db = sqlite.connect(str(tmp_path / "bare.db"))
    sizes = db.execute("SELECT length(id) + length(rest) FROM bare").fetchall()
    db.close()
    wanted = sum(len(value) for value in row_of(newest)[1:] if isinstance(value, str | bytes))
    assert sizes == [(wanted + len(str(newest.seq)),)] * 3
