"""``ebbwell export`` and ``ebbwell import``: the record as a folder, and back."""

from __future__ import annotations

import argparse
from pathlib import Path

from ebbwell.cli.errors import TakeInRefused
from ebbwell.cli.session import Session
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.journal.bundle import compare, export_bundle, import_bundle, read_bundle, read_manifest


def run_export(session: Session, args: argparse.Namespace) -> int:
    """Write the whole record into a folder, then compare every entry with it."""
    folder = Path(args.folder).expanduser().absolute()
    with session.open_house() as house:
        manifest = export_bundle(house.store, folder)
        compared = compare(house.store, folder)
    if args.json:
        session.print_json(
            {
                "folder": str(folder),
                "entries": manifest.entries,
                "segments": len(manifest.segments),
                "chains": {c.writer: {"entries": c.entries, "head": c.head} for c in manifest.chains},
                "compared": compared.equal,
                "same": compared.same,
            }
        )
        return 0
    session.print(*wrap(say("cli.export.done", entries=manifest.entries, folder=folder)))
    session.print(*wrap(say("cli.export.compared", equal=compared.equal, segments=len(manifest.segments))))
    session.print(*wrap(say("cli.export.plain")))
    return 0


def run_import(session: Session, args: argparse.Namespace) -> int:
    """Restore a folder into an empty record, or take its entries into one that holds some."""
    folder = Path(args.folder).expanduser().absolute()
    read_manifest(folder)
    session.home.mkdir(parents=True, exist_ok=True)
    with session.open_house(create=not args.take_in) as house:
        if args.take_in:
            taken = house.take_in(list(read_bundle(folder)))
            told: dict[str, object] = {"new": taken.new, "held": taken.held, "refused": dict(taken.refused)}
            lines = wrap(say("cli.import.taken", new=taken.new, held=taken.held, folder=folder))
            if taken.refused:
                lines += [
                    line for id_, why in taken.refused for line in wrap(f"{id_}: {say(why)}", first="  ")
                ]
        else:
            counted = import_bundle(folder, house.store)
            told = {"entries": counted.entries, "chains": counted.chains, "same": True}
            lines = wrap(say("cli.import.done", entries=counted.entries, folder=folder, store=session.store))
            lines += wrap(say("cli.import.next"))
    if args.json:
        session.print_json({"folder": str(folder), **told})
    else:
        session.print(*lines)
    refused = told.get("refused")
    return TakeInRefused.exit_code if refused else 0
