"""What the household says of its pressures: how the machine forms the one across the membrane, and the true flow."""

from __future__ import annotations

from ebbwell.journal.kinds.base import Body, register

FORMS = ("four", "three", "two", "as_shown")
"""How a machine forms the pressure across the membrane: from so many points, or nobody knows. Source: fluids:P8."""


@register
class MembraneForm(Body, frozen=True, kw_only=True):
    """How the machine forms the pressure across the membrane, for readings from here on. form: one of ``FORMS``.

    machine: which machine, in the household's own word; "" where there is one. words: where it is known from.
    """

    KIND = "membrane_form"
    form: str
    machine: str = ""
    words: str = ""


@register
class FlowShort(Body, frozen=True, kw_only=True):
    """How far the true blood flow falls short of the pump, as the unit measured it. percent: decimal string [%].

    at_flow [mL/min] and at_arterial [mmHg]: pump and arterial pressure at which it was measured; "" where nobody said.
    measured_by, measured_on: who of the unit, and the day.
    """

    KIND = "flow_short"
    percent: str
    measured_by: str
    measured_on: str
    at_flow: str = ""
    at_arterial: str = ""
