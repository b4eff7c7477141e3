"""Sample nights: bloods every four weeks, and the fluid of the machine; its results are told in ``water``."""

from __future__ import annotations

from datetime import date
from typing import Final

from ebbwell.deeds.samples import ask_for_samples, take_sample
from ebbwell.sim.household import UNIT
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

MONTHLY: Final = ("haemoglobin", "potassium, phosphate, bicarbonate", "urea")
LONG: Final = (*MONTHLY, "beta-2-microglobulin")
FLUID: Final = ("dialysis fluid, bacteria",)
DUE: Final = {
    date(2026, 1, 5): (LONG, "S30"),
    date(2026, 2, 2): (MONTHLY, "S30"),
    date(2026, 3, 2): (MONTHLY, "S30"),
    date(2026, 3, 30): (LONG, "S30"),
    date(2026, 4, 1): (FLUID, "S23c"),
    date(2026, 4, 11): (FLUID, "S23c"),
}
"""Night to what is due, and the step after which it is drawn."""


def shape(teller: Teller, of: Night) -> None:
    """Make a night one of these, where samples are due."""
    if of.eve.day not in DUE:
        return
    samples, step = DUE[of.eve.day]
    asked: list[str] = []

    def ask() -> None:
        done = teller.do(ask_for_samples, samples=samples, when="before", ordered_by=UNIT)
        asked.append(done.entries[0])

    def draw() -> None:
        for sample in samples:
            label = f"I. Venn {of.eve.day.isoformat()}, {sample}"
            teller.do(take_sample, sample=sample, when="before", of=asked[0], label=label, how="as_taught")

    of.then["S2"] = ask
    of.then[step] = draw
