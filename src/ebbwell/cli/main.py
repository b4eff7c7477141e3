"""The command line: reads the arguments, runs one command, says what went wrong in words.

Each command's module is loaded when it runs, so that help comes at once.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from ebbwell import __version__
from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say

if TYPE_CHECKING:
    from ebbwell.cli.session import Session

Run = Callable[["Session", argparse.Namespace], int]

FORMS = (
    "report",
    "microbes",
    "carbon",
    "notice",
    "filter",
    "line",
    "plant",
    "bloods",
    "target",
    "urine",
    "dialyser",
    "body",
    "limit",
    "label",
    "label-check",
    "measures",
    "again",
)
"""What ``enter`` takes, as in ``cli.walk.form_kinds``, which is loaded only when it runs."""


def _run_demo(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.demo import run

    return run(session, args)


def _run_serve(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.serve import run

    return run(session, args)


def _run_night(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.night import run

    return run(session, args)


def _run_enter(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.enter import run

    return run(session, args)


def _run_tonight(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.tonight import run

    return run(session, args)


def _run_work(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.work import run

    return run(session, args)


def _run_sheet(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.sheet import run

    return run(session, args)


def _run_export(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.copies import run_export

    return run_export(session, args)


def _run_import(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.copies import run_import

    return run_import(session, args)


def _run_check_record(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.checks import run_check_record

    return run_check_record(session, args)


def _run_selfcheck(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.checks import run_selfcheck

    return run_selfcheck(session, args)


def _run_fit(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.fit import run

    return run(session, args)


def _run_adequacy(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.adequacy import run

    return run(session, args)


def _run_compare(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.compare import run

    return run(session, args)


def _run_sim(session: Session, args: argparse.Namespace) -> int:
    from ebbwell.cli.replay import run

    return run(session, args)


def _command(commands: Any, name: str, run: Run, *, json: bool = True) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(
        name, help=say(f"help.{name}"), description=say(f"help.{name}.more"), allow_abbrev=False
    )
    parser.set_defaults(run=run)
    if json:
        parser.add_argument("--json", action="store_true", help=say("help.json"))
    return parser


def _bloods(commands: Any, name: str, run: Run) -> argparse.ArgumentParser:
    """A command that works on pairs of bloods from a file, or on those of the record where none is named."""
    parser = _command(commands, name, run)
    where = parser.add_mutually_exclusive_group()
    where.add_argument("file", nargs="?", metavar="FILE", help=say("help.bloods.file"))
    where.add_argument("--from-record", action="store_true", help=say("help.bloods.from_record"))
    parser.add_argument("--person", metavar="CODE", help=say("help.bloods.person"))
    parser.add_argument("--as-typed", action="store_true", help=say("help.bloods.as_typed"))
    for option in ("water-share", "water-doubt", "clearance-doubt", "lab-doubt"):
        words = say(f"help.bloods.{option.replace('-', '_')}")
        parser.add_argument(
            f"--{option}", metavar="L/kg" if option == "water-share" else "PERCENT", help=words
        )
    return parser


def build_parser() -> argparse.ArgumentParser:
    """The parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="ebbwell", description=say("help.ebbwell"), epilog=say("help.epilog"), allow_abbrev=False
    )
    parser.add_argument("--version", action="version", version=f"ebbwell {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    demo = _command(commands, "demo", _run_demo)
    demo.add_argument("--played", action="store_true", help=say("help.demo.played"))
    demo.add_argument("--anew", action="store_true", help=say("help.demo.anew"))
    _command(commands, "serve", _run_serve, json=False)
    night = _command(commands, "night", _run_night, json=False)
    night.add_argument("--encrypt", action="store_true", help=say("help.night.encrypt"))
    enter = _command(commands, "enter", _run_enter, json=False)
    enter.add_argument("what", nargs="?", choices=FORMS, metavar="WHAT", help=say("help.enter.what"))
    _command(commands, "tonight", _run_tonight)
    work = _command(commands, "work", _run_work)
    work.add_argument("name", nargs="?", metavar="NAME", help=say("help.work.name"))
    work.add_argument("inputs", nargs="*", metavar="key=value", help=say("help.work.inputs"))
    sheet = _command(commands, "sheet", _run_sheet)
    which = sheet.add_mutually_exclusive_group()
    which.add_argument("--treatment", metavar="ID", help=say("help.sheet.treatment"))
    which.add_argument("--night", metavar="DATE", help=say("help.sheet.night"))
    sheet.add_argument("--pdf", metavar="FILE", help=say("help.sheet.pdf"))
    sheet.add_argument("--paper", choices=("a4", "letter"), default="a4", help=say("help.sheet.paper"))
    out = _command(commands, "export", _run_export)
    out.add_argument("folder", metavar="FOLDER", help=say("help.export.folder"))
    back = _command(commands, "import", _run_import)
    back.add_argument("folder", metavar="FOLDER", help=say("help.import.folder"))
    back.add_argument("--take-in", action="store_true", help=say("help.import.take_in"))
    _command(commands, "check-record", _run_check_record)
    _command(commands, "selfcheck", _run_selfcheck)
    _bloods(commands, "fit", _run_fit)
    _bloods(commands, "adequacy", _run_adequacy)
    compare = _bloods(commands, "compare", _run_compare)
    compare.add_argument(
        "--pattern", action="append", default=[], metavar="PATTERN", help=say("help.compare.pattern")
    )
    sim = _command(commands, "sim", _run_sim, json=False)
    replay = sim.add_subparsers(dest="what", metavar="WHAT", required=True).add_parser(
        "replay", help=say("help.sim.replay"), description=say("help.sim.replay")
    )
    replay.add_argument("seed", type=int, metavar="SEED", help=say("help.sim.seed"))
    return parser


def main(argv: Sequence[str] | None = None, session: Session | None = None) -> int:
    """Run one command. Gives its exit code: 0 done, 2 not understood, else the code of the cause."""
    try:
        args = build_parser().parse_args(argv)
    except SystemExit as left:
        return left.code if isinstance(left.code, int) else 2
    if session is None:
        from ebbwell.cli.session import Session

        session = Session()
    try:
        run: Run = args.run
        return run(session, args)
    except EbbwellError as why:
        return _report(session, args, why)
    except (KeyboardInterrupt, EOFError):
        from ebbwell.cli.errors import Interrupted

        return _report(session, args, Interrupted("cli.interrupted"))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _report(session: Session, args: argparse.Namespace, why: EbbwellError) -> int:
    from ebbwell.cli.words import error_lines, error_more
    from ebbwell.papers.spoken import error_words

    if getattr(args, "json", False):
        told = {"error": why.key, "message": error_words(why), "exit": why.exit_code}
        session.print_json({**told, **error_more(why)})
    for line in error_lines(why):
        session.err.write(line + "\n")
    return why.exit_code
