"""Waits for something at a page, looked at from outside: the pages' own rules let no text be run as script."""

from __future__ import annotations

import time
from collections.abc import Callable

from playwright.sync_api import Page

PATIENCE = 15.0
"""Seconds until it must have come."""


def until(page: Page, so: Callable[[], bool]) -> None:
    """Returns once ``so()`` is true. ``page.wait_for_function`` would run text inside the page from its second look
    on, which the content security policy refuses.

    Raises:
        AssertionError: it hasn't come in time.
    """
    end = time.monotonic() + PATIENCE
    while not so():
        assert time.monotonic() < end, f"not so after {PATIENCE:g} s"
        page.wait_for_timeout(20)
