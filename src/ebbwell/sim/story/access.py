"""Weeks 9 to 12: the pressure on the way back climbs, and the needle places bleed longer. Week 13: an angioplasty."""

from __future__ import annotations

from datetime import date
from typing import Final

from ebbwell.deeds.orders import advise
from ebbwell.sim.household import UNIT
from ebbwell.sim.story.calendar import instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import VENOUS, Night

FIRST: Final = date(2026, 2, 24)
LAST: Final = date(2026, 3, 22)
VENOUS_CLIMBS: Final = (118, 158)
BLEEDING_CLIMBS: Final = (8, 15)
"""From the first to the last night of these weeks [mmHg], [min]. Source: scenario."""
WIDENED: Final = date(2026, 3, 24)
"""First night after the angioplasty."""


def shape(of: Night) -> None:
    """Bring the figures of the access into a night of these weeks."""
    if FIRST <= of.eve.day <= LAST:
        share = (of.eve.day - FIRST) / (LAST - FIRST)
        low, high = VENOUS_CLIMBS
        of.venous = round(low + (high - low) * share)
        short, long = BLEEDING_CLIMBS
        minutes = str(round(short + (long - short) * share))
        of.values["bleeding_minutes@arterial"] = of.values["bleeding_minutes@venous"] = minutes


def visit(teller: Teller) -> None:
    """The clinic looks at the arm."""
    teller.do(
        advise,
        who=f"{UNIT}, clinic visit",
        words="Return pressure and bleeding have gone up for four weeks. The vein is to be widened on 23 March.",
    )


def widened(teller: Teller, of: Night) -> None:
    """The first night after the angioplasty: asked about an operation, the answer is yes, and the unit says go on."""
    of.venous = VENOUS
    of.answers["operation"] = "yes"
    of.words["operation"] = "The vein was widened yesterday."

    def ask() -> None:
        teller.do(
            advise,
            who=UNIT,
            words="Go on tonight with the heparin as ordered. Look at the place before you needle.",
            about=("S0", "S18a"),
            allows=True,
        )

    of.then["S0"] = ask
    teller.play(of)


NIGHTS: Final = {WIDENED: widened}
DAYS: Final = {instant(date(2026, 3, 19), 10, 30): visit}
