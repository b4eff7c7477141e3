"""``ebbwell adequacy``: the dose of each pair of bloods, and which measure is made for such a schedule."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from ebbwell.cli.bloods_in import (
    Notes,
    from_record,
    gap_words,
    known_of,
    pair_data,
    person_words,
    read_pairs,
    record_data,
    record_lines,
    source_data,
    source_words,
)
from ebbwell.cli.errors import InputNotKnown
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.papers.spoken import error_words, said
from ebbwell.review.adequacy_kinds import Measure
from ebbwell.review.adequacy_months import FRESH_DAYS, MonthTold, Told
from ebbwell.review.pair_fit import PersonFit, fit_people
from ebbwell.review.pairs import Pair, doses_of
from ebbwell.science.catalogue import formula_named, names

SHOWN = (
    "standard_dose_by_model",
    "urea_reduction",
    "single_pool_dose",
    "single_pool_dose_any",
    "equilibrated_dose_fistula",
    "equilibrated_dose_catheter",
    "equilibrated_dose_time",
    "equilibrated_dose_direct",
    "standard_dose",
    "standard_dose_with_fluid",
    "renal_clearance_like",
    "protein_rate_any",
)
"""Measures on the screen, in this order; all of them are in the JSON."""


def run(session: Session, args: argparse.Namespace) -> int:
    """Work each pair of the file out, or the newest one of the record beside its months."""
    if args.file is None:
        return _of_record(session, args)
    pairs = read_pairs(session, args)
    fits = {pair: one for one in fit_people(pairs, known_of(args)) for pair in (*one.pairs, *one.odd)}
    if args.json:
        told = [_data(pair, fits[pair]) for pair in pairs]
        session.print_json({"pairs": told, "caution": say("cli.bloods.untested")})
        return 0
    notes = Notes()
    for pair in pairs:
        session.print(*_lines(pair, fits[pair], notes), "")
    session.print(*notes.lines())
    return 0


def _of_record(session: Session, args: argparse.Namespace) -> int:
    record = from_record(session, args)
    found = record.found
    code = 0 if found.measures else InputNotKnown.exit_code
    if args.json:
        told = {
            "newest": None if found.newest is None else found.newest.own.night.isoformat(),
            "age_days": found.age_days,
            "measures": [measure_data(one) for one in found.measures],
            "notes": [gap_words(gap) for gap in found.notes],
            "months": [_month_data(one) for one in found.months],
        }
        session.print_json(
            {**record_data(record), **told, "caution": say("cli.bloods.untested"), "exit": code}
        )
        return code
    notes = Notes()
    lines = record_lines(record)
    if found.newest is not None:
        night = day(found.newest.own.night.isoformat())
        lines += ["", *wrap(say("cli.adequacy.newest", night=night, days=found.age_days))]
        if not found.fresh:
            lines += wrap(say("cli.adequacy.old", days=FRESH_DAYS), first="  ")
    lines += _measure_lines(found.measures, notes)
    for gap in found.notes:
        lines += wrap(gap_words(gap), first="  - ")
    if any(one.standard for one in found.months):
        lines += ["", *wrap(say("cli.adequacy.months"))]
    for one in found.months:
        if one.standard is not None:
            text = _told(one.standard, "standard_dose_by_model")
            odd = f"   {say('cli.adequacy.odd')}" if one.odd else ""
            lines += wrap(f"{day(one.own.night.isoformat())}   {text}{odd}", first="  ")
    session.print(*lines, "", *notes.lines())
    return code


def _told(one: Told, name: str) -> str:
    formula = formula_named(name)
    ends = (formula.shown(end) for end in (one.doubt.low, one.doubt.high) if end is not None)
    low, high = (*ends, "")[:2]
    band = say("cli.bloods.band", low=low, high=high)
    return f"{formula.shown(one.value)} {formula.unit}   {band}"


def _month_data(one: MonthTold) -> dict[str, Any]:
    """The weekly dose and the protein rate of a month, for a program."""
    told: dict[str, Any] = {"night": one.own.night.isoformat(), "odd": one.odd}
    for name, figure in (("standard", one.standard), ("protein", one.protein)):
        told[name] = None
        if figure is not None:
            high = figure.doubt.high
            told[name] = {
                "value": plain(figure.value),
                "low": plain(figure.doubt.low),
                "high": None if high is None else plain(high),
            }
    return told


def _measures(pair: Pair, fit: PersonFit) -> tuple[Measure, ...] | DomainError:
    """Of one pair; the error of a schedule that no measure is made for."""
    figures = fit.months[fit.pairs.index(pair)] if fit.months and pair not in fit.odd else None
    try:
        return doses_of(pair, figures, fit.known)
    except DomainError as why:
        return why


def _lines(pair: Pair, fit: PersonFit, notes: Notes) -> list[str]:
    lines = wrap(
        say(
            "cli.adequacy.pair",
            person=person_words(pair.person),
            night=day(pair.night.isoformat()),
            hours=f"{pair.minutes / 60:.3g}",
            a_week=f"{pair.nights.a_week:g}",
            days=pair.since_last_days,
        )
    )
    found = _measures(pair, fit)
    if isinstance(found, DomainError):
        return lines + wrap(error_words(found), first="  ")
    lines += _measure_lines(found, notes, by_fit=not fit.cannot and pair not in fit.odd)
    if pair in fit.odd:
        lines += wrap(say("cli.adequacy.left_out"), first="  ")
    if pair.removed_l is None:
        lines += wrap(say("cli.adequacy.fluid", litres=f"{pair.fluid_l:.2f}"), first="  ")
    if fit.cannot:
        why = said(fit.cannot, **fit.cannot_params)
        lines += wrap(say("cli.adequacy.cannot", why=why), first="  ")
    return lines


def _measure_lines(found: Sequence[Measure], notes: Notes, *, by_fit: bool = True) -> list[str]:
    """Those that may be quoted with figure and band, then why the others have none, each reason once.

    by_fit: whether there is a fit; without one nothing is said of each measure that would need it.
    """
    by_key = {one.key: one for one in found}
    shown = [by_key[key] for key in SHOWN if key in by_key]
    quoted = [one for one in shown if one.quoted]
    wide = max((len(say(f"measure.{one.key}")) for one in quoted), default=0)
    lines: list[str] = []
    for one in quoted:
        text = f"{figure_text(one)}   [{notes.number(_note(one))}]"
        lines += wrap(text, first=f"  {say(f'measure.{one.key}').ljust(wide)}  ")
    reasons: dict[str, list[str]] = {}
    for one in shown:
        if not one.quoted and (one.why_not or by_fit):
            reasons.setdefault(_why(one), []).append(say(f"measure.{one.key}"))
    for why, those in reasons.items():
        lines += wrap(say("cli.adequacy.unfit", names="; ".join(those), why=why), first="  ")
    return lines


def _why(one: Measure) -> str:
    if one.why_not:
        return said(one.why_not)
    return said(one.worked.why, **dict(one.worked.why_params)) if one.worked.why else ""


def _note(one: Measure) -> str:
    text = say("cli.adequacy.working", formula=one.worked.formula, source=source_words(one.worked.source))
    by_fit = any(came.kind == "fit" for came in one.came.values())
    model = [say("cli.adequacy.by_fit", model=say("model.two_pools"))] if by_fit else []
    return " ".join([text, *model, *map(said, one.notes)])


def figure_text(one: Measure) -> str:
    """A measure that is quoted: figure, unit and band."""
    value = one.worked.value
    if value is None:
        return ""
    shown = _digits(one)
    figure = f"{shown(value)} {one.worked.unit}".rstrip()
    if one.doubt is None:
        return f"{figure}   {say('cli.adequacy.no_band')}"
    if one.doubt.high is None:
        return f"{figure}   {say('cli.adequacy.open_end', low=shown(one.doubt.low))}"
    band = say("cli.bloods.band", low=shown(one.doubt.low), high=shown(one.doubt.high))
    return f"{figure}   {band}"


def _digits(one: Measure) -> Callable[[Decimal], str]:
    """How its numbers are shown: as its formula has it; a figure of the fit itself with three digits."""
    if one.worked.name in names(review=True):
        return formula_named(one.worked.name).shown
    return lambda value: f"{value:.3g}"


def _data(pair: Pair, fit: PersonFit) -> dict[str, Any]:
    found = _measures(pair, fit)
    told = () if isinstance(found, DomainError) else found
    return {
        **pair_data(pair),
        "hours": pair.minutes / 60,
        "a_week": pair.nights.a_week,
        "since_last_days": pair.since_last_days,
        "fluid_l": pair.fluid_l,
        "model_why_not": said(fit.cannot, **fit.cannot_params) if fit.cannot else "",
        "why_not": error_words(found) if isinstance(found, DomainError) else "",
        "measures": [measure_data(one) for one in told],
    }


def measure_data(one: Measure) -> Mapping[str, Any]:
    """A measure for a program: numbers as decimal strings, not rounded."""
    value, key = one.worked.value, f"measure.{one.key}"
    low = None if one.doubt is None else one.doubt.low
    high = None if one.doubt is None else one.doubt.high
    return {
        "name": one.key,
        "meaning": say(key) if has_text(key) else one.key,
        "quoted": one.quoted,
        "why_not": "" if one.quoted else _why(one),
        "value": None if value is None else plain(value),
        "low": None if low is None else plain(low),
        "high": None if high is None else plain(high),
        "band": None if low is None else 0.9,
        "unit": one.worked.unit,
        "shown": figure_text(one) if value is not None else "",
        "formula": one.worked.formula,
        "source": source_data(one.worked.source),
        "inputs": [
            {"name": i.name, "value": None if i.value is None else plain(i.value), "unit": i.unit}
            for i in one.worked.inputs
        ],
        "notes": [said(note) for note in one.notes],
    }
