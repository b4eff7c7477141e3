"""Every check of this folder names a source that the project's own list holds."""

from __future__ import annotations

import tomllib
from importlib import resources

import pytest

KNOWN = tomllib.loads((resources.files("ebbwell.rulebook") / "sources.toml").read_text("utf-8"))["source"]


def test_every_check_names_a_known_source(request: pytest.FixtureRequest) -> None:
    here = [item for item in request.session.items if item.path.parent == request.path.parent]
    without = [
        item.nodeid
        for item in here
        if item.name != request.node.name and not list(item.iter_markers("source"))
    ]
    unknown = {
        mark.args[0] for item in here for mark in item.iter_markers("source") if mark.args[0] not in KNOWN
    }
    assert not without
    assert not unknown
