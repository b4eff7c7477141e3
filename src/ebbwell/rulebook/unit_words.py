"""What is said of a figure, or a unit, that its field can't take: in the field's own words where it has some."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.text import has_text
from ebbwell.rulebook.model import Rulebook

P = ParamSpec("P")
R = TypeVar("R")

OTHER_KIND = ("unit.other_kind", "unit.unknown", "unit.parts")
"""Errors of a unit that is another kind of thing, or none that is known."""

OF_NUMBER = ("number.not_plain", "number.two", "number.more_than")
"""Errors of a text that is no single number; a field may have its own words for each, ``number.two.<name>``."""

Reader = Callable[Concatenate[Rulebook, str, str, P], R]


def in_its_words(read: Reader[P, R]) -> Reader[P, R]:
    """A reader of typed figures that raises UnitError in words of the field, ``unit.of.<name>``, where it has some;
    of a text that is no single number likewise.

    Heparin has: mL for units, or the other way round, can be a dose many times over. Source: fluids:3.3.
    """

    @wraps(read)
    def reads(rulebook: Rulebook, name: str, typed: str, /, *args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return read(rulebook, name, typed, *args, **kwargs)
        except UnitError as why:
            if why.key in OTHER_KIND and has_text(f"unit.of.{name}"):
                raise UnitError(f"unit.of.{name}", typed=" ".join(typed.split())) from why
            raise
        except InputError as why:
            own = f"{why.key}.{name}"
            if why.key in OF_NUMBER and has_text(own):
                raise InputError(own, **{**why.params, "typed": " ".join(typed.split())}) from why
            raise

    return reads
