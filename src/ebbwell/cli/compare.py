"""``ebbwell compare``: up to six patterns of nights side by side, in the order typed. None is put before another."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from typing import Any

from ebbwell.cli.bloods_in import (
    Notes,
    codes,
    from_record,
    known_of,
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
from ebbwell.core.errors import InputError
from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.exchange.night_words import nights_words, pattern_of
from ebbwell.papers.spoken import said
from ebbwell.review.basis import Basis, Nights, Pattern
from ebbwell.review.pair_fit import fit_person
from ebbwell.review.pairs import Pair, basis_of
from ebbwell.review.patterns import FIGURES, LEVELS, MOST_PATTERNS, Compared, Reckoned, compare, one_reason
from ebbwell.rulebook.substances import substance_title

PLACES = {
    "standard_dose": 2,
    "removal_rate": 0,
    "hours": 2,
    "treatments": 1,
    "needles": 0,
    "sets": 1,
    "dialysis_fluid": 0,
    "phosphate_before": 2,
}
"""Digits behind the point; one for any other figure."""


def run(session: Session, args: argparse.Namespace) -> int:
    """Set the patterns side by side."""
    patterns = _patterns(args.pattern)
    told: dict[str, Any] = {}
    lines: list[str] = []
    levels: dict[str, date] = {}
    if args.file is None:
        record = from_record(session, args)
        own = record.numbers
        person, basis, nights = "", own.basis, [own.months[place].night for place in own.used]
        if basis is None:
            raise InputNotKnown("cli.compare.record_lacks", why=" ".join(record.lacks))
        levels = own.carried(LEVELS)
        told, lines = record_data(record), [*record_lines(record), ""]
    else:
        pairs = read_pairs(session, args)
        person, (basis, nights) = pairs[0].person, _basis(pairs, args)
    found = compare(basis, patterns)
    newest = max(nights)
    if args.json:
        told |= {"person": person, "pairs": len(nights), "newest": newest.isoformat()}
        told["levels"] = {name: drawn.isoformat() for name, drawn in levels.items()}
        told |= {"patterns": [_data(one) for one in found], "caution": say("cli.bloods.untested")}
        session.print_json(told)
        return 0
    lines += wrap(say("cli.compare.from", count=len(nights), night=day(newest.isoformat())))
    for name, drawn in levels.items():
        words = say("cli.compare.level", what=substance_title(name), night=day(drawn.isoformat()))
        lines += wrap(words)
    session.print(*lines, *_lines(person, found))
    return 0


def _patterns(typed: Sequence[str]) -> list[Pattern]:
    if not typed:
        raise InputError("cli.compare.none")
    if len(typed) > MOST_PATTERNS:
        raise InputError("cli.compare.most", count=len(typed), most=MOST_PATTERNS)
    patterns = [pattern_of(one) for one in typed]
    names = [one.name for one in patterns]
    for name in names:
        if names.count(name) > 1:
            raise InputError("cli.compare.same_name", name=name)
    return patterns


def _basis(pairs: Sequence[Pair], args: argparse.Namespace) -> tuple[Basis, list[date]]:
    """What the comparison rests on, and the nights of its pairs.

    Raises InputError for several people, InputNotKnown where the bloods can't tell.
    """
    people = len({one.person for one in pairs})
    if people > 1:
        raise InputError("cli.bloods.which_person", count=people, codes=codes(pairs))
    one = fit_person(pairs, known_of(args))
    if one.fit is None:
        raise InputNotKnown(one.cannot, **one.cannot_params)
    return basis_of(one.pairs, one.fit, one.known), [pair.night for pair in one.pairs]


def _lines(person: str, found: Sequence[Compared]) -> list[str]:
    notes = Notes()
    lines = wrap(say("cli.compare.head", person=person_words(person)))
    wide = max(len(one.pattern.name) for one in found)
    for one in found:
        lines += wrap(_pattern_words(one.pattern), first=f"  {one.pattern.name.ljust(wide)}  ")
    for key, unit in FIGURES.items():
        lines += ["", *wrap(f"{say(f'compare.{key}')} [{unit}]")]
        if why := one_reason(key, found):
            lines += wrap(said(why), first="  ")
            continue
        for one in found:
            figure = one.figures[key]
            lines += wrap(_cell(figure, notes), first=f"  {one.pattern.name.ljust(wide)}  ")
    lines += ["", *wrap(say("cli.compare.order")), *notes.lines()]
    return lines


def _pattern_words(pattern: Pattern) -> str:
    nights = nights_words(Nights(pattern.days, pattern.cycle_days))
    flows = f"{pattern.blood_flow_ml_min:g}/{pattern.fluid_flow_ml_min:g}"
    return say("cli.compare.pattern", nights=nights, hours=f"{pattern.hours:g}", flows=flows)


def _cell(figure: Reckoned, notes: Notes) -> str:
    if figure.band is None:
        return said(figure.why_not)
    places = PLACES.get(figure.key, 1)
    middle = f"{figure.band.middle:.{places}f}"
    if figure.exact:
        return f"{middle}   {say('cli.compare.exact')}"
    ends = f"({figure.band.low:.{places}f} to {figure.band.high:.{places}f})"
    return f"{middle}   {ends}   [{notes.number(_note(figure))}]"


def _note(figure: Reckoned) -> str:
    sources = "; ".join(source_words(key) for key in figure.sources)
    return " ".join([*map(said, figure.rests), say("cli.compare.source", sources=sources)])


def _data(one: Compared) -> dict[str, Any]:
    return {
        "name": one.pattern.name,
        "nights": nights_words(Nights(one.pattern.days, one.pattern.cycle_days)),
        "hours": one.pattern.hours,
        "blood_flow_ml_min": one.pattern.blood_flow_ml_min,
        "fluid_flow_ml_min": one.pattern.fluid_flow_ml_min,
        "figures": [_figure_data(figure) for figure in one.figures.values()],
        "measures": [
            {"name": each.name, "why_not": said(each.why_not) if each.why_not else ""}
            for each in one.measures
        ],
    }


def _figure_data(figure: Reckoned) -> dict[str, Any]:
    band = figure.band
    key = f"compare.{figure.key}"
    return {
        "name": figure.key,
        "meaning": say(key) if has_text(key) else figure.key,
        "unit": figure.unit,
        "value": None if band is None else band.middle,
        "low": None if band is None else band.low,
        "high": None if band is None else band.high,
        "band": None if band is None or figure.exact else 0.9,
        "follows_from_the_pattern_alone": figure.exact,
        "why_not": said(figure.why_not) if figure.why_not else "",
        "rests_on": [said(key) for key in figure.rests],
        "sources": [source_data(key) for key in figure.sources],
    }
