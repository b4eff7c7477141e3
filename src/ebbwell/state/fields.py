"""The fields of a reading that this household types, and their order."""

from __future__ import annotations

from ebbwell.journal.kinds.house import FieldOrder
from ebbwell.state.facts import Facts, agreed

READING_ORDER = (
    "systolic",
    "diastolic",
    "pulse",
    "blood_flow",
    "dialysate_flow",
    "arterial_pressure",
    "venous_pressure",
    "fluid_conductivity",
    "fluid_removed",
)
"""Fields of a reading, in the order in which they are typed and shown where the household set no other."""


def field_order(standing: Facts) -> tuple[str, ...]:
    """The household's fields in its order. ``READING_ORDER`` where it set none, or where two orders stand."""
    held = agreed(standing.of("field_order"))
    body = None if held is None else held.body
    return body.fields if isinstance(body, FieldOrder) and body.fields else READING_ORDER
