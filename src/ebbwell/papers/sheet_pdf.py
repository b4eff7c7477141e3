"""The sheet of one treatment as PDF: one page where it fits, the same bytes for the same record.

Made as PDF/UA-1 and PDF/A-2a. Where a name holds a character that no font here has, a plain PDF is made that writes
its code point beside it and says so.
"""

from __future__ import annotations

import json
import threading
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

import typst

from ebbwell.papers.sheet import Sheet
from ebbwell.papers.sheet_glyphs import code_points, printable
from ebbwell.papers.sheet_model import model_of

HERE: Final = Path(__file__).parent
STANDARDS: Final = ("ua-1", "a-2a")

Paper = Literal["a4", "us-letter"]
PAPERS: Final[dict[str, Paper]] = {"a4": "a4", "letter": "us-letter"}
"""Name of a paper size to the typesetter's name for it."""

_one_at_a_time = threading.Lock()


@cache
def _compiler() -> typst.Compiler:
    """Kept, since the first page costs ten times the next. System fonts are left out: the same bytes everywhere."""
    return typst.Compiler(root=str(HERE), ignore_system_fonts=True, font_paths=[str(HERE / "fonts")])


@cache
def _source() -> bytes:
    return (HERE / "sheet.typ").read_bytes()


def _made(source: bytes, data: Any, standards: tuple[str, ...], stamp: int = 0) -> bytes:
    with _one_at_a_time:
        made = _compiler().compile(
            source,
            sys_inputs={"data": json.dumps(data, ensure_ascii=False, sort_keys=True)},
            pdf_standards=list(standards),
            timestamp=stamp,
        )
    if not isinstance(made, bytes):
        raise TypeError(f"the typesetter gave {type(made).__name__}")
    return made
