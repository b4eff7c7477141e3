"""A week of nights to the state it settles to: the closed form beside general solvers that go the same way.

The solvers get every help that the closed form has: a leg's map from one run over units of mass, equal legs once, and
the settled state by one small solve. Of SciPy's methods and tolerances the fastest that comes within 1e-9 counts.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from bench.rows import Row, middle, row, took_ms
from ebbwell.science.pools import Link, Pools
from ebbwell.science.pools_many import ManyBodies, ManyLink, ManyTreatment, settled_many
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment
from ebbwell.science.settled_before import settled_before

Array = NDArray[np.float64]
Ends = Callable[["Leg"], Array]

STARTS_MIN = (0.0, 1440.0, 4320.0, 7200.0)
LITRES, GENERATION, CLEARANCE, GAIN, FLOW, NIGHT_MIN = 40.0, 0.24, 0.18, 0.9 / 1440, 0.64, 480.0
WITHIN = 1e-9
ODEINT_TIMES = 300.0
IVP_TIMES = 500.0
"""For one week alone. SciPy's LSODA steps in compiled code, and its wrapper odeint adds little to that."""
CVODE_TIMES = 1000.0
MANY_TIMES = 1000.0
"""Weeks by the thousand beside the fastest of all these."""
MANY_A_SECOND = 300_000.0
LEG_TIMES = 1.3
"""A leg among many may cost so much of one among few."""
MEMORY_MB = 200.0
MEMORY_COUNT = 100_000


@dataclass(frozen=True)
class Leg:
    """minutes, litres as it begins, L/min gained, L/min cleared."""

    minutes: float
    litres: float
    fluid: float
    cleared: float

    def change(self, t: float, state: Array) -> Array:
        """The right side for three columns of two masses: a unit in each pool, and none with the input flowing."""
        litres = self.litres + self.fluid * t
        outer, inner = state[:3] * (3 / litres), state[3:] * (1.5 / litres)
        across = FLOW * (outer - inner)
        found = np.empty(6)
        found[:3] = -across - self.cleared * outer
        found[3:] = across
        found[2] += GENERATION
        return found


def _legs() -> list[Leg]:
    legs = []
    for i, start in enumerate(STARTS_MIN):
        before = (start - STARTS_MIN[i - 1]) % WEEK_MIN
        after = (STARTS_MIN[(i + 1) % len(STARTS_MIN)] - start) % WEEK_MIN
        came = GAIN * (before - NIGHT_MIN)
        legs.append(Leg(NIGHT_MIN, LITRES + came, -came / NIGHT_MIN, CLEARANCE))
        legs.append(Leg(after - NIGHT_MIN, LITRES, GAIN, 0.0))
    return legs


UNITS = np.array([1.0, 0.0, 0.0, 0.0, 1.0, 0.0])


def _by_solver(ends: Ends) -> list[float]:
    """The concentrations before treatment of the settled week, with a solver for the legs."""
    maps: dict[Leg, Array] = {}
    legs = _legs()
    whole, more = np.eye(2), np.zeros(2)
    for leg in legs:
        if leg not in maps:
            maps[leg] = ends(leg).reshape(2, 3)
        one = maps[leg]
        whole, more = one[:, :2] @ whole, one[:, :2] @ more + one[:, 2]
    masses = np.linalg.solve(np.eye(2) - whole, more)
    found = []
    for number, leg in enumerate(legs):
        if number % 2 == 0:
            found.append(float(masses[0] * 3 / leg.litres))
        masses = maps[leg][:, :2] @ masses + maps[leg][:, 2]
    return found


def _scipy(method: str, tolerance: float, leg: Leg) -> Array:
    from scipy.integrate import solve_ivp

    done = solve_ivp(
        leg.change,
        (0.0, leg.minutes),
        UNITS,
        method,
        t_eval=[leg.minutes],
        rtol=tolerance,
        atol=tolerance / 10,
    )
    end: Array = done.y[:, -1]
    return end


