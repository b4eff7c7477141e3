"""The solute engine against three general solvers of differential equations, and against 40 digits.

SciPy's DOP853 (1e-9 wanted) on 500 schedules, its Radau (1e-9) on 60 of them since it costs far more, and CVODE of the
SUNDIALS suite (1e-7) on all, by scikit-sundae.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from ebbwell.science.pools import Link, Pools
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment
from ebbwell.science.settled_before import settled_before
from tests.external.pools_witness import COLUMNS, Array, Legs, Schedule, befores, draw
from tests.needs import need

TIGHT = 1e-12
LEAST = 1e-14


@lru_cache(maxsize=2)
def drawn(few: bool) -> tuple[list[Schedule], Legs]:
    schedules = draw(60 if few else 500, 20, 3)
    return schedules, Legs(schedules)


def farthest(schedules: list[Schedule], ends: Array) -> float:
    """The largest relative distance between a solver and the engine, over all befores of all schedules."""
    shaped = ends.reshape(-1, COLUMNS, 3)
    worst = 0.0
    for one in schedules:
        ours = settled_before(one.body(), one.nights(), WEEK_MIN)
        theirs = befores(one, shaped)
        assert len(ours) == len(theirs) == len(one.starts)
        worst = max(worst, *(abs(a / b - 1) for a, b in zip(ours, theirs, strict=True)))
    return worst


@pytest.mark.source("kinetics:A8", detail="SciPy DOP853, run here: 500 random schedules, 1e-9")
def test_against_dop853() -> None:
    need("scipy")
    from scipy.integrate import solve_ivp

    schedules, legs = drawn(False)
    done = solve_ivp(legs.change, (0, 1), legs.start(), "DOP853", t_eval=[1], rtol=TIGHT, atol=LEAST)
    assert done.success
    assert farthest(schedules, done.y[:, -1]) < 1e-9


@pytest.mark.source("kinetics:A8", detail="SciPy Radau, run here: 60 random schedules, 1e-9")
def test_against_radau() -> None:
    need("scipy")
    from scipy.integrate import solve_ivp
    from scipy.sparse import bsr_matrix, csc_matrix

    schedules, legs = drawn(True)
    blocks = legs.count * COLUMNS

    def jacobian(gone: float, _: Array) -> csc_matrix:
        each = np.repeat(legs.matrix(gone), COLUMNS, axis=0)
        return csc_matrix(bsr_matrix((each, np.arange(blocks), np.arange(blocks + 1))))

    done = solve_ivp(
        legs.change, (0, 1), legs.start(), "Radau", t_eval=[1], rtol=1e-11, atol=1e-13, jac=jacobian
    )
    assert done.success
    assert farthest(schedules, done.y[:, -1]) < 1e-9


@pytest.mark.source(
    "kinetics:A8", detail="CVODE of SUNDIALS by scikit-sundae, run here: 500 random schedules, 1e-7"
)
def test_against_cvode() -> None:
    need("sksundae")
    from sksundae.cvode import CVODE

    schedules, legs = drawn(False)

    def change(gone: float, state: Array, slope: Array) -> None:
        slope[:] = legs.change(gone, state)

    solver = CVODE(
        change, method="BDF", rtol=1e-10, atol=1e-12, linsolver="band", lband=2, uband=2, max_num_steps=20000
    )
    done = solver.solve(np.array([0.0, 1.0]), legs.start())
    assert done.success
    assert farthest(schedules, np.asarray(done.y)[-1]) < 1e-7


@pytest.mark.source(
    "kinetics:C", detail="case G with 40 digits by mpmath's matrix exponential: befores, 1e-13"
)
@pytest.mark.parametrize(("hours", "starts"), [(4, (0, 48, 96)), (8, (0, 24, 72, 120))])
def test_a_middle_molecule_with_40_digits(hours: int, starts: tuple[int, ...]) -> None:
    need("mpmath")
    import mpmath

    share = 1 / 4.4
    pools = Pools((share, 1 - share), (Link(0, 1, 0.055),))
    nights = tuple(Treatment(start * 60.0, (Part(hours * 60.0, 0.060),)) for start in starts)
    ours = settled_before(Body(pools, 12.0, 0.13, 0.003), nights, WEEK_MIN)
    with mpmath.workdps(40):
        outer = 12 / mpmath.mpf("4.4")
        between, inner = mpmath.mpf("0.055"), 12 - outer

        def leg(minutes: int, clearance: str) -> mpmath.matrix:
            out = mpmath.mpf(clearance) + between
            rows = [
                [-out / outer, between / inner, mpmath.mpf("0.13")],
                [between / outer, -between / inner, 0],
                [0, 0, 0],
            ]
            return mpmath.expm(mpmath.matrix(rows) * minutes)

        maps = []
        for start, following in zip(starts, (*starts[1:], 168), strict=True):
            maps += [leg(hours * 60, "0.063"), leg((following - start - hours) * 60, "0.003")]
        whole = mpmath.eye(3)
        for one in maps:
            whole = one * whole
        masses = mpmath.lu_solve(mpmath.eye(2) - whole[:2, :2], whole[:2, 2])
        state = mpmath.matrix([masses[0], masses[1], 1])
        theirs = []
        for number, one in enumerate(maps):
            if number % 2 == 0:
                theirs.append(float(state[0] / outer))
            state = one * state
    assert ours == pytest.approx(theirs, rel=1e-13)
