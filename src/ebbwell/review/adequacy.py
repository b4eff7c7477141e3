"""Every measure of a month's dose that is in use, each with its working, its band, and whether it fits these nights.

A figure made for three short treatments a week isn't worked out for nights of another kind; its place says why. Where
the fitted two-pool model has an answer, that one leads: on long nights the logarithm of what is left of urea moves a
lot with small slips. For looking back only: figures and questions for the clinic, no verdict, and no target but the
clinic's. Source: kinetics A1 to A4.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.review.adequacy_body import Person, body_measures
from ebbwell.review.adequacy_book import Book, measure_named, over
from ebbwell.review.adequacy_kinds import NITROGEN, Asked, Came, Doubt, Inputs, Measure, decimal_of, doubt_of
from ebbwell.review.adequacy_session import evened, session
from ebbwell.science import catalogue
from ebbwell.science.bands import NINE_IN_TEN, Band
from ebbwell.science.fit_figures import MonthFigures
from ebbwell.science.protein_rate import FORMS
from ebbwell.science.schedule import WEEK_MIN

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
    own = decimal_of(1000 * asked.month.residual_l_min)
    water = None if figures is None else decimal_of(figures.water_l.middle)
    book.add(
        LEADS,
        "week",
        {
            "urea_made_mmol_min": _middle(figures, "made"),
            "mean_before_mmol_l": _middle(figures, "mean_before"),
            "body_water_l": water,
        },
        came=_all_from_fit("urea_made_mmol_min", "mean_before_mmol_l", "body_water_l"),
        doubt=None if figures is None else doubt_of(figures.standard),
    )
    _short_week(book, water, own)
    ekr = book.add(
        "renal_clearance_like",
        "week",
        {"urea_made_mmol_min": _middle(figures, "made"), "mean_urea_mmol_l": _middle(figures, "mean")},
        came=_all_from_fit("urea_made_mmol_min", "mean_urea_mmol_l"),
        doubt=None if figures is None else doubt_of(figures.ekr),
    )
    more = {"ekr_ml_min": ekr.worked.value, "body_water_l": water}
    came = {"ekr_ml_min": Came("measure", ekr.key), "body_water_l": Came("fit")}
    week = None if figures is None else figures.ekr_week
    for key, factor in (
        ("renal_clearance_like_40", 40 * 1000 / WEEK_MIN),
        ("renal_clearance_like_week", 1),
    ):
        book.add(key, "week", more, came=came, doubt=None if week is None else doubt_of(week, factor))
    evened = measure_named(book.found, "equilibrated_dose_time")
    book.add(
        "renal_clearance_like_thrice",
        "week",
        {"equilibrated_factor": evened.worked.value if evened else None, "own_kidneys_ml_min": own},
        came={
            "equilibrated_factor": Came("measure", "equilibrated_dose_time"),
            "own_kidneys_ml_min": Came("urine"),
        },
    )


def _short_week(book: Book, water: Decimal | None, own: Decimal) -> None:
    """The short forms of the weekly dose, as if every night were like the measured one."""
    asked, dose = book.asked, book.dose
    evened = measure_named(book.found, "equilibrated_dose_time")
    minutes = decimal_of(asked.month.minutes)
    inputs = {
        "dose_factor": dose.worked.value if dose else None,
        "equilibrated_factor": evened.worked.value if evened else None,
        "sessions_per_week": asked.sessions,
        "minutes_min": minutes,
    }
    late = "adequacy.why_drawn_late" if book.late else ""
    doses = _paired(dose, evened)
    came = {
        "dose_factor": Came("measure", dose.key if dose else "single_pool_dose_any"),
        "equilibrated_factor": Came("measure", "equilibrated_dose_time"),
        "sessions_per_week": Came("pattern"),
        "minutes_min": Came("night"),
    }
    open_end = dose is None or dose.doubt is None or dose.doubt.high is None
    note = ("adequacy.note_alike",) if len(asked.month.starts_min) > 1 else ()
    short = book.add(
        "standard_dose",
        "week",
        inputs,
        why=late,
        came=came,
        doubt=over("standard_dose", [{**inputs, **ends} for ends in doses], open_end),
        notes=note,
    )
    share = 1 - len(asked.month.starts_min) * asked.month.minutes / asked.month.cycle_min
    fluid = {
        "standard_per_week": short.worked.value,
        "dose_factor": inputs["dose_factor"],
        "sessions_per_week": asked.sessions,
        "week_removal_l": decimal_of(asked.month.gain_l_min * WEEK_MIN * share),
        "own_kidneys_ml_min": own,
        "body_water_l": water,
    }
    ends = [
        {**fluid, "dose_factor": one["dose_factor"], "standard_per_week": value}
        for one in doses
        if (value := catalogue.work("standard_dose", {**inputs, **one}).value) is not None
    ]
    book.add(
        "standard_dose_with_fluid",
        "week",
        fluid,
        why=late,
        came={
            "standard_per_week": Came("measure", "standard_dose"),
            "dose_factor": came["dose_factor"],
            "sessions_per_week": Came("pattern"),
            "week_removal_l": Came("gains"),
            "own_kidneys_ml_min": Came("urine"),
            "body_water_l": Came("fit"),
        },
        doubt=over("standard_dose_with_fluid", ends, open_end),
        notes=note,
    )


def _protein(book: Book) -> None:
    figures = book.asked.figures
    nitrogen = None if figures is None else decimal_of(figures.made.middle) * NITROGEN
    water = None if figures is None else decimal_of(figures.water_l.middle)
    inputs = {"nitrogen_made_mg_min": nitrogen, "body_water_l": water}
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
    asked = book.asked
    evened = measure_named(book.found, "equilibrated_dose_time")
    dose = evened.worked.value if evened else None
    plasma = asked.urea_before * NITROGEN / 10
    raised, key = plasma, ""
    sessions = int(asked.sessions) if asked.sessions == int(asked.sessions) else 0
    rule = {2: "twice", 3: "thrice"}.get(sessions)
    late = "adequacy.why_drawn_late" if book.late else ""
    for word in ("thrice", "twice"):
        name = f"urea_nitrogen_with_own_{word}"
        own = decimal_of(1000 * asked.month.residual_l_min)
        water = None if asked.figures is None else decimal_of(asked.figures.water_l.middle)
        one = book.add(
            name,
            "protein",
            {
                "urea_nitrogen_mg_dl": plasma,
                "equilibrated_factor": dose,
                "own_kidneys_ml_min": own,
                "body_water_l": water,
            },
            why=("" if rule == word else f"science.why_{word}") or late,
            came={
                "urea_nitrogen_mg_dl": Came("urea"),
                "equilibrated_factor": Came("measure", "equilibrated_dose_time"),
                "own_kidneys_ml_min": Came("urine"),
                "body_water_l": Came("fit"),
            },
        )
        if one.worked.value is not None and own > 0:
            raised, key = one.worked.value, name
    swing = decimal_of(NINE_IN_TEN * asked.known.lab_doubt)
    for (times, place), name in FORMS.items():
        inputs = {"urea_nitrogen_mg_dl": raised, "equilibrated_factor": dose}
        ends = [
            {"urea_nitrogen_mg_dl": raised * (1 + side * swing), "equilibrated_factor": end}
            for side in (-1, 1)
            for end in _ends_of(evened)
        ]
        here = times != sessions or place == asked.place
        book.add(
            name,
            "protein",
            inputs,
            why=book.rules.get(name, "") or late or ("" if here else "adequacy.why_place"),
            came={
                "urea_nitrogen_mg_dl": Came("measure", key) if key else Came("urea"),
                "equilibrated_factor": Came("measure", "equilibrated_dose_time"),
            },
            doubt=over(name, ends, not _ends_of(evened)),
        )


def protein_doubt(made_in_litre: Band) -> Doubt | None:
    """The band of the protein rate on any schedule, from urea made over the water [mmol/min/L]."""
    litre, ends = Decimal(2), doubt_of(made_in_litre)
    return over(
        "protein_rate_any",
        [
            {"nitrogen_made_mg_min": end * NITROGEN * litre, "body_water_l": litre}
            for end in (ends.low, ends.high)
            if end is not None
        ],
    )


def _ends_of(one: Measure | None) -> list[Decimal]:
    if one is None or one.doubt is None:
        return []
    return [end for end in (one.doubt.low, one.doubt.high) if end is not None]


def _paired(dose: Measure | None, evened: Measure | None) -> list[dict[str, Decimal]]:
    """The low ends of dose and evened out dose together, and the high ones."""
    return [
        {"dose_factor": one, "equilibrated_factor": other}
        for one, other in zip(_ends_of(dose), _ends_of(evened), strict=False)
    ]


def _middle(figures: MonthFigures | None, name: str) -> Decimal | None:
    return None if figures is None else decimal_of(getattr(figures, name).middle)


def _all_from_fit(*names: str) -> dict[str, Came]:
    return {name: Came("fit") for name in names}