def _odeint(tolerance: float, leg: Leg) -> Array:
    from scipy.integrate import odeint

    end: Array = odeint(
        leg.change, UNITS, [0.0, leg.minutes], tfirst=True, rtol=tolerance, atol=tolerance / 10, mxstep=50000
    )[-1]
    return end


def _cvode(tolerance: float, leg: Leg) -> Array:
    from sksundae.cvode import CVODE

    def change(t: float, state: Array, slope: Array) -> None:
        slope[:] = leg.change(t, state)

    solver = CVODE(change, rtol=tolerance, atol=tolerance / 10, max_num_steps=50000)
    end: Array = np.asarray(solver.solve(np.array([0.0, leg.minutes]), UNITS).y)[-1]
    return end


def _off(found: list[float], true: list[float]) -> float:
    return max(abs(a / b - 1) for a, b in zip(found, true, strict=True))


def _fastest(ways: dict[str, Ends], true: list[float], within: float, turns: int) -> tuple[str, float, float]:
    """Name, milliseconds and distance of the fastest way that comes near enough."""
    best: tuple[str, float, float] | None = None
    for name, ends in ways.items():
        off = _off(_by_solver(ends), true)
        if off > within:
            continue
        spent = middle([took_ms(partial(_by_solver, ends)) for _ in range(turns)])
        if best is None or spent < best[1]:
            best = (name, spent, off)
    if best is None:
        raise RuntimeError(f"no general solver came within {within:g}")
    return best


def _week() -> tuple[Body, tuple[Treatment, ...]]:
    body = Body(Pools((1 / 3, 2 / 3), (Link(0, 1, FLOW),)), LITRES, GENERATION, gain_l_min=GAIN)
    return body, tuple(Treatment(start, (Part(NIGHT_MIN, CLEARANCE),)) for start in STARTS_MIN)


def _each_ms(work: Callable[[], object], count: int, turns: int) -> float:
    def batch() -> None:
        for _ in range(count):
            work()

    return min(took_ms(batch) for _ in range(turns)) / count


def _solvers(small: bool, ours_ms: float, ours: list[float]) -> list[Row]:
    true = _by_solver(partial(_scipy, "DOP853", 1e-13))
    ladder = (1e-10,) if small else (1e-8, 1e-9, 1e-10, 1e-11, 1e-12)
    ways: dict[str, Ends] = {}
    older: dict[str, Ends] = {}
    for tolerance in ladder:
        for method in ("DOP853",) if small else ("DOP853", "LSODA", "RK45", "Radau", "BDF"):
            if tolerance >= 1e-11 or method in ("DOP853", "LSODA"):
                ways[f"{method} at {tolerance:g}"] = partial(_scipy, method, tolerance)
        older[f"odeint at {tolerance:g}"] = partial(_odeint, tolerance)
    cvodes: dict[str, Ends] = {f"CVODE at {x:g}": partial(_cvode, x) for x in ladder}
    accuracy = f"ours {_off(ours, true):.0e} from DOP853 at 1e-13"
    rows = []
    for label, some, times in (
        ("odeint", older, ODEINT_TIMES),
        ("solve_ivp", ways, IVP_TIMES),
        ("cvode", cvodes, CVODE_TIMES),
    ):
        name, spent, off = _fastest(some, true, WITHIN, 1 if small else 3)
        mine, theirs = 1000 / ours_ms, 1000 / spent
        note = f"{1000 * ours_ms:.1f} us beside {spent:.2f} ms by {name}, which is {off:.0e} off; {accuracy}"
        goal = f"over {times:g} times as many"
        rows.append(row(f"pools.week.{label}", mine, theirs, goal, mine > times * theirs, note, "/s"))
    return rows


def _family(count: int) -> tuple[ManyBodies, list[ManyTreatment]]:
    dice = np.random.default_rng(5)
    bodies = ManyBodies(
        (1 / 3, 2 / 3),
        (ManyLink(0, 1, dice.uniform(0.3, 0.9, count)),),
        dice.uniform(25, 55, count),
        dice.uniform(0.1, 0.4, count),
        dice.uniform(0, 0.004, count),
        dice.uniform(0, 1.5, count) / 1440,
    )
    minutes, clearance = dice.uniform(300, 560, count), dice.uniform(0.1, 0.3, count)
    return bodies, [ManyTreatment(start, minutes, clearance) for start in STARTS_MIN]


