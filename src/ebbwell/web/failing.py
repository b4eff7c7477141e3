"""What a screen shows when a page can't be made: what to do for the person first, then what became of the record."""

from __future__ import annotations

import logging

from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say
from ebbwell.papers.spoken import error_words
from ebbwell.web.render import environment

LOG = logging.getLogger("ebbwell.web")


def _page(status: int, key: str, why: str = "") -> Response:
    text = environment().get_template("templates/failing.html").render(key=key, why=why)
    return HTMLResponse(text, status)


async def not_found(*_: object) -> Response:
    """No page has this address."""
    return _page(404, "web.failing.no_page")


async def stopped(request: Request, why: Exception) -> Response:
    """The record, or something that a page needs, said why it can't: its own words are shown."""
    LOG.error("%s %s: %s", request.method, request.url.path, why)
    return _page(503, "web.failing.record", error_words(why) if isinstance(why, EbbwellError) else "")


async def too_big(*_: object) -> Response:
    """A body went on past the cap while it was read."""
    return PlainTextResponse(say("web.too_big"), 413)


async def broken(request: Request, why: Exception) -> Response:
    """A fault of the program. The trace goes to the log, the person gets what to do."""
    LOG.error("%s %s", request.method, request.url.path, exc_info=why)
    return _page(500, "web.failing.fault")
