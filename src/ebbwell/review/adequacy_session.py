"""The dose of one session from urea before and after it, and once the body has evened out. Source: kinetics A1."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from ebbwell.review.adequacy_book import Book, over
from ebbwell.review.adequacy_kinds import Came, Doubt, Inputs
from ebbwell.science.adequacy import GENERATION_THRICE
from ebbwell.science.ranges_solutes import THRICE_HOURS

DIRECT_MIN = (25.0, 35.0)
"""When a sample counts as one of half an hour after the end [min]. Own choice about kinetics A1 (30 min)."""
ACCESS = {"fistula": "fistula", "graft": "fistula", "catheter": "catheter"}
"""Access to the rule for evening out. Source: kinetics:A1 (ERA-EDTA 2002)."""


def session(book: Book) -> None:
    """How far urea fell, and the dose by the sums with a logarithm, with what they may be off by."""
    asked, urea = book.asked, book.urea
    off = 100 * book.ratio_off
    fell = 100 * (1 - asked.urea_after / asked.urea_before)
    book.add(
        "urea_reduction",
        "session",
        urea,
        why=book.why_late,
        doubt=Doubt(fell - off, min(fell + off, Decimal(100))),
    )
    book.add(
        "generation_by_days",
        "session",
        {"since_last_days": book.days},
        came={"since_last_days": Came("pattern")},
    )
    _by_logarithm(book)
    book.add(
        "single_pool_dose_error",
        "session",
        {**urea, **book.error_inputs(book.made_by_days)},
        why=book.why_late,
        came={
            "hours_h": Came("night"),
            "generation_per_h": Came("measure", "generation_by_days"),
            "ratio_error_factor": Came("rule", "lab"),
            "generation_error_per_h": Came("rule", "generation"),
        },
    )


def _by_logarithm(book: Book) -> None:
    """The dose by each sum with a logarithm, with what it may be off by."""
    asked = book.asked
    weight = book.input("weight_kg", asked.month.weight_kg, "kg")
    rest: Inputs = {"hours_h": asked.hours, "removal_l": book.input("removal_l", asked.removal_l, "L")}
    came = {"hours_h": Came("night"), "removal_l": Came("night"), "weight_kg": Came("night")}
    rows: tuple[tuple[str, Inputs, Mapping[str, Came], Decimal], ...] = (
        ("single_pool_dose", {"weight_kg": weight}, came, GENERATION_THRICE),
        (
            "single_pool_dose_by_water",
            {"body_water_l": asked.water_l},
            {**came, "body_water_l": Came("fit")},
            GENERATION_THRICE,
        ),
        (
            "single_pool_dose_any",
            {"weight_kg": weight, "since_last_days": book.days},
            {**came, "since_last_days": Came("pattern")},
            book.made_by_days,
        ),
    )
    for key, more, origins, made in rows:
        inputs: Inputs = {**book.urea, **rest, **more}
        book.add(
            key,
            "session",
            inputs,
            why=book.why_late,
            came=origins,
            doubt=book.dose_doubt(key, inputs, made),
            notes=("adequacy.note_slips",) if asked.hours > THRICE_HOURS.high else (),
        )


def evened(book: Book) -> None:
    """The dose once the body has evened out, by each rule, and by a sample drawn late."""
    asked, dose = book.asked, book.dose
    inputs: Inputs = {"dose_factor": dose.worked.value if dose else None, "hours_h": asked.hours}
    came = {"dose_factor": book.dose_came, "hours_h": Came("night")}
    for access in ("fistula", "catheter"):
        other = ACCESS.get(asked.access)
        why = book.why_late or (
            "" if other == access else "adequacy.why_access" if other else "adequacy.why_no_access"
        )
        _from_dose(book, f"equilibrated_dose_{access}", inputs, came, why)
    _from_dose(book, "equilibrated_dose_regression", inputs, came, book.why_late)
    _from_dose(book, "equilibrated_dose_time", inputs, came, book.why_late)
    book.add("equilibrated_dose_with_removal", "evened", {}, why="adequacy.why_removal_counted")
    urea = {**book.urea, "hours_h": asked.hours}
    book.add(
        "equilibrated_urea",
        "evened",
        urea,
        why=book.why_late,
        came={"hours_h": Came("night")},
        doubt=over(
            "equilibrated_urea",
            [{**urea, "urea_after_mmol_l": asked.urea_after * (1 + side * book.lab_off)} for side in (-1, 1)],
        ),
    )
    _direct(book)


def _from_dose(
    book: Book,
    key: str,
    inputs: Inputs,
    came: Mapping[str, Came],
    why: str,
) -> None:
    dose = book.dose
    doubt = None
    if dose is not None and dose.doubt is not None:
        ends = [{**inputs, "dose_factor": end} for end in dose.doubt.ends]
        doubt = over(key, ends, dose.doubt.high is None)
    book.add(key, "evened", inputs, why=why, came=came, doubt=doubt)


def _direct(book: Book) -> None:
    """The dose from a sample of half an hour after the end, which has evened out by itself."""
    asked = book.asked
    low, high = DIRECT_MIN
    inputs = {
        **book.urea,
        "hours_h": asked.hours,
        "removal_l": book.input("removal_l", asked.removal_l, "L"),
        "weight_kg": book.input("weight_kg", asked.month.weight_kg, "kg"),
        "since_last_days": book.days,
    }
    night = ("hours_h", "removal_l", "weight_kg")
    book.add(
        "equilibrated_dose_direct",
        "evened",
        inputs,
        formula="single_pool_dose_any",
        why="" if low <= asked.month.drawn_after_min <= high else "adequacy.why_no_late_sample",
        came={**{name: Came("night") for name in night}, "since_last_days": Came("pattern")},
        doubt=book.dose_doubt("single_pool_dose_any", inputs, book.made_by_days),
    )
