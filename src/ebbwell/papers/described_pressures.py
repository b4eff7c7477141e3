"""Entries about how pressures are formed and measured in one line of words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.pressures import FlowShort, MembraneForm
from ebbwell.papers.words import form_words


def _form(body: MembraneForm) -> str:
    words = say(
        "said.membrane_form", form=form_words(f"{body.form}|{body.machine}" if body.machine else body.form)
    )
    return f"{words}. {body.words}" if body.words else words


def _short(body: FlowShort) -> str:
    words = say("said.flow_short", percent=body.percent, who=body.measured_by, day=day(body.measured_on))
    at = short_at(body)
    return f"{words}. {at}" if at else words


def short_at(body: FlowShort) -> str:
    """The pump setting and arterial pressure at which it was measured; "" where nobody said."""
    parts = [
        *([f"{body.at_flow} mL/min"] if body.at_flow else []),
        *([f"{body.at_arterial} mmHg"] if body.at_arterial else []),
    ]
    return say("said.flow_short_at", at=", ".join(parts)) if parts else ""


PRESSURE_SAYS: dict[type[Body], Callable[[Any], str]] = {MembraneForm: _form, FlowShort: _short}
"""Kind to its words."""
