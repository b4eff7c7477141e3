"""``ebbwell sheet``: the one-page record of a treatment."""

from __future__ import annotations

import argparse
from datetime import date

from ebbwell.cli.errors import NoTreatment
from ebbwell.cli.session import Session
from ebbwell.core.errors import InputError
from ebbwell.house import House
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_text import sheet_text


def run(session: Session, args: argparse.Namespace) -> int:
    """Print one sheet, or as many as that night has."""
    with session.open_house() as house:
        chosen = which(house, args.treatment, args.night)
        sheets = [build_sheet(house.look(treatment=one), house.store.heads()) for one in chosen]
    if args.json:
        session.print_json([{"title": s.title, "invented": s.invented, **s.data} for s in sheets])
    else:
        session.print("\n".join(sheet_text(s) for s in sheets).rstrip("\n"))
    return 0


def which(house: House, treatment: str | None, night: str | None) -> tuple[str, ...]:
    """Ids of the treatments asked for: one by id, those of a night, else the newest.

    Raises NoTreatment, InputError for a date that is none.
    """
    past = house.look().past
    newest = sorted(past.values(), key=lambda s: s.opened_at)
    if treatment is not None:
        wanted = treatment.strip().lower()
        found = [s.treatment for s in newest if s.treatment == wanted]
        if not found:
            raise NoTreatment("cli.sheet.no_treatment", treatment=treatment[:60])
        return tuple(found)
    if night is not None:
        try:
            wanted = date.fromisoformat(night.strip()).isoformat()
        except ValueError as why:
            raise InputError("cli.sheet.no_date", typed=night[:40]) from why
        found = [s.treatment for s in newest if s.night == wanted]
        if not found:
            nights = ", ".join(s.night for s in newest[-5:]) or "-"
            raise NoTreatment("cli.sheet.no_night", night=wanted, nights=nights)
        return tuple(found)
    if not newest:
        raise NoTreatment("sheet.no_treatment")
    return (newest[-1].treatment,)
