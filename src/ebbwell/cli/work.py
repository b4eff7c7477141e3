"""``ebbwell work``: any public formula, with its working shown."""

from __future__ import annotations

import argparse
import re

from ebbwell.cli.errors import InputNotKnown
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.errors import DomainError, InputError, NothingToDo
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.text import say
from ebbwell.core.units import parse_unit
from ebbwell.core.worked import Input, Outcome, Worked
from ebbwell.papers.spoken import said
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science import catalogue
from ebbwell.science.formula import Formula

_NUMBER = re.compile(r"\s*([+\-−–]?[\d.,]+)\s*(.*)", re.DOTALL)

CODES = {
    Outcome.OK: 0,
    Outcome.OUT_OF_RANGE: DomainError.exit_code,
    Outcome.NOTHING: NothingToDo.exit_code,
    Outcome.MISSING: InputNotKnown.exit_code,
    Outcome.WITHHELD: InputNotKnown.exit_code,
}


def run(session: Session, args: argparse.Namespace) -> int:
    """Work one formula out, or list all of them."""
    if args.name is None:
        _list(session, args.json)
        return 0
    formula = catalogue.formula_named(args.name)
    worked = catalogue.work(args.name, read_inputs(formula, args.inputs))
    if args.json:
        session.print_json(_data(formula, worked))
    else:
        session.print(*_lines(formula, worked))
    return CODES[worked.outcome]


def read_inputs(formula: Formula, typed: list[str]) -> dict[str, Input]:
    """``key=value`` pairs as inputs; a unit behind the number is converted.

    Raises InputError for a pair without ``=`` or given twice, and for a value that is no number; UnitError.
    """
    units = {wanted.name: wanted.unit for wanted in formula.inputs}
    found: dict[str, Input] = {}
    for pair in typed:
        name, equals, text = pair.partition("=")
        name = name.strip()
        if not equals:
            raise InputError("cli.work.no_equals", typed=pair[:60])
        if name in found:
            raise InputError("cli.work.twice", name=name[:60])
        parts = _NUMBER.fullmatch(text)
        number, unit = (parts[1], parts[2].strip()) if parts else (text, "")
        value = parse_decimal(number)
        found[name] = Input(name, value, parse_unit(unit) if unit else units.get(name, ""))
    return found


def _list(session: Session, as_json: bool) -> None:
    formulas = catalogue.formulas(review=True)
    if as_json:
        session.print_json(
            [
                {
                    "name": f.name,
                    "meaning": say(f.meaning),
                    "unit": f.unit,
                    "inputs": [
                        {
                            "name": i.name,
                            "unit": i.unit,
                            "low": plain(i.low),
                            "high": plain(i.high),
                            "default": None if i.default is None else plain(i.default),
                        }
                        for i in f.inputs
                    ],
                    "source": f.source,
                }
                for f in formulas
            ]
        )
        return
    wide = max(len(f.name) for f in formulas)
    unit_wide = max(len(f.unit) for f in formulas)
    lines = []
    for f in formulas:
        first = f"{f.name.ljust(wide)}  {f.unit.ljust(unit_wide)}  "
        lines += wrap(say(f.meaning), first=first)
    session.print(*lines, "", *wrap(say("cli.work.more")))


def _source(key: str) -> str:
    source = load_rulebook().source(key)
    return f"{source.title} [{key}, {source.kind}]"


def _lines(formula: Formula, worked: Worked) -> list[str]:
    lines = wrap(f"{formula.name}: {say(formula.meaning)}")
    lines += wrap(worked.formula, first="  = ", rest="    ")
    wide = max(len(one.name) for one in worked.inputs)
    for one in worked.inputs:
        value = f"{plain(one.value)} {one.unit}".rstrip() if one.value is not None else say("outcome.missing")
        lines += wrap(f"{one.name.ljust(wide)}  {value}  ({say(f'input.{one.name}')})", first="  ")
    lines += wrap(say("cli.work.source", source=_source(worked.source)), first="  ", rest="    ")
    if worked.value is None:
        lines += wrap(
            say("cli.work.result", name=worked.name, value=say(f"outcome.{worked.outcome.name.lower()}"))
        )
        lines += wrap(_why(worked), first="  ")
        if worked.outcome is Outcome.MISSING:
            lines += wrap(_usage(formula), first="  ")
    else:
        lines += wrap(say("cli.work.result", name=worked.name, value=catalogue.shown(worked)))
    return lines


def _usage(formula: Formula) -> str:
    needed = " ".join(f"{i.name}=..." for i in formula.inputs if i.default is None)
    return say("cli.work.usage", usage=f"ebbwell work {formula.name} {needed}")


def _why(worked: Worked) -> str:
    return said(worked.why, **dict(worked.why_params)) if worked.why else ""


def _data(formula: Formula, worked: Worked) -> dict[str, object]:
    return {
        "name": worked.name,
        "meaning": say(formula.meaning),
        "value": None if worked.value is None else plain(worked.value),
        "shown": catalogue.shown(worked),
        "unit": worked.unit,
        "outcome": worked.outcome.name.lower(),
        "why": _why(worked),
        "formula": worked.formula,
        "source": {"key": worked.source, "title": load_rulebook().source(worked.source).title},
        "inputs": [
            {"name": i.name, "value": None if i.value is None else plain(i.value), "unit": i.unit}
            for i in worked.inputs
        ],
    }
