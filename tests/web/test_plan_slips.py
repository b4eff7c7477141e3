"""Weights that are a slip, and gains that are a question: what the plan says, and that it can't be agreed as it is."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.plan import Draughted, agree_plan, draught
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.warned import warnings
from ebbwell.sim.household import PRESCRIPTION
from tests.hazards.home import Home, moved_in


def evening(kg: str) -> tuple[Home, Draughted]:
    """An evening two days after a usual night, with this weight before."""
    home = moved_in(PRESCRIPTION)
    home.whole_night()
    home.clock.pass_time(timedelta(hours=36))
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.until("S29")
    home.do(
        setup.measure,
        quantity="weight_before",
        typed=kg,
        sure=("outside_near", "pounds", "digits", "decimal"),
    )
    return home, draught(home.look(), drink=Decimal("0.2"), start_at=home.clock.now().at)


def words(home: Home, plan: Draughted) -> str:
    return " ".join(finding_words(one, home.look()) for one in plan.findings)


@pytest.mark.source(
    "common practice", detail="58 % of 64.5 kg is 37.4 L; 96 - 64.5 + 0.5 = 32 L is 85.5 % of it"
)
def test_removal_beyond_what_a_body_holds_is_a_slip_and_cant_be_agreed() -> None:
    home, plan = evening("96")
    assert "Not yet: By the sum 85.5 % of all the water in the body would come off." in words(home, plan)
    assert "A weight or the target can't be right. Weigh again" in words(home, plan)
    home.until("S26")
    with pytest.raises(EbbwellError):
        home.do(agree_plan, drink="0.2")


@pytest.mark.source("fluids:U7", detail="6.5 kg on 64.5 kg is 10.1 %; over 4.5 % is a question for the unit")
def test_a_gain_of_ten_per_cent_is_a_question_and_shows_what_fits() -> None:
    home, plan = evening("71.0")
    assert "gain_high" in {finding.rule for finding in warnings(home.look())}
    assert {"removal_over_cap", "removal_remains"} <= {finding.rule for finding in plan.findings}
    assert "removal_beyond_water" not in {finding.rule for finding in plan.findings}
    assert plan.figures["fits_tonight"] == "3.38 L"


def test_a_usual_evening_says_nothing_of_it() -> None:
    _, plan = evening("66.3")
    assert plan.findings == ()
