"""What is asked of the list of past nights: words, a month, and from where on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from ebbwell.core.text import say
from ebbwell.web.pages.nights.search import words_of
from ebbwell.web.visit import Visit

LONGEST = 80
"""Characters that are looked for."""


@dataclass(frozen=True)
class Asked:
    """typed: as it was typed. month: 1 to 12, and year; 0 for any."""

    typed: str
    month: int
    year: int

    @property
    def words(self) -> tuple[str, ...]:
        """What is looked for, word by word."""
        return words_of(self.typed)

    @property
    def any(self) -> bool:
        """Whether anything is asked for."""
        return bool(self.words or self.timed)

    @property
    def timed(self) -> bool:
        """Whether only nights of some time are asked for."""
        return bool(self.month or self.year)

    @property
    def said(self) -> str:
        """The same in words: ``"chlorine", April 2026``."""
        time = " ".join(
            part
            for part in (
                say(f"month.{self.month}") if self.month else "",
                str(self.year) if self.year else "",
            )
            if part
        )
        return ", ".join(part for part in (f'"{self.typed}"' if self.words else "", time) if part)

    def in_time(self, night: date) -> bool:
        """Whether a night of that date is asked for."""
        return (not self.month or night.month == self.month) and (not self.year or night.year == self.year)

    def address(self, before: str) -> str:
        """The page of the same from some night on."""
        asked = {"before": before}
        asked |= {"words": self.typed} if self.words else {}
        asked |= {"month": str(self.month)} if self.month else {}
        asked |= {"year": str(self.year)} if self.year else {}
        return f"/nights?{urlencode(asked)}"


def asked_for(visit: Visit, years: Iterable[int]) -> Asked:
    """What the address asks for; a month or year that can't be picked counts as any."""
    return Asked(
        visit.query.get("words", "").strip()[:LONGEST],
        _one_of(visit.query.get("month", ""), range(1, 13)),
        _one_of(visit.query.get("year", ""), years),
    )


def _one_of(text: str, known: Iterable[int]) -> int:
    return next((number for number in known if str(number) == text), 0)
