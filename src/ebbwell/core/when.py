"""Days, and which reading of the night a row is, in words."""

from __future__ import annotations

import re
from datetime import date

from ebbwell.core.text import has_text, say


def when_words(name: str, language: str = "") -> str:
    """Which reading of the night it is: ``min90`` is "90 min after first blood". A name without words is itself."""
    if has_text(f"when.{name}"):
        return say(f"when.{name}", language)
    minutes = re.fullmatch(r"min(\d+)", name)
    if minutes is None:
        return name
    whole = int(minutes[1])
    if whole % 60:
        return say("when.minutes", language, minutes=whole)
    return say("when.hours", language, hours=whole // 60)


def day(text: str) -> str:
    """A stored date for reading: ``29 April 2026``. Text that is no date stays as it is."""
    try:
        found = date.fromisoformat(text)
    except ValueError:
        return text
    return f"{found.day} {say(f'month.{found.month}')} {found.year}"
