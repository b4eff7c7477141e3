"""Reads pairs of bloods, one a line, for one person or for thousands: all of them, or none and every broken line.

The unit stands in the name of the column. Whatever can't be true is refused with its line; what looks like a slip is
asked about by ``exchange.blood_slips``. Columns: ``blood_columns.COLUMNS``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

from ebbwell.core.errors import DomainError, EbbwellError, InputError
from ebbwell.core.units import convert
from ebbwell.exchange.blood_columns import BY_NAME, COLUMNS, OTHERS, SPELLED, Column
from ebbwell.exchange.blood_slips import slips
from ebbwell.exchange.night_words import nights_of
from ebbwell.exchange.table import (
    MOST_BYTES,
    Broken,
    Row,
    Table,
    TableAsked,
    TableRefused,
    decoded,
    read_table,
)
from ebbwell.review.basis import DAY_MIN, Nights
from ebbwell.review.clearance import clearance_l_min, creatinine_clearance_l_min
from ebbwell.review.collected import ABOUT_A_DAY_MIN, LAST_DAY, cleared_ml_min
from ebbwell.review.levels import CREATININE, UREA
from ebbwell.review.pairs import ACCESSES, CreatininePair, Pair
from ebbwell.rulebook.substances import substance, substance_words

_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
OLDEST = date(1960, 1, 1)
"""No figure is older than treatments at home. Source: common practice, no source."""
PERSON_LENGTH = 60
"""Signs of a person's code at most. Source: design."""


def read_file(path: Path, today: date, *, as_typed: bool = False) -> tuple[Pair, ...]:
    """The pairs of a file. today: no night may be later. as_typed: what looks like a slip is so on the paper.

    Raises InputError where the file can't be read, TableRefused and TableAsked as ``read_text``.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as why:
        raise InputError("table.not_read", path=path, why=why.strerror or type(why).__name__) from why
    return read_text(decoded(data), today, as_typed=as_typed)


def read_text(text: str, today: date, *, as_typed: bool = False) -> tuple[Pair, ...]:
    """The pairs of a text, in its order.

    Raises TableRefused with every line that can't be, and TableAsked with every figure that looks like a slip unless
    ``as_typed``; in both cases nothing is taken.
    """
    table = read_table(text, known=tuple(BY_NAME), spelled=SPELLED)
    _whole(table)
    broken = list(table.broken)
    pairs: list[Pair] = []
    for row in table.rows:
        try:
            pairs.append(_pair(table, row, today))
        except _Wrong as why:
            broken += why.found
    broken += _twice(pairs)
    if broken:
        lines = sorted(broken, key=lambda one: one.line)
        raise TableRefused("table.broken", lines, count=len({one.line for one in lines}))
    if not pairs:
        raise TableRefused("table.no_rows")
    asked = () if as_typed else slips(pairs)
    if asked:
        raise TableAsked("table.asked", asked, count=len(asked))
    return tuple(pairs)


def _whole(table: Table) -> None:
    """Raise TableRefused for a head that lacks a column, or gives one thing in two units."""
    bases: dict[str, list[str]] = {}
    for name in table.columns:
        bases.setdefault(BY_NAME[name].base, []).append(name)
    for names in bases.values():
        if len(names) > 1:
            raise TableRefused("csv.two_units", names=" / ".join(names))
    needed = dict.fromkeys(one.base for one in COLUMNS if one.needed and one.base not in bases)
    missing = [" or ".join(one.name for one in COLUMNS if one.base == base) for base in needed]
    if "clearance" not in bases and not {"koa", "blood_flow", "fluid_flow"} <= bases.keys():
        missing.append("clearance_ml_min or koa_ml_min, blood_flow_ml_min, fluid_flow_ml_min")
    if missing:
        raise TableRefused("csv.missing", names="; ".join(missing))


class _Wrong(Exception):
    def __init__(self, found: Sequence[Broken]) -> None:
        super().__init__(found)
        self.found = list(found)


class _Cells:
    """Cells of a row by base, read one by one; what is wrong is gathered."""

    def __init__(self, table: Table, row: Row) -> None:
        self.table, self.row = table, row
        self.found: list[Broken] = []
        self.names = {BY_NAME[name].base: name for name in table.columns}

    def wrong(self, base: str, key: str, **params: object) -> None:
        told = tuple((name, str(value)) for name, value in params.items())
        self.found.append(Broken(self.row.line, self.names.get(base, base), key, told))

    def text(self, base: str) -> str:
        return self.row.cells.get(self.names.get(base, ""), "")

    def read(self, base: str, of: Callable[[str], object]) -> object:
        """A cell as ``of`` reads it; None for an empty one that has to be there, and for one that can't be read."""
        text = self.text(base)
        if not text:
            if base in self.names and BY_NAME[self.names[base]].needed:
                self.wrong(base, "csv.cell_empty")
            return None
        try:
            return of(text)
        except EbbwellError as why:
            self.wrong(base, why.key, **why.params)
            return None

    def number(self, base: str) -> Decimal | None:
        """A figure in the unit of the base's first column, inside what is taken."""
        value = self.read(base, self.table.number)
        if not isinstance(value, Decimal):
            return None
        column = BY_NAME[self.names[base]]
        if column.low and float(column.low) > 0 and value <= 0:
            self.wrong(base, "csv.not_above_zero", value=value)
            return None
        kept = next(one for one in COLUMNS if one.base == base)
        value = _kept(value, column, kept)
        if not Decimal(column.low) <= value <= Decimal(column.high):
            key = "csv.hours" if base == "minutes" and value < Decimal(column.low) else "csv.outside"
            ends = {"low": kept.low, "high": kept.high, "unit": kept.unit}
            self.wrong(base, key, value=self.text(base), **ends)
            return None
        return value


