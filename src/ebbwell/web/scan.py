"""What a hand scanner types from a label: code, lot and use-by date out of a GS1 element string.

Source: practice:g1 (application identifiers 01, 10, 17, 240; separators; brackets are for eyes only).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import biip

from ebbwell.core.errors import InputError

GROUP = "\x1d"
_BRACKETS = re.compile(r"\(([0-9]{2,4})\)")


@dataclass(frozen=True)
class Scanned:
    """A label as scanned. code: the maker's own item code where the label has one, else the trade item number.

    lot, expiry: "" where the label doesn't say; expiry as YYYY-MM-DD.
    """

    code: str
    lot: str = ""
    expiry: str = ""


def read_scan(text: str) -> Scanned:
    """A scanned label in its parts. Raises InputError for what isn't an element string with a code in it.

    >>> read_scan("]d2010950110153000317270600" + "10A5521" + chr(29) + "240A-2K")
    Scanned(code='A-2K', lot='A5521', expiry='2027-06-30')
    """
    plain = text.strip()
    if plain.startswith("("):
        plain = _BRACKETS.sub(GROUP + r"\1", plain).removeprefix(GROUP)
    try:
        message = biip.parse(plain).gs1_message
    except (biip.BiipException, ValueError) as why:
        raise InputError("enter.scan") from why
    if message is None:
        raise InputError("enter.scan")
    parts = {element.ai.ai: element for element in message.element_strings}
    code = parts.get("240") or parts.get("01")
    if code is None or (code.ai.ai == "01" and code.gtin is None):
        raise InputError("enter.scan")
    lot, expiry = parts.get("10"), parts.get("17")
    return Scanned(
        code.value,
        lot.value if lot is not None else "",
        expiry.date.isoformat() if expiry is not None and expiry.date is not None else "",
    )
