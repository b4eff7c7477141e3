"""Every way into every page, tried by everyone: who gets in, what writes, and what the guard keeps out."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from ebbwell.deeds.people import enter_person
from ebbwell.web.guard import BODY_CAP, HEADERS
from ebbwell.web.ways import every_way
from tests.web.site import HOST, ORIGIN, Site, waited_for
from tests.web.ways_table import ALL, GETS, NAMED, OTHERS, POSTS, WRITES_EMPTY

STATIC = Path(__file__).parents[2] / "src/ebbwell/web/static"
ADDRESS = re.compile(
    r"""(?:href|src|action|srcset|poster)\s*=\s*["']\s*(?:[a-z]+:)?//|url\(\s*["']?(?:[a-z]+:)?//""", re.I
)
"""An address on another server."""


@pytest.fixture(scope="module")
def house() -> Iterator[Site]:
    """A night set up, with somebody of each role entered."""
    made = Site()
    made.set_up()
    made.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    yield made
    made.close()


NAMES = {"/working": "removal_volume", "/review/adequacy/working": "standard_dose_by_model"}
"""Where a ``name`` is that of a figure, and a figure."""


def address(site: Site, path: str) -> str:
    """A path with real names in it."""
    desk = site.desk
    names = {
        "id": desk.treatment.of("measured")[0].id,
        "entry": desk.treatment.of("measured")[0].id,
        "treatment": desk.treatment_id or "",
        "person": "tove",
        "bundle": "packs",
        "situation": "bleeding",
        "limit": "chlorine",
        "aside": "on_again",
        "step": "S5",
        "form": "result" if path.startswith("/bloods") else "report",
        "name": NAMES.get(path.rpartition("/")[0], "event"),
    }
    return re.sub(r"\{(\w+)\}", lambda m: names[m[1]], path)


def test_the_table_has_an_answer_for_every_way_and_no_other() -> None:
    ways = every_way()
    assert len({(w.method, w.path) for w in ways}) == len(ways)
    assert {w.path for w in ways if w.method == "GET"} == set(GETS)
    assert {w.path for w in ways if w.method == "POST"} == set(POSTS)
    assert {w.method for w in ways} == {"GET", "POST"}


def test_nothing_else_is_served(site: Site) -> None:
    routes = {route.path for route in site.app._app.routes}  # type: ignore[attr-defined]
    assert routes == {*GETS, *POSTS, *OTHERS}


@pytest.mark.parametrize("role", sorted(ALL))
@pytest.mark.parametrize("path", sorted(GETS))
def test_a_page_is_seen_by_whom_it_is_for_and_writes_nothing(house: Site, path: str, role: str) -> None:
    house.who = NAMED[role]
    rows = house.rows
    seen = house.get(address(house, path))
    assert house.rows == rows
    assert (seen.status != 403) == (role in GETS[path])
    assert seen.status in (200, 303, 403, 404, 409)
    for name, value in HEADERS.items():
        assert seen.headers[name] == value
    assert seen.headers["cache-control"] == "no-store"
    assert not ADDRESS.search(seen.html)
    assert " style=" not in seen.html
    assert not re.search(r"<script(?![^>]*\bsrc=)", seen.html)
    assert not re.search(r"\son[a-z]+\s*=", re.sub(r"<p.*?</p>", "", seen.html))


@pytest.mark.parametrize("role", sorted(ALL))
@pytest.mark.parametrize("path", sorted(POSTS))
def test_an_empty_form_is_answered_and_kept_from_whom_it_is_not_for(path: str, role: str) -> None:
    site = Site()
    try:
        site.open_night()
        site.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
        site.who = NAMED[role]
        target = re.sub(
            r"\{(\w+)\}", lambda m: {"person": "tove", "bundle": "packs"}.get(m[1], "nothing"), path
        )
        rows = site.rows
        seen = site.post(target, {})
        if role not in POSTS[path] or (path == "/people" and role == "bedside"):
            assert seen.status == 403
        else:
            assert seen.status in (200, 303, 404, 409)
        assert (site.rows > rows) == (path in WRITES_EMPTY and role in POSTS[path])
        for name, value in HEADERS.items():
            assert seen.headers[name] == value
    finally:
        site.close()


