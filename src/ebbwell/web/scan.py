"""What a hand scanner types from a label: code, lot and use-by date out of a GS1 element string.

Source: practice:g1 (application identifiers 01, 10, 17, 240; separators; brackets are for eyes only).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import biip

from ebbwell.core.errors import InputError

GROUP = "\x1d"
_BRACKETS = re.compile(r"\s*[(\[]([0-9]{2,4})[)\]]\s*")
_SEPARATORS = re.compile(
    r"\s*(?:<GS>|\{GS\}|\[GS\]|\^\]|\N{SYMBOL FOR GROUP SEPARATOR}|\|)\s*", re.IGNORECASE
)
"""How readers and keyboards write the character 29 that can't be typed."""
_KNOWN = frozenset({"01", "10", "11", "17", "21", "30", "240"})


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

    Typed by hand it may have brackets or blanks between its parts, as printed under the bars.

    >>> read_scan("]d2010950110153000317270600" + "10A5521" + chr(29) + "240A-2K")
    Scanned(code='A-2K', lot='A5521', expiry='2027-06-30')
    """
    plain = _joined(_SEPARATORS.sub(GROUP, text.strip()))
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


def _joined(text: str) -> str:
    """The parts of a label as a reader would send them: identifier and value together, parts set apart."""
    if text.startswith(("(", "[")):
        return _BRACKETS.sub(GROUP + r"\1", text).removeprefix(GROUP)
    parts = [part for part in text.split(" ") if part]
    if len(parts) % 2 == 0 and set(parts[::2]) <= _KNOWN:
        parts = [name + value for name, value in zip(parts[::2], parts[1::2], strict=True)]
    return GROUP.join(parts)
