"""Weights that are a question, at the keyboard, and a carer who has to leave: told with the figures of the plan."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from ebbwell.cli.main import main
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.house import House
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.words import figure_words
from ebbwell.sim.household import USUAL, ZONE, move_in
from tests.cli.typist import session, usual_answers
from tests.hazards.home import Home

GAINED = (
    "Look at this: Weight gain since last time is 6.0 % of the target weight. The limit is 4.5 %. "
    "Ask your unit before you go on."
)


def weighed_next(clock: SetClock, home: str, **said: str) -> str:
    """The keyboard from the weight of an evening two days after a usual night up to its plan, as one line of text.

    said: key of a question to what is typed; "weight" is the weight before.
    """
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
    kg = said.pop("weight")
    answers |= {weight_field: kg, say("walk.type_again"): kg, "if all three are there, type same.": "same"}
    answers |= {say(f"walk.{key}"): typed for key, typed in said.items()}
    made, typist = session(clock, answers, home)
    typist.most = 130
    assert main(["night"], made) == 0
    return " ".join(typist.out.getvalue().replace("\n| ", " ").replace("\n## ", " ").split())


@pytest.mark.source("fluids:U7", detail="(68.4 - 64.5) / 64.5 = 6.05 %, over 4.5 %")
def test_a_gain_over_its_limit_is_told_with_the_weight_and_with_the_plan(clock: SetClock, home: str) -> None:
    text = weighed_next(clock, home, weight="68.4")
    weight, plan = text.index("68.4 kg"), text.index(say("walk.plan_refused"))
    worked_out = text.index(figure_words("fits_tonight"), weight)
    assert text[weight:worked_out].count(GAINED) == 1
    assert text[worked_out:plan].count(GAINED) == 1


@pytest.mark.source("arithmetic", detail="22:00 and 7 h 30 min end at 05:30; 05:00 is 30 min before")
def test_a_carer_who_has_to_leave_is_held_against_the_end(clock: SetClock, home: str) -> None:
    text = weighed_next(clock, home, weight="66.3", plan_start="22:00", plan_leaves="05:00")
    assert (
        "Look at this: The carer has to leave 30 min before the end of treatment. Coming off takes up to 45 min more."
        in text
    )
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(99), create=False) as house:
        (fact,) = house.look().treatment.of("plan")
        assert isinstance(fact.body, Plan)
        leaves = datetime.fromisoformat(fact.body.given["carer_leaves"]).astimezone(ZoneInfo(ZONE))
    assert leaves.strftime("%H:%M") == "05:00"
    assert timedelta() < leaves - clock.now().at < timedelta(days=1)


@pytest.mark.source("arithmetic", detail="146.2 lb x 0.45359237 = 66.3 kg; (146.2 - 64.5) / 64.5 is 126.7 %")
def test_pounds_typed_as_kilograms_are_asked_about_and_can_make_no_plan(clock: SetClock, home: str) -> None:
    text = weighed_next(clock, home, weight="146.2")
    assert (
        "You typed 146.2 kg for weight before. Was that in pounds? It would be 66.3 kg. If so, type that."
        in text
    )
    assert "Weight gain since last time is 126.7 % of the target weight. The limit is 4.5 %." in text
    assert "A weight or the target can't be right. Weigh again: same scale, hard floor, same clothes." in text
    assert say("walk.plan_refused") in text
