"""The story of the invented household, week by week, through the real deeds. Nobody in it exists.

``tell`` gives the record as it stands on 29 April 2026 at 17:00: 18 weeks, the same at every telling.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from importlib import resources
from pathlib import Path
from typing import Final

import msgspec

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import InputError
from ebbwell.core.ids import SystemIds
from ebbwell.house import House
from ebbwell.journal.envelope import Entry
from ebbwell.journal.errors import RecordError
from ebbwell.journal.store.sqlite import open_store
from ebbwell.procedure.load import load_procedure
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.catalogue import formulas_digest
from ebbwell.sim.household import ZONE
from ebbwell.sim.story.calendar import STANDS
from ebbwell.sim.story.chapters import tell_all
from ebbwell.sim.story.teller import Teller
from ebbwell.state.standing import household

__all__ = ["Story", "tell"]

STORE: Final = "record.ebbwell"
MARK: Final = "story.json"
"""File beside the store that says that the story was told to its end."""


class Told(msgspec.Struct, frozen=True):
    """What the mark file says. by: digest of what the story was told by; newest: hash of its last entry, in hex."""

    by: str
    entries: int
    newest: str
    treatments: dict[str, str]
    called_off: tuple[str, ...]


@dataclass(frozen=True)
class Story:
    """A record with the story in it. at: where its clock has to stand. zone: of the household.

    at is where the story ends; where somebody practised on it since, it is the newest moment in the record.
    entries: of the story itself. held: of the whole record. treatments: day on which each night was opened (YYYY-MM-DD)
    to its treatment. called_off: days on which nothing ran. kept: it lay there already, whole; nothing was written.
    """

    path: Path
    at: datetime
    zone: str
    entries: int
    held: int
    treatments: dict[str, str]
    called_off: tuple[str, ...]
    kept: bool = False

    def clock(self) -> SetClock:
        """A clock set to where the record stands; each time somebody practised it counts as another start."""
        return SetClock(self.at, self.zone, boot=f"story-{self.held}")


def tell(folder: Path, *, anew: bool = False, first: Callable[[], None] | None = None) -> Story:
    """Tell the story into a folder of its own; where it lies there whole and was told by this program, keep it.

    What was written after the story's end is kept with it. anew: tell it again even so; the record there is lost.
    first: is called before it is told, which takes its time; not where it is kept.
    Everything in the folder goes when it is told. Raises InputError for a folder with a record in it that isn't
    invented, or that can't be looked into; and the store's errors.
    """
    kept = None if anew else _kept(folder)
    if kept is not None:
        return kept
    _need_own(folder)
    if first is not None:
        first()
    teller = Teller()
    tell_all(teller)
    entries = list(teller.house.store.after(0))
    told = Told(
        by=told_by(),
        entries=len(entries),
        newest=entries[-1].hash.hex(),
        treatments=teller.nights,
        called_off=tuple(teller.called_off),
    )
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    _lay_down(folder / STORE, entries)
    (folder / MARK).write_bytes(msgspec.json.format(msgspec.json.encode(told), indent=1))
    return Story(folder / STORE, STANDS, ZONE, told.entries, told.entries, told.treatments, told.called_off)


def _lay_down(path: Path, entries: list[Entry]) -> None:
    """Put the entries on the disk at once, as a restore does, and prove them there.

    Told deed by deed on a disk, the story would wait for the disk some 20,000 times.
    """
    store = open_store(path, SystemIds())
    try:
        with store.write() as transaction:
            taken = transaction.take_in(entries)
    finally:
        store.close()
    with House.open(path, SetClock(STANDS, ZONE), SystemIds(), create=False) as house:
        if (taken.new, taken.refused, house.store.verify().flaws) != (len(entries), (), ()):
            raise RuntimeError("the story on the disk isn't the one that was told")


def told_by() -> str:
    """Digest of what decides what is told: the story's own text, and the rules it is pinned to."""
    digest = hashlib.sha256()
    for text in (load_procedure().digest, load_rulebook().digest, formulas_digest(), *_texts()):
        digest.update(text.encode())
    return digest.hexdigest()


def _texts() -> Iterator[str]:
    for package in ("ebbwell.sim.story", "ebbwell.sim"):
        files = [file for file in resources.files(package).iterdir() if file.name.endswith(".py")]
        for file in sorted(files, key=lambda file: file.name):
            if package == "ebbwell.sim.story" or file.name in ("household.py", "hands.py", "elsewhere.py"):
                yield file.read_text(encoding="utf-8")


def _need_own(folder: Path) -> None:
    """Raises InputError unless there is no record in the folder, or one of an invented household."""
    if not (folder / STORE).exists():
        return
    try:
        with House.open(folder / STORE, SetClock(STANDS, ZONE), SystemIds(), create=False) as house:
            home = household(house.state.standing)
            own = house.store.count() == 0 or (home is not None and home.invented)
    except RecordError:
        own = (folder / MARK).exists()
    if not own:
        raise InputError("story.not_invented", folder=folder)


def _kept(folder: Path) -> Story | None:
    """The story as it lies there; None where the mark and the store don't bear each other out."""
    path = folder / STORE
    try:
        told = msgspec.json.decode((folder / MARK).read_bytes(), type=Told)
    except (OSError, msgspec.DecodeError):
        return None
    if told.by != told_by():
        return None
    try:
        house = House.open(path, SetClock(STANDS, ZONE), SystemIds(), create=False)
    except RecordError:
        return None
    with house:
        last = next(iter(house.store.after(told.entries - 1)), None)
        if last is None or last.hash.hex() != told.newest:
            return None
        since = (entry.envelope.recorded_at for entry in house.store.after(told.entries))
        at, held = max(since, default=STANDS), house.store.count()
    return Story(path, max(at, STANDS), ZONE, told.entries, held, told.treatments, told.called_off, kept=True)
