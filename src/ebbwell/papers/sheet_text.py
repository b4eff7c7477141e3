"""The sheet as plain text, for a terminal or a printer of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill

from ebbwell.core.text import say
from ebbwell.papers.heading import practice_words
from ebbwell.papers.sheet import Section, Sheet
from ebbwell.papers.words import WIDTH, wrap


def sheet_text(sheet: Sheet) -> str:
    """The whole sheet. An invented household says so in the first line."""
    lines: list[str] = []
    if sheet.invented:
        lines.append(say("sheet.invented"))
    lines += practice_words(invented=sheet.invented)
    lines += wrap(sheet.title)
    lines.append("=" * WIDTH)
    for words in sheet.who:
        lines += wrap(words, first="  ")
    for section in sheet.sections:
        lines += _section(section)
    return "\n".join(lines) + "\n"


def _section(section: Section) -> list[str]:
    lines = [f"-- {section.title}"]
    if section.table:
        lines += table(section.columns, section.table)
    for row in section.rows:
        lines += wrap(row, first="* " if section.id == "exceptions" else "  ", rest="  ")
    return lines


NARROWEST = 14
"""Characters under which a column isn't broken over lines. Own choice: two short words."""


def table(columns: Sequence[str], rows: Sequence[Sequence[str]], width: int = WIDTH) -> list[str]:
    """Columns side by side, heads broken over lines; the first column is flush left.

    The last of three is broken over lines where it alone is too wide. Where they don't fit beside each other even so,
    each row is written out in words instead.
    """
    heads = [column.split(" ") for column in columns]
    wide = [max([len(word) for word in head] + [len(row[i]) for row in rows]) for i, head in enumerate(heads)]
    if len(columns) == 3:
        wide = [max(w, len(c)) for w, c in zip(wide, columns, strict=True)]
        heads = [[column] for column in columns]
    room = width - sum(wide[:-1]) - 2 * len(wide)
    if len(columns) == 3 and NARROWEST <= room < wide[-1] and len(columns[-1]) <= room:
        return _last_broken(columns, rows, wide, room)
    if sum(wide) + 2 * len(wide) > width:
        return [
            line
            for row in rows
            for line in wrap(", ".join(f"{c} {v}" for c, v in zip(columns, row, strict=True)), first="  ")
        ]
    tall = max(len(head) for head in heads)
    padded = [[""] * (tall - len(head)) + head for head in heads]
    out = [_row([head[line] for head in padded], wide) for line in range(tall)]
    return out + [_row(row, wide) for row in rows]


def _last_broken(
    columns: Sequence[str], rows: Sequence[Sequence[str]], wide: Sequence[int], room: int
) -> list[str]:
    """Three columns, the last one no wider than so many characters; what is over stands in it on the next line."""
    out = []
    for first, second, last in (columns, *rows):
        broken = fill(last, room, break_long_words=False, break_on_hyphens=False).split("\n") or [""]
        out += [_row((first, second, broken[0]), wide), *(_row(("", "", part), wide) for part in broken[1:])]
    return out


def _row(cells: Sequence[str], wide: Sequence[int]) -> str:
    text = [
        cell.ljust(w) if i == 0 or len(cells) == 3 else cell.rjust(w)
        for i, (cell, w) in enumerate(zip(cells, wide, strict=True))
    ]
    return ("  " + "  ".join(text)).rstrip()
