"""Bands of figures from doubtful parameters: against general statistics, chance draws, and a fit made anew."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy import optimize, stats

from ebbwell.core.errors import DomainError
from ebbwell.review.doubt import (
    BETWEEN,
    BLOODS,
    GAIN,
    OUTER,
    OVER,
    WATER,
    Array,
    Doubtful,
    Doubts,
    Points,
    apart,
    generation_at,
    ranged,
    together,
    urea_doubts,
    water_doubts,
)
from ebbwell.science.bands import log_deviation
from ebbwell.science.fit import (
    BETWEEN_PER_MIN,
    KNOWN,
    OUTER_SHARE,
    SPLIT,
    Split,
    expected,
    fit,
)
from ebbwell.science.fit_many import moved_by_split
from ebbwell.science.solutes import BETA_2, PHOSPHATE, SOLUTES, UREA, Figure
from tests.review.bases import FOUR, PERSON, month_of, usual

TWO = apart([Doubtful("a", 3.0, 0.2), Doubtful("b", 5.0, 0.1)])
KILOS = PERSON["kilos"]


def one(doubts: Doubts, figure: object) -> tuple[float, float, float]:
    """The band of one figure as plain numbers."""
    band = doubts.banded(lambda at: {"it": figure(at)})["it"]  # type: ignore[operator]
    return band.low, band.middle, band.high


@pytest.mark.source(
    "arithmetic", detail="product and ratio of log-normals; SciPy's lognorm gives the quantiles"
)
def test_products_and_powers_of_parameters_have_the_band_of_a_log_normal() -> None:
    spread = sqrt(0.2**2 + 4 * 0.1**2)
    true = stats.lognorm(spread, scale=3 / 25).ppf([0.05, 0.5, 0.95])
    assert one(TWO, lambda at: at["a"] / at["b"] ** 2) == pytest.approx(tuple(true), rel=1e-12)


@pytest.mark.source("arithmetic", detail="variance of a sum; SciPy's norm gives the quantiles")
def test_a_figure_that_may_be_below_zero_goes_by_itself() -> None:
    doubts = apart([Doubtful("a", 3.0, 0.02), Doubtful("b", 3.0, 0.03)])
    true = stats.norm(0, 3 * sqrt(0.02**2 + 0.03**2)).ppf([0.05, 0.5, 0.95])
    assert one(doubts, lambda at: at["a"] - at["b"]) == pytest.approx(tuple(true), rel=1e-3, abs=1e-12)
    assert one(doubts, lambda at: 0 * at["a"]) == (0, 0, 0)
    low, middle, high = one(doubts, lambda at: -at["a"])
    assert low < middle == -3 < high < 0


@pytest.mark.source("arithmetic", detail="covariance carried through; NumPy's draws beside it")
def test_parameters_that_move_together_leave_their_ratio_narrow() -> None:
    doubts = Doubts(("a", "b"), (3.0, 5.0), ((0.04, 0.019), (0.019, 0.01)))
    drawn = np.random.default_rng(1).multivariate_normal([log(3), log(5)], doubts.spread, 200_000)
    true = np.quantile(np.exp(drawn[:, 0] - drawn[:, 1]), [0.05, 0.5, 0.95])
    assert one(doubts, lambda at: at["a"] / at["b"]) == pytest.approx(tuple(true), rel=5e-3)
    assert one(doubts, lambda at: at["a"] / at["b"])[2] < one(TWO, lambda at: at["a"] / at["b"])[2]


@pytest.mark.source("arithmetic", detail="SciPy's lognorm: one in twenty on each side")
@pytest.mark.parametrize(
    "figure", [f for s in SOLUTES for f in s.figures.values()], ids=lambda one: f"{one.value:.3g} {one.unit}"
)
def test_a_range_is_read_as_nine_in_ten(figure: Figure) -> None:
    middle = sqrt(figure.low * figure.high)
    ends = stats.lognorm(log_deviation(figure), scale=middle).ppf([0.05, 0.95])
    assert tuple(ends) == pytest.approx((figure.low, figure.high), rel=1e-9)


def test_a_parameter_without_doubt_adds_none() -> None:
    doubts = together(TWO, apart([Doubtful("c", 2.0, 0.0)]))
    assert one(doubts, lambda at: at["a"] * at["c"] ** 9) == pytest.approx(
        tuple(512 * x for x in one(TWO, lambda at: at["a"])), rel=1e-12
    )


def test_sets_of_parameters_stand_side_by_side() -> None:
    both = together(ranged(PHOSPHATE.figures), ranged(UREA.figures))
    assert both.names == (*PHOSPHATE.figures, *UREA.figures)
    assert np.array(both.spread)[:3, 3:].any() is np.False_
    assert np.diag(np.array(both.spread)) == pytest.approx(
        [log_deviation(f) ** 2 for f in (*PHOSPHATE.figures.values(), *UREA.figures.values())], rel=1e-12
    )


@pytest.mark.parametrize(
    "wrong", [("a", 0.0, 0.1), ("a", -1.0, 0.1), ("a", 1.0, -0.1), ("a", float("nan"), 0.1)]
)
def test_what_cannot_be_a_doubt_is_refused(wrong: tuple[str, float, float]) -> None:
    with pytest.raises(DomainError) as caught:
        apart([Doubtful(*wrong)])
    assert caught.value.key == "science.leg_not_above_zero"


def test_figures_that_are_no_numbers_and_ranges_below_zero_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        TWO.banded(lambda at: {"it": at["a"] * float("nan")})
    assert caught.value.key == "science.leg_not_a_number"
    with pytest.raises(DomainError) as caught:
        log_deviation(Figure(1.0, 0.0, 2.0, "1", "from memory"))
    assert caught.value.key == "science.leg_not_above_zero"


@pytest.mark.source(
    "kinetics:A8", detail="the same least squares by SciPy, with each split of the water put in"
)
def test_the_fit_moves_with_the_split_as_a_fit_made_anew_does() -> None:
    months = [month_of(FOUR, **PERSON), month_of(replace(FOUR, hours=6.0), **PERSON)] * 3
    found = fit(months)
    step = 0.01

    def anew(split: Split) -> np.ndarray:
        def residuals(x: np.ndarray) -> list[float]:
            rows = [(x[0] - log(KNOWN.water_share)) / KNOWN.water_doubt, x[1] / KNOWN.clearance_doubt]
            for month in months:
                told = expected(month, exp(x[0]), exp(x[1]), split)
                rows.append(
                    (log(month.post / month.before) - told.post + told.before) / (KNOWN.lab_doubt * sqrt(2))
                )
            return rows

        return optimize.least_squares(residuals, [log(0.58), 0.0], xtol=1e-12, ftol=1e-12, gtol=1e-12).x

    moved = moved_by_split(months, KNOWN, found, Split(step, step))
    for number, name in enumerate(Split._fields):
        ends = [anew(SPLIT._replace(**{name: SPLIT[number] * exp(side)})) for side in (step, -step)]
        assert moved[number] == pytest.approx(tuple((ends[0] - ends[1]) / (2 * step)), rel=0.02)


@pytest.mark.source("arithmetic", detail="covariance of the fit by SciPy: the inverse of the slopes' squares")
def test_the_spread_of_the_fit_is_that_of_least_squares() -> None:
    months = (month_of(FOUR, **PERSON),) * 6
    found = fit(months)

    def residuals(x: np.ndarray) -> list[float]:
        told = expected(months[0], exp(x[0]), exp(x[1]))
        row = (log(months[0].post / months[0].before) - told.post + told.before) / (0.03 * sqrt(2))
        return [row] * 6 + [(x[0] - log(0.58)) / 0.1, x[1] / 0.1]

    slopes = optimize.least_squares(residuals, [log(0.58), 0.0], jac="3-point", xtol=1e-12).jac
    true = np.linalg.inv(slopes.T @ slopes)
    assert tuple(found.spread) == pytest.approx((true[0, 0], true[0, 1], true[1, 1]), rel=1e-4)


def test_urea_has_the_doubt_of_the_bloods_and_of_the_model() -> None:
    basis = usual()
    doubts = urea_doubts(basis)
    spread = dict(zip(doubts.names, np.diag(np.array(doubts.spread)), strict=True))
    assert doubts.names == (WATER, OVER, OUTER, BETWEEN, BLOODS, GAIN)
    assert doubts.middles == (
        basis.fit.water_share.middle, basis.fit.clearance_over.middle, OUTER_SHARE, BETWEEN_PER_MIN, 1.0, 1.0,
    )  # fmt: skip
    assert spread[WATER] > basis.fit.spread.water
    assert spread[OVER] > basis.fit.spread.over
    assert spread[OUTER] == pytest.approx(log_deviation(UREA.figures["outer_share"]) ** 2)
    matrix = np.array(doubts.spread)
    assert (matrix == matrix.T).all()
    assert (np.linalg.eigvalsh(matrix) >= -1e-12).all()


def test_the_urea_made_is_the_fits_in_the_middle_and_doubted_as_there() -> None:
    basis = usual()
    doubts = urea_doubts(basis)
    made = doubts.banded(lambda at: {"made": generation_at(basis, at)})["made"]
    assert made.middle == pytest.approx(basis.fit.generation[-1].middle, rel=1e-12)
    assert made.high / made.low > basis.fit.generation[-1].high / basis.fit.generation[-1].low


def test_no_bloods_no_doubts() -> None:
    with pytest.raises(DomainError) as caught:
        urea_doubts(replace(usual(), months=()))
    assert caught.value.key == "science.no_bloods"
    assert water_doubts(usual()).names == (WATER,)


@pytest.mark.source("arithmetic", detail="2,000 draws of the parameters (NumPy), quantiles of what comes out")
@pytest.mark.parametrize("figures", [PHOSPHATE, BETA_2], ids=lambda one: one.key)
def test_wide_ranges_stay_near_what_chance_draws_give(figures: object) -> None:
    """A made-up figure with everything in it: ratios, and a saturating clearance."""
    doubts = ranged(figures.figures)  # type: ignore[attr-defined]

    def shape(at: Points) -> Array:
        first, *rest = (at[name] for name in doubts.names)
        total = first
        for more in rest:
            total = total + first * more / (first + more)
        return total

    drawn = np.random.default_rng(7).multivariate_normal(np.log(doubts.middles), doubts.spread, 2000)
    values = shape({name: np.exp(drawn[:, i]) for i, name in enumerate(doubts.names)})
    low, _, high = one(doubts, shape)
    assert (low, high) == pytest.approx(tuple(np.quantile(values, [0.05, 0.95])), rel=0.06)
