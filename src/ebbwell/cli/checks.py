"""``ebbwell check-record`` and ``ebbwell selfcheck``: what can be proven, and what can't."""

from __future__ import annotations

import argparse
import shutil
import sys
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from ebbwell import __version__
from ebbwell.cli.errors import NotFit, RecordFlawed
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.journal.chain import Verdict
from ebbwell.papers.spoken import said

LEAST_FREE_MB = 200
"""Free disk below which the self check speaks up. Source: design (a ten-year record is under 200 MB)."""


def run_check_record(session: Session, args: argparse.Namespace) -> int:
    """Read and prove every entry, and compare with the head file. Changes nothing that is in the record."""
    from ebbwell.house import House

    def prove(key: str | None) -> tuple[Verdict, tuple[str, ...]]:
        return House.prove(session.store, session.make_ids(), passphrase=key)

    verdict, notes = session.with_passphrase(prove)
    if args.json:
        session.print_json(_verdict_data(session.store, verdict, notes))
    else:
        session.print(*_verdict_lines(session.store, verdict, notes))
    return 0 if verdict.holds else RecordFlawed.exit_code


def _verdict_data(path: Path, verdict: Verdict, notes: tuple[str, ...]) -> dict[str, Any]:
    return {
        "store": str(path),
        "entries": verdict.entries,
        "holds": verdict.holds,
        "chains": {w: {"entries": n, "head": head.hex()} for w, (n, head) in verdict.chains.items()},
        "flaws": [
            {"error": f.key, "entry": f.entry, "row": f.row, "message": _flaw(f)} for f in verdict.flaws
        ],
        "forks": [list(fork) for fork in verdict.forks],
        "notes": [say(note) for note in notes],
        "exit": 0 if verdict.holds else RecordFlawed.exit_code,
    }


def _flaw(flaw: Any) -> str:
    return said(flaw.key, entry=flaw.entry, row=flaw.row, **dict(flaw.params))


def _verdict_lines(path: Path, verdict: Verdict, notes: tuple[str, ...]) -> list[str]:
    lines = wrap(say("cli.check.read", entries=verdict.entries, path=path))
    for writer, (count, head) in verdict.chains.items():
        lines += wrap(say("sheet.chain", writer=writer[-12:], count=count, head=head.hex()[:16]), first="  ")
    if verdict.holds:
        lines += wrap(say("cli.check.proven", entries=verdict.entries))
    else:
        lines += wrap(say("cli.check.flaws", count=len(verdict.flaws)))
        for flaw in verdict.flaws[:40]:
            lines += wrap(_flaw(flaw), first="  - ")
        if len(verdict.flaws) > 40:
            lines += wrap(say("cli.check.more", count=len(verdict.flaws) - 40), first="  ")
    if verdict.forks:
        lines += wrap(say("cli.check.forks", count=len(verdict.forks)))
    for note in notes:
        lines += wrap(say(note))
    return lines + wrap(say("cli.check.limits"))


@dataclass(frozen=True)
class Item:
    """One thing looked at. state: ``ok``, ``bad``, ``not_known``."""

    name: str
    state: str
    shown: str


def run_selfcheck(session: Session, args: argparse.Namespace) -> int:
    """Look at the program and the computer it runs on."""
    items = look(session)
    bad = [item for item in items if item.state == "bad"]
    if args.json:
        session.print_json(
            {"items": [asdict(item) for item in items], "exit": NotFit.exit_code if bad else 0}
        )
    else:
        for item in items:
            mark = say(f"cli.self.{item.state}")
            session.print(*wrap(f"{say(f'cli.self.item.{item.name}')}: {item.shown}", first=f"{mark:<10} "))
        session.print(*wrap(say("cli.self.limits")))
    return NotFit.exit_code if bad else 0


def look(session: Session) -> tuple[Item, ...]:
    """Everything the self check looks at."""
    return (
        Item("program", "ok", __version__),
        _python(),
        _sqlite(),
        _rulebook(),
        _procedure(),
        _words(),
        _clock(session),
        _file_system(session.home),
        _free(session.home),
        _record(session),
    )


def _python() -> Item:
    version = ".".join(map(str, sys.version_info[:3]))
    return Item("python", "ok" if sys.version_info >= (3, 11) else "bad", version)


def _sqlite() -> Item:
    from ebbwell.house import House

    version, log = House.sqlite()
    shown = say("cli.self.sqlite_log" if log else "cli.self.sqlite_no_log", version=version)
    return Item("sqlite", "ok", shown)


def _rulebook() -> Item:
    from ebbwell.rulebook.load import RulebookFault, load_rulebook

    try:
        book = load_rulebook()
    except RulebookFault as why:
        return Item("rulebook", "bad", str(why))
    return Item("rulebook", "ok", say("cli.self.rulebook", rules=len(book.rules()), digest=book.digest[:16]))


def _procedure() -> Item:
    from ebbwell.procedure.load import load_procedure
    from ebbwell.procedure.model import ProcedureRefused

    try:
        procedure = load_procedure()
    except ProcedureRefused as why:
        return Item("procedure", "bad", said(why.key, **why.params))
    shown = say("cli.self.procedure", steps=len(procedure.steps), digest=procedure.digest[:16])
    return Item("procedure", "ok", shown)


def _words() -> Item:
    from ebbwell.core.text import has_text

    missing = [key for key in ("step.S5.do", "grade.stop_before", "refuse.gate") if not has_text(key)]
    return Item("words", "bad" if missing else "ok", ", ".join(missing) or say("cli.self.words"))


def _clock(session: Session) -> Item:
    now = session.clock("UTC").now()
    shown = now.at.strftime("%Y-%m-%d %H:%M UTC")
    if not now.boot:
        return Item("clock", "not_known", say("cli.self.no_boot", at=shown))
    return Item("clock", "ok" if now.at.year >= 2026 else "bad", say("cli.self.clock", at=shown))


def _nearest(path: Path) -> Path:
    while not path.exists() and path != path.parent:
        path = path.parent
    return path


def _file_system(home: Path) -> Item:
    from ebbwell.house import House

    kind, network = House.file_system(_nearest(home))
    if not kind:
        return Item("file_system", "not_known", str(home))
    shown = say("cli.self.network" if network else "cli.self.file_system", kind=kind, home=home)
    return Item("file_system", "bad" if network else "ok", shown)


def _free(home: Path) -> Item:
    free = shutil.disk_usage(_nearest(home)).free // 1_000_000
    shown = say("cli.self.free", free=free, least=LEAST_FREE_MB)
    return Item("free_disk", "ok" if free >= LEAST_FREE_MB else "bad", shown)


def _record(session: Session) -> Item:
    if not session.begun:
        return Item("record", "not_known", say("cli.self.no_record", path=session.store))
    return Item("record", "not_known", say("cli.self.record", path=session.store))
