"""Errors for people: each class is one cause, with a wording key and an exit code of its own.

The words are looked up at display (``core.text``); the exception carries key and parameters only.
"""

from __future__ import annotations


class EbbwellError(Exception):
    """Base of everything that stops a command with a message.

    key: wording key in the catalogue. params: what the wording fills in.
    exit_code: what the command line returns; one per class, listed in docs/exit_codes.md.
    """

    exit_code = 1

    def __init__(self, key: str, **params: object) -> None:
        super().__init__(key, params)
        self.key = key
        self.params = params

    def __str__(self) -> str:
        shown = ", ".join(f"{name}={value}" for name, value in sorted(self.params.items()))
        return f"{self.key}({shown})"


class InputError(EbbwellError):
    """What was typed can't be read as what the field needs."""

    exit_code = 10


class AmbiguousNumber(InputError):
    """A number that reads two ways, such as 1,500: ``params['first']`` and ``params['second']``."""

    exit_code = 11


class DomainError(EbbwellError):
    """A formula was asked for a value outside the range it was published for."""

    exit_code = 12


class UnitError(InputError):
    """A unit is unknown, missing, or of another kind than the field asks for."""

    exit_code = 13


class UnknownFormula(InputError):
    """No formula of this name is in the register."""

    exit_code = 14


class UnknownInput(InputError):
    """The formula has no input of this name."""

    exit_code = 15


class NothingToDo(DomainError):
    """The sum comes to nothing, or to less than nothing: there is no figure to act on."""

    exit_code = 18
