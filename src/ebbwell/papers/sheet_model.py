"""The sheet as plain data for the typesetter: every word that will stand on the paper, and nothing else."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any, Final

from ebbwell.core.text import say
from ebbwell.draw.chart import svg_of
from ebbwell.draw.palette import PRINT
from ebbwell.draw.table import summary
from ebbwell.papers.heading import practice_words
from ebbwell.papers.sheet import Section, Sheet
from ebbwell.papers.sheet_chart import pressure_chart
from ebbwell.papers.sheet_figures import chain_key
from ebbwell.papers.words import day

_TIMED: Final = re.compile(r"([0-2]\d:[0-5]\d) (?=\S)")

TIMED: Final = frozenset({"exceptions", "events"})
"""Parts of the sheet whose rows begin with a clock time of their own."""

_UNIT: Final = re.compile(r"(\b[^\W\d]{1,6}(?:/[^\W\d]{1,6}){1,3}\b)")

FEW: Final = 12
"""Readings that are always all shown."""

EVERY: Final = (1, 2, 3, 4, 6, 8, 12)
"""Where there are more, and the page is full: every n-th."""

LONG: Final = 40
"""Characters of a word from which on it has to be broken; a treatment's number has 36."""

CHART_WIDTH, CHART_HEIGHT, CHART_SIZE = 236.0, 100.0, 7.5
"""Points on paper."""


def model_of(sheet: Sheet, paper: str) -> dict[str, Any]:
    """What the page is set from. paper: the typesetter's name of the size."""
    data = sheet.data
    night = day(str(data["night"]))
    as_of = datetime.fromisoformat(data["as_of"]).astimezone(UTC)
    banner = [say("sheet.invented")] if sheet.invented else practice_words(invented=False)
    sections = [_section(s, data["exceptions"]) for s in sheet.sections if s.id != "record"]
    chart = _chart(sheet)
    record = sheet.section("record")
    return {
        "lang": "en",
        "paper": paper,
        "title": say("pdf.headline", night=night),
        "date": [as_of.year, as_of.month, as_of.day, as_of.hour, as_of.minute, as_of.second],
        "banner": banner,
        "headline": say("pdf.headline", night=night),
        "whose": [data["household"], say("pdf.person", person=data["person"])],
        "who": list(sheet.who),
        "unreadable": [],
        "sections": sections,
        "chart": chart,
        "plan_missing": chart is not None and sheet.section("plan") is None,
        "thinned": _thinned(sheet),
        "long_words": _long_words(sheet),
        "record": _section(record) if record is not None else None,
        "record_lines": _record_lines(record, sheet) if record is not None else [],
        "foot": _foot(sheet, night),
        "page": say("pdf.page"),
    }


def _section(section: Section, odd: Sequence[str] = ()) -> dict[str, Any]:
    return {
        "id": section.id,
        "title": section.title,
        "rows": [_row(text, timed=section.id in TIMED) for text in section.rows],
        "marked": section.id == "exceptions" and bool(odd),
        "lead": section.lead,
        "parts": [_UNIT.split(part) for part in section.parts],
        "columns": [_head(text) for text in section.columns],
        "table": [list(row) for row in section.table],
    }


def _row(text: str, *, timed: bool) -> dict[str, str]:
    """A row; a clock time that begins it goes into the margin."""
    found = _TIMED.match(text) if timed else None
    return {"time": found[1], "body": text[found.end() :]} if found else {"time": "", "body": text}


def _head(text: str) -> list[str]:
    """The head of a column, its unit (the last word) on a line of its own."""
    return text.rsplit(" ", 1)


def _chart(sheet: Sheet) -> dict[str, Any] | None:
    chart, undrawn = pressure_chart(sheet)
    if chart is None:
        return None
    svg = svg_of(chart, PRINT, width=CHART_WIDTH, height=CHART_HEIGHT, size=CHART_SIZE)
    return {
        "svg": svg,
        "alt": f"{chart.title}. {summary(chart)}",
        "caption": " ".join([chart.title, *undrawn]),
        "width": CHART_WIDTH,
    }


def _thinned(sheet: Sheet) -> list[dict[str, Any]]:
    """Choices of rows, the whole table first. A reading with a name or a missing value is in each."""
    readings = sheet.data["readings"]
    count = len(readings)
    keep = {0, count - 1} | {n for n, r in enumerate(readings) if r["when"] or r["missing"]}
    out = []
    for every in EVERY if count > FEW else (1,):
        kept = [n for n in range(count) if n % every == 0 or n in keep]
        said = "" if len(kept) == count else say("pdf.thinned", kept=len(kept), count=count, every=every)
        out.append({"kept": kept, "said": said})
    return out


def _long_words(sheet: Sheet) -> bool:
    """Whether a word is too long for the narrowest place it may stand in."""
    texts = [str(sheet.data["household"]), str(sheet.data["person"])]
    texts += sheet.who
    for section in sheet.sections:
        texts += [section.title, *section.rows, *section.parts, *section.columns]
        texts += [cell for row in section.table for cell in row]
    return any(len(word) > LONG for text in texts for word in text.split())


def _record_lines(record: Section, sheet: Sheet) -> list[str]:
    """How many entries, and what judged them, in one line; in another the chains that the foot doesn't tell."""
    chains = [row for row in record.rows[2:] if row not in _chains(sheet)[:1]]
    return [line for line in (" ".join(record.rows[:2]), "; ".join(chains)) if line]


def _chains(sheet: Sheet) -> list[str]:
    """Every chain in words, the longest first."""
    return [
        say(chain_key(held["entries"]), writer=writer[-12:], count=held["entries"], head=held["head"][:16])
        for writer, held in sorted(sheet.data["chains"].items(), key=_longest)
    ]


def _foot(sheet: Sheet, night: str) -> list[str]:
    """What stands under every page, so that a loose one says whose it is and which record it came from."""
    data = sheet.data
    chains = _chains(sheet)
    said = chains[:1]
    if len(chains) > 1:
        said.append(say("pdf.more_chains", count=len(chains) - 1))
    kind = say("pdf.foot_invented") if sheet.invented else " ".join(practice_words(invented=False))
    names = {
        name: textwrap.shorten(str(data[name]), 40, placeholder="...") for name in ("household", "person")
    }
    return [f"{kind} {say('pdf.foot', night=night, **names)}".strip(), ". ".join(said)]


def _longest(chain: tuple[str, dict[str, Any]]) -> tuple[int, str]:
    return -chain[1]["entries"], chain[0]


def each_text(value: Any, change: Callable[[str], str]) -> Any:
    """The same data with every text in it changed, keys left alone."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, list):
        return [each_text(one, change) for one in value]
    if isinstance(value, dict):
        return {key: each_text(one, change) for key, one in value.items()}
    return value
