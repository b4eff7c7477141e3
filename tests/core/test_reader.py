"""Who reads what is said: chosen around a page, and gone with it."""

from __future__ import annotations

import pytest

from ebbwell.core.reader import Reader, read_by, reader

YARD = (("weight", "lb"),)


def test_a_reader_is_chosen_for_what_is_said_inside_and_no_longer() -> None:
    assert reader() == Reader()
    with read_by(YARD):
        assert reader() == Reader(YARD)
        with read_by(YARD, kept_first=True):
            assert reader().kept_first
        assert not reader().kept_first
    assert reader() == Reader()


def test_a_page_that_fails_leaves_no_reader_behind() -> None:
    with pytest.raises(RuntimeError), read_by(YARD):
        raise RuntimeError
    assert reader() == Reader()
