"""A client of the pages without a browser: what a person reads, the forms as they stand, and sending them."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser
from typing import Any, TypeVar
from urllib.parse import quote

import httpx

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Desk, Done
from ebbwell.house import House
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ZONE, move_in
from ebbwell.web.app import create_app
from ebbwell.web.keeper import Keeper

T = TypeVar("T")
EVENING = datetime(2026, 4, 29, 19, 0, tzinfo=UTC)
HOST = "testhost"
ORIGIN = {"origin": f"http://{HOST}"}
VOID = frozenset({"input", "br", "hr", "img", "meta", "link", "source"})


def up_to(house: House, clock: SetClock, step: str) -> None:
    """The usual moves up to a step, which is still to come."""
    for _ in range(400):
        desk = house.look(by=BRAM)
        if not desk.views[step].waits_for:
            return
        move = hands.next_move(desk, hands.SET_UP)
        if move is None:
            clock.pass_time(max(hands.waits(desk) or timedelta(0), timedelta(seconds=1)))
            continue
        clock.pass_time(move.takes)
        hands.play(house, move, by=BRAM)
    raise RuntimeError(f"never came to {step}")


def waited_for(act: Callable[[], Coroutine[Any, Any, T]]) -> T:
    """What comes of an asynchronous act, run in a thread of its own: an open browser keeps a loop in this one."""
    with ThreadPoolExecutor(1) as other:
        return other.submit(lambda: asyncio.run(act())).result()


@dataclass
class Form:
    """A form as it stands on the page. fields: name to the values it would send. names: every field's name."""

    action: str
    method: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)
    buttons: list[tuple[str, str]] = field(default_factory=list)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.words: list[str] = []
        self.links: list[str] = []
        self._stack: list[str] = []
        self._select = ""
        self._textarea = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag not in VOID:
            self._stack.append(tag)
        if tag == "a" and "href" in given:
            self.links.append(given["href"])
        if tag == "form":
            self.forms.append(Form(given.get("action", ""), given.get("method", "get")))
        if not self.forms or "form" not in self._stack:
            return
        form, name = self.forms[-1], given.get("name", "")
        if tag == "input" and name:
            form.names.add(name)
            ticked = "checked" in given
            if given.get("type") not in ("radio", "checkbox") or ticked:
                form.fields.setdefault(name, []).append(given.get("value", ""))
        elif tag == "button":
            form.buttons.append((name, given.get("value", "")))
        elif tag == "select":
            self._select = name
            form.names.add(name)
        elif tag == "option" and self._select and "selected" in given:
            form.fields[self._select] = [given.get("value", "")]
        elif tag == "textarea":
            self._textarea = name
            form.names.add(name)
            form.fields[name] = [""]

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = ""
        if tag == "textarea":
            self._textarea = ""
        while self._stack and tag in self._stack:
            if self._stack.pop() == tag:
                break

    def handle_data(self, data: str) -> None:
        if self._textarea and self.forms:
            self.forms[-1].fields[self._textarea][0] += data
        if not {"script", "style", "title"} & set(self._stack):
            self.words.append(data)


@dataclass
class Seen:
    """An answer. text: its words with blanks folded. forms, links: as on the page."""

    status: int
    html: str
    headers: httpx.Headers

    def __post_init__(self) -> None:
        reader = _Reader()
        reader.feed(self.html)
        self.text = " ".join(" ".join(reader.words).split())
        self.forms = reader.forms
        self.links = reader.links

    @property
    def to(self) -> str:
        """Where a redirect leads."""
        return str(self.headers.get("location", ""))

    def form(self, action: str) -> Form:
        """The form that posts to an address."""
        found = [f for f in self.forms if f.action == action]
        assert found, f"no form for {action}: {[f.action for f in self.forms]}"
        return found[0]


class Place:
    """A household whose pages are tested: its house, held by ``keeper``, and its ``clock``, moved by the test."""

    clock: SetClock
    keeper: Keeper

    def act(self, act: Callable[[House], T]) -> T:
        """Something done in the house's thread."""
        return self.keeper.at_once(act)

    def do(self, deed: Callable[..., None], by: str = BRAM, **inputs: Any) -> Done:
        """A deed of the household, behind the pages' back."""
        return self.act(lambda house: house.do(deed, by=by, **inputs))

    @property
    def desk(self) -> Desk:
        """The desk as it is now."""
        return self.act(lambda house: house.look())

    @property
    def rows(self) -> int:
        """How many entries the record holds."""
        return self.act(lambda house: house.store.last_row())

    def move_in(self) -> None:
        """The invented household, its people and its order."""
        self.act(lambda house: move_in(house, self.clock))

    def open_night(self) -> None:
        """Moved in, with a night open."""
        self.move_in()
        self.do(setup.open_night)

    def set_up(self) -> None:
        """A night set up until nothing keeps connecting shut."""
        self.open_night()
        self.act(lambda house: hands.set_up(house, self.clock))

    def connect(self) -> None:
        """A night with blood running."""
        self.set_up()
        self.do(connect)

    def until(self, step: str) -> None:
        """A night in which the usual moves were made up to a step, which is still to come."""
        self.open_night()
        self.act(lambda house: up_to(house, self.clock, step))


class Site(Place):
    """The pages over a record in memory. clock: moved by the test.

    who: who is at the screen (a cookie). device: the name under which it has reminders on.
    """

    def __init__(self, at: datetime = EVENING, zone: str = ZONE) -> None:
        self.clock = SetClock(at, zone)
        ids = SeededIds(7, start_ms=round(at.timestamp() * 1000))
        self.keeper = Keeper(lambda: House(MemoryStore(ids), self.clock, ids))
        self.app = create_app(self.keeper, (HOST,))
        self.who = BRAM
        self.device = ""

    def close(self) -> None:
        """Let go of the house."""
        self.keeper.close()

    def _cookies(self) -> dict[str, str]:
        return {"who": self.who, **({"device": quote(self.device)} if self.device else {})}

    def _send(self, method: str, path: str, **more: Any) -> Seen:
        async def send() -> httpx.Response:
            async with httpx.AsyncClient(
                transport=httpx.ASGITransport(self.app), base_url=f"http://{HOST}", cookies=self._cookies()
            ) as client:
                return await client.request(method, path, **more)

        answer = waited_for(send)
        return Seen(answer.status_code, answer.text, answer.headers)

    def get(self, path: str) -> Seen:
        """Look at a page."""
        return self._send("GET", path)

    def post(
        self,
        path: str,
        data: Mapping[str, str | list[str]] | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Seen:
        """Send a form from one of our own pages."""
        return self._send(
            "POST", path, data=dict(data or {}), headers=dict(ORIGIN if headers is None else headers)
        )

    def fill(self, page: Seen, action: str, **typed: str | list[str]) -> Seen:
        """Fill in a form of a page and send it. Names with a dot are given with two underscores.

        Fails for a field that the form hasn't, so that a test can't type where a person couldn't.
        """
        form = page.form(action)
        named = {name.replace("__", "."): value for name, value in typed.items()}
        known = form.names | {name for name, _ in form.buttons}
        assert set(named) <= known, f"no such field: {sorted(set(named) - known)}"
        return self.post(action, {**form.fields, **named})
