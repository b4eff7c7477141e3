"""``pytest tests/external --sources`` prints every check of this folder with its source."""

from __future__ import annotations

import pytest

LIST = pytest.StashKey[list[str]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--sources", action="store_true", help="list the outside checks with their sources")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    lines = [
        f"{mark.args[0]:<18} {item.name}: {mark.kwargs.get('detail', '')}"
        for item in items
        for mark in item.iter_markers("source")
    ]
    config.stash[LIST] = sorted(lines)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    if config.getoption("--sources", default=False):
        lines = config.stash.get(LIST, [])
        terminalreporter.write_line("\n".join(lines))
        terminalreporter.write_line(f"{len(lines)} checks with a source")
