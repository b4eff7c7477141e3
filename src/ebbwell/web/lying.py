"""Files served as they lie: a page names each with a digest of what it holds, so that a browser may keep it.

Without that every page of the night would fetch and read style, scripts and type anew.
"""

from __future__ import annotations

import os
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

STATIC = Path(__file__).parent / "static"
FOREVER = "public, max-age=31536000, immutable"
A_WEEK = "public, max-age=604800"
"""For type, which the style names without a digest."""


@cache
def digest(name: str) -> str:
    """Twelve digits that change with what a file holds. name: below ``static``."""
    return sha256((STATIC / name).read_bytes()).hexdigest()[:12]


def lying(name: str) -> str:
    """The address of a file, for a page."""
    return f"/static/{name}?v={digest(name)}"


class Lying(StaticFiles):
    """Serves them. An address with the digest of what lies there is kept; any other is asked about each time."""

    def file_response(
        self,
        full_path: str | os.PathLike[str],
        stat_result: os.stat_result,
        scope: Scope,
        status_code: int = 200,
    ) -> Response:
        """The file, and how long it may be kept."""
        answer = super().file_response(full_path, stat_result, scope, status_code)
        name = Path(self.get_path(scope)).as_posix()
        asked: dict[str, Any] = parse_qs(scope["query_string"].decode("latin-1"))
        if asked.get("v") == [digest(name)]:
            answer.headers["cache-control"] = FOREVER
        else:
            answer.headers["cache-control"] = A_WEEK if name.startswith("fonts/") else "no-cache"
        return answer
