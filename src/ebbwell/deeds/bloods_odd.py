"""Asks about what is odd in a form about bloods, before it is kept. What is kept is always what was typed."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from ebbwell.core.when import day
from ebbwell.deeds.bloods_now import in_both, short, shown_line
from ebbwell.deeds.bloods_typed import LEAFLET, near_night, sampled, units_of
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_typed import Form
from ebbwell.journal.kinds.bloods import BloodResult, BloodTarget, DialyserFigures, UrineCollected
from ebbwell.rulebook.substances import Substance, blood_unit, substance, substance_title, substance_words
from ebbwell.science.blood_checks import Odd, odd_drawing, odd_pair, odd_ratio, odd_tenfold, odd_unit
from ebbwell.state.bloods import (
    OWN,
    BloodFigure,
    BloodView,
    apart,
    as_date,
    blood_results,
    blood_view,
    figure_of,
    figures_of,
    minutes_after,
)
from ebbwell.state.facts import Fact
from ebbwell.state.own_past import NightSummary

URINE_HOURS = (Decimal(12), Decimal(72))
"""How long urine is mostly collected [h]. Source: common practice, no source."""

URINE_A_DAY = Decimal(3000)
"""Urine of a day [mL] from which it is asked about. Source: common practice, no source."""

HOURS_A_DAY = 24


def ask_about_result(form: Form, desk: Desk, body: BloodResult, instead_of: frozenset[str]) -> None:
    """Ask about each figure that is odd by itself, by one's own past, or beside the other sample of its night.

    instead_of: results that this one takes the place of; they are no past of it. Source: practice:h2, practice:e (H28).
    """
    results = [view for view in blood_results(desk.standing) if view.fact.id not in instead_of]
    figures = {line.substance: made for line in body.lines if (made := figure_of(line)) is not None}
    at_end = body.drawn == "after"
    for name, figure in figures.items():
        own = [one.value for _, one in figures_of(results, name, at_end=at_end)[:OWN] if one.exact]
        _about_figure(form, substance(name), figure, own, at_end=at_end)
    if not at_end:
        _about_ratio(form, figures, results)
    if "urea" in figures:
        _about_no_night(form, desk, body)
    _about_pair(form, desk, body, figures, results)
    _about_twice(form, body, figures, results)


def _about_figure(
    form: Form, known: Substance, figure: BloodFigure, own: Sequence[Decimal], *, at_end: bool
) -> None:
    """One question about the unit, the mark, or the range; a second one, in other words, far outside of it."""
    line = figure.line
    low = known.last_low if at_end else known.ask_low
    under = figure.value < low and not line.below
    outside = under or figure.value > known.ask_high
    said = {
        "substance": substance_title(known.key),
        "value": shown_line(figure),
        "at": f"value.{known.key}",
    }
    factors = {unit: known.in_kept(Decimal(1), unit) for unit in units_of(known.key)}
    unit = tenfold = None
    if figure.exact and line.unit in factors:
        unit = odd_unit(Decimal(line.value), line.unit, factors, (low, known.ask_high), own)
        tenfold = None if known.swings or unit is not None else odd_tenfold(figure.value, own)
    if unit is not None:
        form.ask(
            f"blood_{unit.key}",
            **said,
            unit=blood_unit(line.unit),
            other=f"{short(unit.figures['other'])} {blood_unit(known.unit)}",
            other_unit=blood_unit(unit.unit),
            low=in_both(unit.figures["low"], known, known.unit),
            high=in_both(unit.figures["high"], known, known.unit),
        )
    elif tenfold is not None:
        form.ask("blood_tenfold", **said, middle=in_both(tenfold.figures["middle"], known, line.unit))
    elif outside:
        ends = {"low": in_both(low, known, line.unit), "high": in_both(known.ask_high, known, line.unit)}
        form.ask("blood_outside", **said, **ends)
    if (figure.value < known.last_low and not line.below) or figure.value > known.last_high:
        form.ask("blood_far", 2, **said)


def _about_ratio(form: Form, figures: dict[str, BloodFigure], results: Sequence[BloodView]) -> None:
    """Urea beside creatinine of the same sample: one of them may stand in another unit."""
    if any(question.key.startswith("blood_unit") for question in form.questions):
        return
    urea, creatinine = figures.get("urea"), figures.get("creatinine")
    if urea is None or creatinine is None or not (urea.exact and creatinine.exact):
        return
    known = substance("urea")
    factors = [known.in_kept(Decimal(1), unit) for unit in known.all_units]
    here = known.in_kept(Decimal(1), urea.line.unit)
    own = [
        view.figures["urea"].value / view.figures["creatinine"].value
        for view in results[:OWN]
        if not view.at_end
        and {"urea", "creatinine"} <= view.figures.keys()
        and view.figures["creatinine"].value > 0
    ]
    others = [factor / here for factor in factors if factor != here]
    odd = odd_ratio(urea.value, creatinine.value, own, factors=others)
    if odd is not None:
        shown = {name: short(value) for name, value in odd.figures.items()}
        form.ask(
            f"blood_{odd.key}",
            urea=shown_line(urea),
            creatinine=shown_line(creatinine),
            at="value.urea",
            **shown,
        )


def _about_pair(
    form: Form,
    desk: Desk,
    body: BloodResult,
    figures: dict[str, BloodFigure],
    results: Sequence[BloodView],
) -> None:
    """Urea before and after one night, where the other sample stands already."""
    summary = sampled(desk, body.night) if body.night else None
    if summary is None or "urea" not in figures:
        return
    wanted = "before" if body.drawn == "after" else "after"
    other = next(
        (
            view.figures["urea"]
            for view in results
            if view.body.night == body.night and view.body.drawn == wanted and "urea" in view.figures
        ),
        None,
    )
    if other is None or not (other.exact and figures["urea"].exact):
        return
    before, after = (other, figures["urea"]) if wanted == "before" else (figures["urea"], other)
    odd = odd_pair(before.value, after.value, hours_of(summary))
    if odd is not None:
        form.ask(f"blood_{odd.key}", at="value.urea", **pair_params(odd, before, after))


def pair_params(odd: Odd, before: BloodFigure, after: BloodFigure) -> dict[str, str]:
    """What a pair that is odd is told with."""
    shares = {
        name: f"{round(odd.figures[name])} %" for name in ("removed", "low", "high") if name in odd.figures
    }
    return {"before": shown_line(before), "after": shown_line(after), **shares}


def hours_of(summary: NightSummary) -> Decimal | None:
    """How long a treatment ran [h]; None where that isn't known."""
    return None if summary.fluid.minutes is None else Decimal(summary.fluid.minutes) / 60


