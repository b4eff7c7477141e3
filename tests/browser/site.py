"""The pages, really served, over a real store with a clock that the test moves."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

import uvicorn

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE, move_in
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from ebbwell.web.serve import LOOPBACK, PageServer, listening

T = TypeVar("T")
EVENING = datetime(2026, 4, 29, 19, 0, tzinfo=UTC)


class Site:
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

    def act(self, act: Callable[[House], T]) -> T:
        """Something done in the house's thread."""
        return self.keeper.at_once(act)

    @property
    def desk(self) -> Desk:
        """The desk as it is now."""
        return self.act(lambda house: house.look())

    def do(self, deed: Callable[..., None], by: str = BRAM, **inputs: Any) -> None:
        """A deed of the household."""
        self.act(lambda house: house.do(deed, by=by, **inputs))

    def move_in(self) -> None:
        """The invented household, its people and its order."""
        self.act(lambda house: move_in(house, self.clock))

    def open_night(self) -> None:
        """Moved in, with a night open."""
        self.move_in()
        self.do(setup.open_night)

    def set_up(self) -> None:
        """The gate open."""
        self.open_night()
        self.act(lambda house: hands.set_up(house, self.clock))

    def connect(self) -> None:
        """Blood runs."""
        self.set_up()
        self.do(connect)
