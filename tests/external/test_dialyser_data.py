"""The curve of removal against pressure, fitted to an open data set of 20 high-flux dialysers.

The rows are ``Dialyzer`` of the R package nlme: 20 dialysers with blood of cattle, 7 pressures each, 10 of them at 200
mL/min and 10 at 300. R reads them from its own package when the test runs; the package is under the GPL and nothing of
it is kept here. Its help page says that pressure is in dmHg (100 mmHg). Rate is taken as dL/h: the page says mL/h, but
then a high-flux dialyser would let under half a litre through in a night (kinetics A5). SciPy looks for the smallest
sum of squares, with the project's own formula as the curve.
"""

from __future__ import annotations

import csv
import subprocess
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import exp

import pytest

from ebbwell.science.dialyser import removal_flow_saturating
from tests.needs import need

D = Decimal
READ = "write.csv(nlme::Dialyzer, row.names = FALSE)"
FIT_BY_R = (
    "library(nlme);"
    "m <- nlsList(rate ~ SSasympOff(pressure, Asym, lrc, c0) | QB, Dialyzer, control = nls.control(tol = 1e-8));"
    "for (flow in names(m)) cat(flow, sprintf('%.10f', c(coef(m[[flow]]), deviance(m[[flow]]))), '\\n')"
)

WORKED = {
    "200": (44.98858, 0.76486, 0.22424, 966.748),
    "300": (62.21732, 0.25281, 0.22484, 972.622),
}
"""Ceiling in dL/h, logarithm of the steepness, offset in dmHg, sum of squares left. Source: kinetics:B54."""
BOOK = {"200": ("44.988", "0.765", "0.224"), "300": ("62.217", "0.253", "0.225")}
"""The first three as Pinheiro and Bates print them (2000, chapter 8). Source: from memory (kinetics B54)."""


@dataclass(frozen=True)
class Fit:
    """ceiling [dL/h], log_steepness (a 100 mmHg), offset [100 mmHg]; left: sum of squares that the curve misses."""

    ceiling: float
    log_steepness: float
    offset: float
    left: float


def r(script: str) -> str:
    need("nlme")
    asked = subprocess.run(["Rscript", "--vanilla", "-e", script], capture_output=True, check=True, text=True)
    return asked.stdout


@lru_cache(maxsize=1)
def measured() -> list[dict[str, str]]:
    return list(csv.DictReader(r(READ).splitlines()))


def at(flow: str) -> list[dict[str, str]]:
    return [one for one in measured() if one["QB"] == flow]


def curve(ceiling: float, log_steepness: float, offset: float, pressure: str) -> float:
    """The project's formula, in the units of the data set: 1 dL/h is 100 mL/h, 1 dmHg is 100 mmHg."""
    removed = removal_flow_saturating(
        ceiling_ml_h=D(100 * ceiling),
        steepness_factor=D(exp(log_steepness)),
        transmembrane_mmhg=100 * D(pressure),
        offset_mmhg=D(100 * offset),
    )
    return float(removed / 100)


@lru_cache(maxsize=2)
def fitted(flow: str) -> Fit:
    """Least squares from a start far off; the bounds are those that the formula takes."""
    need("nlme")
    need("scipy")
    from scipy.optimize import least_squares

    rows = at(flow)

    def misses(guess: list[float]) -> list[float]:
        return [curve(*guess, one["pressure"]) - float(one["rate"]) for one in rows]

    done = least_squares(
        misses,
        [30.0, 0.0, 0.5],
        jac="3-point",
        bounds=([0, -5, 0], [100, 2.3, 1]),
        x_scale=[10, 1, 0.1],
        xtol=1e-12,
        ftol=1e-12,
        gtol=1e-12,
    )
    assert done.success
    return Fit(*done.x, left=2 * done.cost)


@pytest.mark.source("kinetics:A5", detail="nlme, Dialyzer: 140 rows of 20 dialysers, 7 pressures each")
def test_the_rows_are_those_described() -> None:
    assert len(measured()) == 140
    assert len({one["Subject"] for one in measured()}) == 20
    assert [len(at(flow)) for flow in WORKED] == [70, 70]
    assert all(0.1 < float(one["pressure"]) < 4 for one in measured()), "in 100 mmHg"


@pytest.mark.parametrize("flow", WORKED)
@pytest.mark.source("kinetics:B54", detail="nlme, Dialyzer, least squares for each blood flow; 1e-4 relative")
def test_the_fit_is_the_one_worked(flow: str) -> None:
    found = fitted(flow)
    wanted = WORKED[flow]
    assert (found.ceiling, found.log_steepness, found.offset, found.left) == pytest.approx(wanted, rel=1e-4)


@pytest.mark.parametrize("flow", WORKED)
@pytest.mark.source(
    "from memory",
    detail="Pinheiro and Bates 2000, chapter 8: printed digits as remembered, one of the last off at most",
)
def test_the_fit_is_the_one_in_the_book(flow: str) -> None:
    found = fitted(flow)
    for ours, printed in zip((found.ceiling, found.log_steepness, found.offset), BOOK[flow], strict=True):
        assert abs(D(ours) - D(printed)) <= D("0.001"), printed


@pytest.mark.parametrize("flow", WORKED)
@pytest.mark.source(
    "kinetics:A5", detail="R itself: nlsList with its own curve SSasympOff, run here; 1e-6 relative"
)
def test_the_fit_is_the_one_r_finds(flow: str) -> None:
    lines = {line.split()[0]: [float(one) for one in line.split()[1:]] for line in r(FIT_BY_R).splitlines()}
    found = fitted(flow)
    assert (found.ceiling, found.log_steepness, found.offset, found.left) == pytest.approx(
        lines[flow], rel=1e-6
    )


@pytest.mark.parametrize("flow", WORKED)
@pytest.mark.source("kinetics:A5", detail="nlme, Dialyzer: a straight line through the rows misses far more")
def test_removal_does_level_off(flow: str) -> None:
    """Pressure limits removal only low down; the straight rule would miss these dialysers by far."""
    need("nlme")
    need("scipy")
    from scipy.stats import linregress

    rows = [(float(one["pressure"]), float(one["rate"])) for one in at(flow)]
    line = linregress([one for one, _ in rows], [one for _, one in rows])
    left = sum((line.intercept + line.slope * pressure - rate) ** 2 for pressure, rate in rows)
    assert left > 3 * fitted(flow).left
