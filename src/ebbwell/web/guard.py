"""What a request must be before any page sees it: from this computer, from our own pages, and small.

Source: the fetch metadata, content security policy and HTTP standards of the web platform.
"""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ebbwell.core.text import say

BODY_CAP = 256 * 1024
"""Bytes of a request's body; a night's longest form is a hundredth of it. Own choice."""

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "media-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(), geolocation=(), screen-wake-lock=(self)",
}


class TooBig(Exception):
    """A body went on past the cap."""


class Guard:
    """Refuses what didn't come from our own pages on this computer, and puts the policy on every answer.

    hosts: names, each with its port, that this server answers to.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str]) -> None:
        self._app = app
        self._hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        started = False

        async def guarded(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                if "cache-control" not in headers:
                    headers["cache-control"] = "no-store"
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            await PlainTextResponse(refusal[1], refusal[0])(scope, receive, guarded)
            return
        taken = 0

        async def capped() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > BODY_CAP:
                raise TooBig
            return message

        try:
            await self._app(scope, capped, guarded)
        except TooBig:
            if started:
                raise
            await PlainTextResponse(say("web.too_big"), 413)(scope, receive, guarded)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        if headers.get("host", "") not in self._hosts:
            return 421, say("web.other_host")
        if scope["method"] in SAFE_METHODS:
            return None
        origin = headers.get("origin")
        if origin is not None and urlsplit(origin).netloc not in self._hosts:
            return 403, say("web.other_origin")
        site = headers.get("sec-fetch-site")
        if site is not None and site not in ("same-origin", "none"):
            return 403, say("web.other_origin")
        if origin is None and site is None:
            return 403, say("web.other_origin")
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > BODY_CAP:
            return 413, say("web.too_big")
        return None
