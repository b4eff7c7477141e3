"""How the meters of the dialysis fluid correct for temperature: what stands on record for each."""

from __future__ import annotations

from ebbwell.journal.kinds.fluid import ConductivityMeter
from ebbwell.state.facts import Fact, Facts, agreed

PLACES = ("machine", "meter")


def meter_facts(standing: Facts, place: str) -> tuple[Fact, ...]:
    """Every entry that stands for a meter; one is usual."""
    return tuple(
        fact
        for fact in standing.of(ConductivityMeter.KIND)
        if isinstance(fact.body, ConductivityMeter) and fact.body.place == place
    )


def meter_of(standing: Facts, place: str) -> ConductivityMeter | None:
    """How a meter corrects; None where nothing stands, and where two entries say different things."""
    one = agreed(meter_facts(standing, place))
    return one.body if one and isinstance(one.body, ConductivityMeter) else None