def _kept(value: Decimal, column: Column, kept: Column) -> Decimal:
    if column.unit == kept.unit:
        return value
    name = column.base.partition("_before")[0].partition("_after")[0].partition("_next")[0]
    if name in (UREA, CREATININE, *OTHERS):
        return substance(name).in_kept(value, column.unit)
    return convert(value, column.unit, kept.unit)


def _pair(table: Table, row: Row, today: date) -> Pair:
    """The pair of a row. Raises _Wrong with everything that is wrong with it."""
    cells = _Cells(table, row)
    night = cells.read("night", lambda text: _night(text, today))
    nights = cells.read("nights", nights_of)
    person, access = _person(cells), _access(cells)
    figures = {base: cells.number(base) for base in _NUMBERS}
    _falls(cells, figures, UREA)
    which = _which(cells, night, nights) if isinstance(nights, Nights) else None
    _fits_between(cells, figures["minutes"], nights)
    clearance = _clearance(cells, figures)
    creatinine = _creatinine(cells, figures)
    gaps = nights.gaps_days() if isinstance(nights, Nights) else ()
    around = None if which is None else (gaps[which], gaps[(which + 1) % len(gaps)])
    own, own_by = _own(cells, figures, around)
    if cells.found or clearance is None or which is None:
        raise _Wrong(cells.found)

    def had(base: str) -> float | None:
        value = figures[base]
        return None if value is None else float(value)

    def must(base: str) -> float:
        value = had(base)
        assert value is not None
        return value

    assert isinstance(night, date)
    assert isinstance(nights, Nights)
    return Pair(
        night=night,
        urea_before=must("urea_before"),
        urea_after=must("urea_after"),
        weight_kg=must("weight_after"),
        minutes=must("minutes"),
        clearance_l_min=clearance,
        gain_l_day=must("gain"),
        nights=nights,
        which=which,
        person=person,
        removed_l=had("removed"),
        drawn_after_min=had("drawn_after") or 0.0,
        own_kidneys_ml_min=own,
        own_kidneys_by=own_by,
        blood_flow_ml_min=had("blood_flow"),
        fluid_flow_ml_min=had("fluid_flow"),
        koa_ml_min=had("koa"),
        access=access,
        clearance_by="leaflet" if figures["koa"] is not None else "",
        creatinine=creatinine,
        levels=tuple((name, level) for name in OTHERS if (level := had(f"{name}_before")) is not None),
        koas=tuple((name, size) for name in OTHERS if (size := had(f"{name}_koa")) is not None),
        line=row.line,
    )


