"""One person's own numbers from monthly bloods: generation, water and clearance, with bands, or plainly that they can't.

A pair of bloods, before and after one treatment of a settled pattern, holds two figures; generation, water volume and
clearance are three. What settles the third is a figure from outside, with its own doubt: the clearance worked out from
the dialyser and the flows, and a usual share of water in the body. Both go in as what is known beforehand (log-normal),
bloods pull on them, and the bands carry whatever doubt is left. The ratio of clearance to water, and all doses made of
it, lean on the bloods; the two by themselves lean on what was put in, and ``leans`` says how much.

Concentrations scale with generation, so that each month's generation comes in closed form and only two numbers are
searched for: the share of water in the body and the clearance over its worked-out figure. All of it rests on the
two-pool model of ``pools`` and on a pattern that was kept; untested on any one person.
Source: kinetics A8 (unknowns and what an error in K does), C (model); the estimate itself is weighted least squares.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, isfinite, log, sqrt
from typing import NamedTuple

from ebbwell.core.errors import DomainError
from ebbwell.science.bands import CERTAIN, NINE_IN_TEN, Band, Spread
from ebbwell.science.pools import Leg, Link, Pools, after
from ebbwell.science.schedule import WEEK_MIN, Body, Ends, Part, Treatment, settled_ends
from ebbwell.science.solutes import UREA

OUTER_SHARE = UREA.figures["outer_share"].value
"""Share of the water that blood sees. Source: kinetics:0 (Vartia thesis)."""
BETWEEN_PER_MIN = UREA.figures["between_per_min"].value
"""Flow between the pools over the water [1/min]. Source: kinetics:0 (Vartia thesis)."""
USUAL_WATER = 0.58
"""Litres of water in a kilogram of body, before any blood has said so. Source: common practice (kinetics A4)."""
WATER_DOUBT = 0.10
"""Log standard deviation of that share. Source: common practice, no source."""
CLEARANCE_DOUBT = 0.10
"""Log standard deviation of a clearance worked out from dialyser and flows. Source: common practice, no source."""
LAB_DOUBT = 0.03
"""Log standard deviation of one urea figure, laboratory and sampling together. Source: common practice, no source."""
CLOSE = 1e-4
"""How near the end of a profile is looked for, in standard deviations. Source: arithmetic."""
ODD_AT = 3.0
"""Standard deviations off the other months at which a pair is called odd. Source: common practice, no source."""
LEANS_AT = 0.8
"""Share of the doubt put in that is left, from which a figure is said to lean on what was put in. Source: design."""
AT_ONCE = 8
"""Sums from which arrays are quicker than one after the other. Source: measured."""
DIFFERENCE = 1e-4
"""Step of the logarithms for slopes. Source: arithmetic."""
STEPS, PROFILE_STEPS, HELD_STEPS = 60, 8, 4
"""Where a search gives up: for the best place, for an end of the profile, with the water held. Source: arithmetic."""
DAMPING = 1e-3
"""What the first step is damped by, as a share. Source: arithmetic."""
SMALL, HELD_SMALL, GAINED = 1e-7, 1e-6, 1e-12
"""What a last step moves the logarithms by, also with the water held, and lowers the cost by. Source: arithmetic."""


class MonthBloods(NamedTuple):
    """A pair of urea figures and the pattern they stand in.

    before, post: in water, mmol/L, above 0. drawn_after_min [min]: how long after the end the second was drawn, 0 for
    one at the end with the flow slowed, below 0 for one while dialysis ran. weight_kg: after treatment. clearance_l_min
    [L/min]: of water, worked out from dialyser and flows. residual_l_min [L/min]. gain_l_min [L/min] between
    treatments. starts_min, minutes: of the treatments in the cycle; which: number of the one measured, from 0.
    """

    before: float
    post: float
    weight_kg: float
    clearance_l_min: float
    gain_l_min: float
    starts_min: tuple[float, ...]
    minutes: float
    cycle_min: float
    which: int
    residual_l_min: float = 0.0
    drawn_after_min: float = 0.0

    @property
    def a_week(self) -> float:
        """Treatments in seven days."""
        return len(self.starts_min) * WEEK_MIN / self.cycle_min

    def without_bloods(self) -> MonthBloods:
        """The same month with figures that say nothing: months of one weight, dialyser and pattern become equal."""
        return self._replace(before=1.0, post=0.5)


@dataclass(frozen=True, slots=True)
class Known:
    """What is known beforehand: middle of the water share and doubts, as log standard deviations above 0."""

    water_share: float = USUAL_WATER
    water_doubt: float = WATER_DOUBT
    clearance_doubt: float = CLEARANCE_DOUBT
    lab_doubt: float = LAB_DOUBT

    @property
    def ratio_doubt(self) -> float:
        """Of after over before: both figures' errors, which have nothing to do with each other."""
        return self.lab_doubt * sqrt(2)

    @property
    def level_variance(self) -> float:
        """Variance of the middle of both logs, which tells how much urea is made."""
        return self.lab_doubt**2 / 2


