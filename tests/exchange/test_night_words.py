"""Nights and patterns in words: read as they are meant, or refused with what to type."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import InputError
from ebbwell.core.text import has_text
from ebbwell.exchange.night_words import WEEKDAYS, nights_of, nights_words, pattern_of


@pytest.mark.parametrize(
    ("typed", "days", "cycle"),
    [
        ("mon wed fri", (0, 2, 4), 7),
        ("Monday, Wednesday and Friday", (0, 2, 4), 7),
        ("sun+tues+thurs", (1, 3, 6), 7),
        ("every night", (0, 1, 2, 3, 4, 5, 6), 7),
        ("Every  Other Night", (0,), 2),
        ("mon wed fri sun / tue thu sat", (0, 2, 4, 6, 8, 10, 12), 14),
    ],
)
def test_nights_are_read(typed: str, days: tuple[int, ...], cycle: int) -> None:
    assert nights_of(typed) == (days, cycle)
    assert nights_of(nights_words(nights_of(typed))) == (days, cycle)


@given(st.lists(st.sets(st.integers(0, 6), min_size=1), min_size=1, max_size=2), st.randoms())
def test_any_set_of_days_is_read_in_any_order(weeks: list[set[int]], dice: object) -> None:
    parts = []
    for week in weeks:
        names = [WEEKDAYS[day] for day in week]
        dice.shuffle(names)  # type: ignore[attr-defined]
        parts.append(" ".join(names))
    wanted = tuple(sorted(day + 7 * n for n, week in enumerate(weeks) for day in week))
    assert nights_of(" / ".join(parts)) == (wanted, 7 * len(weeks))


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("", "nights.not_read"),
        ("mon / tue / wed", "nights.not_read"),
        ("mon /", "nights.not_read"),
        ("mon wednes", "nights.no_day"),
        ("3", "nights.no_day"),
        ("mon mon", "nights.twice"),
        ("mon " * 60, "nights.not_read"),
    ],
)
def test_other_words_are_refused(typed: str, key: str) -> None:
    with pytest.raises(InputError) as caught:
        nights_of(typed)
    assert caught.value.key == key
    assert has_text(key)


def test_gaps_are_days_since_the_treatment_before() -> None:
    assert nights_of("mon wed fri").gaps_days() == (3, 2, 2)
    assert nights_of("every other night").gaps_days() == (2,)
    assert nights_of("mon wed fri sun / tue thu sat").gaps_days() == (2, 2, 2, 2, 2, 2, 2)
    assert nights_of("tue").gaps_days() == (7,)


def test_a_pattern_is_read() -> None:
    found = pattern_of("a longer one: tue thu sat sun 7,5 h 230 / 300 at 21:30")
    assert (found.name, found.days, found.cycle_days) == ("a longer one", (1, 3, 5, 6), 7)
    assert (found.hours, found.blood_flow_ml_min, found.fluid_flow_ml_min) == (7.5, 230.0, 300.0)
    assert found.start_min == 21.5 * 60


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("", "nights.pattern_not_read"),
        ("mon wed fri 8 h 230/300", "nights.pattern_not_read"),
        ("a: mon wed fri 8 h", "nights.pattern_not_read"),
        ("a: mon wed fri 8 h 230/300 at 25:00", "nights.pattern_not_read"),
        ("a: mon wed fri 0.2 h 230/300", "nights.hours"),
        ("a: mon wed fri 8 h 23/300", "nights.blood_flow"),
        ("a: mon wed fri 8 h 230/3000", "nights.fluid_flow"),
        ("a: mon wod fri 8 h 230/300", "nights.no_day"),
        ("a: every night 24 h 230/300", "nights.too_long"),
        ("a: mon wed fri 8..5 h 230/300", "number.two_marks"),
    ],
)
def test_another_pattern_is_refused(typed: str, key: str) -> None:
    with pytest.raises(InputError) as caught:
        pattern_of(typed)
    assert caught.value.key == key
    assert has_text(key)
