"""The units that a household chose to type and read in."""

from __future__ import annotations

from ebbwell.journal.kinds.base import Body, register


@register
class UnitsChosen(Body, frozen=True, kw_only=True):
    """Units for numbers typed without one: ``rulebook.own_units.CHOICES``. "" for none chosen.

    What is stored has its own unit always, so an earlier or later choice changes no value.
    """

    KIND = "units_chosen"
    weight: str = ""
    temperature: str = ""
    glucose: str = ""
