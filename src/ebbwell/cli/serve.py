"""``ebbwell serve``: the pages of the household's own record, on this computer alone."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from ebbwell.cli.session import Session, system_zone
from ebbwell.core.errors import InputError
from ebbwell.core.text import say

if TYPE_CHECKING:
    from ebbwell.house import House

PORT = 8458
"""Where the household's own pages are served. Own choice, like the next one."""

DEMO_PORT = 8459
"""Where the demo is served."""


def run(session: Session, _: argparse.Namespace) -> int:
    """Serve until Ctrl-C. A home without a record gets an empty one, and its first run in the browser."""

    def open_house() -> House:
        if session.begun:
            return session.open_house()
        return session.begin_house(system_zone(session.environ) or "UTC", None)

    return serve_until_stopped(session, lambda: open_house, "serve.at", PORT)


def serve_until_stopped(
    session: Session, made_ready: Callable[[], Callable[[], House]], key: str, port: int
) -> int:
    """Serve a house and print one line with the address. Ctrl-C ends it, with exit code 0.

    made_ready: does what takes long, where Ctrl-C ends it at once, and gives what opens the house in its own thread.
    key: wording of the line. port: where EBBWELL_PORT doesn't say another; 0 takes a free one.
    Raises PortTaken before the house is opened, InputError for a port that is none, and the store's errors.
    """
    from ebbwell.web.serve import listening, serve

    sock = listening(chosen_port(session, port))
    try:
        serve(made_ready(), sock, lambda address: session.print(say(key, address=address)))
    except KeyboardInterrupt:
        return 0
    finally:
        sock.close()
    return 0


def chosen_port(session: Session, default: int) -> int:
    """EBBWELL_PORT, or the default. Raises InputError for what isn't a port: 0, or 1024 to 65535."""
    typed = session.environ.get("EBBWELL_PORT", "").strip()
    if not typed:
        return default
    if not (typed.isascii() and typed.isdecimal() and (typed == "0" or 1024 <= int(typed) <= 65535)):
        raise InputError("serve.port", typed=typed[:20])
    return int(typed)
