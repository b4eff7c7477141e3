"""When a page can't be made: what to do for the person first, no trace of the program, the policy still on it."""

from __future__ import annotations

import httpx
import pytest
from starlette.responses import Response

from ebbwell.journal.errors import RecordError
from ebbwell.web.app import create_app
from ebbwell.web.visit import ALL, Visit, Way
from tests.web.site import HOST, Site, waited_for


def _broken(_: Visit) -> Response:
    raise ZeroDivisionError("a secret of the program")


def _stopped(_: Visit) -> Response:
    raise RecordError("web.port_taken", port=1)


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/no-such-page", 404, "There is no page at this address"),
        ("/broken", 500, "The fault is in Ebbwell, not in what you did"),
        ("/stopped", 503, "All that was kept before is still there"),
    ],
)
def test_a_page_that_cannot_be_made_says_what_to_do(site: Site, path: str, status: int, words: str) -> None:
    ways = (Way("GET", "/broken", _broken, ALL), Way("GET", "/stopped", _stopped, ALL))
    app = create_app(site.keeper, (HOST,), ways)

    async def get() -> httpx.Response:
        transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}") as client:
            return await client.get(path)

    answer = waited_for(get)
    assert answer.status_code == status
    assert "Stop. Clamp. Call, as you were taught." in answer.text
    assert words in answer.text
    assert "secret" not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]
