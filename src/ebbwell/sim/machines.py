"""What machines do on a fault night: the power goes, a program ends, a disk fails, a checkpoint is damaged."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds import night, orders
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.journal.errors import RecordError
from ebbwell.sim import hands
from ebbwell.sim.carer import Carer
from ebbwell.sim.clocks import clock_faults
from ebbwell.sim.household import BRAM, READING, UNIT
from ebbwell.sim.oracle import Broken
from ebbwell.sim.tries import Fault

POINTS = ("lock", "begin", "commit", "head.write", "head.sync", "acknowledge")
WRITTEN = ("head.write", "head.sync", "acknowledge")
"""Points behind the commit: the entries are there though nobody was told."""


class FailAt:
    """Lets a write fail once, at a named point."""

    def __init__(self) -> None:
        self.point = ""
        self.cause = errno.ENOSPC

    def at(self, point: str) -> None:
        """Raise here when it is this point's turn."""
        if point == self.point:
            self.point = ""
            raise OSError(self.cause, os.strerror(self.cause))


def a_mark(desk: Desk, carer: Carer) -> hands.Move:
    """Something that can be written now: the next right move, or a row, or a word of the unit."""
    move = hands.next_move(desk, hands.SET_UP)
    if move is not None and carer.chance.random() < 0.8:
        return move
    if desk.treatment_id is not None and carer.chance.random() < 0.5:
        return hands.Move(night.read, {"values": dict(READING)})
    return hands.Move(night.stop_now) if desk.treatment_id is None else a_word()


def a_word() -> hands.Move:
    """A word of advice from the unit: a deed that fits any state."""
    return hands.Move(orders.advise, {"who": UNIT, "words": "go on"})


def with_key(house: House, move: hands.Move, by: str, key: str) -> Any:
    """Do a move with a key, in the way a page does: asked first, then the same key with the answers."""
    return hands.play(house, move, by=by, key=key)


def power_loss(carer: Carer) -> bool:
    """The power goes: nothing is said goodbye to, and the clock may have lost hours."""
    carer.house.store.close()
    carer.clock.pass_time(timedelta(minutes=carer.chance.randint(1, 20)))
    carer.boots += 1
    carer.clock.restart(f"boot-{carer.boots}")
    if carer.chance.random() < 0.3:
        carer.clock.step_wall(timedelta(hours=-3))
    carer.reopen()
    carer.say("power loss")
    return True


def program_restart(carer: Carer) -> bool:
    """The program is ended in good order and started again."""
    carer.house.close()
    carer.reopen()
    carer.say("program restart")
    return True


def checkpoint_gone(carer: Carer) -> bool:
    """The checkpoint file is deleted, cut short, or has bytes turned over while the program is shut."""
    carer.house.close()
    beside = carer.path.with_name(carer.path.name + ".state")
    if not beside.exists():
        raise Broken("closed in good order without a checkpoint")
    how = carer.chance.choice(("deleted", "cut short", "changed"))
    data = bytearray(beside.read_bytes())
    if how == "deleted":
        beside.unlink()
    elif how == "cut short":
        beside.write_bytes(bytes(data[: carer.chance.randrange(len(data))]))
    else:
        data[carer.chance.randrange(len(data))] ^= 1 << carer.chance.randrange(8)
        beside.write_bytes(bytes(data))
    carer.say(f"checkpoint {how}")
    carer.reopen()
    return True


def old_checkpoint(carer: Carer) -> bool:
    """A checkpoint from earlier lies beside a store that went on."""
    carer.house.save()
    beside = carer.path.with_name(carer.path.name + ".state")
    old = beside.read_bytes()
    for _ in range(carer.chance.randint(1, 4)):
        carer.right_move()
    carer.house.close()
    beside.write_bytes(old)
    carer.reopen()
    carer.say("old checkpoint")
    return True


def failing(points: tuple[str, ...], cause: int) -> Fault:
    """The disk fails in the middle of a write. What was told as failed may be there only from the commit on."""

    def fault(carer: Carer) -> bool:
        faults = FailAt()
        carer.house.close()
        carer.reopen(faults)
        key = carer.ids.new()
        move = a_mark(carer.house.look(by=BRAM), carer)
        point = carer.chance.choice(points)
        faults.point, faults.cause = point, cause
        before = carer.house.store.last_row()
        try:
            with_key(carer.house, move, BRAM, key)
        except RecordError as why:
            carer.say(f"disk fails at {point}: {why.key}")
        except EbbwellError as why:
            faults.point = ""
            carer.say(f"disk fails at {point}, not reached: {why.key}")
            return False
        else:
            raise Broken(f"acknowledged though the disk failed at {point}")
        there = carer.house.store.last_row() > before
        if there != (point in WRITTEN):
            raise Broken(f"the disk failed at {point}; written: {there}")
        carer.ledger.check(carer.house.store)
        try:
            again = with_key(carer.house, move, BRAM, key)
        except RecordError:
            raise
        except EbbwellError as why:
            carer.say(f"again: {why.key}")
            return True
        if again.repeated != there:
            raise Broken("the same key after a failed write was taken wrongly")
        return True

    return fault


def machine_faults() -> Iterator[tuple[str, Fault]]:
    """Every fault of a machine by name."""
    yield "power loss", power_loss
    yield "program restart", program_restart
    yield "checkpoint damaged", checkpoint_gone
    yield "checkpoint old", old_checkpoint
    yield "disk full", failing(("lock", "begin", "commit"), errno.ENOSPC)
    yield "disk fails behind the commit", failing(WRITTEN, errno.EIO)
    yield from clock_faults()
