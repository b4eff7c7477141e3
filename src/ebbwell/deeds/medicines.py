"""What the order in force says of medicines, to be read beside what is given. Nothing here is worked out."""

from __future__ import annotations

from ebbwell.deeds.desk import Desk

LINES = (
    "anticoagulant",
    "heparin_strength",
    "heparin_first_dose",
    "heparin_rate",
    "heparin_stop_before_end",
    "low_molecular_dose",
)
"""Lines of an order that speak of a medicine."""


def ordered_medicines(desk: Desk) -> tuple[tuple[str, str], ...]:
    """Line and value of every line about a medicine, as the clinic wrote them; none while an order waits for a check.

    An order's free text isn't searched: it is shown whole, where the order is. Source: practice:H52 (no dose of ours).
    """
    order = desk.scene.order
    if order is None or order.waiting:
        return ()
    return tuple((line, order.lines[line]) for line in LINES if order.lines.get(line))
