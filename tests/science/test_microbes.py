"""Microbe results as a laboratory writes them: "<", ">", too many to count, and units that differ."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError, InputError
from ebbwell.core.text import say
from ebbwell.science.microbes import (
    MicrobeLevel,
    MicrobeLimit,
    MicrobeResult,
    judge_microbes,
    least_plated,
    read_microbes,
    shown_by_no_colony,
)

D = Decimal
BELOW, ACTION, OVER, CANT_TELL = MicrobeLevel
STANDARD = MicrobeLimit(D(100), "CFU/mL", D(50))
NO_ACTION = MicrobeLimit(D("0.03"), "EU/mL")
ORDER = [BELOW, ACTION, OVER]


@pytest.mark.parametrize(
    ("typed", "level"),
    [
        ("0", BELOW),
        ("<1", BELOW),
        ("< 50", BELOW),
        ("<51", ACTION),
        ("<100", ACTION),
        ("<101", CANT_TELL),
        ("99", ACTION),
        ("TNTC", OVER),
        ("tntc ", OVER),
        ("Too numerous  to count", OVER),
        (">300", OVER),
        (">100", OVER),
        (">30", CANT_TELL),
        ("49,5", BELOW),
    ],
)
def test_how_a_report_reads(typed: str, level: MicrobeLevel) -> None:
    assert judge_microbes(read_microbes(typed, "CFU/mL"), STANDARD) is level


@pytest.mark.parametrize(
    ("typed", "level"),
    [("0.03", OVER), ("0.029", BELOW), ("<0.03", BELOW), ("<0.05", CANT_TELL), ("0", BELOW)],
)
def test_where_no_action_level_is_set(typed: str, level: MicrobeLevel) -> None:
    assert judge_microbes(read_microbes(typed, "EU/mL"), NO_ACTION) is level


@pytest.mark.parametrize("typed", ["", "many", "<", "TNTC 300", "<<1", "-1", "1.2.3"])
def test_other_text_is_refused(typed: str) -> None:
    with pytest.raises((InputError, DomainError)):
        read_microbes(typed, "CFU/mL")


def test_another_unit_than_the_limit_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        judge_microbes(read_microbes("12", "EU/mL"), STANDARD)
    assert "CFU/mL" in say(caught.value.key, **caught.value.params)


def test_less_than_nothing_is_refused() -> None:
    with pytest.raises(DomainError) as caught:
        judge_microbes(read_microbes("<0", "CFU/mL"), STANDARD)
    assert "<1" in say(caught.value.key, **caught.value.params)


@given(low=st.integers(0, 400), more=st.integers(0, 400))
def test_a_higher_count_is_never_judged_better(low: int, more: int) -> None:
    levels = [judge_microbes(MicrobeResult(D(count), "CFU/mL"), STANDARD) for count in (low, low + more)]
    assert ORDER.index(levels[0]) <= ORDER.index(levels[1])


@given(count=st.integers(1, 400))
def test_less_than_a_count_is_never_judged_over(count: int) -> None:
    assert judge_microbes(read_microbes(f"<{count}", "CFU/mL"), STANDARD) is not OVER


@given(limit=st.decimals("0.001", 1000, places=3))
def test_the_least_volume_just_shows_the_limit(limit: Decimal) -> None:
    volume = least_plated(limit_cfu_ml=limit)
    if D("0.01") <= volume <= 10000:
        assert abs(shown_by_no_colony(plated_ml=volume) - limit) < D("1e-20")