def _about_no_night(form: Form, desk: Desk, body: BloodResult) -> None:
    """A sample that is told to belong to no night, where one ran then: it would fall out of every sum unseen."""
    on = as_date(body.sampled_on)
    if body.night or on is None or body.drawn not in ("before", "after"):
        return
    for one in desk.past.values():
        fits = as_date(one.night) == on if body.drawn == "before" else near_night(one, on)
        if fits and sampled(desk, one.treatment) is not None:
            form.ask("blood_no_night", label=form.label("night"), at="night")
            return


def _about_twice(
    form: Form, body: BloodResult, figures: dict[str, BloodFigure], results: Sequence[BloodView]
) -> None:
    """The same sample may have been entered already."""
    for view in results:
        both = [name for name in figures if name in view.figures]
        minutes = {view.body.minutes_after, body.minutes_after} - {""}
        same = (view.body.sampled_on, view.body.drawn) == (body.sampled_on, body.drawn)
        if both and same and len({Decimal(one) for one in minutes}) < 2:
            names = ", ".join(substance_words(name) for name in both)
            form.ask("blood_twice", substances=names, sampled=day(body.sampled_on))
            return


def pair_notes(desk: Desk, fact: Fact, body: BloodResult) -> list[tuple[str, dict[str, str]]]:
    """What is odd about a result as it stands, each by key and with its figures: drawing, pair, a missing half.

    Said beside the result; nothing is asked again. Source: kinetics:A1, practice:h2.
    """
    if body.drawn == "between" or not any(line.substance == "urea" for line in body.lines):
        return []
    found: list[tuple[str, dict[str, str]]] = []
    if body.drawn == "after":
        minutes = Decimal(body.minutes_after) if body.minutes_after else None
        found += [
            (odd.key, {name: short(value) for name, value in odd.figures.items()})
            for odd in odd_drawing(minutes, body.slowed)
        ]
    if not body.night:
        return [*found, ("no_night", {})]
    view = blood_view(fact, body)
    found += _differing(desk, view)
    wanted = "before" if body.drawn == "after" else "after"
    others = [
        other.figures["urea"]
        for other in blood_results(desk.standing)
        if other.body.night == body.night and other.body.drawn == wanted and "urea" in other.figures
    ]
    if not others:
        return [*found, (f"no_{wanted}", {})] if body.drawn == "after" else found
    summary = sampled(desk, body.night)
    mine = view.figures.get("urea")
    if mine is None or not (mine.exact and others[0].exact) or body.drawn != "after":
        return found
    odd = odd_pair(others[0].value, mine.value, hours_of(summary) if summary is not None else None)
    return found if odd is None else [*found, (odd.key, pair_params(odd, others[0], mine))]


