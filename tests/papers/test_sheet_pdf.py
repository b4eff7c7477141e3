"""The sheet on paper: the record's figures and nothing else, whatever the script, the same bytes each time."""

from __future__ import annotations

import hashlib
import io
import re
import subprocess
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pikepdf
import pytest
import typst

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.papers import sheet_pdf as making
from ebbwell.papers.heading import practice_words
from ebbwell.papers.sheet import Section, Sheet
from ebbwell.papers.sheet_pdf import PAPERS, pages_of, sheet_pdf
from tests.needs import need
from tests.papers.nights import played

FONTS = Path(making.__file__).parent / "fonts"
HOSTILE = (
    '#let x = 1; #panic("no")',
    "*bold* _it_ $a+b$ `raw` @ref <label> // gone? /* gone */ = Head - list + 1. / term: x ~ -- ... \\u{41} \\",
    '"quoted" \'single\' [content] {code} #[more] #"text" %d {} {name}',
    "<svg onload='x'>&amp;</svg> ]]> --> \N{NUL}\N{BEL}\x1b[31m",
    "ليلى حداد مرحبا",
    "张伟 測試",
    "김영 テスト ひらがな",
    "\N{GRINNING FACE}\N{WOMAN}\N{ZERO WIDTH JOINER}\N{GIRL}\N{REGIONAL INDICATOR SYMBOL LETTER A}",
    "नमस्ते ไทย ქართული አማርኛ שלום Ωμέγα Добрый",
    "a\r\nb\nc\td\N{LINE SEPARATOR}e",
    "\N{RIGHT-TO-LEFT OVERRIDE}9.31\N{POP DIRECTIONAL FORMATTING} \N{COMBINING ACUTE ACCENT}\N{VARIATION SELECTOR-16}",
    "\U000f0000\U0010fffd\ue000\ufdd0\U0001fffe",
    "x" * 700,
    "ab/" * 300,
)


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return played(8, missing_every=4)


@pytest.fixture(scope="module")
def made(sheet: Sheet) -> bytes:
    return sheet_pdf(sheet)


def text_of(made: bytes) -> str:
    """What an outside tool reads out of it."""
    need("pdftotext")
    asked = subprocess.run(["pdftotext", "-raw", "-", "-"], input=made, capture_output=True, check=True)
    return asked.stdout.decode()


def flat(text: str) -> str:
    """Without blanks and line breaks, which fall where the paper is full."""
    return re.sub(r"\s+", "", text)


def opened(made: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(made))


def tags(pdf: pikepdf.Pdf) -> list[Any]:
    """Every element of the structure tree, depth first."""
    found: list[Any] = []

    def walk(node: Any) -> None:
        if isinstance(node, pikepdf.Array):
            for one in node:
                walk(one)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                found.append(node)
            if "/K" in node:
                walk(node["/K"])

    walk(pdf.Root.StructTreeRoot)
    return found


def names(pdf: pikepdf.Pdf) -> list[str]:
    return [str(node["/S"]).removeprefix("/") for node in tags(pdf)]


def test_the_text_is_the_records(sheet: Sheet, made: bytes) -> None:
    text = flat(text_of(made))
    for section in sheet.sections:
        assert flat(section.title) in text
        for row in section.parts or section.rows:
            assert flat(row) in text, row
        for cell in (c for row in section.table for c in row):
            assert flat(cell) in text, cell
    for chain in sheet.data["chains"].values():
        assert f"{chain['entries']}entries,newest{chain['head'][:16]}" in text


def test_each_reading_stands_as_a_row(sheet: Sheet, made: bytes) -> None:
    lines = [" ".join(line.split()) for line in text_of(made).splitlines()]
    readings = sheet.section("readings")
    assert readings is not None
    assert len(readings.table) == 8
    for row in readings.table:
        assert " ".join(row) in lines


def test_exceptions_come_first_and_the_record_last(sheet: Sheet, made: bytes) -> None:
    text = text_of(made)
    titles = [s.title for s in sheet.sections]
    assert titles[0] == say("sheet.exceptions")
    places = [text.index(f"\n{title}\n") for title in titles]
    assert places == sorted(places)
    assert text.index("INVENTED") < places[0]


def test_an_invented_household_says_so_on_each_page() -> None:
    made = sheet_pdf(played(60, events=30))
    assert pages_of(made) > 1
    pages = text_of(made).split("\f")[: pages_of(made)]
    assert all("INVENTED" in page for page in pages)
    assert [f"Page {n + 1} of {len(pages)}" in page for n, page in enumerate(pages)] == [True] * len(pages)


@pytest.mark.hazard("H65")
def test_a_real_household_says_practice_only_on_each_page() -> None:
    (words,) = practice_words(invented=False)
    made = sheet_pdf(replace(played(60, events=30), invented=False))
    pages = text_of(made).split("\f")[: pages_of(made)]
    assert len(pages) > 1
    assert all(words in page for page in pages)
    assert "INVENTED" not in "".join(pages)


