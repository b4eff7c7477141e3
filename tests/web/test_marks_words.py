"""How the name of a field begins a line."""

from __future__ import annotations

from ebbwell.web.marks import capital


def test_a_name_begins_large_and_ph_as_the_trade_writes_it() -> None:
    assert capital("weight before") == "Weight before"
    assert capital("pH of the fluid") == "pH of the fluid"
    assert capital("") == ""
