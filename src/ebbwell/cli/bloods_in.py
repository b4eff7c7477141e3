"""Pairs of bloods for a command, and its figures as lines and as JSON."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from ebbwell.cli.session import Session, system_zone
from ebbwell.cli.words import wrap
from ebbwell.core.errors import InputError
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.exchange.blood_csv import read_file
from ebbwell.papers.spoken import said_with_reason
from ebbwell.review.estimate import Estimate
from ebbwell.review.pairs import Pair
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.fit import KNOWN, Known

if TYPE_CHECKING:
    from ebbwell.review.adequacy_months import Adequacy
    from ebbwell.review.own_numbers import Gap, OwnNumbers

FEW = 12
"""Codes of people that are named in a message."""


def read_pairs(session: Session, args: argparse.Namespace) -> tuple[Pair, ...]:
    """The pairs of the file that was named, of one person where one was asked for.

    Raises as ``blood_csv.read_file``, and InputError for a code that isn't in it.
    """
    zone = system_zone(session.environ) or "UTC"
    today = session.clock(zone).now().at.astimezone(ZoneInfo(zone)).date()
    pairs = read_file(Path(args.file), today, as_typed=args.as_typed)
    if args.person is None:
        return pairs
    mine = tuple(pair for pair in pairs if pair.person == args.person)
    if not mine:
        raise InputError("cli.bloods.no_person", person=args.person[:60], codes=codes(pairs))
    return mine


KNOWN_ENDS = {
    "water_share": (Decimal("0.3"), Decimal("0.8")),
    "water_doubt": (Decimal(1), Decimal(100)),
    "clearance_doubt": (Decimal(1), Decimal(100)),
    "lab_doubt": (Decimal("0.5"), Decimal(30)),
}
"""What may be put in beforehand: litres in a kg, and give or take so many percent. Source: design."""


def known_of(args: argparse.Namespace) -> Known:
    """What is put in beforehand, as asked for. Raises InputError for what is no number or far outside."""
    given: dict[str, float] = {}
    for name, (low, high) in KNOWN_ENDS.items():
        typed = getattr(args, name)
        if typed is None:
            continue
        value = parse_decimal(typed.removesuffix("%"))
        if not low <= value <= high:
            ends = {"low": plain(low), "high": plain(high)}
            raise InputError(f"cli.bloods.{name}", value=typed[:20], **ends)
        given[name] = float(value if name == "water_share" else value / 100)
    return Known(**given)


def known_params(known: Known) -> dict[str, str]:
    """What was put in, for the words about it."""
    doubts = {name: f"{100 * getattr(known, name):.3g}" for name in KNOWN_ENDS if name != "water_share"}
    return {"water_share": f"{known.water_share:.3g}", **doubts}


@dataclass(frozen=True)
class OwnRecord:
    """What the household's record holds for these sums. lines: whose it is, and what it lacks."""

    heading: tuple[str, ...]
    numbers: OwnNumbers
    found: Adequacy

    @property
    def lacks(self) -> list[str]:
        """What keeps figures out, in words."""
        return [gap_words(gap) for gap in self.found.gaps]


def from_record(session: Session, args: argparse.Namespace) -> OwnRecord:
    """What the household's record holds. Writes nothing. Raises InputError for a person, which only files have."""
    from ebbwell.papers.heading import heading
    from ebbwell.review.adequacy_months import adequacy
    from ebbwell.review.own_numbers import own_numbers
    from ebbwell.state.standing import household

    if args.person is not None or args.as_typed or known_of(args) != KNOWN:
        raise InputError("cli.bloods.only_file")
    with session.open_house() as house:
        desk = house.look()
        order = desk.scene.order
        access = "" if order is None else order.lines.get("access", "")
        numbers = own_numbers(desk.standing, desk.past, order, desk.now)
        found = adequacy(numbers, desk.standing, desk.past, access, desk.now)
        return OwnRecord(tuple(heading(household(desk.standing))), numbers, found)


def gap_words(gap: Gap) -> str:
    """What is lacking, in words."""
    return said_with_reason(gap.key, gap.params)


def record_lines(record: OwnRecord) -> list[str]:
    """Whose record it is, each pair that can't be used with why, and what else is lacking."""
    lines = [line for text in record.heading for line in wrap(text)]
    for month in record.numbers.months:
        for gap in month.gaps:
            lines += wrap(f"{day(month.night.isoformat())}: {gap_words(gap)}", first="  - ")
    for words in record.lacks:
        lines += wrap(words, first="  - ")
    return lines


def record_data(record: OwnRecord) -> dict[str, Any]:
    """The same for a program."""
    return {
        "heading": list(record.heading),
        "lacks": record.lacks,
        "left_out": [
            {"night": month.night.isoformat(), "why": [gap_words(gap) for gap in month.gaps]}
            for month in record.numbers.months
            if month.gaps
        ],
    }


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

    def figures(self, figures: Sequence[Estimate], known: Known) -> list[str]:
        """Figures with unit, band and the number of their note."""
        wide = max(len(say(f"estimate.{one.name}")) for one in figures)
        lines: list[str] = []
        for one in figures:
            text = f"{_figure(one)}   [{self.number(_note(one, known))}]"
            lines += wrap(text, first=f"  {say(f'estimate.{one.name}').ljust(wide)}  ")
        return lines

    def lines(self) -> list[str]:
        """The notes, then what holds for all figures."""
        if not self.texts:
            return wrap(say("cli.bloods.untested"))
        out = wrap(say("cli.bloods.brackets"))
        for number, text in enumerate(self.texts, 1):
            out += wrap(text, first=f"[{number}] ")
        return [*out, "", *wrap(say("cli.bloods.untested"))]


def _rests(one: Estimate, known: Known) -> list[str]:
    return [say(key, **known_params(known)) for key in one.rests_on]


def _note(one: Estimate, known: Known) -> str:
    text = say("cli.bloods.model", model=say(f"model.{one.model}"), source=source_words(one.source))
    return text + " " + say("cli.bloods.rests", what="; ".join(_rests(one, known)))


def _figure(one: Estimate) -> str:
    figure = f"{one.shown(one.value)} {one.unit}".rstrip()
    return f"{figure}   {say('cli.bloods.band', low=one.shown(one.low), high=one.shown(one.high))}"


def source_data(key: str) -> dict[str, str]:
    """A source for a program."""
    source = load_rulebook().source(key)
    return {"key": key, "title": source.title, "kind": source.kind}


def figure_data(one: Estimate, known: Known) -> dict[str, Any]:
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
        "rests_on": _rests(one, known),
    }


def pair_data(pair: Pair) -> dict[str, Any]:
    """Which pair, for a program."""
    return {"person": pair.person, "night": pair.night.isoformat(), "line": pair.line}
