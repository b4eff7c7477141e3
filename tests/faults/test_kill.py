"""Kill -9 at every point of the write path: what was acknowledged is there, nothing is there twice or by half."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.store.sqlite import open_store
from tests.faults.killer import WORDS
from tests.journal.making import everything, fill, opened

ROOT = Path(__file__).parents[2]
GROUPS = ((0,), (1, 2, 3), (4, 5), (6,), (7,))
"""Which of the acknowledged entries were written in one transaction."""


def test_kill_at_every_point_of_the_write_path(tmp_path: Path) -> None:
    said = subprocess.run(
        [sys.executable, "-m", "tests.faults.killer", str(tmp_path), "1"],
        capture_output=True,
        check=True,
        text=True,
        cwd=ROOT,
    ).stdout
    *lines, last = [json.loads(line) for line in said.splitlines()]
    whole = list(dict.fromkeys(last["whole"]))
    assert len(whole) == 8
    names = {line["point"].split(" ")[0] for line in lines}
    assert {
        "lock",
        "begin",
        "commit",
        "head.write",
        "head.sync",
        "acknowledge",
        "sql:COMMIT",
        "sql:INSERT",
    } <= names
    ahead = 0
    for line in lines:
        assert line["killed"], line
        path = Path(line["folder"]) / "record.db"
        with opened(open_store(path, SeededIds(40))) as store:
            held = [entry.id for entry in everything(store)]
            told = set(line["told"])
            assert told <= set(held), line
            assert held == whole[: len(held)], line
            assert all(set(group) <= set(range(len(held))) or group[0] >= len(held) for group in GROUPS), line
            assert len(held) - len(told) <= 3, line
            ahead += len(held) > len(told)
            assert store.verify().holds, line
            assert "store.new_chain" not in store.notes, line
            if whole[6] in held:
                files = list(path.parent.glob("record.db*"))
                assert not any(WORDS.encode() in file.read_bytes() for file in files), line
            fill(store, SeededIds(41), 1)
            assert store.verify().holds, line
    assert ahead, "no child died between the commit and the acknowledgement"
    print(f"killed at {len(lines)} points of the write path; {ahead} held entries not yet acknowledged")


LOOP = """
import sys
from pathlib import Path
from ebbwell.core.ids import SystemIds
from ebbwell.journal.store.sqlite import open_store
from tests.faults.killer import WORDS
from tests.journal.making import draft
ids = SystemIds()
store = open_store(Path(sys.argv[1]), ids)
while True:
    with store.write() as tx:
        entry = tx.append(draft(ids))
    print(entry.id, flush=True)
"""


def test_kill_at_any_moment(tmp_path: Path) -> None:
    """Not at a point but whenever: also inside a write of SQLite's."""
    dice = random.Random(4)
    path = tmp_path / "record.db"
    told: list[str] = []
    for _ in range(12):
        child = subprocess.Popen(
            [sys.executable, "-c", LOOP, str(path)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        assert child.stdout is not None
        told.append(child.stdout.readline().strip())
        time.sleep(dice.uniform(0, 0.08))
        os.kill(child.pid, signal.SIGKILL)
        told.extend(
            line.strip() for line in child.stdout.read().splitlines(keepends=True) if line.endswith("\n")
        )
        child.stdout.close()
        child.wait()
    with opened(open_store(path, SeededIds(1))) as store:
        held = [entry.id for entry in everything(store)]
        assert set(told) <= set(held)
        assert len(set(held)) == len(held) <= len(told) + 12
        assert store.verify().holds


APPENDS = """
import sys
from pathlib import Path
from ebbwell.core.ids import SystemIds
from ebbwell.journal.errors import EntryHeld
from ebbwell.journal.store.sqlite import open_store
from tests.faults.killer import WORDS
from tests.journal.making import draft
ids = SystemIds()
store = open_store(Path(sys.argv[1]), ids)
print("ready", flush=True)
sys.stdin.readline()
for number in range(60):
    shared = f"018f0000-0000-7000-8000-{number:012x}"
    try:
        with store.write() as tx:
            tx.append(draft(ids))
            tx.append(draft(ids, id=shared))
        print("kept", shared, flush=True)
    except EntryHeld:
        print("held", shared, flush=True)
store.close()
"""


def test_programs_on_one_store_take_turns(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    programs = [
        subprocess.Popen(
            [sys.executable, "-c", APPENDS, str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        for _ in range(3)
    ]
    for program in programs:
        assert program.stdout is not None
        assert program.stdout.readline() == "ready\n"
    said = []
    for program in programs:
        assert program.stdin is not None
        program.stdin.write("go\n")
        program.stdin.flush()
    for program in programs:
        out, _ = program.communicate(timeout=60)
        assert program.returncode == 0
        said.extend(line.split() for line in out.splitlines())
    kept = [id_ for word, id_ in said if word == "kept"]
    assert len(kept) == len(set(kept)) == 60
    assert len(said) == 180
    with opened(open_store(path, SeededIds(1))) as store:
        entries = everything(store)
        assert len(entries) == 120
        assert [entry.seq for entry in entries] == list(range(1, 121))
        assert {entry.writer for entry in entries} == {store.writer}
        assert store.verify().holds
        assert store.verify().forks == ()
