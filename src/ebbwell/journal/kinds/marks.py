"""What is done with steps and entries: answers, ticks, waits, choices, lots; corrections and settlements."""

from __future__ import annotations

from ebbwell.journal.kinds.base import Body, register


@register
class Answer(Body, frozen=True, kw_only=True):
    """An answer to a question. said_by: ``carer`` or ``person`` (the person on dialysis)."""

    KIND = "answer"
    question: str
    answer: str
    words: str = ""
    said_by: str = "carer"
    step: str = ""


@register
class Measured(Body, frozen=True, kw_only=True):
    """A measured value, or why there is none. quantity and place: rulebook/quantities.toml.

    value: decimal string; below: "less than". not_measured: the reason, value then empty. asked: the
    questions that were asked before it was kept. method, device, lot, expiry: how it was measured. entered: what was
    typed with the unit it was read in, where that is another one than ``unit``: ``142.2 lb``. steps: of the strip or
    colour card, in ``unit``: ``0 / 0.1 / 0.5``. control: one of ``CONTROLS``, where the test showed no colour.
    """

    KIND = "measured"
    quantity: str
    place: str = ""
    value: str = ""
    unit: str = ""
    below: bool = False
    not_measured: str = ""
    method: str = ""
    device: str = ""
    lot: str = ""
    expiry: str = ""
    typed: str = ""
    asked: tuple[str, ...] = ()
    step: str = ""
    entered: str = ""
    steps: str = ""
    control: str = ""


CONTROLS = ("coloured", "blank", "not_done")
"""What the reagent did in water from before the carbon, where it stayed without colour behind it. Source: fluids:1.3."""


@register
class Tick(Body, frozen=True, kw_only=True):
    """A step done."""

    KIND = "tick"
    step: str
    note: str = ""


@register
class Skipped(Body, frozen=True, kw_only=True):
    """A step left out, with the reason; unit: who at the clinic agreed, where that is needed."""

    KIND = "skipped"
    step: str
    reason: str
    unit: str = ""


@register
class Waited(Body, frozen=True, kw_only=True):
    """A wait begins. Its end is arithmetic."""

    KIND = "waited"
    step: str


@register
class Choice(Body, frozen=True, kw_only=True):
    """What was seen, picked from words: ``drip_chamber`` = ``three_quarters``."""

    KIND = "choice"
    step: str
    name: str
    option: str


@register
class LotUsed(Body, frozen=True, kw_only=True):
    """An item opened for tonight. code: as on the label; lot may be unreadable, expiry may not.

    new_set: id of the entry that says the set was changed, for a pack opened because of it. prefilled: code, lot and
    expiry were offered from the pack before and taken as they were.
    """

    KIND = "lot_used"
    item: str
    code: str = ""
    lot: str = ""
    expiry: str = ""
    intact: bool = True
    scanned: bool = False
    photo: str = ""
    step: str = ""
    new_set: str = ""
    prefilled: bool = False


@register
class LotRecalled(Body, frozen=True, kw_only=True):
    """A lot is called back by its maker or supplier."""

    KIND = "lot_recalled"
    MUST_UNDERSTAND = True
    item: str
    lot: str
    told_by: str


@register
class Happened(Body, frozen=True, kw_only=True):
    """What reopens checks: ``water_restart``, ``carbon_changed``, ``set_opened``, ``disconnected`` ..."""

    KIND = "happened"
    MUST_UNDERSTAND = True
    what: str
    words: str = ""


@register
class Corrected(Body, frozen=True, kw_only=True):
    """Fields of an earlier entry that were wrong, and what is right. Both stay visible."""

    KIND = "corrected"
    MUST_UNDERSTAND = True
    of: str
    changes: dict[str, str]


@register
class Settled(Body, frozen=True, kw_only=True):
    """Ends a disagreement: names both entries and the one that holds (or a new one that replaces both)."""

    KIND = "settled"
    MUST_UNDERSTAND = True
    of: tuple[str, ...]
    holds: str


@register
class Withdrawn(Body, frozen=True, kw_only=True):
    """An entry is taken back: it was not so. It stays visible."""

    KIND = "withdrawn"
    MUST_UNDERSTAND = True
    of: str