@pytest.mark.parametrize("paper", PAPERS)
def test_an_ordinary_night_takes_one_page(sheet: Sheet, paper: str) -> None:
    made = sheet_pdf(sheet, paper=paper)
    with opened(made) as pdf:
        assert len(pdf.pages) == pages_of(made) == 1
        box = [round(float(n)) for n in pdf.pages[0].MediaBox]
    assert box == {"a4": [0, 0, 595, 842], "letter": [0, 0, 612, 792]}[paper]


def test_another_paper_is_refused(sheet: Sheet) -> None:
    with pytest.raises(InputError, match=r"pdf\.paper"):
        sheet_pdf(sheet, paper="a5")


def test_the_same_record_gives_the_same_bytes(sheet: Sheet, made: bytes) -> None:
    assert sheet_pdf(sheet) == made
    assert sheet_pdf(played(8, missing_every=4)) == made
    making._compiler.cache_clear()
    assert sheet_pdf(sheet) == made


def test_it_is_dated_by_the_record_and_names_no_author(sheet: Sheet, made: bytes) -> None:
    as_of = datetime.fromisoformat(sheet.data["as_of"])
    with opened(made) as pdf:
        assert set(pdf.docinfo.keys()) <= {"/Title", "/Creator", "/CreationDate", "/ModDate"}
        assert str(pdf.docinfo["/CreationDate"]).startswith(f"D:{as_of:%Y%m%d%H%M%S}")
        assert str(pdf.docinfo["/Title"]) == "Sheet of the night of 29 April 2026"
        with pdf.open_metadata() as meta:
            assert "dc:creator" not in meta
    assert f"{datetime.now(UTC):%Y%m%d}".encode() not in made


def test_it_is_made_for_screen_readers_and_archives(made: bytes) -> None:
    with opened(made) as pdf:
        with pdf.open_metadata() as meta:
            assert meta.get("pdfuaid:part") == "1"
            assert (meta.get("pdfaid:part"), meta.get("pdfaid:conformance")) == ("2", "A")
            assert meta.get("dc:title") == "Sheet of the night of 29 April 2026"
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.Root.Lang) == "en"
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert "/OutputIntents" in pdf.Root
        for name in ("/JavaScript", "/AA", "/OpenAction", "/AcroForm", "/EmbeddedFiles"):
            assert name not in pdf.Root
        assert all(str(page.Tabs) == "/S" for page in pdf.pages)


def test_tags_say_what_is_heading_table_and_figure(sheet: Sheet, made: bytes) -> None:
    with opened(made) as pdf:
        said = names(pdf)
        assert said.count("H1") == 1
        assert said.count("H2") == len(sheet.sections)
        assert said.count("Table") == 2
        plan, readings = sheet.section("plan"), sheet.section("readings")
        assert plan is not None
        assert readings is not None
        assert said.count("TH") == len(plan.columns) + len(readings.columns)
        assert said.count("TD") == sum(len(row) for s in (plan, readings) for row in s.table)
        heads = [node for node in tags(pdf) if str(node["/S"]) == "/TH"]
        assert {str(node["/A"][0]["/Scope"]) for node in heads} == {"/Column"}
        (figure,) = [node for node in tags(pdf) if str(node["/S"]) == "/Figure"]
        assert "venous" in str(figure["/Alt"])
        assert said.index("H1") < said.index("H2")


def test_every_font_is_embedded_and_ours(made: bytes) -> None:
    with opened(made) as pdf:
        found = [
            o
            for o in pdf.objects
            if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"
        ]
        assert found
        assert all("/FontFile2" in o or "/FontFile3" in o for o in found)
        assert {re.sub(r"^/[A-Z]{6}\+|-.*", "", str(o.FontName)) for o in found} == {"NotoSans"}


def test_the_fonts_are_the_ones_that_were_brought_in() -> None:
    for line in (FONTS / "SHA256SUMS").read_text("ascii").splitlines():
        digest, name = line.split()
        assert hashlib.sha256((FONTS / name).read_bytes()).hexdigest() == digest
    assert {p.name for p in FONTS.glob("*.ttf")} == {
        line.split()[1] for line in (FONTS / "SHA256SUMS").read_text("ascii").splitlines()
    }
    assert "SIL Open Font License" in (FONTS / "OFL.txt").read_text("utf-8")


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_no_text_makes_it_fail_or_is_read_as_markup(words: str) -> None:
    sheet = played(3, missing_every=2)

    def spoilt(section: Section) -> Section:
        return replace(
            section,
            title=words,
            rows=(*section.rows, f"03:30 {words}", words),
            columns=tuple(f"{words[:30]} mmHg" for _ in section.columns[:2]),
            table=tuple((row[0], words) for row in section.table),
            parts=(*section.parts, words) if section.parts else (),
        )

    odd = replace(
        sheet,
        sections=(sheet.sections[0], *(spoilt(section) for section in sheet.sections[1:])),
        data={**sheet.data, "person": words, "household": words},
    )
    made = sheet_pdf(odd)
    with opened(made) as pdf, pdf.open_metadata() as meta:
        assert meta.get("pdfuaid:part") == "1"
    text = flat(text_of(made))
    assert flat(say("sheet.exceptions")) in text
    if words.isascii() and words.isprintable():
        assert text.count(flat(words)) >= 4