def _differing(desk: Desk, view: BloodView) -> list[tuple[str, dict[str, str]]]:
    """A second result of the same moment with another urea: nothing is worked out until one is taken back."""
    mine = view.figures.get("urea")
    if mine is None:
        return []
    own = (view.body.night, view.body.drawn, minutes_after(view.body))
    for other in blood_results(desk.standing):
        urea = other.figures.get("urea")
        if urea is None or other.fact.id == view.fact.id:
            continue
        moment = (other.body.night, other.body.drawn, minutes_after(other.body))
        if moment == own and apart(mine, urea):
            return [("two_differ", {"one": shown_line(mine), "other": shown_line(urea)})]
    return []


def ask_about_target(form: Form, body: BloodTarget) -> None:
    """Ask about a target past all that is usual for the substance: it may stand in another unit."""
    known = substance(body.substance)
    for end in (body.low, body.high):
        if not end:
            continue
        value = known.in_kept(Decimal(end), body.unit)
        if not known.last_low <= value <= known.last_high:
            form.ask(
                "blood_target_far",
                at="low" if end == body.low else "high",
                substance=substance_title(known.key),
                value=f"{end} {blood_unit(body.unit)}",
                low=in_both(known.last_low, known, body.unit),
                high=in_both(known.last_high, known, body.unit),
            )
            return


def ask_about_urine(form: Form, body: UrineCollected) -> None:
    """Ask about a time of collecting, or a volume, that is far from usual."""
    hours, volume = Decimal(body.hours), Decimal(body.volume_ml)
    if not URINE_HOURS[0] <= hours <= URINE_HOURS[1]:
        form.ask("urine_hours", at="hours", label=form.label("hours"), hours=f"{body.hours} h")
    if volume * HOURS_A_DAY > URINE_A_DAY * hours:
        form.ask(
            "urine_much",
            at="volume_ml",
            label=form.label("volume_ml"),
            volume=f"{body.volume_ml} mL",
            hours=f"{body.hours} h",
            most=f"{URINE_A_DAY} mL",
        )


def ask_about_dialyser(form: Form, body: DialyserFigures) -> None:
    """Ask where a larger substance is cleared better than a smaller one: two rows of the leaflet may be swapped."""
    row = [(name, Decimal(body.clearances[name])) for name in LEAFLET if name in body.clearances]
    for (small, less), (large, more) in pairwise(row):
        if more > less:
            form.ask(
                "dialyser_order",
                at=f"clearance.{small}",
                small=substance_words(small),
                large=substance_words(large),
                less=f"{short(less)} mL/min",
                more=f"{short(more)} mL/min",
            )
            return
