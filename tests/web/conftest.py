"""The pages over a record in memory with a clock that the test moves; answers that can be read like a person would."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.web.site import Site


@pytest.fixture
def site() -> Iterator[Site]:
    """The pages over an empty record."""
    made = Site()
    yield made
    made.close()
