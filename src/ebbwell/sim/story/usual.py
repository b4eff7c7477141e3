"""A usual night with its seeded spread: what is typed on the night of an eve. Chapters change what differs."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from ebbwell.sim.household import BRAM, READING, USUAL
from ebbwell.sim.story.calendar import Eve, instant

SEED: Final = 18
TARGET: Final = Decimal("64.5")
DRINK: Final = Decimal("0.2")
RINSE_BACK: Final = Decimal("0.3")
MINUTES: Final = 450
GAIN: Final = Decimal("1.8")
"""Weight gained between two nights [kg]. Source: scenario."""
LEAST_GAIN, MOST_GAIN = Decimal("1.2"), Decimal("2.5")
LONG_GAP_GAIN: Final = Decimal("0.2")
"""What a third day adds [kg]. Invented."""
POSTURES: Final = {"lying": (0, 0, 0), "sitting": (-4, -1, 4), "standing": (-7, -1, 8)}
"""Posture to what it takes from upper and lower pressure, and adds to the pulse. Invented."""
SMALL_EVENTS: Final = (
    ("pressure alarm", "arm bent in her sleep", "laid it straight"),
    ("woke up", "thirsty", "two ice cubes"),
    ("conductivity alarm", "gone by itself within a minute", "looked at both concentrates"),
    ("flow alarm", "lay on the line", "moved the line"),
)
EVENT_CHANCE: Final = 0.2
VENOUS: Final = 120
"""Venous pressure of a usual night at 230 mL/min [mmHg]; see the chapter of the access for the weeks it climbs."""

Then = Callable[[], None]


@dataclass
class Night:
    """What one night reads and who does it. Everything here may be changed by a chapter before it is played.

    values: quantity@place to what is typed. venous, arterial: pressures of the night [mmHg]. before, after: upper and
    lower pressure at its two ends [mmHg]. off_target: how far the scale lies from what it should come to [kg]. short:
    how much less the machine took than planned [L]. pace: how slow the hands are, 1 and up. then: step id to what is
    done after its last move. doer: stage to who does it. small: an alarm or waking, minutes after first blood.
    paper: what was on paper first, and when it was so. second_by: who gives the second readings, if someone else does.
    """

    eve: Eve
    chance: random.Random
    first_blood: datetime
    values: dict[str, str]
    venous: int
    arterial: int
    before: tuple[int, int]
    after: tuple[int, int]
    off_target: Decimal
    pace: float
    minutes: int = MINUTES
    short: Decimal = Decimal(0)
    drink: Decimal = DRINK
    words: dict[str, str] = field(default_factory=dict)
    answers: dict[str, str] = field(default_factory=dict)
    choices: dict[str, str] = field(default_factory=dict)
    then: dict[str, Then] = field(default_factory=dict)
    doer: dict[str, str] = field(default_factory=dict)
    small: tuple[int, tuple[str, str, str]] | None = None
    paper: dict[str, datetime] = field(default_factory=dict)
    second_by: str = ""

    @property
    def end(self) -> datetime:
        """When the ordered time is over."""
        return self.first_blood + timedelta(minutes=self.minutes)

    def by(self, stage: str) -> str:
        """Who does a stage."""
        return self.doer.get(stage, BRAM)

    def row(self, when: str, removed: Decimal, share: float) -> dict[str, str]:
        """A row of values at a share of the night, 0 to 1. removed: by the machine's own count [L]."""
        upper, lower = (round(a + (b - a) * share) for a, b in zip(self.before, self.after, strict=True))
        pulse = int(self.values["pulse"]) - round(4 * share)
        if when in POSTURES:
            up, low, beats = POSTURES[when]
            return {"systolic": str(upper + up), "diastolic": str(lower + low), "pulse": str(pulse + beats)}
        return {
            **READING,
            "systolic": str(upper + self.chance.randint(-1, 1)),
            "diastolic": str(lower + self.chance.randint(-1, 1)),
            "pulse": str(pulse + self.chance.randint(-1, 1)),
            "arterial_pressure": str(self.arterial + self.chance.randint(-2, 2)),
            "venous_pressure": str(self.venous + self.chance.randint(-2, 2)),
            "fluid_conductivity": self.values["fluid_conductivity@machine"],
            "fluid_removed": f"{removed:.2f}",
        }


def gain(chance: random.Random, gap: int) -> Decimal:
    """What the scale gains over a gap of days [kg], between LEAST_GAIN and MOST_GAIN."""
    drawn = GAIN + Decimal(round(chance.gauss(0, 2))) / 10
    if gap > 2:
        drawn += LONG_GAP_GAIN
    return min(max(drawn, LEAST_GAIN), MOST_GAIN)


def usual_night(eve: Eve, last_after: Decimal | None, chlorine: int) -> Night:
    """The night of an eve, with its spread. last_after: what the scale said after the one before [kg].

    chlorine: what is left after the first carbon tank [0.01 mg/L].
    """
    chance = random.Random(f"{SEED} {eve.number}")
    upper = 138 + chance.randint(-5, 5)
    lower = 76 + chance.randint(-3, 3)
    fall = 12 + chance.randint(-3, 3)
    weight = (TARGET if last_after is None else last_after) + gain(chance, eve.gap)
    late = timedelta(minutes=chance.randint(-6, 9))
    bleeding = 8 + chance.randint(-1, 1)
    values = {
        **USUAL,
        "total_chlorine@tank1": f"0.{chlorine:02d}",
        "total_chlorine@tank2": f"0.0{chance.randint(1, 2)}",
        "feed_conductivity": str(620 + chance.randint(-12, 12)),
        "product_conductivity": str(10 + (eve.number + 12) // 20 + chance.randint(0, 1)),
        "prime_volume": str(800 + 10 * chance.randint(-3, 3)),
        "fluid_conductivity@machine": f"{13.8 + chance.randint(-1, 1) / 10:.1f}",
        "fluid_ph": chance.choice(("7.1", "7.2", "7.3")),
        "weight_before": str(weight),
        "systolic": str(upper),
        "diastolic": str(lower),
        "pulse": str(72 + chance.randint(-4, 4)),
        "body_temperature": f"{36.6 + chance.randint(-3, 2) / 10:.1f}",
        "bleeding_minutes@arterial": str(bleeding),
        "bleeding_minutes@venous": str(bleeding + chance.randint(0, 2)),
    }
    values["fluid_conductivity@meter"] = f"{float(values['fluid_conductivity@machine']) + 0.1:.1f}"
    night = Night(
        eve=eve,
        chance=chance,
        first_blood=instant(eve.day, 22) + late,
        values=values,
        venous=VENOUS + chance.randint(-4, 4),
        arterial=-90 + chance.randint(-6, 6),
        before=(upper - 1, lower - 1),
        after=(upper - fall, lower - 6),
        off_target=Decimal(chance.choice((-1, 0, 0, 0, 1))) / 10,
        pace=1.2 + chance.random() * 0.6,
    )
    if chance.random() < EVENT_CHANCE:
        night.small = (chance.randint(100, 380), chance.choice(SMALL_EVENTS))
    return night
