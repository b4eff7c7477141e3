"""What can be opened beside a pressure of tonight: the unit's limit, the table, own nights. Words, no verdict."""

from __future__ import annotations

from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.membrane import membrane_words
from ebbwell.papers.night_now import LastValue, ordered_line
from ebbwell.papers.usual_pressures import LINES, beside_pressure
from ebbwell.procedure.evidence import number_in
from ebbwell.state.membrane import PRESSURE

OF_THE_ORDER = ("access", "needle_gauge", "venous_limit", "arterial_limit")


def beside_value(desk: Desk, value: LastValue) -> tuple[str, ...]:
    """Lines for a line pressure or the pressure across the membrane; () for anything else, and without a value.

    The blood flow is the one of the same row; where none was read in it, the ordered one.
    """
    if not value.value:
        return ()
    fact = desk.treatment.fact(value.entry)
    if value.quantity == PRESSURE:
        return membrane_words(desk, fact)
    if value.quantity not in LINES:
        return ()
    row = fact.body.values if fact is not None and isinstance(fact.body, Reading) else {}
    flow = number_in(row.get("blood_flow", "")) or number_in(ordered_line(desk, "blood_flow"))
    return beside_pressure(value.quantity, {name: ordered_line(desk, name) for name in OF_THE_ORDER}, flow)
