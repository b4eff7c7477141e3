"""The readings of a night as a table of the sheet, a column for each quantity that was read."""

from __future__ import annotations

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.home_clock import sheet_clock
from ebbwell.papers.own_figures import number_here, unit_here
from ebbwell.papers.words import in_order, named, unit_words, when_words
from ebbwell.procedure.evidence import number_in


def readings(desk: Desk) -> tuple[tuple[str, ...], tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Notes beside the readings, then the table's columns and rows.

    A quantity that the household reads in another unit has a column in each, the kept one first.
    """
    facts = sorted(desk.treatment.of("reading"), key=lambda f: f.at)
    bodies = [(f, f.body) for f in facts if isinstance(f.body, Reading)]
    names = in_order({name for _, body in bodies for name in body.values})
    shown = [pair for name in names for pair in _units(desk, name)]
    rows = []
    for fact, body in bodies:
        cells = [_cell(desk, body, name, unit) for name, unit in shown]
        rows.append((sheet_clock(desk, fact.at), *cells))
    notes = []
    for fact, body in bodies:
        words = [when_words(body.when)] if body.when else []
        words += [body.words] if body.words else []
        if words:
            notes.append(f"{sheet_clock(desk, fact.at)} {', '.join(words)}")
    columns = [say("sheet.column.time")]
    columns += [f"{named('sheet.short', name)} {unit}".rstrip() for name, unit in shown]
    return (run_on(notes),) if notes else (), tuple(columns), tuple(rows)


def _substance(desk: Desk, name: str) -> str:
    known = next((one for one in desk.rulebook.quantities() if one.id == name), None)
    return known.substance if known is not None else ""


def _units(desk: Desk, name: str) -> list[tuple[str, str]]:
    """The units that a quantity has a column in."""
    kept = unit_words(name, desk.rulebook)
    return [(name, unit) for unit in dict.fromkeys((kept, unit_here(kept, _substance(desk, name))))]


def _cell(desk: Desk, body: Reading, name: str, unit: str) -> str:
    value = body.values.get(name, "-")
    kept, number = unit_words(name, desk.rulebook), number_in(value)
    if unit == kept or number is None:
        return value
    return number_here(number, kept, _substance(desk, name))


def run_on(parts: list[str]) -> str:
    """Several short rows as one."""
    return "; ".join(parts)
