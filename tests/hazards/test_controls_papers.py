"""Controls of what goes on paper or to the clinic."""

from __future__ import annotations

import re
import subprocess

import pytest

from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.papers.sheet_pdf import sheet_pdf
from ebbwell.papers.sheet_text import sheet_text
from tests.needs import need
from tests.papers.nights import played
from tests.web.site import Site
from tests.web.test_sheet import closed_night

NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.]*\w)")


def flat(text: str) -> str:
    """Without blanks, which fall where a line is full; one kind of minus."""
    return re.sub(r"\s+", "", text).replace("\N{MINUS SIGN}", "-")


def printed(sheet: Sheet) -> str:
    """What an outside tool reads out of the paper."""
    need("pdftotext")
    made = sheet_pdf(sheet)
    return subprocess.run(
        ["pdftotext", "-raw", "-", "-"], input=made, capture_output=True, check=True
    ).stdout.decode()


def values(sheet: Sheet) -> list[str]:
    """Every number that the sheet's readings and rows hold."""
    cells = [cell for section in sheet.sections for row in section.table for cell in row]
    rows = [row for section in sheet.sections for row in section.rows]
    return [number for text in (*cells, *rows) for number in NUMBER.findall(text)]


@pytest.mark.hazard("H37")
@pytest.mark.source("practice:e", detail="H37: numbers equal across the forms; from one fold; hash printed")
@pytest.mark.parametrize("readings", [3, 5, 8])
def test_text_and_paper_hold_the_same_numbers(readings: int) -> None:
    sheet = played(readings, missing_every=3)
    assert len(values(sheet)) > 60
    text, paper = flat(sheet_text(sheet)), flat(printed(sheet))
    for section in sheet.sections:
        for row in section.table:
            for cell in row:
                assert flat(cell) in text, cell
                assert flat(cell) in paper, cell
        for line in section.parts or section.rows:
            if section.id != "record":
                assert flat(line) in paper, line
    for chain in sheet.data["chains"].values():
        assert chain["head"][:16] in text
        assert chain["head"][:16] in paper


@pytest.mark.hazard("H37")
def test_what_a_reading_holds_is_what_the_paper_says() -> None:
    sheet = played(6)
    lines = [" ".join(line.split()) for line in printed(sheet).replace("\N{MINUS SIGN}", "-").splitlines()]
    facts = [fact for fact in sheet.data["facts"] if fact["kind"] == "reading"]
    assert len(facts) == 6
    for n, _ in enumerate(facts):
        venous, arterial = str(112 + n % 17), str(-85 - n % 13)
        assert any({venous, arterial} <= set(line.split()) for line in lines), (venous, arterial)


@pytest.mark.hazard("H37")
def test_the_page_of_the_sheet_says_the_same() -> None:
    site = Site()
    try:
        treatment = closed_night(site)
        page = flat(site.get(f"/sheet/{treatment}").text)
        desk = site.act(lambda house: house.look(treatment=treatment))
        heads = site.act(lambda house: house.store.heads())
        sheet = build_sheet(desk, heads)
        for section in sheet.sections:
            for row in section.table:
                assert all(flat(cell) in page for cell in row)
        for chain in sheet.data["chains"].values():
            assert chain["head"][:16] in page
    finally:
        site.close()
