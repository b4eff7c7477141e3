"""What keeps an open page honest: a line that says when the record grew, and a sign of life."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from ebbwell.web.keeper import Keeper

BEAT = 5.0
"""Seconds between two signs of life. A page that hears none for 30 s greys out. Source: design gate 5."""


def live_routes(keeper: Keeper) -> list[Route]:
    """``/live`` (server-sent events) and ``/alive`` (one answer)."""

    async def live(request: Request) -> Response:
        return StreamingResponse(
            _beats(request, keeper), media_type="text/event-stream", headers={"x-accel-buffering": "no"}
        )

    async def alive(_: Request) -> Response:
        row = await keeper.run(lambda house: house.store.last_row())
        return JSONResponse({"row": row})

    return [Route("/live", live, methods=["GET"]), Route("/alive", alive, methods=["GET"])]


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
                yield f"event: row\ndata: {row}\n\n"
    finally:
        keeper.leave(queue)
