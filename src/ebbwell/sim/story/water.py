"""Week 5: chlorine gets through the first tank. Week 15: a sample of the fluid at the action level."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from ebbwell.deeds import comeoff, rereading, setup
from ebbwell.deeds.orders import advise
from ebbwell.deeds.upkeep import disinfect
from ebbwell.sim.household import LOTS, UNIT
from ebbwell.sim.story import cupboard
from ebbwell.sim.story.calendar import TESTED_AGAIN, instant
from ebbwell.sim.story.teller import Teller
from ebbwell.sim.story.usual import Night

GOT_THROUGH: Final = date(2026, 1, 28)
AFTER_TANK1, AFTER_TANK2, RETEST = "0.13", "0.03", "0.02"
"""Total chlorine [mg/L]. Source: scenario."""
SLOWER: Final = 20
"""Nights after which 0.01 mg/L more gets through the new tank. Invented."""
RESIDUAL_NIGHT: Final = date(2026, 4, 9)
TOLD_OF_SAMPLE: Final = instant(date(2026, 4, 8), 13)
TOLD_OF_REPEAT: Final = instant(date(2026, 4, 18), 11)


def got_through(teller: Teller, of: Night) -> None:
    """The test after tank 1 is over the limit: no blood tonight."""
    teller.open(of)
    teller.walk(of, "questions")
    teller.walk(of, "setup", before="S5")
    lot = cupboard.lot("chlorine_test", of.eve.day)[0]
    for place, value in (("tank1", AFTER_TANK1), ("tank2", AFTER_TANK2)):
        teller.clock.pass_time(timedelta(minutes=3))
        teller.do(setup.measure, quantity="total_chlorine", place=place, typed=value, method="meter", lot=lot)
    teller.clock.pass_time(timedelta(minutes=6))
    teller.do(
        advise,
        who=UNIT,
        words="Not on this water. Have the first tank changed, then test again.",
        about=("S5",),
    )
    teller.do(
        comeoff.call_off,
        words=f"Total chlorine {AFTER_TANK1} mg/L after tank 1, {AFTER_TANK2} after tank 2. Called the home team.",
    )
    teller.called_off.append(of.eve.day.isoformat())


def tested_again(teller: Teller, of: Night) -> None:
    """The first tank was changed by day; the test comes first, then a usual night."""
    teller.carbon_nights, teller.carbon_lasts = 0, SLOWER
    of.values["total_chlorine@tank1"] = RETEST

    def changed() -> None:
        teller.do(setup.happened, what="carbon_changed", words="First tank changed today at 15:00.")

    of.then["S2"] = changed
    teller.play(of)


def told_of_sample(teller: Teller) -> None:
    """The fluid's sample came back at the action level: one disinfection more, with a chemical."""
    teller.do(
        advise,
        who=f"{UNIT}, about the fluid sample of 1 April",
        words="Bacteria at the action level. Disinfect once more, and send a second sample.",
    )
    started = teller.clock.now().at + timedelta(minutes=30)
    teller.until(started + timedelta(minutes=50))
    ended = teller.clock.now().at
    teller.do(
        disinfect, what="machine", agent="hypochlorite", started_at=started, ended_at=ended, lot="HC2201"
    )


def after_chemical(teller: Teller, of: Night) -> None:
    """A night after a chemical: the rinse is tested for what is left of it, twice."""
    of.choices["last_disinfection"] = "chemical_logged"

    def residual() -> None:
        lot, expiry = cupboard.lot("residual_strip", of.eve.day)
        code = LOTS["residual_strip"][0]
        teller.do(setup.use_lot, item="residual_strip", code=code, lot=lot, expiry=expiry, scanned=True)
        teller.do(setup.choose, step="S8a", name="strip_agent", option="same_as_used")
        teller.clock.pass_time(timedelta(minutes=1))
        typed = of.values["residual_disinfectant"]
        teller.do(setup.measure, quantity="residual_disinfectant", typed=typed)
        teller.clock.pass_time(timedelta(seconds=40))
        values = {"residual_disinfectant": typed}
        teller.do(rereading.second_check, step="S8", how="reread", values=values)

    of.then["S7"] = residual
    teller.play(of)


def told_of_repeat(teller: Teller) -> None:
    """The second sample is under the level."""
    teller.do(
        advise,
        who=f"{UNIT}, about the fluid sample of 11 April",
        words="Under the action level. Back to one sample a month.",
    )


NIGHTS: Final = {GOT_THROUGH: got_through, TESTED_AGAIN: tested_again, RESIDUAL_NIGHT: after_chemical}
DAYS: Final = {TOLD_OF_SAMPLE: told_of_sample, TOLD_OF_REPEAT: told_of_repeat}
