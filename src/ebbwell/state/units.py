"""Which units the household chose to type and read in."""

from __future__ import annotations

from ebbwell.journal.kinds.units import UnitsChosen
from ebbwell.rulebook.own_units import CHOICES
from ebbwell.state.facts import Fact, Facts, agreed


def choices_of(standing: Facts) -> tuple[Fact, ...]:
    """Every choice of units that stands; more than one where two were made apart."""
    return tuple(fact for fact in standing.of("units_chosen") if isinstance(fact.body, UnitsChosen))


def chosen_units(standing: Facts) -> tuple[tuple[str, str], ...]:
    """What a unit was chosen for, and the unit.

    Empty before a choice, and where two stand that don't say the same: then each number has the unit that its field
    says, which is the rulebook's own. A unit that this program doesn't know is left out.
    """
    held = agreed(choices_of(standing))
    if held is None:
        return ()
    body = held.body
    found = {name: getattr(body, name, "") for name in CHOICES}
    return tuple((name, unit) for name, unit in found.items() if unit in CHOICES[name])
