"""Packs offered from the last ones, and a whole kit written down at once; each pack is an entry of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ebbwell.core.errors import InputError
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.setup import use_lot
from ebbwell.procedure.model import ITEMS
from ebbwell.state.facts import MANY_OF
from ebbwell.state.packs import LastLot
from ebbwell.state.packs import last_lot as last_of


@dataclass(frozen=True)
class Pack:
    """One pack of a kit, as it lies there. intact: the seal was looked at and is whole; it has no default."""

    item: str
    code: str
    lot: str
    expiry: str
    intact: bool


def last_lot(desk: Desk, item: str) -> LastLot | None:
    """The pack of an item opened last, if it may still be offered: not expired, not recalled, lot readable."""
    return last_of(desk.treatment, desk.standing, desk.past, item, desk.now)


def kit(desk: Desk, items: tuple[str, ...]) -> Mapping[str, LastLot]:
    """Item to the pack that can be offered for it; items without one are left out, and are read from the label."""
    found = {item: last_lot(desk, item) for item in items}
    return {item: pack for item, pack in found.items() if pack is not None}


def use_kit(desk: Desk, *, packs: tuple[Pack, ...], instead_of: tuple[str, ...] = ()) -> None:
    """Write down the packs of a kit, each as an entry of its own, with the seal as it was looked at.

    None of them counts as scanned: where a hold asks for a second reading it asks for it still. What is found of each
    pack is found here as for one alone. Refuses no packs, an item that is none, one item twice, and, like one alone, a
    pack whose step isn't open; then none is written.
    """
    if not packs:
        raise InputError("enter.kit")
    strange = sorted({pack.item for pack in packs} - set(ITEMS))
    if strange:
        raise InputError("enter.option", question="item", options=", ".join(ITEMS))
    named = [pack.item for pack in packs if pack.item not in MANY_OF]
    if len(set(named)) < len(named):
        raise InputError("enter.kit_twice")
    for pack in packs:
        use_lot(
            desk,
            item=pack.item,
            code=pack.code,
            lot=pack.lot,
            expiry=pack.expiry,
            intact=pack.intact,
            instead_of=instead_of,
        )