KNOWN = Known()


class Split(NamedTuple):
    """How the model parts the water: share that blood sees, and flow between the pools over the water [1/min]."""

    outer_share: float = OUTER_SHARE
    between_per_min: float = BETWEEN_PER_MIN


SPLIT = Split()

Place = tuple[float, float]
"""Logs of water share and clearance."""


@dataclass(frozen=True, slots=True)
class Fit:
    """What the bloods and what was put in say together.

    water_share [L/kg]; clearance_over: true clearance over the worked-out one; generation [mmol/min], one a month;
    standard: weekly stdKt/V of each month's pattern. water_profile [L/kg]: the band by profile likelihood. odd: months
    whose pair doesn't sit with the others. leans: figures whose doubt is mostly what was put in. residuals: of each
    month's log ratio, in standard deviations. spread: of the logs of water share and clearance, which doubt each other.
    """

    water_share: Band
    clearance_over: Band
    generation: tuple[Band, ...]
    standard: tuple[Band, ...]
    water_profile: Band
    odd: tuple[int, ...]
    leans: tuple[str, ...]
    residuals: tuple[float, ...]
    spread: Spread = CERTAIN


def urea_body(month: MonthBloods, water_share: float, split: Split = SPLIT) -> Body:
    """The two-pool body of a month with generation 1 mmol/min. Source: kinetics C."""
    volume = water_share * month.weight_kg
    outer, between = split
    pools = Pools((outer, 1 - outer), (Link(0, 1, between * volume),))
    return Body(pools, volume, 1.0, month.residual_l_min, (0.0, 0.0), month.gain_l_min)


class Expected(NamedTuple):
    """Figures for generation 1 mmol/min: log concentrations of the pair, and the log of weekly stdKt/V."""

    before: float
    post: float
    standard: float


def expected(month: MonthBloods, water_share: float, clearance_over: float, split: Split = SPLIT) -> Expected:
    """What the model says of a month. Raises DomainError for a month that can't be. Source: kinetics A2, C."""
    body = urea_body(month, water_share, split)
    part = Part(month.minutes, month.clearance_l_min * clearance_over)
    sessions = settled_ends(body, [Treatment(start, (part,)) for start in month.starts_min], month.cycle_min)
    ends = sessions[month.which]
    if month.drawn_after_min > 0:
        post = _drawn_later(body, ends, month.drawn_after_min)
    elif month.drawn_after_min < 0:
        post = _drawn_earlier(body, month, part.clearance_l_min, sessions)
    else:
        post = body.water.concentrations(ends.masses, ends.volume_l)[0]
    mean_before = sum(one.before for one in sessions) / len(sessions)
    return Expected(log(ends.before), log(post), log(WEEK_MIN / (mean_before * body.volume_l)))


def fit(months: Sequence[MonthBloods], known: Known = KNOWN) -> Fit:
    """The most likely numbers and their bands.

    months: one or more; known: what is put in. Raises DomainError for a pair that can't be (not above 0, after not below
    before), and for a pattern the pools can't keep. Source: module text.
    """
    check_months(months, known)
    search = _Search(tuple(months), known)
    water, over = search.best()
    return search.told(water, over)


def check_months(months: Sequence[MonthBloods], known: Known) -> None:
    """Raises DomainError where a fit of these months can't be, as ``fit`` says."""
    for number, month in enumerate(months, 1):
        _check(month, number)
    if not months:
        raise DomainError("science.no_bloods")
    if not all(
        isfinite(x) and x > 0
        for x in (known.water_share, known.water_doubt, known.clearance_doubt, known.lab_doubt)
    ):
        raise DomainError("science.leg_not_above_zero")


def generation_of(month: MonthBloods, told: Expected) -> float:
    """The urea made [mmol/min] that the pair of a month speaks for, given the model's figures. Source: module text."""
    return exp(log_generation(month, told))


def log_generation(month: MonthBloods, told: Expected) -> float:
    """The log of ``generation_of``: both figures of the pair count alike. Source: module text."""
    return (log(month.before) - told.before + log(month.post) - told.post) / 2