FOREIGN: dict[str, dict[str, str]] = {
    "another origin": {"origin": "http://elsewhere.example"},
    "another port": {"origin": f"http://{HOST}:81"},
    "no origin at all": {},
    "null origin": {"origin": "null"},
    "another site": {**ORIGIN, "sec-fetch-site": "cross-site"},
    "a neighbour site": {**ORIGIN, "sec-fetch-site": "same-site"},
    "another host": {**ORIGIN, "host": "elsewhere.example"},
    "a host that only begins alike": {**ORIGIN, "host": f"{HOST}.elsewhere.example"},
}


@pytest.mark.parametrize("headers", FOREIGN.values(), ids=FOREIGN.keys())
@pytest.mark.parametrize("path", sorted(POSTS))
def test_what_comes_from_elsewhere_is_refused_on_every_form(
    house: Site, path: str, headers: dict[str, str]
) -> None:
    house.who = "bram"
    rows = house.rows
    seen = house.post(address(house, path), {"who": "bram"}, headers=headers)
    assert seen.status in (403, 421)
    assert house.rows == rows
    assert "set-cookie" not in seen.headers
    assert seen.headers["content-security-policy"] == HEADERS["content-security-policy"]


def test_a_page_asked_for_under_another_name_is_refused(house: Site) -> None:
    seen = house._send("GET", "/", headers={"host": "elsewhere.example"})
    assert seen.status == 421


def _send(site: Site, **more: Any) -> httpx.Response:
    async def send() -> httpx.Response:
        async with httpx.AsyncClient(
            transport=httpx.ASGITransport(site.app), base_url=f"http://{HOST}", cookies={"who": "bram"}
        ) as client:
            return await client.post("/mine/feel", headers={**ORIGIN, **more.pop("headers", {})}, **more)

    return waited_for(send)


def test_a_body_over_the_cap_is_refused_by_its_length(house: Site) -> None:
    rows = house.rows
    assert _send(house, data={"words": "x" * BODY_CAP}).status_code == 413
    assert house.rows == rows


def test_a_body_that_hides_its_length_is_refused_as_it_goes_on(house: Site) -> None:
    async def pieces() -> AsyncIterator[bytes]:
        yield b"symptom=cramp&words="
        for _ in range(BODY_CAP // 1024 + 2):
            yield b"x" * 1024

    rows = house.rows
    seen = _send(house, content=pieces(), headers={"content-type": "application/x-www-form-urlencoded"})
    assert seen.status_code == 413
    assert seen.headers["content-security-policy"] == HEADERS["content-security-policy"]
    assert house.rows == rows


def test_a_length_that_is_none_is_refused(house: Site) -> None:
    headers = {"content-length": "-1", "content-type": "application/x-www-form-urlencoded"}
    assert _send(house, content=b"symptom=cramp", headers=headers).status_code == 413


def test_a_file_is_taken_by_no_form(house: Site) -> None:
    rows = house.rows
    seen = _send(house, data={"symptom": "cramp"}, files={"words": ("a.txt", b"hello")})
    assert seen.status_code == 400
    assert house.rows == rows


@pytest.mark.parametrize(
    "path", ["/static/ledger.css", "/static/ledger.js", "/static/nothing", "/nothing", "/alive"]
)
def test_the_policy_stands_on_every_other_answer_too(house: Site, path: str) -> None:
    seen = house.get(path)
    for name, value in HEADERS.items():
        assert seen.headers[name] == value


def test_what_is_served_as_it_lies_leads_nowhere_else() -> None:
    files = [p for p in STATIC.rglob("*") if p.suffix in (".css", ".js", ".svg", ".json")]
    assert len(files) >= 2
    for path in files:
        text = path.read_text(encoding="utf-8")
        found = re.findall(r"(?:https?|wss?):?//[^\s\"')]+", text)
        assert [address for address in found if not address.startswith("http://www.w3.org/")] == [], path.name
