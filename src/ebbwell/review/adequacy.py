"""Every measure of a month's dose that is in use, each with its working, its band, and whether it fits these nights.

A figure made for three short treatments a week isn't worked out for nights of another kind; its place says why. Where
the fitted two-pool model has an answer, that one leads: on long nights the logarithm of what is left of urea moves a
lot with small slips. For looking back only: figures and questions for the clinic, no verdict, and no target but the
clinic's. Source: kinetics A1 to A4.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from ebbwell.review.adequacy_body import Person, body_measures
from ebbwell.review.adequacy_book import EVENED_OUT, Book, over
from ebbwell.review.adequacy_kinds import NITROGEN, Asked, Came, Doubt, Inputs, Measure, decimal_of, doubt_of
from ebbwell.review.adequacy_session import evened, session
from ebbwell.science import catalogue
from ebbwell.science.bands import Band
from ebbwell.science.fit_figures import MonthFigures
from ebbwell.science.protein_rate import FORMS
from ebbwell.science.schedule import WEEK_MIN
from ebbwell.science.weekly_dose import STANDARD_WATER_L

LEADS = "standard_dose_by_model"
"""The measure that leads wherever it has an answer."""


def measures(asked: Asked) -> tuple[Measure, ...]:
    """All of them, in the order of session, evened out, week, protein, water and surface.

    Raises DomainError for a schedule outside of 2 to 7 treatments a week of 0.5 to 24 h.
    """
    book = Book(asked)
    session(book)
    evened(book)
    _week(book)
    _protein(book)
    person = Person(
        decimal_of(asked.month.weight_kg), asked.height_cm, asked.age_years, asked.water_by, asked.entries
    )
    return (*book.found, *body_measures(person, asked.figures))


def _week(book: Book) -> None:
    asked, figures = book.asked, book.asked.figures
    book.add(
        LEADS,
        "week",
        {
            "urea_made_mmol_min": _middle(figures, "made"),
            "mean_before_mmol_l": _middle(figures, "mean_before"),
            "body_water_l": asked.water_l,
        },
        came=_all_from_fit("urea_made_mmol_min", "mean_before_mmol_l", "body_water_l"),
        doubt=None if figures is None else doubt_of(figures.standard),
    )
    _short_week(book)
    ekr = book.add(
        "renal_clearance_like",
        "week",
        {"urea_made_mmol_min": _middle(figures, "made"), "mean_urea_mmol_l": _middle(figures, "mean")},
        came=_all_from_fit("urea_made_mmol_min", "mean_urea_mmol_l"),
        doubt=None if figures is None else doubt_of(figures.ekr),
    )
    more = {"ekr_ml_min": ekr.worked.value, "body_water_l": asked.water_l}
    came = {"ekr_ml_min": Came("measure", ekr.key), "body_water_l": Came("fit")}
    week = None if figures is None else figures.ekr_week
    for key, factor in (
        ("renal_clearance_like_40", float(STANDARD_WATER_L) * 1000 / WEEK_MIN),
        ("renal_clearance_like_week", 1),
    ):
        book.add(key, "week", more, came=came, doubt=None if week is None else doubt_of(week, factor))
    book.add(
        "renal_clearance_like_thrice",
        "week",
        {
            "equilibrated_factor": _value(book.evened_out),
            "own_kidneys_ml_min": asked.own_kidneys_ml_min,
        },
        came={"equilibrated_factor": Came("measure", EVENED_OUT), "own_kidneys_ml_min": Came("urine")},
    )


def _short_week(book: Book) -> None:
    """The short forms of the weekly dose, as if every night were like the measured one."""
    asked, dose = book.asked, book.dose
    inputs = {
        "dose_factor": _value(dose),
        "equilibrated_factor": _value(book.evened_out),
        "sessions_per_week": asked.sessions,
        "minutes_min": decimal_of(asked.month.minutes),
    }
    came = {
        "dose_factor": book.dose_came,
        "equilibrated_factor": Came("measure", EVENED_OUT),
        "sessions_per_week": Came("pattern"),
        "minutes_min": Came("night"),
    }
    cases = [{**inputs, **ends} for ends in _paired(dose, book.evened_out)]
    short = book.add(
        "standard_dose",
        "week",
        inputs,
        why=book.why_late,
        came=came,
        doubt=over("standard_dose", cases, _open_end(dose)),
        notes=_as_if_alike(asked),
    )
    _short_week_with_fluid(book, short, cases)


def _short_week_with_fluid(book: Book, short: Measure, cases: Sequence[Mapping[str, Decimal | None]]) -> None:
    """short: the same without removal and own kidneys; cases: what makes the ends of its band."""
    asked = book.asked
    between = 1 - len(asked.month.starts_min) * asked.month.minutes / asked.month.cycle_min
    inputs = {
        "standard_per_week": short.worked.value,
        "dose_factor": _value(book.dose),
        "sessions_per_week": asked.sessions,
        "week_removal_l": decimal_of(asked.month.gain_l_min * WEEK_MIN * between),
        "own_kidneys_ml_min": asked.own_kidneys_ml_min,
        "body_water_l": asked.water_l,
    }
    ends = [
        {**inputs, "dose_factor": one["dose_factor"], "standard_per_week": value}
        for one in cases
        if (value := catalogue.work("standard_dose", one).value) is not None
    ]
    book.add(
        "standard_dose_with_fluid",
        "week",
        inputs,
        why=book.why_late,
        came={
            "standard_per_week": Came("measure", short.key),
            "dose_factor": book.dose_came,
            "sessions_per_week": Came("pattern"),
            "week_removal_l": Came("gains"),
            "own_kidneys_ml_min": Came("urine"),
            "body_water_l": Came("fit"),
        },
        doubt=over("standard_dose_with_fluid", ends, _open_end(book.dose)),
        notes=_as_if_alike(asked),
    )


def _protein(book: Book) -> None:
    figures = book.asked.figures
    nitrogen = None if figures is None else decimal_of(figures.made.middle) * NITROGEN
    inputs = {"nitrogen_made_mg_min": nitrogen, "body_water_l": book.asked.water_l}
    came = _all_from_fit("nitrogen_made_mg_min", "body_water_l")
    book.add(
        "protein_rate_any",
        "protein",
        inputs,
        came=came,
        doubt=None if figures is None else protein_doubt(figures.made_in_litre),
    )
    ends: list[Inputs] = []
    if figures is not None:
        made, litres = doubt_of(figures.made), figures.water_l
        pairs = zip((made.low, made.high), (litres.low, litres.high), strict=True)
        ends = [
            {"nitrogen_made_mg_min": (one or Decimal(0)) * NITROGEN, "body_water_l": decimal_of(other)}
            for one, other in pairs
        ]
    book.add("protein_total", "protein", inputs, came=came, doubt=over("protein_total", ends))
    _tabled(book)
    book.add("protein_rate_between", "protein", {}, why="adequacy.why_no_next")


def _tabled(book: Book) -> None:
    """The forms for two and three a week, which are in print by the place of a treatment in its week."""
    asked, evened_out = book.asked, book.evened_out
    nitrogen, came = _nitrogen(book)
    doses = _ends_of(evened_out)
    for (sessions, place), name in FORMS.items():
        inputs = {"urea_nitrogen_mg_dl": nitrogen, "equilibrated_factor": _value(evened_out)}
        ends = [
            {"urea_nitrogen_mg_dl": nitrogen * (1 + side * book.lab_off), "equilibrated_factor": end}
            for side in (-1, 1)
            for end in doses
        ]
        elsewhere = sessions == asked.sessions and place != asked.place
        book.add(
            name,
            "protein",
            inputs,
            why=book.rules.get(name, "") or book.why_late or ("adequacy.why_place" if elsewhere else ""),
            came={"urea_nitrogen_mg_dl": came, "equilibrated_factor": Came("measure", EVENED_OUT)},
            doubt=over(name, ends, not doses),
        )


def _nitrogen(book: Book) -> tuple[Decimal, Came]:
    """Urea nitrogen before [mg/dL of plasma], raised by what own kidneys hid, and where that came from."""
    asked = book.asked
    plasma = asked.urea_before * NITROGEN / 10
    found, came = plasma, Came("urea")
    for sessions, word in ((3, "thrice"), (2, "twice")):
        one = book.add(
            f"urea_nitrogen_with_own_{word}",
            "protein",
            {
                "urea_nitrogen_mg_dl": plasma,
                "equilibrated_factor": _value(book.evened_out),
                "own_kidneys_ml_min": asked.own_kidneys_ml_min,
                "body_water_l": asked.water_l,
            },
            why=("" if asked.sessions == sessions else f"science.why_{word}") or book.why_late,
            came={
                "urea_nitrogen_mg_dl": Came("urea"),
                "equilibrated_factor": Came("measure", EVENED_OUT),
                "own_kidneys_ml_min": Came("urine"),
                "body_water_l": Came("fit"),
            },
        )
        if one.worked.value is not None and asked.own_kidneys_ml_min > 0:
            found, came = one.worked.value, Came("measure", one.key)
    return found, came


def protein_doubt(made_in_litre: Band) -> Doubt | None:
    """The band of the protein rate on any schedule, from urea made over the water [mmol/min/L]."""
    litre, ends = Decimal(2), doubt_of(made_in_litre)
    return over(
        "protein_rate_any",
        [{"nitrogen_made_mg_min": end * NITROGEN * litre, "body_water_l": litre} for end in ends.ends],
    )


def _value(one: Measure | None) -> Decimal | None:
    return None if one is None else one.worked.value


def _ends_of(one: Measure | None) -> tuple[Decimal, ...]:
    return () if one is None or one.doubt is None else one.doubt.ends


def _open_end(dose: Measure | None) -> bool:
    """Whether what is made of a dose has no upper end either."""
    return dose is None or dose.doubt is None or dose.doubt.high is None


def _as_if_alike(asked: Asked) -> tuple[str, ...]:
    """The note of a sum that takes every night for the measured one; () where there is one in the cycle."""
    return ("adequacy.note_alike",) if len(asked.month.starts_min) > 1 else ()


def _paired(dose: Measure | None, evened_out: Measure | None) -> list[dict[str, Decimal]]:
    """The low ends of dose and evened out dose together, and the high ones."""
    return [
        {"dose_factor": one, "equilibrated_factor": other}
        for one, other in zip(_ends_of(dose), _ends_of(evened_out), strict=False)
    ]


def _middle(figures: MonthFigures | None, name: str) -> Decimal | None:
    return None if figures is None else decimal_of(getattr(figures, name).middle)


def _all_from_fit(*names: str) -> dict[str, Came]:
    return {name: Came("fit") for name in names}
