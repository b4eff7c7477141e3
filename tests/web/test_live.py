"""The live line and the sign of life, over a real socket; the server that stops lets open pages go."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import httpx
import pytest
import uvicorn

from ebbwell.deeds import night
from ebbwell.state.reminders import reminders
from ebbwell.web.serve import LOOPBACK, PageServer, listening
from tests.web.site import ORIGIN, Site
from tests.web.test_night import ROW


class Served:
    """A site on a socket, until ``stop``."""

    def __init__(self, site: Site) -> None:
        sock = listening(0)
        self.url = f"http://{LOOPBACK}:{sock.getsockname()[1]}"
        config = uvicorn.Config(site.app, log_level="error", timeout_graceful_shutdown=2)
        self.server = PageServer(config, site.keeper)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [sock]}, daemon=True)
        self.thread.start()

    def stop(self) -> float:
        """Stop it. Gives the seconds that it took."""
        began = time.monotonic()
        self.server.should_exit = True
        self.thread.join(10)
        return time.monotonic() - began


@pytest.fixture
def served(site: Site) -> Iterator[tuple[Site, Served]]:
    """A night with blood running, served."""
    site.connect()
    made = Served(site)
    yield site, made
    made.stop()


def _client(served: Served) -> httpx.Client:
    return httpx.Client(base_url=served.url, headers={"host": "testhost"}, timeout=10)


@pytest.mark.source("design", detail="two devices in step within 2 s")
def test_a_listener_hears_of_a_new_entry_within_2_s(served: tuple[Site, Served]) -> None:
    site, server = served
    with _client(server) as client, client.stream("GET", "/live") as line:
        lines = line.iter_lines()
        first = [next(lines) for _ in range(3)]
        assert first[1:] == ["event: row", f"data: {site.rows}"]
        began = time.monotonic()
        site.do(night.read, values=ROW)
        want = f"data: {site.rows}"
        for text in lines:
            if text == want:
                break
        assert time.monotonic() - began < 2


def test_a_form_kept_at_one_screen_is_told_at_once_to_the_other(served: tuple[Site, Served]) -> None:
    site, server = served
    with _client(server) as client, client.stream("GET", "/live") as line:
        lines = line.iter_lines()
        for _ in range(3):
            next(lines)
        began = time.monotonic()
        with _client(server) as other:
            assert other.post("/stop", headers={**ORIGIN, "host": "testhost"}).status_code == 303
        want = f"data: {site.rows}"
        assert any(text == want for text in lines)
        assert time.monotonic() - began < 1


def test_stopping_lets_an_open_page_go_at_once(served: tuple[Site, Served]) -> None:
    _, server = served
    with _client(server) as client, client.stream("GET", "/live") as line:
        lines = line.iter_lines()
        next(lines)
        assert server.stop() < 1.5
        assert list(lines)[-1] == ""


def test_the_sign_of_life_tells_the_newest_row(site: Site) -> None:
    site.connect()
    assert site.get("/alive").html == f'{{"row":{site.rows}}}'


def test_only_a_screen_with_reminders_on_that_says_so_counts_as_alive(served: tuple[Site, Served]) -> None:
    site, _ = served
    page = site.get("/reminders")
    site.fill(page, "/reminders", heard="yes", device="tablet")
    site.device = "tablet"
    rows = site.rows
    assert site.get("/alive?reminders").status == 200
    assert site.rows == rows, "a sign of life writes nothing"
    assert [r.state for r in reminders(site.desk.treatment)] == ["on"]
