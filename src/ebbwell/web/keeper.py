"""The one thread that holds the house: every look and every deed of the pages runs there, one after the other."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from ebbwell.house import House

T = TypeVar("T")

END = -1
"""What a listener gets instead of a row's number when there is nothing more to come."""

POLL = 1.0
"""Seconds between two looks for what another program wrote, while somebody listens."""


class Keeper:
    """Opens a house in a thread of its own and lets others act there. Tells listeners when the record grew."""

    def __init__(self, open_house: Callable[[], House]) -> None:
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="house")
        self.house: House = self._thread.submit(open_house).result()
        self._listeners: set[asyncio.Queue[int]] = set()
        self._told = 0
        self._poll: asyncio.Task[None] | None = None

    async def run(self, act: Callable[[House], T]) -> T:
        """Let something run with the house, in its thread. Tells the listeners when it wrote."""
        loop = asyncio.get_running_loop()
        try:
            return await loop.run_in_executor(self._thread, act, self.house)
        finally:
            if self._listeners:
                await self._look_for_more()

    def at_once(self, act: Callable[[House], T]) -> T:
        """The same for a caller outside the event loop, who waits for it."""
        return self._thread.submit(act, self.house).result()

    async def _look_for_more(self) -> None:
        loop = asyncio.get_running_loop()
        row = await loop.run_in_executor(self._thread, self.house.store.last_row)
        if row != self._told:
            self._told = row
            for listener in self._listeners:
                listener.put_nowait(row)

    async def _poll_on(self) -> None:
        while self._listeners:
            await self._look_for_more()
            await asyncio.sleep(POLL)
        self._poll = None

    def listen(self) -> asyncio.Queue[int]:
        """A queue that gets the number of the newest row each time the record grew."""
        queue: asyncio.Queue[int] = asyncio.Queue()
        self._listeners.add(queue)
        if self._poll is None:
            self._poll = asyncio.get_running_loop().create_task(self._poll_on())
        return queue

    def end(self) -> None:
        """Tell every listener that nothing more comes, so that the server can stop without cutting them off."""
        for listener in self._listeners:
            listener.put_nowait(END)

    def leave(self, queue: asyncio.Queue[int]) -> None:
        """Stop listening."""
        self._listeners.discard(queue)

    def close(self) -> None:
        """Let go of the house, after what was begun."""
        self._thread.submit(self.house.close).result()
        self._thread.shutdown()
