"""What can stop the record, one class a cause. Wording: ``core/locale/en/journal.po``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ebbwell.core.errors import EbbwellError

if TYPE_CHECKING:
    from ebbwell.journal.envelope import Entry


class RecordError(EbbwellError):
    """Base of everything that stops the record from being read or written."""

    exit_code = 20


class RecordNotFound(RecordError):
    """No store or no bundle lies at that place."""

    exit_code = 20


class NetworkFileSystem(RecordError):
    """The store would lie on a network drive, where locks and syncs can't be relied on."""

    exit_code = 21


class StoreReadOnly(RecordError):
    """The place can be read but not written."""

    exit_code = 22


class DiskFull(RecordError):
    """No space is left; nothing of the attempt was kept."""

    exit_code = 23


class StoreVanished(RecordError):
    """The store's file is gone or empty, while its head file says that entries were kept."""

    exit_code = 24


class StoreDamaged(RecordError):
    """Bytes of the store are not what was written."""

    exit_code = 25


class NeedsPassphrase(RecordError):
    """The store is locked with a passphrase and none was given, or an empty one."""

    exit_code = 26


class WrongPassphrase(RecordError):
    """The passphrase doesn't open the store."""

    exit_code = 27


class NewerFormat(RecordError):
    """The store or bundle was written by a newer program."""

    exit_code = 28


class StoreBusy(RecordError):
    """Another program held the store for too long."""

    exit_code = 29


class StoreShortened(RecordError):
    """The store lacks entries that were acknowledged. ``params['missing']``: how many, at least."""

    exit_code = 30


class EntryUnknown(RecordError, KeyError):
    """No entry of that id is held."""

    exit_code = 31


class EntryHeld(RecordError, KeyError):
    """An entry of that id is held already. ``held``: the entry as it lies in the store."""

    exit_code = 32

    def __init__(self, held: Entry) -> None:
        super().__init__("entry.held", id=held.id)
        self.held = held


class IdClash(RecordError):
    """Two different entries carry the same id. ``params['ids']``: the ids."""

    exit_code = 33


class BundleCutShort(RecordError):
    """Entries at the end of a bundle, or whole segments, are gone."""

    exit_code = 34


class BundleChanged(RecordError):
    """Bytes of a bundle are not what was written."""

    exit_code = 35


class BundleDiffers(RecordError):
    """Counts or heads of a bundle and of what was read from it don't agree."""

    exit_code = 36


class StoreNotEmpty(RecordError):
    """A bundle is restored into an empty store only, and this one holds entries."""

    exit_code = 37


class BundleAhead(RecordError):
    """The bundle in that folder holds entries that this store lacks; it isn't overwritten."""

    exit_code = 38


class StoreUnreachable(RecordError):
    """The disk doesn't answer."""

    exit_code = 39