_URINE = ("urine", "urine_time", "urine_urea")
_FLOWS = ("blood_flow", "fluid_flow")
_NUMBERS = tuple(dict.fromkeys(one.base for one in COLUMNS if one.low))


def _person(cells: _Cells) -> str:
    person = cells.text("person")
    if "person" in cells.names and not person:
        cells.wrong("person", "csv.cell_empty")
    if len(person) > PERSON_LENGTH:
        cells.wrong("person", "csv.person_long", most=PERSON_LENGTH)
    return person


def _access(cells: _Cells) -> str:
    access = cells.text("access").casefold()
    if access and access not in ACCESSES:
        cells.wrong("access", "csv.access", value=access[:30], options=", ".join(ACCESSES))
    return access


def _fits_between(cells: _Cells, minutes: Decimal | None, nights: object) -> None:
    """Note a treatment that would run into the next one of its pattern."""
    if isinstance(nights, Nights) and minutes is not None:
        if minutes >= min(nights.gaps_days()) * DAY_MIN:
            cells.wrong("minutes", "csv.too_long_night", value=cells.text("minutes"))


def _night(text: str, today: date) -> date:
    if not _DATE.fullmatch(text):
        raise InputError("csv.no_date", typed=text[:30])
    try:
        night = date.fromisoformat(text)
    except ValueError as why:
        raise InputError("csv.no_date", typed=text[:30]) from why
    if night > today:
        raise InputError("csv.future", typed=text, today=today.isoformat())
    if night < OLDEST:
        raise InputError("csv.old", typed=text)
    return night


