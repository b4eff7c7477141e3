"""Labels of the concentrates for dialysis fluid."""

from __future__ import annotations

import msgspec

from ebbwell.journal.kinds.base import Body, register

ACID = "acid"
DRY = "dry"
LIQUID = "liquid"


@register
class ConcentrateLabel(Body, frozen=True, kw_only=True):
    """What the label of a concentrate promises. Goes by once it was read a second time.

    code: as on the label and the prescription. parts: of the whole mix, a decimal string (1 + 34 is 35); "" where a
    label of bicarbonate prints none. ions: name to mmol/L of the mixed fluid, as decimal strings, only those that are
    printed, or that follow from ``grams``. asked: questions answered before. what: ``acid``, ``dry`` or ``liquid``,
    the last two of bicarbonate. grams: as printed: of an acid in a litre of the concentrate, by salt; of dry
    bicarbonate in the container. bicarbonate_parts: of a liquid one, for each part of acid, a decimal string; "" where
    its label prints the whole alone.
    """

    KIND = "concentrate_label"
    code: str
    parts: str
    ions: dict[str, str]
    asked: tuple[str, ...] = msgspec.field(default=())
    what: str = ACID
    grams: dict[str, str] = msgspec.field(default_factory=dict)
    bicarbonate_parts: str = ""


@register
class ConductivityMeter(Body, frozen=True, kw_only=True):
    """How a meter of the dialysis fluid corrects for temperature, off its manual or by the unit.

    place: ``machine`` or ``meter``. reference: the temperature [C] that it corrects to, a decimal string; "" where it
    doesn't correct. coefficient: % for each degree, a decimal string; "" where it wasn't needed.
    """

    KIND = "conductivity_meter"
    place: str
    reference: str = ""
    coefficient: str = ""
