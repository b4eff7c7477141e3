"""Where a fault can be put into the write path, for tests and seeded fault nights."""

from __future__ import annotations

from typing import Protocol


class Faults(Protocol):
    """Told of each point passed; may raise OSError or end the process there."""

    def at(self, point: str) -> None:
        """A point of the write path: a name, or ``sql:`` and the statement about to run.

        Names: ``lock``, ``begin``, ``commit``, ``head.write``, ``head.sync``, ``acknowledge``.

        Exceptions count at the named points only: SQLite swallows what a ``sql:`` point raises.
        """
        ...


class NoFaults:
    """Nothing goes wrong."""

    def at(self, point: str) -> None:
        """Pass by."""
