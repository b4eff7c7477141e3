"""Who reads what is said: in which units, with which access, and whether the figure as it is kept or as it is read
there comes first.

As with the language, a page or a paper chooses it once around everything it says; what is kept and judged knows nothing
of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Reader:
    """units: pairs of what a unit was chosen for and the unit; () for none chosen.

    kept_first: whether the kept figure stands first, as on a paper for the clinic, and the household's beside it.
    access: that of the order in force, such as ``catheter``, whose own words are said where there are some; "" for none.
    """

    units: tuple[tuple[str, str], ...] = ()
    kept_first: bool = False
    access: str = ""


_reader: ContextVar[Reader] = ContextVar("reader", default=Reader())  # noqa: B039 - frozen


def reader() -> Reader:
    """Who reads what is said now; nobody who chose a unit, unless ``read_by`` says so."""
    return _reader.get()


@contextmanager
def read_by(
    units: tuple[tuple[str, str], ...], *, kept_first: bool = False, access: str = ""
) -> Iterator[None]:
    """Say what is said inside to a reader of these units, and of this access."""
    token = _reader.set(Reader(units, kept_first, access))
    try:
        yield
    finally:
        _reader.reset(token)


def now_with(access: str) -> None:
    """From here on, until the ``read_by`` around it ends, say it to a reader of this access."""
    if access != reader().access:
        _reader.set(replace(reader(), access=access))
