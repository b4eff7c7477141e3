"""Who reads what is said: in which units, and whether the figure as it is kept or as it is read there comes first.

As with the language, a page or a paper chooses it once around everything it says; what is kept and judged knows nothing
of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reader:
    """units: pairs of what a unit was chosen for and the unit; () for none chosen.

    kept_first: whether the kept figure stands first, as on a paper for the clinic, and the household's beside it.
    """

    units: tuple[tuple[str, str], ...] = ()
    kept_first: bool = False


_reader: ContextVar[Reader] = ContextVar("reader", default=Reader())  # noqa: B039 - frozen


def reader() -> Reader:
    """Who reads what is said now; nobody who chose a unit, unless ``read_by`` says so."""
    return _reader.get()


@contextmanager
def read_by(units: tuple[tuple[str, str], ...], *, kept_first: bool = False) -> Iterator[None]:
    """Say what is said inside to a reader of these units."""
    token = _reader.set(Reader(units, kept_first))
    try:
        yield
    finally:
        _reader.reset(token)
