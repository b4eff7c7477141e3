"""``ebbwell adequacy``: the dose of each pair of bloods, and which measure is made for such a schedule."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import Any

from ebbwell.cli.bloods_in import Notes, pair_data, person_words, read_pairs, source_data, source_words
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.errors import DomainError
from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.papers.spoken import error_words, said
from ebbwell.review.adequacy_kinds import Measure
from ebbwell.review.pair_fit import PersonFit, fit_people
from ebbwell.review.pairs import Pair, doses_of
from ebbwell.science.catalogue import formula_named

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
    """Work each pair out."""
    pairs = read_pairs(session, args)
    fits = {pair: one for one in fit_people(pairs) for pair in one.pairs}
    if args.json:
        told = [_data(pair, fits[pair]) for pair in pairs]
        session.print_json({"pairs": told, "caution": say("cli.bloods.untested")})
        return 0
    notes = Notes()
    for pair in pairs:
        session.print(*_lines(pair, fits[pair], notes), "")
    session.print(*notes.lines())
    return 0


def _measures(pair: Pair, fit: PersonFit) -> tuple[Measure, ...] | DomainError:
    """Of one pair; the error of a schedule that no measure is made for."""
    figures = fit.months[fit.pairs.index(pair)] if fit.months else None
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
    by_key = {one.key: one for one in found}
    shown = [by_key[key] for key in SHOWN if key in by_key]
    quoted = [one for one in shown if one.quoted]
    wide = max((len(say(f"measure.{one.key}")) for one in quoted), default=0)
    for one in quoted:
        text = f"{figure_text(one)}   ({notes.number(_note(one))})"
        lines += wrap(text, first=f"  {say(f'measure.{one.key}').ljust(wide)}  ")
    if pair.removed_l is None:
        lines += wrap(say("cli.adequacy.fluid", litres=f"{pair.fluid_l:.2f}"), first="  ")
    if fit.cannot:
        why = said(fit.cannot, **fit.cannot_params)
        lines += wrap(say("cli.adequacy.cannot", why=why), first="  ")
    return lines + _not_quoted([one for one in shown if not one.quoted], fit)


def _not_quoted(measures: Sequence[Measure], fit: PersonFit) -> list[str]:
    """Why the others have no figure, each reason once."""
    reasons: dict[str, list[str]] = {}
    for one in measures:
        if not one.why_not and fit.cannot:
            continue
        reasons.setdefault(_why(one), []).append(say(f"measure.{one.key}"))
    lines: list[str] = []
    for why, names in reasons.items():
        lines += wrap(say("cli.adequacy.unfit", names="; ".join(names), why=why), first="  ")
    return lines


def _why(one: Measure) -> str:
    if one.why_not:
        return said(one.why_not)
    return said(one.worked.why, **dict(one.worked.why_params)) if one.worked.why else ""


def _note(one: Measure) -> str:
    text = say("cli.adequacy.working", formula=one.worked.formula, source=source_words(one.worked.source))
    return " ".join([text, *map(said, one.notes)])


def figure_text(one: Measure) -> str:
    """A measure that is quoted: figure, unit and band."""
    value = one.worked.value
    if value is None:
        return ""
    shown = formula_named(one.worked.name).shown
    figure = f"{shown(value)} {one.worked.unit}".rstrip()
    if one.doubt is None:
        return f"{figure}   {say('cli.adequacy.no_band')}"
    if one.doubt.high is None:
        return f"{figure}   {say('cli.adequacy.open_end', low=shown(one.doubt.low))}"
    band = say("cli.bloods.band", low=shown(one.doubt.low), high=shown(one.doubt.high))
    return f"{figure}   {band}"


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
