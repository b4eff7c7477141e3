"""Typed numbers: one parser for every field, whatever the locale.

A comma and a point are both a decimal mark. A blank between thousands is taken, as a number is shown with one; a number
that reads two ways (``1,500``) is given back with both readings. Digits of other scripts are taken as their value.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Context, Decimal

from ebbwell.core.errors import AmbiguousNumber, InputError

MAX_TYPED = 40
"""Characters a number may have; longer text is no number a scale or a meter shows."""

_ROOMY = Context(prec=80)
_PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}\.[0-9]{3}")
_BLANKS = " \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}"
_GROUPED = re.compile(rf"[+-]?[1-9][0-9]{{0,2}}(?:[{_BLANKS}][0-9]{{3}})+(?:[.,][0-9]+)?")

NUMBER_PART = rf"[<>]?=?\s*[+-]?[0-9.,]+(?:[{_BLANKS}][0-9]{{3}}(?![0-9]))*(?:[.,][0-9]+)?"
"""What may be a number in a text with a unit behind it."""

_ONE = r"[<>]?\s*[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_TWO = re.compile(
    rf"({_ONE})[{_BLANKS}]*(?:-|\bto\b|(?<=[{_BLANKS}])\.\.+)[{_BLANKS}]*({_ONE})(?![0-9:/.-])(?:[{_BLANKS}].*)?",
    re.IGNORECASE,
)
_MORE = re.compile(r">=?\s*(.*)", re.DOTALL)

_SIGNS = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{ARABIC DECIMAL SEPARATOR}": ".",
        "\N{GREATER-THAN OR EQUAL TO}": ">=",
    }
)


def plain_digits(typed: str) -> str:
    """The same text with every decimal digit of any script written 0 to 9, and its signs as on a keyboard."""
    out = []
    for char in typed.translate(_SIGNS):
        value = unicodedata.decimal(char, None)
        out.append(char if value is None else str(value))
    return "".join(out)


def refuse_two_numbers(typed: str) -> None:
    """Raise InputError for two numbers where one is asked for, such as ``0.1-0.2`` or ``0.1 to 0.2``."""
    found = _TWO.fullmatch(plain_digits(typed).strip()) if len(typed) <= MAX_TYPED else None
    if found:
        raise InputError("number.two", first=found[1], second=found[2], typed=typed.strip())


def _refuse_more_than(text: str, typed: str) -> None:
    found = _MORE.fullmatch(text)
    if found:
        raise InputError("number.more_than", number=found[1].strip() or "2", typed=typed.strip())


def parse_decimal(typed: str, *, places: int | None = None) -> Decimal:
    """Read a typed number.

    typed: what the person typed; surrounding blanks don't matter.
    places: digits after the mark that the field's instrument shows. With it, ``1,500`` in a field of three
        places is one and a half; without it the text is ambiguous.
    ``11 250`` is 11250, with any blank of one width; not in a field of three places, whose mark may have been missed.
    A mark with nothing before it is read as with a nought: ``.03`` is 0.03.
    Raises InputError (empty, too long, not a plain number, two numbers, "more than") and AmbiguousNumber (two readings).
    Source: design rule "one parser" (hazard practice:H7).

    >>> parse_decimal(" 4,3 ")
    Decimal('4.3')
    """
    text = plain_digits(typed).strip()
    if not text:
        raise InputError("number.empty")
    if len(text) > MAX_TYPED:
        raise InputError("number.too_long", length=len(typed))
    refuse_two_numbers(text)
    _refuse_more_than(text, typed)
    if _GROUPED.fullmatch(text) and (places is None or places < 3):
        text = re.sub(f"[{_BLANKS}]", "", text)
    if text.count(",") + text.count(".") > 1:
        raise InputError("number.two_marks", typed=typed.strip())
    text = text.replace(",", ".")
    if not _PLAIN.fullmatch(text):
        raise InputError("number.not_plain", typed=typed.strip())
    if _THOUSANDS.fullmatch(text) and (places is None or places < 3):
        first, second = text.rstrip("0").rstrip("."), text.replace(".", "")
        raise AmbiguousNumber("number.ambiguous", typed=typed.strip(), first=first, second=second)
    return Decimal(text)


def parse_limit(typed: str, *, places: int | None = None) -> tuple[Decimal, bool]:
    """Read a number that may be written "less than": (value, True) for ``<0.1``, (value, False) for ``0.1``.

    Raises as parse_decimal does.
    """
    text = plain_digits(typed).strip()
    if text.startswith("<"):
        return _behind_sign(text[1:], typed, places), True
    return parse_decimal(text, places=places), False


def parse_bound(typed: str, *, places: int | None = None) -> tuple[Decimal, str]:
    """Read a number that a laboratory may give as a bound: (value, ``<``), (value, ``>``), or (value, "") for itself.

    "At least" counts as ``>``. Raises as parse_decimal does.
    """
    found = _MORE.fullmatch(plain_digits(typed).strip())
    if found:
        return _behind_sign(found[1], typed, places), ">"
    value, below = parse_limit(typed, places=places)
    return value, "<" if below else ""


def _behind_sign(text: str, typed: str, places: int | None) -> Decimal:
    """The number behind a sign; what is wrong with it is told of the whole. Raises as parse_decimal does."""
    refuse_two_numbers(typed)
    try:
        return parse_decimal(text, places=places)
    except InputError as why:
        if why.key in ("number.not_plain", "number.two_marks", "number.more_than"):
            key = "number.not_plain" if why.key == "number.more_than" else why.key
            raise InputError(key, typed=typed.strip()) from why
        raise


def without_noise(value: Decimal) -> Decimal:
    """The value to 12 places: a quotient's last digits say nothing of which side of a limit it lies on."""
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int) or exponent >= -12:
        return value
    short = value.quantize(Decimal("1e-12"), context=_ROOMY).normalize(_ROOMY)
    return short.quantize(Decimal(1), context=_ROOMY) if short == short.to_integral_value() else short


def plain(value: Decimal) -> str:
    """The number as plain digits with a point: no exponent, no trailing zeros made up or dropped."""
    return format(value, "f")