def _which(cells: _Cells, night: object, nights: Nights) -> int | None:
    """Which treatment of the pattern the night is: by its weekday, and by the week where two weeks take turns."""
    week = cells.number("week")
    if week is not None and week != week.to_integral_value():
        cells.wrong("week", "csv.week")
        return None
    if nights.cycle_days % 7:
        return 0
    if not isinstance(night, date):
        return None
    days = [day for day in nights.days if day % 7 == night.weekday()]
    if not days:
        cells.wrong("nights", "csv.other_day", night=night.isoformat(), day=night.weekday())
        return None
    if len(days) == 2 and week is None:
        cells.wrong("week", "csv.which_week")
        return None
    if week is not None and nights.cycle_days == 14:
        days = [day for day in days if day // 7 == int(week) - 1]
        if not days:
            cells.wrong("week", "csv.other_week")
            return None
    return nights.days.index(days[0])


def _falls(cells: _Cells, figures: Mapping[str, Decimal | None], name: str) -> None:
    """Note a substance that isn't lower after than before."""
    column, before, after = f"{name}_after", figures[f"{name}_before"], figures[f"{name}_after"]
    if before is None or after is None:
        return
    if before == after:
        cells.wrong(column, "csv.same", value=cells.text(column))
    elif after > before:
        typed = {"before": cells.text(f"{name}_before"), "after": cells.text(column)}
        cells.wrong(column, "csv.swapped", substance=substance_words(name), **typed)


def _clearance(cells: _Cells, figures: Mapping[str, Decimal | None], of: str = "") -> float | None:
    """As told, or worked out from dialyser and flows [L/min]; None where it can't be, with why in ``cells``.

    of: what the names of its two columns begin with, "" for urea.
    """
    told_in, koa_in = f"{of}clearance", f"{of}koa"
    told, koa = figures[told_in], figures[koa_in]
    flows = [figures["blood_flow"], figures["fluid_flow"]]
    if any(cells.text(base) and figures[base] is None for base in (told_in, koa_in, *_FLOWS)):
        return None
    if told is not None and koa is not None:
        cells.wrong(told_in, "csv.two_clearances", of=of)
        return None
    if told is not None:
        known = [flow for flow in flows if flow is not None]
        if known and told >= min(known):
            cells.wrong(told_in, "csv.clearance_over", value=cells.text(told_in))
            return None
        return float(told) / 1000
    if koa is None or flows[0] is None or flows[1] is None:
        cells.wrong(told_in, "csv.no_clearance", of=of)
        return None
    worked_out = creatinine_clearance_l_min if of else clearance_l_min
    return worked_out(float(koa), float(flows[0]), float(flows[1]))


def _creatinine(cells: _Cells, figures: Mapping[str, Decimal | None]) -> CreatininePair | None:
    """Creatinine of the same two samples; None without any, and where it can't be, with why in ``cells``."""
    before, after = figures["creatinine_before"], figures["creatinine_after"]
    if not any(cells.text(f"creatinine_{end}") for end in ("before", "after")):
        return None
    _falls(cells, figures, CREATININE)
    for end in ("before", "after"):
        if not cells.text(f"creatinine_{end}"):
            cells.wrong(f"creatinine_{end}", "csv.creatinine_half")
    clearance = _clearance(cells, figures, "creatinine_")
    if before is None or after is None or clearance is None:
        return None
    return CreatininePair(float(before) / 1000, float(after) / 1000, clearance)


def _own(
    cells: _Cells, figures: Mapping[str, Decimal | None], gaps: tuple[int, int] | None
) -> tuple[float, str]:
    """What the own kidneys clear [mL/min] and by which of ``pairs.OWN_BY``: 0 where nothing is told.

    gaps: days from the treatment before to this one, and to the next; None for not known.
    """
    told = figures["own_kidneys"]
    urine = [figures[base] for base in _URINE]
    if any(
        cells.text(base) and figures[base] is None for base in (*_URINE, "own_kidneys", "urea_next_before")
    ):
        return 0.0, ""
    if told is not None:
        if any(part is not None for part in urine):
            cells.wrong("own_kidneys", "csv.two_own")
        return float(told), "told"
    volume, minutes, urea = urine
    after, before, following = figures["urea_after"], figures["urea_before"], figures["urea_next_before"]
    if volume is None and minutes is None and urea is None:
        return 0.0, ""
    if volume is None or minutes is None or urea is None:
        cells.wrong("urine", "csv.urine_parts")
        return 0.0, ""
    if following is None and minutes > ABOUT_A_DAY_MIN[1]:
        cells.wrong("urine", "csv.urine_next", hours=f"{minutes / 60:.3g}")
        return 0.0, ""
    ran = figures["minutes"]
    if after is None or before is None or ran is None or gaps is None or ran >= min(gaps) * DAY_MIN:
        return 0.0, ""
    try:
        found, rule = cleared_ml_min(
            urine_urea_mmol_l=urea,
            urine_ml=volume,
            minutes=minutes,
            after_mmol_l=after,
            before_mmol_l=before if following is None else following,
            gap_min=gaps[following is not None] * DAY_MIN - float(ran),
        )
    except DomainError as why:
        outside = why.key == "science.out_of_range"
        cells.wrong("urine", "csv.urine_sum" if outside else why.key, **why.params)
        return 0.0, ""
    return float(found), "day" if rule == LAST_DAY else "between"


def _twice(pairs: Sequence[Pair]) -> list[Broken]:
    seen: dict[tuple[str, date], int] = {}
    found = []
    for pair in pairs:
        first = seen.setdefault((pair.person, pair.night), pair.line)
        if first != pair.line:
            found.append(Broken(pair.line, "night", "csv.night_twice", (("line", str(first)),)))
    return found
