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
    """A socket on this computer's own address. port 0 takes a free one. Raises PortTaken."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((LOOPBACK, port))
    except OSError as why:
        found.close()
        raise PortTaken("web.port_taken", port=port) from why
    return found


class PageServer(uvicorn.Server):
    """Serves until told to stop; open pages are let go first."""

    def __init__(self, config: uvicorn.Config, keeper: Keeper) -> None:
        super().__init__(config)
        self._keeper = keeper

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the live lines, then stop."""
        self._keeper.end()
        await super().shutdown(sockets)


def serve(open_house: Callable[[], House], sock: socket.socket, said: Callable[[str], None]) -> None:
    """Serve until told to stop. said: is given the address once the house is open."""
    port = sock.getsockname()[1]
    keeper = Keeper(open_house)
    try:
        app = create_app(keeper, (f"{LOOPBACK}:{port}", f"localhost:{port}"))
        config = uvicorn.Config(app, log_level="warning", access_log=False, timeout_graceful_shutdown=2)
        said(f"http://{LOOPBACK}:{port}/")
        PageServer(config, keeper).run(sockets=[sock])
    finally:
        keeper.close()
        sock.close()
