"""A page as somebody sees it who only reads here: no link that stays shut for them, no form that they can't send."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape, unescape
from urllib.parse import urlsplit

from starlette.responses import HTMLResponse, Response
from starlette.routing import compile_path

from ebbwell.core.text import say
from ebbwell.web.visit import HOME, Way

_LINK = re.compile(r"<a\b[^>]*?\bhref=\"([^\"]*)\"[^>]*>.*?</a>", re.DOTALL)
_FORM = re.compile(r"<form\b([^>]*)>(.*?)</form>", re.DOTALL)
_ACTION = re.compile(r"\baction=\"([^\"]*)\"")
_BUTTON = re.compile(r"<button\b.*?</button>|<input type=\"hidden\"[^>]*>", re.DOTALL)


class Doors:
    """Which ways are open for whom, by address. ways: in the order in which they are looked up."""

    def __init__(self, ways: Iterable[Way]) -> None:
        self._ways = [(way.method, compile_path(way.path)[0], way.roles) for way in ways]

    def open(self, method: str, address: str, roles: frozenset[str]) -> bool:
        """Whether somebody may go there; True for what is none of the pages, such as another part of this one."""
        path = urlsplit(address).path
        for known, shape, allowed in self._ways:
            if known == method and shape.match(path):
                return bool(roles & allowed)
        return True

    def as_seen(self, answer: Response, at: str, roles: frozenset[str]) -> Response:
        """An answer without what stays shut for its reader. at: address of the page. Households get it as it is.

        A link goes with its words. Of a form what it asks for stays to be read; its buttons go.
        """
        if roles & HOME or not isinstance(answer, HTMLResponse):
            return answer

        def form(found: re.Match[str]) -> str:
            action = _ACTION.search(found[1])
            if self.open("POST", unescape(action[1]) if action else at, roles):
                return found[0]
            asked = _BUTTON.sub("", found[2])
            told = f'<p class="small">{escape(say("web.only_reads"))}</p>'
            if '<div class="row' in asked:
                told = f'<div class="row"><div class="m"></div><div class="b">{told}</div></div>'
            return f"{told}<fieldset disabled>{asked}</fieldset>"

        def link(found: re.Match[str]) -> str:
            return found[0] if self.open("GET", unescape(found[1]), roles) else ""

        text = _LINK.sub(link, _FORM.sub(form, bytes(answer.body).decode()))
        return HTMLResponse(text, answer.status_code)
