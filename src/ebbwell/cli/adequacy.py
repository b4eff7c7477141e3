"""``ebbwell adequacy``: the dose of each pair of bloods, and which measure is made for such a schedule."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import Any

from ebbwell.cli.bloods_in import Notes, figure_data, pair_data, person_words, read_pairs
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.review.estimate import Estimate
from ebbwell.review.pair_dose import PairDose, dose_of
from ebbwell.review.pair_fit import fit_people
from ebbwell.review.pairs import Pair


def run(session: Session, args: argparse.Namespace) -> int:
    """Work each pair out."""
    pairs = read_pairs(session, args)
    models = _by_model(pairs)
    if args.json:
        told = [_data(dose_of(pair), models) for pair in pairs]
        session.print_json({"pairs": told, "caution": say("cli.bloods.untested")})
        return 0
    notes = Notes()
    for pair in pairs:
        session.print(*_lines(dose_of(pair), models, notes), "")
    session.print(*notes.lines())
    return 0


Models = Mapping[Pair, Estimate]


def _by_model(pairs: Sequence[Pair]) -> Models:
    """The weekly dose of each pair by the fitted model; why not, where the bloods of that person can't tell."""
    found: dict[Pair, Estimate] = {}
    for one in fit_people(pairs):
        for number, pair in enumerate(one.pairs):
            if one.fit is not None:
                found[pair] = one.months[number][1]
            else:
                found[pair] = Estimate(
                    "standard_by_model",
                    "/week",
                    "two_pools",
                    "kinetics:A8",
                    why=one.cannot,
                    why_params=one.cannot_params,
                )
    return found


def _lines(one: PairDose, models: Models, notes: Notes) -> list[str]:
    head = say(
        "cli.adequacy.pair",
        person=person_words(one.pair.person),
        night=day(one.pair.night.isoformat()),
        hours=f"{one.hours:.3g}",
        a_week=f"{one.a_week:g}",
        days=one.pair.since_last_days,
    )
    marks = {each.name: say("cli.adequacy.see_below") for each in one.unfit}
    lines = wrap(head) + notes.figures([*one.figures, models[one.pair]], marks)
    if one.fits:
        lines += wrap(say("cli.adequacy.fits", names=_names(one.fits)), first="  ")
    for why in dict.fromkeys(each.why for each in one.unfit):
        names = [each.name for each in one.unfit if each.why == why]
        lines += wrap(say("cli.adequacy.unfit", names=_names(names), why=say(why)), first="  ")
    return lines


def _names(names: Sequence[str]) -> str:
    return "; ".join(say(f"measure.{name}") for name in names)


def _data(one: PairDose, models: Models) -> dict[str, Any]:
    return {
        **pair_data(one.pair),
        "hours": one.hours,
        "a_week": one.a_week,
        "since_last_days": one.pair.since_last_days,
        "figures": [figure_data(each) for each in (*one.figures, models[one.pair])],
        "fits": list(one.fits),
        "unfit": [{"name": each.name, "why": say(each.why)} for each in one.unfit],
    }
