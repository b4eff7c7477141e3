"""Every page of the record of ten years, with an entry written before each request; beside a bare page of the server."""

from __future__ import annotations

import asyncio
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path

import httpx
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from bench.long_record import Bench
from bench.rows import Row, p95, spread, under
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.connect import connect
from ebbwell.deeds.night import note_event
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper
from ebbwell.web.ways import every_way

HOST = "bench"
PAGE_MS = 50.0
"""Server time of any page with an entry written before each request. Source: design gate 8."""

CPU_MS = 6.0
"""Processor time of the two pages that are open all night. Source: the issue of the bedside pages."""

OPEN_ALL_NIGHT = ("/", "/night")


SEARCHES = ("/nights?words=chlorine", "/nights?words=arm+bent&year=2024", "/nights?month=4&year=2026")
"""Past nights looked for: words that are in none of the nights, words that are in each, and a month."""


def addresses() -> list[str]:
    """Every page that can be looked at without a name in its address, and past nights looked for.

    Those that are open all night come first, while the night has no more entries than a night has.
    """
    pages = [way.path for way in every_way() if way.method == "GET" and "{" not in way.path]
    return [*OPEN_ALL_NIGHT, *(path for path in pages if path not in OPEN_ALL_NIGHT), *SEARCHES]


async def _bare(_: Request) -> PlainTextResponse:
    return PlainTextResponse("bare")


class Screen:
    """Asks for pages, by an application in this process."""

    def __init__(self, bench: Bench) -> None:
        self.clock = bench.clock
        self.keeper = Keeper(bench.open)
        self.app = create_app(self.keeper, (HOST,))
        self.bare = Starlette(routes=[Route("/", _bare)])

    def write(self, count: int) -> None:
        """One entry more."""
        self.clock.pass_time(timedelta(seconds=20))

        def act(house: House) -> None:
            house.do(note_event, by=BRAM, what="other", words=f"looked in, {count}")

        self.keeper.at_once(act)

    async def times(self, path: str, turns: int) -> tuple[list[float], list[float], list[float]]:
        """Milliseconds of our page, of a bare one, and of processor time of ours."""
        ours: list[float] = []
        cpu: list[float] = []
        bare: list[float] = []
        clients = [
            httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url=f"http://{HOST}")
            for app in (self.app, self.bare)
        ]
        for turn in range(turns):
            self.write(turn)
            began, used = time.perf_counter(), time.process_time()
            answer = await clients[0].get(path, follow_redirects=True)
            ours.append((time.perf_counter() - began) * 1000)
            cpu.append((time.process_time() - used) * 1000)
            if answer.status_code >= 500:
                raise RuntimeError(f"{path}: {answer.status_code}")
            began = time.perf_counter()
            await clients[1].get("/")
            bare.append((time.perf_counter() - began) * 1000)
        for client in clients:
            await client.aclose()
        return ours, bare, cpu


def _measure(screen: Screen, paths: list[str], when: str, turns: int, note: str) -> list[Row]:
    rows = []
    for path in paths:
        with ThreadPoolExecutor(1) as beside:
            ours, bare, cpu = beside.submit(lambda: asyncio.run(screen.times(path, turns))).result()  # noqa: B023
        name = f"page.{when}{path}"
        rows.append(under(name, p95(ours), p95(bare), PAGE_MS, f"{note}; ours {spread(ours)}"))
        if path in OPEN_ALL_NIGHT:
            rows.append(
                under(f"cpu.{when}{path}", sorted(cpu)[len(cpu) // 2], p95(bare), CPU_MS, spread(cpu))
            )
    return rows


def run(small: bool) -> list[Row]:
    """A row a page, once while the night is set up and once while blood runs."""
    turns = 3 if small else 40
    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name), small)
        screen = Screen(bench)
        try:
            note = f"{bench.size}; an entry before each request; beside a bare page"

            def go(act: Callable[[House], object]) -> None:
                screen.keeper.at_once(act)

            go(lambda house: house.do(open_night, by=BRAM, sure=(NIGHT_WAS_RUN,)))
            rows = _measure(screen, addresses(), "set_up", turns, note)
            go(lambda house: hands.set_up(house, screen.clock))
            go(lambda house: house.do(connect, by=BRAM))
            rows += _measure(screen, addresses(), "running", turns, note)
        finally:
            screen.keeper.close()
    return rows
