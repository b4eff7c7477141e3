"""A leaflet's clearances and what a night's flows make of them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.errors import DomainError
from ebbwell.review.clearance import IN_BODY, UREA_FLOW, clearance_l_min, koa_by_leaflet
from ebbwell.science.dialyser import clearance_of_dialyser

D = Decimal


@pytest.mark.parametrize(
    ("koa", "blood", "fluid"), [(900.0, 230.0, 300.0), (1200.0, 300.0, 500.0), (700.0, 200.0, 172.0)]
)
def test_it_is_the_formula_of_the_catalogue(koa: float, blood: float, fluid: float) -> None:
    """That formula is held against kinetics A5 and B in tests/external/test_dialyser.py."""
    wanted = clearance_of_dialyser(
        koa_ml_min=D(koa) * D(str(IN_BODY)),
        blood_flow_ml_min=D(blood) * D(str(UREA_FLOW)),
        dialysate_flow_ml_min=D(fluid),
    )
    assert clearance_l_min(koa, blood, fluid) == pytest.approx(float(wanted) / 1000, rel=1e-12)


@pytest.mark.source("kinetics:A5", detail="QB = QD: K = QB n / (1 + n), n = KoA / QB")
def test_equal_flows_need_no_form_of_their_own() -> None:
    n = 900 * IN_BODY / 200
    wanted = 200 * n / (1 + n) / 1000
    assert clearance_l_min(900, 200, 200, 1.0) == pytest.approx(wanted, rel=1e-12)
    assert clearance_l_min(900, 200, 200 * (1 + 1e-9), 1.0) == pytest.approx(wanted, rel=1e-8)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
@pytest.mark.parametrize("place", range(3))
def test_what_cant_be_is_refused(bad: float, place: int) -> None:
    numbers = [900.0, 230.0, 300.0]
    numbers[place] = bad
    with pytest.raises(DomainError):
        clearance_l_min(*numbers)


def test_a_leaflet_gives_back_its_own_clearance() -> None:
    koa = koa_by_leaflet({"urea": D(265), "phosphate": D(220)}, D(300), D(500), D(0))
    for name, printed in (("urea", 265), ("phosphate", 220)):
        again = clearance_of_dialyser(
            koa_ml_min=D(str(koa[name])), blood_flow_ml_min=D(300), dialysate_flow_ml_min=D(500)
        )
        assert float(again) == pytest.approx(printed, rel=1e-9)


@pytest.mark.source("from memory", detail="kinetics A5: K = Kd (1 - QF/QB) + QF")
def test_what_fluid_carries_along_is_taken_out_of_a_leaflet_first() -> None:
    with_fluid = koa_by_leaflet({"urea": D(250) * (1 - D(10) / D(300)) + 10}, D(300), D(500), D(10))
    assert with_fluid["urea"] == pytest.approx(
        koa_by_leaflet({"urea": D(250)}, D(300), D(500), D(0))["urea"], rel=1e-12
    )


def test_a_clearance_over_its_flow_is_refused() -> None:
    with pytest.raises(DomainError):
        koa_by_leaflet({"urea": D(300)}, D(300), D(500), D(0))