def _drawn_later(body: Body, ends: Ends, minutes: float) -> float:
    """The first pool so long after a treatment, while the pools even out."""
    leg = Leg(minutes, ends.volume_l, body.gain_l_min, (body.residual_l_min, 0.0))
    masses = after(body.water.over(leg), ends.masses, (body.generation_per_min, 0.0))
    return body.water.concentrations(masses, leg.volume_end_l)[0]


def _drawn_earlier(body: Body, month: MonthBloods, cleared_l_min: float, sessions: Sequence[Ends]) -> float:
    """The first pool while the measured treatment still runs."""
    last, ends = sessions[month.which - 1], sessions[month.which]
    starts = (month.starts_min[-1] - month.cycle_min, *month.starts_min)
    gap = starts[month.which + 1] - starts[month.which] - month.minutes
    came_in = (body.generation_per_min, 0.0)
    rest = Leg(gap, last.volume_l, body.gain_l_min, (body.residual_l_min, 0.0))
    masses = after(body.water.over(rest), last.masses, came_in)
    rate = (ends.volume_l - rest.volume_end_l) / month.minutes
    ran = month.minutes + month.drawn_after_min
    leg = Leg(ran, rest.volume_end_l, rate, (cleared_l_min + body.residual_l_min, 0.0))
    masses = after(body.water.over(leg), masses, came_in)
    return body.water.concentrations(masses, leg.volume_end_l)[0]


def _check(month: MonthBloods, number: int) -> None:
    ran = month.minutes + month.drawn_after_min
    above = (month.before, month.post, month.weight_kg, month.clearance_l_min, month.minutes, month.cycle_min)
    if not all(isfinite(value) and value > 0 for value in (*above, ran)):
        raise DomainError("science.bloods_not_above_zero", number=number)
    if month.post >= month.before:
        raise DomainError("science.bloods_not_falling", number=number)
    if not 0 <= month.which < len(month.starts_min):
        raise DomainError("science.no_treatments")


