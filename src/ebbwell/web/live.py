"""What keeps an open page honest: a line that says when the record grew, and a sign of life."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator
from urllib.parse import unquote

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from ebbwell.core.errors import EbbwellError
from ebbwell.house import House
from ebbwell.papers.spoken import error_words
from ebbwell.web.keeper import END, Keeper
from ebbwell.web.watch import Watch

DEVICE = "device"
"""Cookie that says under which name this screen has reminders on."""

BEAT = 5.0
"""Seconds between two signs of life. A page that hears none for 30 s greys out. Source: design gate 5."""


LOG = logging.getLogger(__name__)

LOOK_EVERY = 5.0
"""Seconds between two looks for screens that fell silent."""


def live_routes(keeper: Keeper, watch: Watch) -> list[Route]:
    """``/live`` (server-sent events) and ``/alive`` (one answer; a screen with reminders on names itself there)."""

    async def live(request: Request) -> Response:
        return StreamingResponse(
            _beats(request, keeper), media_type="text/event-stream", headers={"x-accel-buffering": "no"}
        )

    async def alive(request: Request) -> Response:
        device = unquote(request.cookies.get(DEVICE, "")) if "reminders" in request.query_params else ""

        def act(house: House) -> int:
            if device:
                watch.sign(house, device)
            return house.store.last_row()

        return JSONResponse({"row": await keeper.run(act)})

    return [Route("/live", live, methods=["GET"]), Route("/alive", alive, methods=["GET"])]


@contextlib.asynccontextmanager
async def watching(keeper: Keeper, watch: Watch) -> AsyncIterator[None]:
    """While the pages are served: looks for silent screens every few seconds."""

    async def go_on() -> None:
        while True:
            await asyncio.sleep(LOOK_EVERY)
            try:
                await keeper.run(watch.look)
            except EbbwellError as why:
                LOG.warning("%s", error_words(why))

    task = asyncio.create_task(go_on())
    try:
        yield
    finally:
        task.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await task


async def _beats(request: Request, keeper: Keeper) -> AsyncIterator[str]:
    queue = keeper.listen()
    try:
        row = await keeper.run(lambda house: house.store.last_row())
        yield f"retry: 2000\nevent: row\ndata: {row}\n\n"
        while not await request.is_disconnected():
            try:
                row = await asyncio.wait_for(queue.get(), BEAT)
            except TimeoutError:
                yield "event: beat\ndata: .\n\n"
            else:
                if row == END:
                    return
                yield f"event: row\ndata: {row}\n\n"
    finally:
        keeper.leave(queue)
