"""Serving the pages on this computer alone."""

from __future__ import annotations

import socket
from collections.abc import Callable

import uvicorn

from ebbwell.core.errors import EbbwellError
from ebbwell.house import House
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper

LOOPBACK = "127.0.0.1"


class PortTaken(EbbwellError):
    """Another program listens at the port already."""

    exit_code = 57


def listening(port: int) -> socket.socket:
    """A socket that listens on this computer's own address. port 0 takes a free one. Raises PortTaken.

    It listens at once, so that no other program gets the port, and a browser waits, while the house is opened.
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((LOOPBACK, port))
        found.listen()
    except OSError as why:
        found.close()
        raise PortTaken("web.port_taken", port=port) from why
    return found


class PageServer(uvicorn.Server):
    """Serves until told to stop; open pages are let go first. ready: is called once pages are answered."""

    def __init__(
        self, config: uvicorn.Config, keeper: Keeper, ready: Callable[[], None] | None = None
    ) -> None:
        super().__init__(config)
        self._keeper = keeper
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to answer, then say so."""
        await super().startup(sockets)
        if self.started and self._ready is not None:
            self._ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the live lines, then stop."""
        self._keeper.end()
        await super().shutdown(sockets)


def serve(open_house: Callable[[], House], sock: socket.socket, said: Callable[[str], None]) -> None:
    """Serve until told to stop. said: is given the address once pages are answered."""
    port = sock.getsockname()[1]
    keeper = Keeper(open_house)
    try:
        app = create_app(keeper, (f"{LOOPBACK}:{port}", f"localhost:{port}"))
        config = uvicorn.Config(app, log_level="warning", access_log=False, timeout_graceful_shutdown=2)
        PageServer(config, keeper, lambda: said(f"http://{LOOPBACK}:{port}/")).run(sockets=[sock])
    finally:
        keeper.close()
        sock.close()
