"""Seeded fault nights: carers who slip, forget, tap twice, undo; machines that fail. The same seed, the same night.

``python -m ebbwell.sim.nights --count 1000 --workers 2`` plays nights and tells what happened in them;
``ebbwell sim replay SEED`` plays one again, step by step.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from ebbwell.deeds import comeoff, night
from ebbwell.deeds.connect import connect
from ebbwell.deeds.setup import open_night
from ebbwell.deeds.upkeep import disinfect
from ebbwell.procedure.load import load_procedure
from ebbwell.sim import killed
from ebbwell.sim.carer import Carer
from ebbwell.sim.faults import ENDING, FAULTS
from ebbwell.sim.homes import HOMES, USUAL_HOME
from ebbwell.sim.household import BRAM, READING, ZONE
from ebbwell.sim.oracle import Broken, check_connected, check_copy
from ebbwell.state.night import Phase

STARTS: tuple[tuple[str, datetime], ...] = (
    (ZONE, datetime(2026, 4, 29, 17, 0, tzinfo=UTC)),
    ("Europe/London", datetime(2026, 3, 28, 20, 0, tzinfo=UTC)),
    ("Europe/London", datetime(2026, 10, 24, 20, 0, tzinfo=UTC)),
    ("America/New_York", datetime(2026, 3, 8, 1, 0, tzinfo=UTC)),
    ("America/New_York", datetime(2026, 11, 1, 1, 0, tzinfo=UTC)),
    ("Australia/Sydney", datetime(2026, 4, 4, 10, 0, tzinfo=UTC)),
    ("America/Santiago", datetime(2026, 4, 4, 22, 0, tzinfo=UTC)),
    ("Australia/Lord_Howe", datetime(2026, 4, 4, 10, 0, tzinfo=UTC)),
    ("Australia/Sydney", datetime(2026, 10, 3, 10, 0, tzinfo=UTC)),
    ("America/Santiago", datetime(2026, 9, 5, 23, 0, tzinfo=UTC)),
    ("Australia/Lord_Howe", datetime(2026, 10, 3, 9, 30, tzinfo=UTC)),
)
"""Where and when a night begins: a usual evening, and evenings before the clocks change, forward and back."""

USUAL_NIGHTS = 0.5
"""Share of the nights that begin on the usual evening, and of those in the usual home."""

KILL_EVERY = 20
"""Every so many nights another program on the store is killed for good."""
COPY_EVERY = 3
"""Every so many nights end with a copy of the record, read back and compared."""
DISK_EVERY = 10
"""Every so many nights lie on the disk; the others in memory, where a sync takes no time."""
NEXT = "a night after the night"
NEVER_CLOSED = "never closed"
MEMORY_DISK = Path("/dev/shm")


@dataclass(frozen=True)
class NightResult:
    """What came of a night. broken: "" or what must be so and wasn't. counts: kinds of fault that happened."""

    seed: int
    broken: str
    counts: Counter[str]
    log: tuple[str, ...]
    entries: int
    connected: int
    came_off: bool


@dataclass
class Summary:
    """Many nights taken together. failed: those that broke something, in order of seed."""

    nights: int = 0
    entries: int = 0
    connected: int = 0
    came_off: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    failed: list[NightResult] = field(default_factory=list)

    def add(self, result: NightResult) -> None:
        """Take a night in."""
        self.nights += 1
        self.entries += result.entries
        self.connected += result.connected
        self.came_off += result.came_off
        self.counts += result.counts
        if result.broken:
            self.failed.append(result)


def kinds() -> list[str]:
    """Every kind of fault, the killing of a second program included."""
    return [*FAULTS, killed.KIND, NEXT, NEVER_CLOSED]


def setting(seed: int) -> tuple[str, datetime, str]:
    """Zone, beginning and home of a seed's night, each drawn on its own."""
    chance = random.Random(f"setting {seed}")
    zone, at = STARTS[0] if chance.random() < USUAL_NIGHTS else chance.choice(STARTS[1:])
    home = USUAL_HOME if chance.random() < USUAL_NIGHTS else chance.choice(list(HOMES))
    return zone, at, home


def run_night(seed: int, folder: Path, tell: object = None) -> NightResult:
    """Play the night of a seed in an empty folder. tell: called with each line of the log as it comes."""
    zone, at, home = setting(seed)
    carer = Carer(seed, folder, at, zone, home)
    if callable(tell):
        carer.tell = tell
    broken, entries = "", 0
    connected = 0
    try:
        _play(carer)
        found = carer.ledger.check(carer.house.store)
        entries = len(found)
        connected = check_connected(found, load_procedure())
        if seed % COPY_EVERY == 0:
            check_copy(carer.house.store, folder / "copy")
    except Broken as why:
        broken = str(why)
    except Exception as why:  # noqa: BLE001 -- whatever a night raises is what the night found
        broken = "".join(traceback.format_exception_only(why)).strip() + "\n" + traceback.format_exc(limit=-4)
    finally:
        carer.house.store.close()
    off = carer.counts["came off in the end"] > 0
    counts = Counter({kind: carer.counts[kind] for kind in kinds() if carer.counts[kind]})
    return NightResult(seed, broken, counts, tuple(carer.log), entries, connected, off)


