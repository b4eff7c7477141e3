"""Keeping a form that is read whole: what was typed stays, a slip stands beside its field, a question is asked once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol

from starlette.responses import Response

from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_typed import Form
from ebbwell.papers.spoken import error_words
from ebbwell.web.visit import Page, Trouble, Visit

OWN = ("key", "instead", "asked", "sure", "as_typed", "take")
"""Names of a form that aren't fields of it."""


class Whole(Protocol):
    """A form: how it is read, and the deed that keeps it."""

    @property
    def read(self) -> Callable[[Desk, Mapping[str, str]], tuple[Any, Form]]:
        """What the fields say, with what is wrong or odd in them."""

    @property
    def deed(self) -> Callable[..., None]:
        """Takes ``typed`` and ``sure``."""


def as_typed(values: Mapping[str, str]) -> str:
    """Everything typed as one text: a question answered "as typed" holds only for what it was asked about."""
    return "|".join(
        f"{name}={values[name].strip()}" for name in sorted(values) if name not in OWN and values[name]
    )


def keep_whole(visit: Visit, form: Whole, *, outright: bool, again: Page, to: str, kept: str) -> Response:
    """Keep what a form says, or show it again with each field that can't be read named; nothing is kept by half.

    outright: the deed takes no ``instead_of``. again: the page with the form; to, kept: where it goes on, and the draft
    that is done with.
    """
    typed = {field: words for field, words in visit.typed.items() if field not in OWN}
    _, read = form.read(visit.desk, typed)
    visit.troubles += [Trouble(error_words(why), field) for field, why in read.wrong.items()]
    if visit.troubles:
        return again(visit)
    same = visit.typed.get("asked", "") == as_typed(typed)
    instead = visit.typed.get("instead", "")
    more: dict[str, Any] = {} if outright else {"instead_of": (instead,) if instead else ()}
    done = visit.do(
        form.deed,
        field="form",
        key=visit.typed.get("key"),
        typed=typed,
        sure=visit.sure if same and "as_typed" in visit.typed else (),
        **more,
    )
    return again(visit) if done is None else visit.go(to, kept=kept)
