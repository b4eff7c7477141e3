"""One's own past: like with like, the last 8, nothing from fewer than 3."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.science.own_past import (
    MembraneReading,
    OwnLevel,
    PressureAtFlow,
    own_coefficient,
    own_pressure,
)

D = Decimal


def nights(*pairs: tuple[int, int]) -> list[PressureAtFlow]:
    return [PressureAtFlow(D(pressure), D(flow)) for pressure, flow in pairs]


@pytest.mark.source(
    "common practice", detail="no source: median of the last 8 nights within 10 mL/min (fluids 5.1)"
)
def test_only_like_nights_and_only_the_last_8_count() -> None:
    past = nights((900 - 500, 230), *((100 + at, 230) for at in range(8)), (300, 241))
    assert own_pressure(past, blood_flow_ml_min=D(230)) == OwnLevel(D("103.5"), 8)
    assert own_pressure(nights((118, 220), (130, 240), (158, 230)), blood_flow_ml_min=D(230)) == OwnLevel(
        D(130), 3
    )


def test_fewer_than_3_make_no_level() -> None:
    assert own_pressure(nights((118, 230), (120, 230), (125, 250)), blood_flow_ml_min=D(230)) is None
    assert own_coefficient([MembraneReading(D(55), 4)] * 2, points=4) is None


@pytest.mark.source("fluids:P8", detail="results differ by formula, so that they are never compared")
def test_coefficients_of_other_points_are_left_out() -> None:
    past = [
        MembraneReading(D(value), points) for value, points in ((50, 4), (90, 2), (52, 4), (99, 3), (54, 4))
    ]
    assert own_coefficient(past, points=4) == OwnLevel(D(52), 3)
    assert own_coefficient(past, points=2) is None


@given(st.lists(st.integers(-300, 400), min_size=3, max_size=12))
def test_the_level_lies_among_the_nights(values: list[int]) -> None:
    own = own_pressure(nights(*((value, 230) for value in values)), blood_flow_ml_min=D(230))
    assert own is not None
    assert min(values[-8:]) <= own.value <= max(values[-8:])


@pytest.mark.parametrize("points", [1, 5])
def test_refused_outside(points: int) -> None:
    with pytest.raises(DomainError):
        own_coefficient([], points=points)
    with pytest.raises(DomainError):
        own_coefficient([MembraneReading(D("NaN"), 4)], points=4)
    with pytest.raises(DomainError):
        own_pressure(nights((801, 230)), blood_flow_ml_min=D(230))
    with pytest.raises(DomainError):
        own_pressure([], blood_flow_ml_min=D(601))
