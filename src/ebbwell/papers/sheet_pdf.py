"""The sheet of one treatment as PDF: one page where it fits, the same bytes for the same record.

Made as PDF/UA-1 and PDF/A-2a. The standards refuse a character that no font here has: such a one is written as its
code point, and the paper says so. Should a text be refused all the same, a plain PDF is made, which says that too.
"""

from __future__ import annotations

import contextlib
import json
import re
import threading
from datetime import datetime
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final, Literal

import typst

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.papers.sheet import Sheet
from ebbwell.papers.sheet_glyphs import instead, printable
from ebbwell.papers.sheet_model import each_text, model_of

HERE: Final = Path(__file__).parent
Standard = Literal["ua-1", "a-2a"]
STANDARDS: Final[tuple[Standard, ...]] = ("ua-1", "a-2a")

PAPERS: Final = {"a4": "a4", "letter": "us-letter"}
"""Name of a paper size to the typesetter's name for it."""

_PROBE: Final = b"""#set document(title: "x", date: datetime(year: 2026, month: 1, day: 1))
#set text(font: ("Noto Sans", "DejaVu Sans Mono"), lang: "en")
#text(sys.inputs.data)
"""

_COUNT: Final = re.compile(rb"/Type/Pages/Count (\d+)")

_one_at_a_time = threading.Lock()


@cache
def _compiler() -> typst.Compiler:
    """Kept, since the first page costs ten times the next. System fonts are left out: the same bytes everywhere."""
    return typst.Compiler(root=str(HERE), ignore_system_fonts=True, font_paths=[str(HERE / "fonts")])


@cache
def _source() -> bytes:
    return (HERE / "sheet.typ").read_bytes()


def sheet_pdf(sheet: Sheet, *, paper: str = "a4") -> bytes:
    """The sheet as PDF. paper: ``a4`` or ``letter``. The same sheet gives the same bytes.

    Raises InputError for another paper size. No text in the sheet makes it fail.
    """
    if paper not in PAPERS:
        raise InputError("pdf.paper", paper=paper, papers=", ".join(PAPERS))
    model = each_text(model_of(sheet, PAPERS[paper]), printable)
    stamp = int(datetime.fromisoformat(sheet.data["as_of"]).timestamp())
    for missing in (_not_in_fonts, _far_from_latin):
        with contextlib.suppress(typst.TypstError):
            return _set(_written_out(model, missing(model)), STANDARDS, stamp)
    plain = _written_out(model, _far_from_latin(model))
    return _set({**plain, "unreadable": [*plain["unreadable"], say("pdf.plain")]}, (), stamp)


def pages_of(made: bytes) -> int:
    """How many pages a sheet has. Raises ValueError for bytes that are no sheet of ours."""
    found = _COUNT.search(made)
    if found is None:
        raise ValueError("no page count in these bytes")
    return int(found[1])


def _not_in_fonts(model: Any) -> frozenset[str]:
    return frozenset(char for char in _characters(model) if not _shown(char))


def _far_from_latin(model: Any) -> frozenset[str]:
    return frozenset(char for char in _characters(model) if ord(char) > 0x17F)


def _written_out(model: dict[str, Any], missing: frozenset[str]) -> dict[str, Any]:
    """The model with some characters written as code points, which the paper then says."""
    if not missing:
        return model
    changed: dict[str, Any] = each_text(model, lambda text: instead(text, missing))
    return {**changed, "unreadable": [say("pdf.unreadable")]}


def _set(model: dict[str, Any], standards: tuple[Standard, ...], stamp: int) -> bytes:
    data = json.dumps(model, ensure_ascii=False, sort_keys=True)
    return _compiled(_source(), data, standards, stamp)


def _compiled(source: bytes, data: str, standards: tuple[Standard, ...], stamp: int) -> bytes:
    with _one_at_a_time:
        made = _compiler().compile(
            source, sys_inputs={"data": data}, pdf_standards=list(standards), timestamp=stamp
        )
    if not isinstance(made, bytes):
        raise TypeError(f"the typesetter gave {type(made).__name__}")
    return made


def _characters(model: Any) -> set[str]:
    found: set[str] = set()

    def take(text: str) -> str:
        found.update(text)
        return text

    each_text(model, take)
    return {char for char in found if ord(char) > 0x7E}


@lru_cache(maxsize=4096)
def _shown(char: str) -> bool:
    """Whether one of the fonts here has the character, asked of the typesetter itself."""
    try:
        _compiled(_PROBE, char, STANDARDS, 0)
    except typst.TypstError:
        return False
    return True
