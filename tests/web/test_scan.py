"""Labels as a hand scanner types them."""

from __future__ import annotations

import pytest

from ebbwell.core.errors import InputError
from ebbwell.web.scan import Scanned, read_scan

GTIN = "09501101530003"


@pytest.mark.source(
    "practice:g", detail="AI 01, 17, 10, 240; FNC1 as character 29; sample number 09501101530003"
)
@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        (f"01{GTIN}17270630" + "10A5521", Scanned(GTIN, "A5521", "2027-06-30")),
        (f"]d201{GTIN}10A5521\x1d17270630", Scanned(GTIN, "A5521", "2027-06-30")),
        (f"]C101{GTIN}10A5521\x1d17270630240A-2K", Scanned("A-2K", "A5521", "2027-06-30")),
        (f"\x1d01{GTIN}", Scanned(GTIN)),
    ],
)
def test_parts_of_a_label(typed: str, expected: Scanned) -> None:
    assert read_scan(typed) == expected


@pytest.mark.source("practice:g", detail="day 00 is the last day of the month")
@pytest.mark.parametrize(("day", "expected"), [("270600", "2027-06-30"), ("280200", "2028-02-29")])
def test_a_date_without_a_day_holds_to_the_end_of_its_month(day: str, expected: str) -> None:
    assert read_scan(f"01{GTIN}17{day}").expiry == expected


@pytest.mark.source("practice:g", detail="brackets are for eyes only")
def test_brackets_around_the_identifiers_are_read_past() -> None:
    assert read_scan(f"(01){GTIN}(17)270630(10)A5521(240)A-2K") == Scanned("A-2K", "A5521", "2027-06-30")


@pytest.mark.source("practice:g", detail="separators, brackets for eyes only; AI 240 the maker's own code")
@pytest.mark.parametrize(
    "typed",
    [
        f"(01) {GTIN} (17) 270630 (10) A5521 (240) A-2K",
        f"[01]{GTIN}[17]270630[10]A5521[240]A-2K",
        f"01 {GTIN} 17 270630 10 A5521 240 A-2K",
        f"01{GTIN} 17270630 10A5521 240A-2K",
        f"01{GTIN}1727063010A5521<GS>240A-2K",
        f"01{GTIN}1727063010A5521{{gs}}240A-2K",
        f"01{GTIN}1727063010A5521^]240A-2K",
        f"01{GTIN}1727063010A5521|240A-2K",
        f"01{GTIN}1727063010A5521\N{SYMBOL FOR GROUP SEPARATOR}240A-2K",
    ],
)
def test_a_label_may_be_typed_as_it_stands_under_the_bars(typed: str) -> None:
    assert read_scan(typed) == Scanned("A-2K", "A5521", "2027-06-30")


@pytest.mark.source("practice:g", detail="weights 3, 1, 3, 1 from the right-most digit: the check digit is 3")
def test_a_wrong_check_digit_is_no_label() -> None:
    for last in "012456789":
        with pytest.raises(InputError):
            read_scan(f"01{GTIN[:-1]}{last}")


@pytest.mark.parametrize(
    "typed", ["", "   ", "A-2K", "10A5521", GTIN, "+H123PARTNO1234567890120", "x" * 3000]
)
def test_what_has_no_code_in_it_is_no_label(typed: str) -> None:
    with pytest.raises(InputError):
        read_scan(typed)
