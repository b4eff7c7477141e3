"""Labels of the concentrates for dialysis fluid."""

from __future__ import annotations

import msgspec

from ebbwell.journal.kinds.base import Body, register


@register
class ConcentrateLabel(Body, frozen=True, kw_only=True):
    """What the label of an acid concentrate promises. Goes by once it was read a second time.

    code: as on the label and the prescription. parts: of the whole mix, a decimal string (1 + 34 is 35). ions: name to
    mmol/L of the mixed fluid, as decimal strings, only those that are printed. asked: questions answered before.
    """

    KIND = "concentrate_label"
    code: str
    parts: str
    ions: dict[str, str]
    asked: tuple[str, ...] = msgspec.field(default=())