class _Search:
    """Two numbers, as logarithms: water share and clearance over the worked-out one."""

    def __init__(self, months: tuple[MonthBloods, ...], known: Known) -> None:
        self.months, self.known = months, known
        self.seen: dict[tuple[int, float, float], Expected] = {}
        alike: dict[MonthBloods, int] = {}
        self.like = [alike.setdefault(one.without_bloods(), i) for i, one in enumerate(months)]
        self.kinds = sorted(set(self.like))
        self.ratio_doubt = known.ratio_doubt

    def look(self, *places: Place) -> None:
        """Work several places out at once, for all months that differ, where one by one would take longer."""
        fresh = [one for one in dict.fromkeys(places) if any((n, *one) not in self.seen for n in self.kinds)]
        if len(fresh) * len(self.kinds) < AT_ONCE:
            return
        from ebbwell.science.fit_many import expected_many

        numbers = [(exp(water), exp(over), *SPLIT) for water, over in fresh]
        told = expected_many([self.months[n] for n in self.kinds], numbers)
        for number, row in zip(self.kinds, told, strict=True):
            self.seen.update(((number, *place), one) for place, one in zip(fresh, row, strict=True))

    def at(self, number: int, water: float, over: float) -> Expected:
        """Months of one pattern and weight share one sum."""
        key = (self.like[number], water, over)
        if key not in self.seen:
            self.seen[key] = expected(self.months[key[0]], exp(water), exp(over))
        return self.seen[key]

    def residuals(self, water: float, over: float) -> list[float]:
        """Of the log ratios, in standard deviations, then of the two numbers put in."""
        found = []
        for number, month in enumerate(self.months):
            told = self.at(number, water, over)
            found.append((log(month.post / month.before) - (told.post - told.before)) / self.ratio_doubt)
        found.append((water - log(self.known.water_share)) / self.known.water_doubt)
        found.append(over / self.known.clearance_doubt)
        return found

    def slopes(self, water: float, over: float) -> list[tuple[float, float]]:
        """Derivatives of the residuals by both numbers, from both sides."""
        h = DIFFERENCE
        self.look((water, over), (water + h, over), (water - h, over), (water, over + h), (water, over - h))
        by_water = zip(self.residuals(water + h, over), self.residuals(water - h, over), strict=True)
        by_over = zip(self.residuals(water, over + h), self.residuals(water, over - h), strict=True)
        return [
            ((a - b) / (2 * h), (c - d) / (2 * h)) for (a, b), (c, d) in zip(by_water, by_over, strict=True)
        ]

    def best(self) -> tuple[float, float]:
        """Damped Gauss and Newton steps from what was put in, until a step is below the last digits that matter."""
        water, over, damping = log(self.known.water_share), 0.0, DAMPING
        cost = _squares(self.residuals(water, over))
        for _ in range(STEPS):
            slopes, rows = self.slopes(water, over), self.residuals(water, over)
            a, b, c = _normal(slopes)
            u = -sum(r * s[0] for r, s in zip(rows, slopes, strict=True))
            v = -sum(r * s[1] for r, s in zip(rows, slopes, strict=True))
            a, c = a * (1 + damping), c * (1 + damping)
            det = a * c - b * b
            step = ((c * u - b * v) / det, (a * v - b * u) / det)
            self.look((water + step[0], over + step[1]))
            trial = _squares(self.residuals(water + step[0], over + step[1]))
            if trial <= cost:
                water, over, damping = water + step[0], over + step[1], damping / 10
                gained, cost = cost - trial, trial
                if abs(step[0]) + abs(step[1]) < SMALL or gained < GAINED:
                    break
            else:
                damping *= 10
        return water, over

    def told(self, water: float, over: float) -> Fit:
        """Bands by the slopes at the best place, and by profile for the water."""
        rows = self.residuals(water, over)
        spread = _spread(self.slopes(water, over))
        count = len(self.months)
        lab = self.known.level_variance
        generation, standard = [], []
        for number, month in enumerate(self.months):
            told = self.at(number, water, over)
            middle = log_generation(month, told)
            level = self._slope(number, water, over, lambda one: -(one.before + one.post) / 2)
            dose = self._slope(number, water, over, lambda one: one.standard)
            generation.append(Band.of_log(middle, lab + spread.carried(*level)))
            standard.append(Band.of_log(told.standard, spread.carried(*dose)))
        doubts = {
            "water_share": sqrt(spread.water) / self.known.water_doubt,
            "clearance_over": sqrt(spread.over) / self.known.clearance_doubt,
        }
        return Fit(
            Band.of_log(water, spread.water),
            Band.of_log(over, spread.over),
            tuple(generation),
            tuple(standard),
            self._profile(water, over, sqrt(spread.water)),
            tuple(i for i in range(count) if abs(rows[i]) > ODD_AT),
            tuple(name for name, left in doubts.items() if left > LEANS_AT),
            tuple(rows[:count]),
            spread,
        )

    def _slope(
        self, number: int, water: float, over: float, of: Callable[[Expected], float]
    ) -> tuple[float, float]:
        h = DIFFERENCE
        return (
            (of(self.at(number, water + h, over)) - of(self.at(number, water - h, over))) / (2 * h),
            (of(self.at(number, water, over + h)) - of(self.at(number, water, over - h))) / (2 * h),
        )

    def _profile(self, water: float, over: float, spread: float) -> Band:
        """Where the cost, the other number chosen anew each time, has risen by the square of the normal deviate."""
        lowest = self._least_over(water, over)[1]
        ends = []
        for side in (-1, 1):
            inner, short, outer, near = 0.0, -NINE_IN_TEN, NINE_IN_TEN * spread, over
            for _ in range(PROFILE_STEPS):
                near, cost = self._least_over(water + side * outer, near)
                away = sqrt(max(cost - lowest, 0.0)) - NINE_IN_TEN
                if abs(away) < CLOSE or away == short:
                    break
                inner, short, outer = outer, away, outer - away * (outer - inner) / (away - short)
            ends.append(exp(water + side * outer))
        return Band(ends[0], exp(water), ends[1])

    def _least_over(self, water: float, over: float) -> tuple[float, float]:
        """The lowest cost with the water held, and where."""
        h = DIFFERENCE
        for _ in range(HELD_STEPS):
            self.look((water, over), (water, over + h), (water, over - h))
            rows = self.residuals(water, over)
            up, down = self.residuals(water, over + h), self.residuals(water, over - h)
            slopes = [(x - y) / (2 * h) for x, y in zip(up, down, strict=True)]
            step = -sum(r * s for r, s in zip(rows, slopes, strict=True)) / _squares(slopes)
            over += step
            if abs(step) < HELD_SMALL:
                break
        self.look((water, over))
        return over, _squares(self.residuals(water, over))


def _squares(values: Sequence[float]) -> float:
    return sum(value * value for value in values)


def _normal(slopes: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    return (
        sum(s[0] * s[0] for s in slopes),
        sum(s[0] * s[1] for s in slopes),
        sum(s[1] * s[1] for s in slopes),
    )


def _spread(slopes: Sequence[tuple[float, float]]) -> Spread:
    """Covariance of the two numbers from the slopes of the residuals."""
    a, b, c = _normal(slopes)
    det = a * c - b * b
    return Spread(c / det, -b / det, a / det)
