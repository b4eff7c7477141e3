"""Supply: the band holds what it is made of, and carbon never lasts longer for more chlorine."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ebbwell.core.errors import DomainError
from ebbwell.core.quantity import Quantity
from ebbwell.science.supply import (
    CarbonLife,
    CarbonNight,
    carbon_life,
    drain_water,
    flow_at_25_least,
    flow_at_25_most,
    reject_water,
)
from ebbwell.science.water import feed_needed

D = Decimal
NIGHTS = st.lists(
    st.builds(
        CarbonNight,
        st.integers(0, 600).map(Decimal),
        st.builds(Quantity, st.decimals(0, 4, places=2), st.just("mg/L"), st.booleans()),
    ),
    min_size=1,
    max_size=12,
)


def night(litres: str, chlorine: str, below: bool = False) -> CarbonNight:
    return CarbonNight(D(litres), Quantity(D(chlorine), "mg/L", below))


def life(*nights: CarbonNight, rated: str = "3000", ahead: str = "300", date: int = 100) -> CarbonLife:
    return carbon_life(nights, rated_mg=D(rated), feed_l_a_night=D(ahead), nights_to_date=date)


@given(
    product=st.decimals(1, 500, places=1),
    percent=st.decimals(5, 95, places=1),
    removed=st.decimals(0, 5, places=1),
)
def test_water_in_is_water_out(product: Decimal, percent: Decimal, removed: Decimal) -> None:
    feed = feed_needed(product_l=product, recovery_percent=percent)
    reject = reject_water(product_l=product, recovery_percent=percent)
    assert reject >= 0
    if feed <= 5000:
        assert abs(drain_water(feed_l=feed, removal_l=removed) - (reject + product + removed)) < D("1e-20")


@given(heat=st.decimals(1, 45, places=1), flow=st.decimals("0.05", 10, places=2))
def test_the_band_of_flow_is_a_band_and_turns_at_25(heat: Decimal, flow: Decimal) -> None:
    least = flow_at_25_least(product_flow_l_min=flow, water_temperature_c=heat)
    most = flow_at_25_most(product_flow_l_min=flow, water_temperature_c=heat)
    assert 0 < least <= most
    if heat == 25:
        assert least == most == flow
    else:
        assert (least > flow) is (most > flow) is (heat < 25)


@pytest.mark.source(
    "arithmetic", detail="3,000 mg; 3 x 300 L x 0.5 = 450 taken; 2,550 / (300 x 0.5) = 17 nights"
)
def test_steady_chlorine_makes_a_narrow_band() -> None:
    assert life(*[night("300", "0.5")] * 3) == CarbonLife(D(450), 17, 17, by_date=False)


@pytest.mark.source(
    "arithmetic",
    detail="taken 300 x 1.8 = 540; 2,460 / (300 x 0.2) = 41 nights at the lowest; the line 0.4, 0.6, 0.8 leads on to "
    "1.0, 1.2, 1.4, 1.6, 1.8: 300 x 7.0 = 2,100, and the next takes 600",
)
def test_uneven_chlorine_makes_a_wide_one() -> None:
    found = life(night("300", "0.2"), night("300", "1.0"), night("300", "0.6"))
    assert (found.taken_up_mg, found.most) == (540, 41)
    assert found.fewest == 5


@pytest.mark.source(
    "arithmetic",
    detail="rise 0.1 a night from 0.3: 180 taken; 120 + 150 + ... reaches 1,180 - 180 after 5 nights",
)
def test_a_rise_is_carried_on() -> None:
    nights = [night("300", "0.1"), night("300", "0.2"), night("300", "0.3")]
    assert life(*nights, rated="1080").fewest == 5
    assert life(*nights, rated="1079").fewest == 4
    falling = life(*reversed(nights), rated="1080")
    assert falling.fewest == 10, "a fall is not carried on: 900 / (300 x 0.3)"


def test_less_than_counts_whole_against_and_nothing_for() -> None:
    found = life(night("300", "0.5", below=True), rated="1000", date=40)
    assert found == CarbonLife(D(150), 5, 40, by_date=False)


def test_the_date_ends_it_first() -> None:
    assert life(night("300", "0.1"), rated="100000", date=12) == CarbonLife(D(30), 12, 12, by_date=True)
    assert life(night("300", "0.1"), date=0) == CarbonLife(D(30), 0, 0, by_date=True)


def test_a_bed_that_is_used_up_has_no_night_left() -> None:
    assert life(night("4000", "1"), rated="3000") == CarbonLife(D(4000), 0, 0, by_date=False)


@given(
    nights=NIGHTS,
    rated=st.integers(1, 20000),
    ahead=st.integers(50, 600),
    date=st.integers(0, 90),
    more=st.decimals("0.01", 2, places=2),
)
def test_more_chlorine_never_lasts_longer(
    nights: list[CarbonNight], rated: int, ahead: int, date: int, more: Decimal
) -> None:
    found = life(*nights, rated=str(rated), ahead=str(ahead), date=date)
    assert 0 <= found.fewest <= found.most <= date
    worse = [replace(n, chlorine=replace(n.chlorine, value=n.chlorine.value + more)) for n in nights]
    after = life(*worse, rated=str(rated), ahead=str(ahead), date=date)
    assert after.fewest <= found.fewest
    assert after.most <= found.most


@pytest.mark.parametrize(
    ("nights", "rated", "ahead", "date"),
    [
        ([], "3000", "300", 10),
        ([night("300", "21")], "3000", "300", 10),
        ([night("-1", "1")], "3000", "300", 10),
        ([night("300", "1")], "0", "300", 10),
        ([night("300", "1")], "3000", "0", 10),
        ([night("300", "1")], "3000", "300", -1),
    ],
)
def test_refused_outside(nights: list[CarbonNight], rated: str, ahead: str, date: int) -> None:
    with pytest.raises(DomainError):
        life(*nights, rated=rated, ahead=ahead, date=date)
