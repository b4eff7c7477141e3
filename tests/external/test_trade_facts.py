"""Facts of the trade without a source: what we ship must not contradict them."""

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.core.quantity import Quantity
from ebbwell.procedure.load import load_procedure
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.rulebook.load import load_rulebook


@pytest.mark.source("common practice", detail="no source: priming takes about five minutes")
def test_prime_waits_about_five_minutes() -> None:
    waits = [one.length for one in load_procedure().step("S19").evidence if one.form == "wait"]
    assert waits == [timedelta(minutes=5)]


@pytest.mark.source("common practice", detail="no source: four nights a week, so at most one day is left out")
@pytest.mark.parametrize(("free_days", "long"), [(0, False), (1, False), (3, True)])
def test_four_nights_a_week_are_no_long_gap(free_days: int, long: bool) -> None:
    """Four nights of 8 h in a week leave gaps of 16 or 40 h; only a missed one makes a long gap."""
    hours = Decimal(24 * (free_days + 1) - 8)
    facts = {"hours_since_last_treatment": Quantity(hours, "h")}
    findings = {finding.rule for finding in evaluate(load_rulebook(), facts)}
    assert ("gap_long" in findings) == long
