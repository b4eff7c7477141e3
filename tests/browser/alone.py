"""The pages served by a process of their own, so that it can be killed like a computer that loses its power.

``python -m tests.browser.alone RECORD PORT SHIFT`` serves a record with a clock SHIFT milliseconds away from now.
"""

from __future__ import annotations

import select
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
        self.start()

    def start(self) -> None:
        """A new process on the same record and port; returns once it answers."""
        shift = str(self._by // timedelta(milliseconds=1))
        words = [sys.executable, "-m", "tests.browser.alone", str(self.path), str(self.port), shift]
        self.process = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)
        said = self.process.stdout
        assert said is not None
        assert select.select([said], [], [], PATIENCE)[0], "it never answered"
        assert said.readline().strip() == f"{self.url}/"

    def kill(self) -> None:
        """No goodbye: SIGKILL."""
        self.process.kill()
        self.process.wait(10)
        if self.process.stdout is not None:
            self.process.stdout.close()

    def record(self) -> House:
        """The record as the killed process left it. To be closed by the caller."""
        return House.open(self.path, self.clock, SystemIds(), create=False)


def main() -> None:
    """Serve until killed; the address goes to stdout once pages are answered."""
    path, port, shift = sys.argv[1:]
    clock = Shifted(timedelta(milliseconds=int(shift)))
    serve(
        lambda: House.open(Path(path), clock, SystemIds(), create=False),
        listening(int(port)),
        lambda address: print(address, flush=True),
    )


if __name__ == "__main__":
    main()
