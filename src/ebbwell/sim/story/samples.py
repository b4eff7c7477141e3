"""Sample nights: bloods every four weeks, and the fluid of the machine. Results are told in ``bloods`` and ``water``."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial
from typing import Final

from ebbwell.deeds.samples import ask_for_samples, take_sample
from ebbwell.sim.household import UNIT
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

MONTHLY: Final = ("haemoglobin", "potassium, phosphate, bicarbonate", "urea, creatinine, albumin, calcium")
LONG: Final = (*MONTHLY, "beta-2-microglobulin")
AT_END: Final = ("urea, creatinine",)
"""Drawn at the end of each night on which bloods are drawn, once the pump was slowed as taught."""
END_STEP: Final = "C1"
FLUID: Final = ("dialysis fluid, bacteria",)
DUE: Final = {
    date(2026, 1, 5): (LONG, "S30"),
    date(2026, 2, 2): (MONTHLY, "S30"),
    date(2026, 3, 2): (MONTHLY, "S30"),
    date(2026, 3, 30): (LONG, "S30"),
    date(2026, 4, 1): (FLUID, "S23c"),
    date(2026, 4, 11): (FLUID, "S23c"),
    date(2026, 4, 27): (MONTHLY, "S30"),
}
"""Night to what is due, and the step after which it is drawn."""


def shape(teller: Teller, of: Night) -> None:
    """Make a night one of these, where samples are due."""
    if of.eve.day not in DUE:
        return
    samples, step = DUE[of.eve.day]
    due = {"before": samples} if samples == FLUID else {"before": samples, "after": AT_END}
    asked: dict[str, str] = {}

    def ask() -> None:
        for when, wanted in due.items():
            done = teller.do(ask_for_samples, samples=wanted, when=when, ordered_by=UNIT)
            asked[when] = done.entries[0]

    def draw(when: str) -> None:
        for sample in due[when]:
            day = of.eve.day if when == "before" else of.eve.day + timedelta(days=1)
            label = f"I. Venn {day.isoformat()}, {sample}"
            teller.do(take_sample, sample=sample, when=when, of=asked[when], label=label, how="as_taught")

    of.then["S2"] = ask
    of.then[step] = partial(draw, "before")
    if "after" in due:
        of.then[END_STEP] = partial(draw, "after")
