"""Reads a table from a file of separated values: rows with their line numbers, or every broken line by its number.

Comma, semicolon or tab between cells, whichever the first line has; quotes as usual; a mark at the start that says how
the text is written. UTF-8, or UTF-16 with its mark. Nothing here knows what the columns are about.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal

MOST_BYTES = 50_000_000
"""A file may be so long; a year of bloods of ten thousand people is a tenth of it. Source: design."""
UNSEEN = ("Cc", "Cf", "Zl", "Zp")
"""Kinds of signs that no cell may hold. Source: the Unicode standard (general categories)."""
SEPARATORS = (";", "\t", ",")
"""What may stand between cells; where the first line has several, the first one here counts."""
NOTE = "note"
"""Columns whose name begins so are the writer's own and are left alone."""

_DECIMAL = re.compile(r"[+-]?(?:[0-9]*(?=[.,](?:[0-9]{1,2}|[0-9]{4,})$)|0(?=[.,]))([.,])[0-9]+")
"""A number whose mark can't be one for thousands."""
_SPACES = re.compile(r"[\s_]+")


class _Reader(Protocol):
    """A reader of the standard library, as far as it is used here."""

    line_num: int

    def __next__(self) -> list[str]: ...


@dataclass(frozen=True, slots=True)
class Broken:
    """A line that can't be taken, or that is asked about. line: as an editor counts, from 1. column: "" for the whole.

    key, params: wording.
    """

    line: int
    column: str
    key: str
    params: tuple[tuple[str, str], ...] = ()


class TableRefused(InputError):
    """A file can't be read as the table that is asked for; nothing of it was taken.

    lines: what is wrong, by line.
    """

    exit_code = 60

    def __init__(self, key: str, lines: Sequence[Broken] = (), **params: object) -> None:
        super().__init__(key, **params)
        self.lines = tuple(lines)


class TableAsked(InputError):
    """Figures of a file look like a slip; nothing of it was taken until someone says that they are as on the paper.

    lines: each of them.
    """

    exit_code = 61

    def __init__(self, key: str, lines: Sequence[Broken] = (), **params: object) -> None:
        super().__init__(key, **params)
        self.lines = tuple(lines)


@dataclass(frozen=True, slots=True)
class Row:
    """line: where it begins, from 1. cells: column to text, without blanks around it; an empty cell isn't there."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """columns: names as they are known here. separator: between cells. mark: the decimal mark, "" where none is sure.

    broken: lines that aren't rows of this table.
    """

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    separator: str
    mark: str
    broken: tuple[Broken, ...]

    def number(self, text: str) -> Decimal:
        """A cell as a number. Raises InputError, and AmbiguousNumber for one that reads two ways in this file.

        Three digits behind a mark are decimals where it is the mark that this file has for them.
        """
        return parse_decimal(text, places=3 if self.mark and self.mark in text else None)


def decoded(data: bytes) -> str:
    """The text of a file. Raises TableRefused for an empty one, one too long, or bytes of another encoding."""
    if len(data) > MOST_BYTES:
        raise TableRefused("table.too_long", most=MOST_BYTES // 1_000_000)
    name = "utf-8-sig"
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        name = "utf-16"
    try:
        text = data.decode(name)
    except UnicodeDecodeError as why:
        line = _lines_before(data[: why.start])
        raise TableRefused("table.encoding", line=line, byte=f"{data[why.start]:#04x}") from why
    if "\0" in text:
        raise TableRefused(
            "table.encoding", line=_lines_before(text[: text.index("\0")].encode()), byte="0x00"
        )
    if not text.strip():
        raise TableRefused("table.empty")
    return text


def read_table(text: str, *, known: Sequence[str], spelled: Mapping[str, str] | None = None) -> Table:
    """The rows of a text.

    known: names of the columns that may be there. spelled: other names to what is wrong with them, wording keys.
    Raises TableRefused for a head that can't be taken: an unknown name, one twice, none. Lines that aren't rows are in
    ``broken``, so that they can be told with those whose cells are wrong.
    """
    lines = io.StringIO(text, newline="")
    first, skipped = lines.readline(), 0
    while first and (not first.strip() or re.fullmatch(r"sep=.\s*", first)):
        first, skipped = lines.readline(), skipped + 1
    separator = next((one for one in SEPARATORS if one in first), ",")
    reader = csv.reader(io.StringIO(first + lines.read(), newline=""), delimiter=separator, strict=True)
    try:
        head = next(reader)
    except csv.Error as why:
        raise TableRefused("table.head_quotes") from why
    columns = _columns(head, known, spelled or {})
    rows, broken = _rows(reader, columns, skipped)
    return Table(
        tuple(name for name in columns if name), tuple(rows), separator, _mark(rows, separator), tuple(broken)
    )


def _mark(rows: Sequence[Row], separator: str) -> str:
    """The one decimal mark that numbers of the file have; the point where commas part the cells and none says else."""
    marks = {found[1] for row in rows for cell in row.cells.values() if (found := _DECIMAL.fullmatch(cell))}
    if separator == ",":
        marks |= {"."}
    return marks.pop() if len(marks) == 1 else ""


def _lines_before(data: bytes) -> int:
    return len(re.findall(rb"\r\n|\r|\n", data)) + 1


def _columns(head: Sequence[str], known: Sequence[str], spelled: Mapping[str, str]) -> list[str]:
    """Names as they are known here; "" for a column that is left alone."""
    found: list[str] = []
    if any(map(unseen, head)):
        raise TableRefused("table.unseen_head")
    for number, cell in enumerate(head, 1):
        name = _SPACES.sub("_", cell.strip().casefold())
        if not name and any(one.strip() for one in head[number:]):
            raise TableRefused("table.column_unnamed", number=number)
        if name.startswith(NOTE) or not name:
            found.append("")
            continue
        if name in spelled:
            raise TableRefused(spelled[name], name=cell.strip()[:60])
        if name not in known:
            raise TableRefused("table.column_unknown", name=cell.strip()[:60], near=_near(name, known))
        if name in found:
            raise TableRefused("table.column_twice", name=name)
        found.append(name)
    if not any(found):
        raise TableRefused("table.no_columns")
    return found


def unseen(text: str) -> bool:
    """Whether a text holds a sign that can't be seen and might act on a screen, such as an escape."""
    return any(char != "\t" and unicodedata.category(char) in UNSEEN for char in text)


def _near(name: str, known: Sequence[str]) -> str:
    from difflib import get_close_matches

    return " / ".join(get_close_matches(name, known, 3, 0.5) or known)


def _rows(reader: _Reader, columns: Sequence[str], skipped: int) -> tuple[list[Row], list[Broken]]:
    rows: list[Row] = []
    broken: list[Broken] = []
    while True:
        line = reader.line_num + skipped + 1
        try:
            cells = next(reader)
        except StopIteration:
            return rows, broken
        except csv.Error:
            broken.append(Broken(line, "", "table.quotes"))
            continue
        cells = [cell.strip() for cell in cells]
        if not any(cells):
            continue
        while len(cells) > len(columns) and not cells[-1]:
            cells.pop()
        if len(cells) != len(columns):
            counts = (("cells", str(len(cells))), ("columns", str(len(columns))))
            broken.append(Broken(line, "", "table.cells", counts))
        elif any("\n" in cell or "\r" in cell for cell in cells):
            broken.append(Broken(line, "", "table.line_break"))
        elif any(map(unseen, cells)):
            broken.append(Broken(line, "", "table.unseen"))
        else:
            named = zip(columns, cells, strict=True)
            rows.append(Row(line, {name: cell for name, cell in named if name and cell}))
