"""The checks of mid-night: the data is whole."""

from __future__ import annotations

import pytest

from ebbwell.procedure.asides import ASIDES, asides


@pytest.mark.source(
    "practice:c", detail="off and on again, and a new set in mid-night, are procedures of their own"
)
@pytest.mark.parametrize("aside", ASIDES)
def test_each_check_is_a_choice_with_an_answer_that_is_wanted_and_one_that_is_not(aside: str) -> None:
    checks = asides()[aside]
    assert len(checks) >= 8
    assert len({check.id for check in checks}) == len(checks)
    for check in checks:
        assert len(set(check.options)) == len(check.options) >= 2
        assert set(check.wants) < set(check.options)
        assert check.wants
