"""What a command works with: streams, clock, ids, surroundings, and the way to the household's record."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from ebbwell.core.text import say

if TYPE_CHECKING:
    from ebbwell.core.clock import Clock
    from ebbwell.core.ids import Ids
    from ebbwell.house import House

STORE = "record.ebbwell"
"""Name of a household's store in the data folder."""

DEMO = "demo"
"""Folder, inside the data folder, that the demo has for itself."""


def system_clock(zone: str) -> Clock:
    """The machine's own clock, in the household's zone."""
    from ebbwell.core.clock import SystemClock

    return SystemClock(zone)


def program_name(typed: str) -> str:
    """How this program is started here: ``ebbwell`` where the system finds that by itself, else the path to it."""
    import shlex
    import shutil

    path = Path(typed)
    if path.name == "__main__.py":
        beside = Path(sys.executable).with_name("ebbwell")
        if not beside.exists():
            return f"{shlex.quote(sys.executable)} -m ebbwell"
        here = Path.cwd()
        path = beside.relative_to(here) if beside.is_relative_to(here) else beside
    if not path.name.startswith("ebbwell") or shutil.which("ebbwell") is not None:
        return "ebbwell"
    return shlex.quote(str(path))


@dataclass
class Session:
    """One run of the command line. Tests give streams, clock and ids of their own.

    clock: makes the clock for a zone. locked: whether the record that was opened has a passphrase.
    secret: asks for a passphrase without showing it; None takes a line of stdin where that isn't a terminal.
    program: how this program is started here.
    """

    stdin: TextIO = field(default_factory=lambda: sys.stdin)
    out: TextIO = field(default_factory=lambda: sys.stdout)
    err: TextIO = field(default_factory=lambda: sys.stderr)
    environ: Mapping[str, str] = field(default_factory=lambda: os.environ)
    clock: Callable[[str], Clock] = system_clock
    ids: Ids | None = None
    locked: bool = False
    secret: Callable[[str], str] | None = None
    program: str = field(default_factory=lambda: program_name(sys.argv[0]))

    def print(self, *lines: str) -> None:
        """Lines for people, on standard output."""
        for line in lines:
            self.out.write(line + "\n")
        self.out.flush()

    def warn(self, line: str) -> None:
        """A line for people beside what a command gives, on standard error."""
        self.err.write(line + "\n")
        self.err.flush()

    def print_json(self, value: Any) -> None:
        """One JSON document on standard output."""
        import json

        self.print(json.dumps(value, ensure_ascii=False, indent=1))

    @property
    def home(self) -> Path:
        """The data folder: EBBWELL_HOME, or where this system keeps a person's data."""
        named = self.environ.get("EBBWELL_HOME", "")
        if named.strip():
            return Path(named).expanduser().absolute()
        user = Path(self.environ.get("HOME", "") or Path.home())
        if sys.platform == "win32":
            return Path(self.environ.get("LOCALAPPDATA", "") or user / "AppData/Local") / "Ebbwell"
        if sys.platform == "darwin":
            return user / "Library/Application Support/Ebbwell"
        return Path(self.environ.get("XDG_DATA_HOME", "") or user / ".local/share") / "ebbwell"

    @property
    def store(self) -> Path:
        """Where the household's store lies, or will lie."""
        return self.home / STORE

    @property
    def begun(self) -> bool:
        """Whether something lies there, a store or the head file of one that is gone."""
        return self.store.exists() or self.store.with_name(STORE + ".head").exists()

    def command(self, *words: str) -> str:
        """The command line that works here, as the person typed this one: with EBBWELL_HOME where that is set."""
        import shlex

        named = self.environ.get("EBBWELL_HOME", "").strip()
        home = f"EBBWELL_HOME={shlex.quote(named)} " if named else ""
        return f"{home}{self.program} {' '.join(words)}"

    def make_ids(self) -> Ids:
        """Ids for new entries."""
        if self.ids is not None:
            return self.ids
        from ebbwell.core.ids import SystemIds

        return SystemIds()

    def ask_secret(self, prompt: str) -> str:
        """A passphrase, not shown while it is typed. EOFError when nothing more comes."""
        if self.secret is not None:
            return self.secret(prompt)
        if self.stdin is sys.stdin and sys.stdin.isatty():
            from getpass import getpass

            return getpass(prompt)
        self.out.write(prompt + "\n")
        line = self.stdin.readline()
        if not line:
            raise EOFError
        return line.rstrip("\r\n")

    def open_house(self, path: Path | None = None, *, zone: str = "UTC", create: bool = False) -> House:
        """Open the household's record; asks for its passphrase where it has one.

        zone: of a record to be begun; an old one has its own. Raises the store's errors.
        """
        house: House = self.with_passphrase(lambda key: self._open(path or self.store, zone, key, create))
        return house

    def with_passphrase(self, use: Callable[[str | None], Any]) -> Any:
        """Do something with the record, with the passphrase only where it needs one.

        EBBWELL_PASSPHRASE, else it is asked for.
        """
        from ebbwell.journal.errors import NeedsPassphrase

        try:
            return use(None)
        except NeedsPassphrase:
            typed = self.environ.get("EBBWELL_PASSPHRASE") or self.ask_secret(say("cli.passphrase") + " ")
            return use(typed)

    def _open(self, path: Path, zone: str, passphrase: str | None, create: bool) -> House:
        from ebbwell.house import House
        from ebbwell.state.standing import household

        self.locked = passphrase is not None
        house = House.open(path, self.clock(zone), self.make_ids(), passphrase=passphrase, create=create)
        home = household(house.state.standing)
        if home is not None:
            house.clock = self.clock(home.zone)
        return house

    def begin_house(self, zone: str, passphrase: str | None) -> House:
        """Make the data folder and an empty record in it."""
        self.home.mkdir(parents=True, exist_ok=True)
        return self._open(self.store, zone, passphrase, create=True)


def system_zone(environ: Mapping[str, str]) -> str:
    """The zone that this computer is set to, by name; "" when it doesn't tell. To be offered, never taken unasked."""
    from ebbwell.core.clock import zone_info
    from ebbwell.core.errors import InputError

    named = [environ.get("TZ", "").lstrip(":")]
    link = Path("/etc/localtime")
    if link.is_symlink():
        named.append(str(link.readlink()).partition("zoneinfo/")[2])
    written = Path("/etc/timezone")
    if written.is_file():
        named.append(written.read_text(errors="replace").strip())
    for name in named:
        if "/" in name and not name.startswith("Etc/"):
            try:
                return zone_info(name).key
            except InputError:
                continue
    return ""
