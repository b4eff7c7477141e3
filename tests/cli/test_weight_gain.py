"""A gain over its limit at the keyboard: told once the weight is kept, and again with the figures of the plan."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from ebbwell.cli.main import main
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.house import House
from ebbwell.papers.words import figure_words
from ebbwell.sim.household import USUAL, move_in
from tests.cli.typist import session, usual_answers
from tests.hazards.home import Home

GAINED = (
    "Look at this: Weight gain since last time is 6.0 % of the target weight. The limit is 4.5 %. "
    "Ask your unit before you go on."
)


@pytest.mark.source("fluids:U7", detail="(68.4 - 64.5) / 64.5 = 6.05 %, over 4.5 %")
def test_a_gain_over_its_limit_is_told_with_the_weight_and_with_the_plan(clock: SetClock, home: str) -> None:
    Path(home).mkdir(exist_ok=True)
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(5), create=True) as house:
        move_in(house, clock)
        there = Home(clock, house)
        there.whole_night()
        clock.pass_time(timedelta(hours=36))
        there.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
        there.until("S29")
    answers = usual_answers(clock)
    (weight_field,) = (part for part, answer in answers.items() if answer == USUAL["weight_before"])
    answers[weight_field] = "68.4"
    answers[say("walk.type_again")] = "68.4"
    answers["if all three are there, type same."] = "same"
    made, typist = session(clock, answers, home)
    typist.most = 130
    assert main(["night"], made) == 0
    text = " ".join(typist.out.getvalue().replace("\n  | ", " ").replace("\n| ", " ").split())
    weight, plan = text.index("68.4 kg"), text.index(say("walk.plan_refused"))
    worked_out = text.index(figure_words("fits_tonight"), weight)
    assert text[weight:worked_out].count(GAINED) == 1
    assert text[worked_out:plan].count(GAINED) == 1
