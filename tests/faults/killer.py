"""Runs a piece of work on a store in a child for each point of the write path, and kills it there with SIGKILL.

``python -m tests.faults.killer FOLDER STEP`` prints one JSON line a point: its number and name, the folder its
store is left in, and the ids whose acknowledgement came through the pipe before the child was dead. A last line
tells the ids acknowledged by a run that nobody killed. STEP: take every STEP-th point.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path

from ebbwell.core.ids import SeededIds
from ebbwell.journal.errors import EntryHeld
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.journal.store.sqlite import open_store
from tests.journal.making import draft, erasing, fill

WORDS = "words that are erased later"


class KillAt:
    """Counts points; ends the process at one of them."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.points: list[str] = []

    def at(self, point: str) -> None:
        """Die here when it is this point's turn."""
        self.points.append(point)
        if len(self.points) == self.number:
            os.kill(os.getpid(), signal.SIGKILL)


def work(folder: Path, faults: KillAt, told: int) -> None:
    """Open a new store, append singly and in threes, take in, tap twice, erase, open again, append."""

    def acknowledge(*ids: str) -> None:
        os.write(told, "".join(id_ + "\n" for id_ in ids).encode())

    ids = SeededIds(2)
    path = folder / "record.db"
    store = open_store(path, SeededIds(1), faults=faults)
    with store.write() as tx:
        one = tx.append(draft(ids))
    acknowledge(one.id)
    with store.write() as tx:
        three = [tx.append(draft(ids, Tick(step="S1", note=note))) for note in ("two", WORDS, "four")]
    acknowledge(*(entry.id for entry in three))
    foreign = fill(MemoryStore(SeededIds(8)), SeededIds(9), 2)
    with store.write() as tx:
        tx.take_in(foreign)
    acknowledge(*(entry.id for entry in foreign))
    try:
        with store.write() as tx:
            tx.append(draft(ids, id=one.id, minute=7))
    except EntryHeld as why:
        acknowledge(why.held.id)
    with store.write() as tx:
        marker = tx.erase(three[1].id, erasing(ids, three[1].id))
    acknowledge(marker.id)
    store.close()
    store = open_store(path, SeededIds(3), faults=faults)
    with store.write() as tx:
        last = tx.append(draft(ids, minute=9))
    acknowledge(last.id)
    store.close()


def run(folder: Path, number: int) -> tuple[list[str], list[str], bool]:
    """One child: (points it passed, ids acknowledged, whether it was killed). Points come only from a whole run."""
    folder.mkdir(parents=True)
    here, there = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(here)
        faults = KillAt(number)
        work(folder, faults, there)
        (folder / "points.json").write_text(json.dumps(faults.points))
        os._exit(0)
    os.close(there)
    with os.fdopen(here) as pipe:
        told = pipe.read().split()
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    if not killed and status != 0:
        raise RuntimeError(f"the child of point {number} ended with {status}")
    points = [] if killed else json.loads((folder / "points.json").read_text())
    return points, told, killed


def main() -> None:
    """Kill at every point, one after the other."""
    base, step = Path(sys.argv[1]), int(sys.argv[2])
    points, whole, _ = run(base / "whole", 0)
    for number in range(1, len(points) + 1, step):
        folder = base / f"point-{number}"
        _, told, killed = run(folder, number)
        line = {
            "number": number,
            "point": points[number - 1],
            "folder": str(folder),
            "told": told,
            "killed": killed,
        }
        print(json.dumps(line), flush=True)
    print(json.dumps({"whole": whole}), flush=True)


if __name__ == "__main__":
    main()
