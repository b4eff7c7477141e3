"""Upcasters: pure functions that bring the body of an older version of a kind to the next version.

Each takes and gives a plain dictionary. A golden journal of every released version stays in the tests.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Upcaster = Callable[[dict[str, Any]], dict[str, Any]]

UPCASTS: dict[tuple[str, int], Upcaster] = {}
"""(kind, version it reads) to the function that gives the next version."""


def upcast(
    kind: str,
    version: int,
    to: int,
    body: dict[str, Any],
    table: dict[tuple[str, int], Upcaster] | None = None,
) -> dict[str, Any]:
    """Bring a body from one version to a later one, a step at a time.

    Raises KeyError when a step is missing: a fault of the program, held by a test over all kinds.
    """
    steps = UPCASTS if table is None else table
    for at in range(version, to):
        body = steps[kind, at](body)
    return body
