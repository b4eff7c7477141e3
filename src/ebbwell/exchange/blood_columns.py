"""The columns of a file of bloods, each with its unit in its name. They are told in docs/notebook.md."""

from __future__ import annotations

from typing import NamedTuple


class Column(NamedTuple):
    """name: in the file, with its unit. base: what it is, without the unit: one base may have several columns.

    unit: "" for text. low, high: ends of what is taken, in the unit of the base's first column. needed: in every file,
    in one of the base's units.
    """

    name: str
    base: str
    unit: str = ""
    low: str = ""
    high: str = ""
    needed: bool = False


UREA_UNITS = {"mmol_l": "mmol/L", "mg_dl_nitrogen": "mg/dL as nitrogen", "mg_dl_urea": "mg/dL as urea"}
"""Ends of a column's name to the unit as the table of substances has it."""


def _urea(base: str, *, needed: bool = False) -> tuple[Column, ...]:
    return tuple(
        Column(f"{base}_{end}", base, unit, "0.1", "120", needed) for end, unit in UREA_UNITS.items()
    )


CREATININE_UNITS = {"umol_l": "umol/L", "mg_dl": "mg/dL"}


def _creatinine(base: str) -> tuple[Column, ...]:
    return tuple(Column(f"{base}_{end}", base, unit, "10", "3000") for end, unit in CREATININE_UNITS.items())


COLUMNS: tuple[Column, ...] = (
    Column("person", "person"),
    Column("night", "night", needed=True),
    Column("nights", "nights", needed=True),
    Column("week", "week", "", "1", "2"),
    *_urea("urea_before", needed=True),
    *_urea("urea_after", needed=True),
    Column("drawn_after_min", "drawn_after", "min", "0", "240"),
    Column("weight_after_kg", "weight_after", "kg", "20", "300", True),
    Column("weight_after_lb", "weight_after", "lb", "20", "300", True),
    Column("minutes", "minutes", "min", "30", "1440", True),
    Column("gain_l_day", "gain", "L/day", "0", "10", True),
    Column("removed_l", "removed", "L", "0", "10"),
    Column("clearance_ml_min", "clearance", "mL/min", "1", "500"),
    Column("koa_ml_min", "koa", "mL/min", "50", "3000"),
    Column("blood_flow_ml_min", "blood_flow", "mL/min", "60", "600"),
    Column("fluid_flow_ml_min", "fluid_flow", "mL/min", "50", "1000"),
    Column("own_kidneys_ml_min", "own_kidneys", "mL/min", "0", "20"),
    Column("urine_ml", "urine", "mL", "0", "10000"),
    Column("urine_min", "urine_time", "min", "240", "5760"),
    Column("urine_urea_mmol_l", "urine_urea", "mmol/L", "0", "1000"),
    *_urea("urea_next_before"),
    Column("access", "access"),
    *_creatinine("creatinine_before"),
    *_creatinine("creatinine_after"),
    Column("creatinine_clearance_ml_min", "creatinine_clearance", "mL/min", "1", "500"),
    Column("creatinine_koa_ml_min", "creatinine_koa", "mL/min", "50", "3000"),
    Column("phosphate_before_mmol_l", "phosphate_before", "mmol/L", "0.2", "5"),
    Column("phosphate_before_mg_dl", "phosphate_before", "mg/dL", "0.2", "5"),
    Column("phosphate_koa_ml_min", "phosphate_koa", "mL/min", "10", "3000"),
    Column("beta_2_microglobulin_before_mg_l", "beta_2_microglobulin_before", "mg/L", "1", "150"),
    Column("beta_2_microglobulin_koa_ml_min", "beta_2_microglobulin_koa", "mL/min", "1", "1000"),
)
"""Every column, in the order they are told. Ends: science.ranges_solutes, else common practice, no source."""

OTHERS = ("phosphate", "beta_2_microglobulin")
"""Substances that a comparison tells beside urea."""

BY_NAME = {one.name: one for one in COLUMNS}
SPELLED = {
    **{f"{base}_mg_dl": "csv.mg_dl" for base in ("urea_before", "urea_after", "urea_next_before")},
    **dict.fromkeys(("urea_before", "urea_after", "urea_next_before", "bun", "urea"), "csv.urea_unit"),
    "weight_after": "csv.weight_unit",
    "weight": "csv.weight_unit",
}
"""Names that leave a unit open, to the wording key that says what to write instead."""