@pytest.mark.source("arithmetic", detail="code points of the Unicode charts")
def test_a_script_without_font_is_written_out_and_the_paper_says_so() -> None:
    sheet = played(3, name="张伟 김영", words="\N{RIGHT-TO-LEFT OVERRIDE}9.31")
    text = flat(text_of(sheet_pdf(sheet)))
    assert "[U+5F20U+4F1F][gimyeong,U+AE40U+C601]" in text
    assert "[U+202E]9.31" in text
    assert flat(say("pdf.unreadable")) in text


def test_scripts_that_the_fonts_hold_are_shown_as_they_are() -> None:
    text = text_of(sheet_pdf(played(3, name="Zoë Łukasz Ωμέγα Добрый")))
    assert "Zoë Łukasz Ωμέγα Добрый" in text
    assert say("pdf.unreadable") not in text


def test_should_the_standards_refuse_all_the_same_a_plain_paper_is_made(
    sheet: Sheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = making._compiled

    def refuses(source: bytes, data: str, standards: tuple[str, ...], stamp: int) -> bytes:
        if standards and source != making._PROBE:
            raise typst.TypstError("refused", "refused")
        return real(source, data, (), stamp)

    monkeypatch.setattr(making, "_compiled", refuses)
    made = sheet_pdf(sheet)
    with opened(made) as pdf, pdf.open_metadata() as meta:
        assert "pdfuaid:part" not in meta
    assert flat(say("pdf.plain")) in flat(text_of(made))


def test_too_many_readings_are_thinned_and_it_says_so() -> None:
    sheet = played(40, missing_every=13)
    made = sheet_pdf(sheet)
    assert pages_of(made) == 1
    lines = [" ".join(line.split()) for line in text_of(made).splitlines()]
    readings = sheet.section("readings")
    assert readings is not None
    shown = [row for row in readings.table if " ".join(row) in lines]
    (said,) = [line for line in lines if line.startswith("Readings on this paper:")]
    assert f"Readings on this paper: {len(shown)} of 40." in said
    assert 3 < len(shown) < 40
    assert readings.table[0] in shown
    assert readings.table[-1] in shown
    lacking = [row for row, r in zip(readings.table, sheet.data["readings"], strict=True) if r["missing"]]
    assert lacking
    assert all(row in shown for row in lacking)


def test_what_fits_no_single_page_takes_more_and_nothing_is_left_out() -> None:
    sheet = played(60, events=40, words="a noise from the pump, gone after it was looked at")
    made = sheet_pdf(sheet)
    assert pages_of(made) > 1
    text = flat(text_of(made))
    events, readings = sheet.section("events"), sheet.section("readings")
    assert events is not None
    assert readings is not None
    assert text.count(flat("looked at. looked")) == 40
    assert all(flat("".join(row)) in text for row in readings.table)
    assert "Readingsonthispaper" not in text


def test_type_is_never_smaller_than_seven_and_a_half_points() -> None:
    source = (Path(making.__file__).parent / "sheet.typ").read_text("utf-8")
    sizes = re.search(r"#let sizes = \(([^)]*)\)", source)
    assert sizes is not None
    assert min(float(size.strip().removesuffix("pt")) for size in sizes[1].split(",")) == 7.5


def test_a_change_of_clocks_in_the_night_is_marked() -> None:
    start = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
    assert "clocks change" in text_of(sheet_pdf(played(6, start=start)))


def test_a_night_without_pressures_has_no_chart(sheet: Sheet) -> None:
    bare = replace(sheet, data={**sheet.data, "readings": []})
    with opened(sheet_pdf(bare)) as pdf:
        assert "Figure" not in names(pdf)


def test_pages_of_other_bytes_are_not_counted() -> None:
    with pytest.raises(ValueError, match="no page count"):
        pages_of(b"%PDF-1.7")


def test_an_old_night_stands_as_it_was() -> None:
    """A week later is another day, not another paper."""
    assert sheet_pdf(played(4, start=datetime(2026, 4, 22, 19, 0, tzinfo=UTC))) != sheet_pdf(played(4))
    first, second = played(4), played(4)
    assert first.data["as_of"] == second.data["as_of"]
    assert datetime.fromisoformat(first.data["as_of"]) - datetime(2026, 4, 29, tzinfo=UTC) < timedelta(days=2)
