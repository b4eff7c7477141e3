"""The families of dilution that order and labels name, as one finding where they don't belong together."""

from __future__ import annotations

from ebbwell.core.findings import Finding, Grade
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.fluid import ConcentrateLabel
from ebbwell.state.labels import families


def family_findings(desk: Desk, read: ConcentrateLabel | None = None) -> tuple[Finding, ...]:
    """What each paper says, where two of them are of two families; () where all are one, and without an order.

    read: a label that is being written down, and isn't on record yet. Source: fluids 2.1 (mixed families make the ions
    45/35 too strong, or as much too weak).
    """
    order = desk.scene.order
    said = families(desk.standing, order.lines, read=read) if order is not None else ()
    if not said:
        return ()
    words = "; ".join(say(f"family.{one.what}", code=one.code, parts=one.parts) for one in said)
    return (
        Finding("two_families", Grade.STOP, (("said", words),), ("fluids:2.1",), next_step="next.call_unit"),
    )
