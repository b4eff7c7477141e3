"""``ebbwell sheet``: the one-page record of a treatment."""

from __future__ import annotations

import argparse
import contextlib
from datetime import date
from pathlib import Path

from ebbwell.cli.errors import NoTreatment, PaperNotWritten
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.house import House
from ebbwell.papers.sheet import Sheet, build_sheet
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.papers.words import day


def run(session: Session, args: argparse.Namespace) -> int:
    """Print one sheet, or as many as that night has."""
    with session.open_house() as house:
        chosen = which(house, args.treatment, args.night)
        sheets = [build_sheet(house.look(treatment=one), house.store.heads()) for one in chosen]
    if args.pdf is not None:
        return _as_pdf(session, args, sheets)
    if args.json:
        session.print_json([{"title": s.title, "invented": s.invented, **s.data} for s in sheets])
    else:
        session.print("\n".join(sheet_text(s) for s in sheets).rstrip("\n"))
    return 0


def _as_pdf(session: Session, args: argparse.Namespace, sheets: list[Sheet]) -> int:
    """Write each sheet to its file. A night of two treatments gets two files: ``sheet.pdf``, ``sheet-2.pdf``."""
    from ebbwell.papers.sheet_pdf import pages_of, sheet_pdf

    written = []
    first = Path(args.pdf)
    for number, sheet in enumerate(sheets, 1):
        path = first if number == 1 else first.with_name(f"{first.stem}-{number}{first.suffix}")
        made = sheet_pdf(sheet, paper=args.paper)
        _write(path, made)
        written.append((sheet, path, pages_of(made)))
    if args.json:
        found = [{"treatment": s.data["treatment"], "file": str(p), "pages": n} for s, p, n in written]
        session.print_json(found)
        return 0
    for sheet, path, pages in written:
        words = say("cli.sheet.written", night=day(str(sheet.data["night"])), file=path, pages=pages)
        session.print(*wrap(words))
    return 0


def _write(path: Path, made: bytes) -> None:
    """Put the file there whole or not at all. Raises PaperNotWritten, also where another kind of file lies."""
    beside = path.with_name(f".{path.name}.new")
    try:
        if path.exists() and (not path.is_file() or path.read_bytes()[:5] != b"%PDF-"):
            raise PaperNotWritten("cli.sheet.other_file", file=path)
        beside.write_bytes(made)
        beside.replace(path)
    except OSError as why:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise PaperNotWritten("cli.sheet.not_written", file=path, why=why.strerror or "-") from why


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
