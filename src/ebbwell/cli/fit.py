"""``ebbwell fit``: one person's own numbers from pairs of bloods, with bands, or plainly that the bloods can't tell."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from ebbwell.cli.bloods_in import (
    KNOWN_ENDS,
    Notes,
    figure_data,
    from_record,
    known_of,
    pair_data,
    person_words,
    read_pairs,
    record_data,
    record_lines,
)
from ebbwell.cli.errors import InputNotKnown
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.papers.spoken import said
from ebbwell.review.creatinine_fit import WithCreatinine, with_creatinine
from ebbwell.review.pair_fit import PersonFit, fit_people
from ebbwell.review.pairs import Pair
from ebbwell.review.pairs_of_record import pairs_of_record
from ebbwell.science.bands import Band
from ebbwell.science.fit import ODD_AT


def run(session: Session, args: argparse.Namespace) -> int:
    """Fit each person of the file, or the person of the record."""
    record = None if args.file is not None else from_record(session, args)
    pairs = read_pairs(session, args) if record is None else pairs_of_record(record.numbers)
    found = fit_people(pairs, known_of(args))
    code = 0 if found else InputNotKnown.exit_code
    if args.json:
        told = {} if record is None else record_data(record)
        people = [_data(one) for one in found]
        session.print_json({**told, "people": people, "caution": say("cli.bloods.untested"), "exit": code})
        return code
    if record is not None:
        session.print(*record_lines(record), "")
    notes = Notes()
    for one in found:
        session.print(*_lines(one, notes), "")
    session.print(*notes.lines())
    return code


def _head(one: PersonFit) -> str:
    person, first, last = (
        person_words(one.person),
        *(day(pair.night.isoformat()) for pair in (one.pairs[0], one.pairs[-1])),
    )
    if len(one.pairs) == 1:
        return say("cli.bloods.one_pair", person=person, first=first)
    return say("cli.bloods.pairs", person=person, count=len(one.pairs), first=first, last=last)


def _lines(one: PersonFit, notes: Notes) -> list[str]:
    lines = wrap(_head(one))
    if one.fit is None:
        return lines + wrap(said(one.cannot, **one.cannot_params), first="  ")
    lines += notes.figures(one.figures, one.known)
    left = {name: f"{100 * share:.0f}" for name, share in one.doubt_left.items()}
    lines += wrap(
        say("cli.fit.left", water=left["water_share"], clearance=left["clearance_over"]), first="  "
    )
    lines += wrap(say("cli.fit.ratio"), first="  ")
    if one.leans:
        names = ", ".join(say(f"estimate.{name}") for name in one.leans)
        lines += wrap(say("cli.fit.leans", what=names), first="  ")
    lines += wrap(_odd(one), first="  ")
    beside = with_creatinine(one)
    return lines if beside is None else lines + _beside(beside, one, notes)


def _beside(beside: WithCreatinine, one: PersonFit, notes: Notes) -> list[str]:
    if not beside.count:
        return wrap(_cannot(beside), first="  ")
    lines = wrap(say("cli.fit.creatinine", count=beside.count))
    if beside.cannot:
        return lines + wrap(_cannot(beside), first="  ")
    return lines + notes.figures(beside.figures, one.known)


def _cannot(beside: WithCreatinine) -> str:
    return say(beside.cannot, nights=_nights(beside.odd))


def _nights(pairs: Sequence[Pair]) -> str:
    return ", ".join(day(pair.night.isoformat()) for pair in pairs)


def _odd(one: PersonFit) -> str:
    if len(one.pairs) == 1:
        return say("cli.fit.odd_one")
    if not one.odd:
        return say("cli.fit.odd_none", at=f"{ODD_AT:g}")
    return say("cli.fit.odd", nights=_nights(one.odd))


def _band(band: Band) -> dict[str, float]:
    """Of one month, with the doubt of bloods and of what was put in alone."""
    return {"low": band.low, "middle": band.middle, "high": band.high}


def _beside_data(one: PersonFit) -> dict[str, Any] | None:
    beside = with_creatinine(one)
    if beside is None:
        return None
    return {
        "pairs": beside.count,
        "can_tell": not beside.cannot,
        "why_not": _cannot(beside) if beside.cannot else "",
        "figures": [figure_data(each, one.known) for each in beside.figures],
        "odd": [pair_data(pair) for pair in beside.odd],
    }


def _data(one: PersonFit) -> dict[str, Any]:
    return {
        "person": one.person,
        "pairs": len(one.pairs),
        "can_tell": one.fit is not None,
        "why_not": said(one.cannot, **one.cannot_params) if one.cannot else "",
        "figures": [figure_data(each, one.known) for each in one.figures],
        "months": [
            {
                **pair_data(pair),
                "made": _band(month.made),
                "standard": _band(month.standard),
                "off_in_standard_deviations": off,
            }
            for pair, month, off in zip(
                one.pairs, one.months, one.fit.residuals if one.fit else (), strict=False
            )
        ],
        "odd": [pair_data(pair) for pair in one.odd],
        "leans": list(one.leans),
        "doubt_left": one.doubt_left,
        "with_creatinine": _beside_data(one),
        "known": {name: getattr(one.known, name) for name in KNOWN_ENDS},
    }
