"""A mark between thousands, as the language has it, that no one can take for a decimal one."""

from __future__ import annotations

import re
from typing import Final

from ebbwell.core.text import say

LONG: Final = re.compile(r"(?<![\w.,])([0-9]{5,})(?![\w,])")
"""Whole numbers of five digits and more; four digits stand together. Source: common practice, no source."""

_MARK: Final = re.compile(r"1(.*?)000")


def thousands(text: str) -> str:
    """A value's text with the language's mark between thousands: ``11250 units`` with a blank after the 11.

    A number of four digits stays as it is, so that none reads as one with a decimal comma.
    """
    if not LONG.search(text):
        return text
    found = _MARK.search(say("number.thousands"))
    mark = found[1] if found is not None else ""

    def grouped(one: re.Match[str]) -> str:
        digits = one[1]
        first = len(digits) % 3 or 3
        return mark.join([digits[:first], *(digits[n : n + 3] for n in range(first, len(digits), 3))])

    return LONG.sub(grouped, text)
