"""Shares of a whole, written as a row of per cents: how the order divides removal over the night."""

from __future__ import annotations

import re
from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain, plain_digits
from ebbwell.core.text import say

MOST = 12
"""Equal parts of a night. Own choice."""

_BETWEEN = re.compile(r"[;/+|\s]+|,\s+")


def read_shares(line_id: str, typed: str) -> str:
    """``30 25 25 20`` from what was typed: per cents, one for each equal part of the time, adding up to 100.

    Raises InputError for another number of them than 2 to 12, a share that isn't a number from 0 to 100, and another
    sum.
    """
    label = say(f"line.{line_id}")
    words = [word for word in _BETWEEN.split(plain_digits(typed).replace("%", " ").strip()) if word]
    if not 2 <= len(words) <= MOST:
        raise InputError("line.shares_count", label=label, count=len(words), most=MOST)
    shares = [parse_decimal(word, places=2) for word in words]
    total = sum(shares, Decimal(0))
    if total != 100 or any(not 0 <= share <= 100 for share in shares):
        raise InputError("line.shares_sum", label=label, sum=plain(total))
    return " ".join(plain(share) for share in shares)
