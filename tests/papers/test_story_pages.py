"""Every sheet of the story is one page, on both papers."""

from __future__ import annotations

from pathlib import Path

import pytest

from ebbwell.core.ids import SeededIds
from ebbwell.house import House
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_pdf import PAPERS, pages_of, sheet_pdf
from ebbwell.sim.story import tell

NIGHTS = 50
"""The story has more nights than this."""


@pytest.mark.source("design", detail="8: the sheet is one page, A4 or Letter")
def test_every_night_of_the_story_is_one_page_on_both_papers(tmp_path: Path) -> None:
    story = tell(tmp_path)
    long: list[tuple[str, str]] = []
    with House.open(story.path, story.clock(), SeededIds(1), create=False) as house:
        nights = list(house.look().past.values())
        for night in nights:
            sheet = build_sheet(house.look(treatment=night.treatment), house.store.heads())
            long += [(night.night, paper) for paper in PAPERS if pages_of(sheet_pdf(sheet, paper=paper)) > 1]
    assert len(nights) > NIGHTS
    assert long == []
