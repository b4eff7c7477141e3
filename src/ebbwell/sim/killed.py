"""A second program on the same store, killed with SIGKILL somewhere in its writing. Its acknowledgements come by pipe.

``python -m ebbwell.sim.killed PATH SEED AT ZONE BOOT MONO POINT`` is that program.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from datetime import datetime
from pathlib import Path

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import EbbwellError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import night, orders
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.carer import Carer
from ebbwell.sim.household import BRAM, READING, UNIT
from ebbwell.sim.oracle import Broken

KIND = "second program killed"
DEEDS = 4
POINTS = 70
"""About as many points of the write path as the second program passes."""


class KillAt:
    """Ends the process at the point of a number."""

    def __init__(self, number: int) -> None:
        self.left = number

    def at(self, point: str) -> None:  # noqa: ARG002 -- the seam tells the name; here only the number counts
        """Die here when it is this point's turn."""
        self.left -= 1
        if self.left == 0:
            os.kill(os.getpid(), signal.SIGKILL)


class _TellingIds(SeededIds):
    """Ids that are told through the pipe before they are used."""

    def new(self) -> str:
        id_ = super().new()
        _tell("given", id_)
        return id_


def _tell(word: str, *ids: str) -> None:
    os.write(1, "".join(f"{word} {id_}\n" for id_ in ids).encode())


def work(path: Path, seed: int, clock: SetClock, point: int) -> None:
    """Open the store and do a few deeds; killed at the point, if it comes to that."""
    ids = _TellingIds(seed, 1_760_000_000_000 + seed % (1 << 30))
    house = House.open(path, clock, ids, KillAt(point))
    for _ in range(DEEDS):
        desk = house.look(by=BRAM)
        move = hands.next_move(desk, hands.SET_UP)
        if move is None and desk.treatment_id is not None:
            move = hands.Move(night.read, {"values": dict(READING)})
        if move is None:
            move = hands.Move(orders.advise, {"who": UNIT, "words": "go on"})
        try:
            done = hands.play(house, move, key=ids.new())
        except EbbwellError as why:
            os.write(2, f"{why}\n".encode())
            continue
        _tell("told", *done.entries)
    house.close()


def second_program(carer: Carer) -> bool:
    """Start the second program beside the open one, and let it be killed. Gives whether it was.

    What it was told is owed from then on; of the rest nothing or all may be there.
    """
    now = carer.clock.now()
    seed, point = carer.chance.randrange(1 << 30), carer.chance.randint(1, POINTS)
    told = [str(carer.path), str(seed), now.at.isoformat(), now.zone, now.boot, str(now.mono), str(point)]
    done = subprocess.run(
        [sys.executable, "-m", "ebbwell.sim.killed", *told], capture_output=True, text=True, check=False
    )
    was_killed = done.returncode == -signal.SIGKILL
    if not was_killed and done.returncode != 0:
        raise Broken(f"the second program ended with {done.returncode}: {done.stderr[-500:]}")
    lines = [line.split() for line in done.stdout.splitlines()]
    carer.ledger.acknowledge(id_ for word, id_ in lines if word == "told")
    carer.ledger.unsure(id_ for word, id_ in lines if word == "given")
    carer.say(
        f"second program: point {point}, killed: {was_killed}, told {sum(w == 'told' for w, _ in lines)}"
    )
    carer.check_soon()
    if carer.chance.random() < 0.5:
        carer.house.store.close()
        carer.reopen()
    return was_killed


if __name__ == "__main__":
    path, seed, at, zone, boot, mono, point = sys.argv[1:]
    work(Path(path), int(seed), SetClock(datetime.fromisoformat(at), zone, boot, int(mono)), int(point))
