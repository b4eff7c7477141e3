"""The look of one screen, picked there and kept in its browser alone."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.web.visit import ALL, LOOKS, Visit, Way

YEAR = 365 * 24 * 3600
"""Seconds that a picked look is kept for."""


def pick(visit: Visit) -> Response:
    """Keep the look and go back to the page. Anything but ``day`` and ``night`` goes by the night."""
    chosen = visit.typed.get("look", "")
    answer = visit.go(own_page(visit.typed.get("back", "/")))
    if chosen in LOOKS:
        answer.set_cookie("look", chosen, max_age=YEAR, httponly=True, samesite="strict")
    else:
        answer.delete_cookie("look", httponly=True, samesite="strict")
    return answer


def own_page(address: str) -> str:
    """An address below this server; the first page for anything that leads elsewhere."""
    plain = address.startswith("/") and not address.startswith("//") and address.isascii()
    return address if plain and "\\" not in address and address.isprintable() else "/"


WAYS = (Way("POST", "/look", pick, ALL),)
