"""The deed of choosing the units that the household types and reads in."""

from __future__ import annotations

from ebbwell.core.errors import InputError
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.units import UnitsChosen
from ebbwell.rulebook.own_units import CHOICES
from ebbwell.state.night import Phase
from ebbwell.state.units import choices_of

BETWEEN = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)
"""When units can be chosen: a field may not change its unit under somebody's hands in the night."""


def choose_units(desk: Desk, *, weight: str, temperature: str, glucose: str) -> None:
    """Choose in which unit a bare number of body weight, temperature and blood sugar stands. "" for none chosen.

    Nothing that is on record changes. Refuses while a night is open, a unit that isn't one of ``CHOICES``, and what is
    chosen already.
    Source: practice:a0, practice hazards H6 and H28.
    """
    if desk.phase not in BETWEEN:
        desk.refuse("refuse.units_tonight")
    chosen = {"weight": weight, "temperature": temperature, "glucose": glucose}
    for name, unit in chosen.items():
        if unit and unit not in CHOICES[name]:
            raise InputError("enter.option", question=name, options=", ".join(CHOICES[name]))
    older = choices_of(desk.standing)
    body = UnitsChosen(**chosen)
    if {fact.body for fact in older} == {body}:
        raise InputError("enter.units_same")
    desk.add(
        body,
        replaces=tuple(fact.id for fact in older),
        reason="chosen anew" if older else None,
        standing=True,
    )
