"""Pairs of bloods for a command, and its figures as lines and as JSON."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from ebbwell.cli.session import Session, system_zone
from ebbwell.cli.words import wrap
from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.exchange.blood_csv import read_file
from ebbwell.review.estimate import Estimate
from ebbwell.review.pairs import Pair
from ebbwell.rulebook.load import load_rulebook

FEW = 12
"""Codes of people that are named in a message."""


def read_pairs(session: Session, args: argparse.Namespace) -> tuple[Pair, ...]:
    """The pairs of the file that was named, of one person where one was asked for.

    Raises as ``blood_csv.read_file``, and InputError for no file and for a code that isn't in it.
    """
    if args.file is None:
        raise InputError("cli.bloods.no_file")
    zone = system_zone(session.environ) or "UTC"
    today = session.clock(zone).now().at.astimezone(ZoneInfo(zone)).date()
    pairs = read_file(Path(args.file), today, as_typed=args.as_typed)
    if args.person is None:
        return pairs
    mine = tuple(pair for pair in pairs if pair.person == args.person)
    if not mine:
        raise InputError("cli.bloods.no_person", person=args.person[:60], codes=codes(pairs))
    return mine


def codes(pairs: Sequence[Pair]) -> str:
    """The codes of a file, the first few of many."""
    found = list(dict.fromkeys(pair.person for pair in pairs))
    return ", ".join(found[:FEW]) + (" ..." if len(found) > FEW else "")


def person_words(person: str) -> str:
    """A person's code before what is told of them; nothing where the file has none."""
    return f"{person}: " if person else ""


def source_words(key: str) -> str:
    """A source as a person reads it, with its key and how well it holds."""
    source = load_rulebook().source(key)
    return source.title if source.kind == key else f"{source.title} [{key}, {source.kind}]"


class Notes:
    """What stands below the figures: model, source and what they rest on, each said once and numbered."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def number(self, text: str) -> int:
        """The number of a note."""
        if text not in self.texts:
            self.texts.append(text)
        return self.texts.index(text) + 1

    def figures(self, figures: Sequence[Estimate]) -> list[str]:
        """Figures with unit, band and the number of their note."""
        wide = max(len(say(f"estimate.{one.name}")) for one in figures)
        lines: list[str] = []
        for one in figures:
            text = f"{_figure(one)}   ({self.number(_note(one))})"
            lines += wrap(text, first=f"  {say(f'estimate.{one.name}').ljust(wide)}  ")
        return lines

    def lines(self) -> list[str]:
        """The notes, then what holds for all figures."""
        out: list[str] = []
        for number, text in enumerate(self.texts, 1):
            out += wrap(text, first=f"({number}) ")
        return [*out, "", *wrap(say("cli.bloods.untested"))]


def _note(one: Estimate) -> str:
    text = say("cli.bloods.model", model=say(f"model.{one.model}"), source=source_words(one.source))
    return text + " " + say("cli.bloods.rests", what="; ".join(map(say, one.rests_on)))


def _figure(one: Estimate) -> str:
    figure = f"{one.shown(one.value)} {one.unit}".rstrip()
    return f"{figure}   {say('cli.bloods.band', low=one.shown(one.low), high=one.shown(one.high))}"


def source_data(key: str) -> dict[str, str]:
    """A source for a program."""
    source = load_rulebook().source(key)
    return {"key": key, "title": source.title, "kind": source.kind}


def figure_data(one: Estimate) -> dict[str, Any]:
    """A figure for a program: numbers not rounded, in ``unit``."""
    return {
        "name": one.name,
        "meaning": say(f"estimate.{one.name}"),
        "value": one.value,
        "low": one.low,
        "high": one.high,
        "band": 0.9,
        "unit": one.unit,
        "shown": _figure(one),
        "model": say(f"model.{one.model}"),
        "source": source_data(one.source),
        "rests_on": [say(key) for key in one.rests_on],
    }


def pair_data(pair: Pair) -> dict[str, Any]:
    """Which pair, for a program."""
    return {"person": pair.person, "night": pair.night.isoformat(), "line": pair.line}