def _play(carer: Carer) -> None:
    """The night: the seed's own kind of fault somewhere in the set-up, or as soon as it can be, and others by chance."""
    chance, names = carer.chance, list(FAULTS)
    carer.begin()
    first = names[carer.seed % len(names)]
    carer.forward(chance.randrange(len(carer.script) + 1))
    happened = _fault(carer, first)
    usual = [name for name in names if name not in ENDING]
    for _ in range(chance.randint(2, 6)):
        name = chance.choice(usual if chance.random() < 0.9 else names)
        _fault(carer, name)
        carer.forward(chance.randint(0, max(0, len(carer.script) - carer.place) // 3))
        happened = happened or _fault(carer, first)
    if carer.seed % KILL_EVERY == KILL_EVERY // 2 and killed.second_program(carer):
        carer.counts[killed.KIND] += 1
    carer.check()
    carer.forward(len(carer.script))
    if carer.set_up(40):
        if chance.random() < 0.25:
            _fault(carer, "connect by the wrong person")
        carer.look_closely()
        carer.attempt(connect)
    _run(carer)
    if not happened:
        _fault(carer, first)
    _end(carer)
    if chance.random() < 0.3:
        _next_evening(carer)
    carer.check()


def _fault(carer: Carer, name: str) -> bool:
    """Let a fault happen; gives whether it could. What has to hold in any state is looked at after it."""
    carer.say(f"-- {name}")
    happened = FAULTS[name](carer)
    carer.counts[name] += happened
    carer.look_closely()
    return happened


def _run(carer: Carer) -> None:
    """Hours of a night: rows, faults, and coming off one deed away all along."""
    chance, names = carer.chance, list(FAULTS)
    for _ in range(chance.randint(0, 4)):
        carer.clock.pass_time(timedelta(minutes=chance.randint(5, 90)))
        carer.attempt(night.read, values=dict(READING))
        if chance.random() < 0.5:
            _fault(carer, "off and on" if chance.random() < 0.2 else chance.choice(names))
        carer.look_closely()


def _end(carer: Carer) -> None:
    """Most nights come off and are closed; some are never closed; one in which nothing ran is called off."""
    desk = carer.house.look(by=BRAM)
    if desk.phase in (Phase.RUNNING, Phase.PAUSED, Phase.STOPPING):
        carer.clock.pass_time(timedelta(hours=carer.chance.randint(0, 8)))
        why = carer.attempt(comeoff.come_off, by="somebody")
        if why:
            raise Broken(f"coming off is refused: {why}")
        carer.counts["came off in the end"] += 1
    if carer.chance.random() < 0.3:
        carer.say(NEVER_CLOSED)
        carer.counts[NEVER_CLOSED] += 1
        return
    carer.attempt(comeoff.person_safe)
    desk = carer.house.look(by=BRAM)
    if desk.phase is Phase.SETTING_UP:
        carer.attempt(comeoff.call_off, words="not tonight")
        return
    because = {v.step.id: "not done" for v in desk.views.values() if v.step.gate == "close" and not v.passed}
    carer.attempt(comeoff.close, because=because)


def _next_evening(carer: Carer) -> None:
    """Another evening on the same record, whether or not the night before was closed."""
    carer.clock.pass_time(timedelta(hours=18))
    ended = carer.clock.now().at
    started = ended - timedelta(minutes=40)
    carer.attempt(disinfect, what="machine", agent="heat", started_at=started, ended_at=ended)
    if carer.attempt(open_night):
        return
    carer.counts[NEXT] += 1
    carer.place = 0
    carer.forward(carer.chance.randint(0, 30))
    _fault(carer, carer.chance.choice(list(FAULTS)))


def one(seed: int, base: str | None = None) -> NightResult:
    """The night of a seed in a folder that is thrown away. base: where that folder is made."""
    if base is None and seed % DISK_EVERY and MEMORY_DISK.is_dir():
        base = str(MEMORY_DISK)
    with tempfile.TemporaryDirectory(dir=base, prefix="night-") as folder:
        return run_night(seed, Path(folder))


def many(seeds: Iterable[int], workers: int = 1, base: str | None = None) -> Summary:
    """Nights of many seeds, in so many processes."""
    summary = Summary()
    play = partial(one, base=base)
    if workers <= 1:
        for result in map(play, seeds):
            summary.add(result)
    else:
        with ProcessPoolExecutor(workers) as pool:
            for result in pool.map(play, seeds, chunksize=10):
                summary.add(result)
    return summary


def replay(seed: int) -> int:
    """Play a seed's night again and print each step as it comes. Gives 0, or 1 when something broke."""
    with tempfile.TemporaryDirectory(prefix="night-") as folder:
        result = run_night(seed, Path(folder), print)
    print(
        f"{seed}: {result.entries} entries; "
        + (f"BROKEN: {result.broken}" if result.broken else "nothing broke")
    )
    return 1 if result.broken else 0


def main(argv: list[str] | None = None) -> int:
    """Play many nights and print what happened. Gives 1 when something broke."""
    parser = argparse.ArgumentParser(prog="python -m ebbwell.sim.nights", description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--first", type=int, default=0, help="seed of the first night")
    parser.add_argument("--workers", type=int, default=1)
    args = parser.parse_args(argv)
    summary = many(range(args.first, args.first + args.count), args.workers)
    print(
        f"{summary.nights} nights, {summary.entries} entries, {summary.connected} connected through the gate, "
        f"{summary.came_off} came off, {len(summary.failed)} broken"
    )
    for kind in sorted(kinds()):
        print(f"{summary.counts[kind]:6} {kind}")
    if summary.failed:
        first = summary.failed[0]
        print("broken seeds:", ", ".join(str(each.seed) for each in summary.failed[:20]))
        print(f"seed {first.seed}: {first.broken}", *first.log, sep="\n  ")
    return 1 if summary.failed else 0


if __name__ == "__main__":
    sys.exit(main())
