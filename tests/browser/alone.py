"""The pages served by a process of their own, so that it can be killed like a computer that loses its power.

``python -m tests.browser.alone RECORD PORT SHIFT`` serves a record with a clock SHIFT milliseconds away from now.
With ``DIE_AT`` in its environment it dies at that point of the write path (journal/store/faults.py), once the file
named by ``DIE_ONCE`` is there; it takes the file away first, so that the next one lives.
"""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from ebbwell.core.clock import Moment, SystemClock
from ebbwell.core.ids import SystemIds
from ebbwell.house import House
from ebbwell.sim.household import ZONE
from ebbwell.web.serve import listening, serve
from tests.browser.site import Site

ROOT = Path(__file__).parents[2]
PATIENCE = 20.0
"""Seconds in which the process must answer."""


class Shifted:
    """The machine's clocks, with the wall clock at another date. The same shift each time is the same machine."""

    def __init__(self, by: timedelta) -> None:
        self._clock = SystemClock(ZONE)
        self._by = by

    def now(self) -> Moment:
        """The moment, shifted."""
        moment = self._clock.now()
        return replace(moment, at=moment.at + self._by)


class Alone:
    """Serves what a site prepared, until it is killed. clock: the one that the process goes by."""

    def __init__(self, site: Site) -> None:
        site.stop()
        self.path, self.port, self.url = site.path, site.port, site.url
        self._by = site.clock.now().at - SystemClock(ZONE).now().at
        self.clock = Shifted(self._by)
        self._armed = self.path.with_name("die.once")
        self.start()

    def start(self, die_at: str = "") -> None:
        """A new process on the same record and port; returns once it answers. die_at: for ``dies_at_next_write``."""
        shift = str(self._by // timedelta(milliseconds=1))
        words = [sys.executable, "-m", "tests.browser.alone", str(self.path), str(self.port), shift]
        env = {**os.environ, "DIE_AT": die_at, "DIE_ONCE": str(self._armed)}
        self.process = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True, env=env)
        said = self.process.stdout
        assert said is not None
        assert select.select([said], [], [], PATIENCE)[0], "it never answered"
        assert said.readline().strip() == f"{self.url}/"

    def dies_at_next_write(self, point: str) -> None:
        """Start anew as a process that ends itself, unasked, at a point of the next write."""
        self.kill()
        self.start(point)
        self._armed.touch()

    def dead(self) -> bool:
        """Wait until the process has ended itself. Whether it did so by SIGKILL, at the point it was armed for."""
        return self.process.wait(10) == -signal.SIGKILL and not self._armed.exists()

    def kill(self) -> None:
        """No goodbye: SIGKILL."""
        self.process.kill()
        self.process.wait(10)
        if self.process.stdout is not None:
            self.process.stdout.close()

    def record(self) -> House:
        """The record as the killed process left it. To be closed by the caller."""
        return House.open(self.path, self.clock, SystemIds(), create=False)


class DieOnce:
    """Ends the process at a point of the write path, the first time that it passes there with the file in place."""

    def __init__(self, point: str, armed: Path) -> None:
        self._point = point
        self._armed = armed

    def at(self, point: str) -> None:
        """A point of the write path."""
        if point == self._point and self._armed.exists():
            self._armed.unlink()
            os.kill(os.getpid(), signal.SIGKILL)


def main() -> None:
    """Serve until killed; the address goes to stdout once pages are answered."""
    path, port, shift = sys.argv[1:]
    clock = Shifted(timedelta(milliseconds=int(shift)))
    point = os.environ.get("DIE_AT", "")
    faults = DieOnce(point, Path(os.environ["DIE_ONCE"])) if point else None
    serve(
        lambda: House.open(Path(path), clock, SystemIds(), faults, create=False),
        listening(int(port)),
        lambda address: print(address, flush=True),
    )


if __name__ == "__main__":
    main()
