"""The pages, really served, over a real store with a clock that the test moves."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import uvicorn

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.house import House
from ebbwell.sim.household import ZONE
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from ebbwell.web.serve import LOOPBACK, PageServer, listening
from tests.web.site import Place

T = TypeVar("T")
EVENING = datetime(2026, 4, 29, 19, 0, tzinfo=UTC)


class Site(Place):
    """Served on a free port until ``close``. clock: what the server goes by."""

    def __init__(self, folder: Path, at: datetime = EVENING, zone: str = ZONE) -> None:
        self.clock = SetClock(at, zone)
        self.path = folder / "record.ebbwell"
        self.ids = SeededIds(5, start_ms=round(at.timestamp() * 1000))
        self.port = 0
        self.start()

    def start(self) -> None:
        """Open the house and serve; again at the same port after ``stop``."""
        sock = listening(self.port)
        self.port = sock.getsockname()[1]
        self.url = f"http://{LOOPBACK}:{self.port}"
        self.keeper = Keeper(lambda: House.open(self.path, self.clock, self.ids))
        app = create_app(self.keeper, (f"{LOOPBACK}:{self.port}",))
        config = uvicorn.Config(app, log_level="error", timeout_graceful_shutdown=1)
        self.server = PageServer(config, self.keeper)
        self._thread = threading.Thread(target=self.server.run, kwargs={"sockets": [sock]}, daemon=True)
        self._thread.start()
        self._sock = sock

    def stop(self) -> None:
        """The server goes away; the record stays."""
        self.server.should_exit = True
        self._thread.join(10)
        self._sock.close()
        self.keeper.close()

    close = stop
