"""The pictures of the pages leave none out."""

from __future__ import annotations

from tools.scenes import scenes

from tests.web.ways_table import GETS

PAPER = "/sheet/{treatment}.pdf"
"""A paper of its own picture."""


def test_every_page_has_its_picture() -> None:
    pictured = {way for _, way, _, _ in scenes()}
    assert pictured == set(GETS) - {PAPER}


def test_no_two_pictures_have_one_name() -> None:
    names = [name for name, _, _, _ in scenes()]
    assert len(set(names)) == len(names)