def _number(x: float | Array, i: int) -> float:
    return float(np.asarray(x)[i])


def _many(small: bool, one_ms: float, scipy: float) -> list[Row]:
    count = 2_000 if small else 50_000
    bodies, nights = _family(count)
    spent = min(took_ms(lambda: settled_many(bodies, nights, WEEK_MIN)) for _ in range(1 if small else 5))
    found, worst = settled_many(bodies, nights, WEEK_MIN).before, 0.0
    for i in range(0, count, count // 20):
        body = Body(
            Pools((1 / 3, 2 / 3), (Link(0, 1, _number(bodies.links[0].flow_l_min, i)),)),
            _number(bodies.volume_l, i),
            _number(bodies.generation_per_min, i),
            _number(bodies.residual_l_min, i),
            gain_l_min=_number(bodies.gain_l_min, i),
        )
        part = Part(_number(nights[0].minutes, i), _number(nights[0].clearance_l_min, i))
        week = tuple(Treatment(start, (part,)) for start in STARTS_MIN)
        worst = max(worst, _off(list(settled_before(body, week, WEEK_MIN)), [float(x) for x in found[:, i]]))
    rate = count / spent * 1000
    note = f"{count:,} weeks of four nights, two pools, one core; beside one by one; {worst:.0e} apart from one by one"
    goal = f"over {MANY_A_SECOND:,.0f} /s"
    beside = f"over {MANY_TIMES:g} times as many"
    return [
        row("pools.many", rate, 1000 / one_ms, goal, rate > MANY_A_SECOND, note, "/s"),
        row(
            "pools.many.scipy",
            rate,
            scipy,
            beside,
            rate > MANY_TIMES * scipy,
            "beside the fastest solver of the rows above",
            "/s",
        ),
    ]


def _chain(weeks: int) -> tuple[Treatment, ...]:
    """Weeks in which no leg is the equal of another."""
    return tuple(
        Treatment(start + week * WEEK_MIN + number, (Part(NIGHT_MIN - week - 9 * number, CLEARANCE),))
        for week in range(weeks)
        for number, start in enumerate(STARTS_MIN)
    )


def _linear(small: bool) -> Row:
    body, _ = _week()
    times = []
    for weeks in (1, 8):
        work = partial(settled_before, body, _chain(weeks), weeks * WEEK_MIN)
        times.append(1000 * _each_ms(work, 3 if small else 200, 1 if small else 5) / (8 * weeks))
    few, many = times
    note = "microseconds a leg in a chain of 64 legs, none equal, beside one of 8"
    goal = f"at most {LEG_TIMES:g} times as much"
    return row("pools.leg", many, few, goal, many <= LEG_TIMES * few, note, "us")


def _memory(small: bool) -> Row:
    count = 2_000 if small else MEMORY_COUNT
    tracemalloc.start()
    bodies, nights = _family(count)
    held = tracemalloc.get_traced_memory()[0] / 1e6
    settled_many(bodies, nights, WEEK_MIN, means=True)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    note = f"most memory held by {count:,} schedules with their time means, beside what describes them"
    return row("pools.memory", peak, held, f"under {MEMORY_MB:g} MB", peak < MEMORY_MB, note, "MB")


def run(small: bool) -> list[Row]:
    """Seven rows: a week beside SciPy and CVODE, many weeks, the cost of a leg, and memory."""
    body, week = _week()
    work = partial(settled_before, body, week, WEEK_MIN)
    ours_ms = _each_ms(work, 5 if small else 500, 1 if small else 9)
    rows = _solvers(small, ours_ms, list(work()))
    return [*rows, *_many(small, ours_ms, max(one.other for one in rows)), _linear(small), _memory(small)]
