"""Causes that only the command line knows; the others come from where they arise."""

from __future__ import annotations

from ebbwell.core.errors import EbbwellError


class RecordFlawed(EbbwellError):
    """``check-record`` found something in the record that isn't as it was written."""

    exit_code = 50


class NotFit(EbbwellError):
    """``selfcheck`` found a part of this computer or program that the record can't rely on."""

    exit_code = 51


class NoTreatment(EbbwellError):
    """The treatment or night that was asked for isn't in the record."""

    exit_code = 52


class TakeInRefused(EbbwellError):
    """Some entries of a copy were not taken in; the others were."""

    exit_code = 53


class InputNotKnown(EbbwellError):
    """A sum can't be worked out because an input wasn't given."""

    exit_code = 54


class PassphrasesDiffer(EbbwellError):
    """A new passphrase was typed twice and the two differ."""

    exit_code = 55


class PaperNotWritten(EbbwellError):
    """A paper can't be written to the file that was named, or another kind of file lies there."""

    exit_code = 56


class Interrupted(EbbwellError):
    """Ctrl-C in a command that doesn't wait for a person."""

    exit_code = 130
