"""Gathers from the record what sums about weeks rest on: pairs of bloods with their nights, leaflet, weights, gains.

Nothing here is a guess: what a sum lacks is a gap with its words, and a pair that can't be used stays in the list with
the reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from ebbwell.core.clock import Moment
from ebbwell.core.errors import EbbwellError
from ebbwell.core.when import day
from ebbwell.review.basis import DAY_MIN, Basis, Nights
from ebbwell.review.clearance import clearance_l_min, creatinine_clearance_l_min, koa_by_leaflet
from ebbwell.review.collected import (
    LAST_DAY,
    Collected,
    Levels,
    cleared_by,
    collected_urine,
    gap_before_min,
)
from ebbwell.review.kept_pattern import Kept
from ebbwell.review.levels import CREATININE, UREA, NewestLevel, newest_levels
from ebbwell.review.nights_ran import NightsRan, flows_of, ordered
from ebbwell.review.sound_fit import sound_fit
from ebbwell.science.dialyser import PLASMA_WATER
from ebbwell.science.fit import Fit, MonthBloods
from ebbwell.state.bloods import (
    BloodFigure,
    BloodView,
    apart,
    blood_results,
    body_held,
    dialyser_figures,
    minutes_after,
)
from ebbwell.state.facts import Facts, differ
from ebbwell.state.night_fluid import decimal_of
from ebbwell.state.own_past import NightSummary
from ebbwell.state.standing import Order

URINE_DAY, URINE_TAKEN_AS_DAY = "own.urine_day", "own.urine_taken_as_day"
"""The notes that urine counts as that of the last day before a treatment: as its entry says, or as it seems."""
ODD = "own.odd"
"""The gap of a pair that doesn't sit with the others."""
MONTHS = 12
"""Pairs that are looked at, the newest. Source: design."""
DIALYSER = "dialyser"
"""Line of the prescription that names it."""
BATH = ("potassium", "bicarbonate")
"""Lines of the prescription that say what the dialysis fluid holds."""
URINE_DAYS = 120
"""How old a collection of urine may be to count for a pair of bloods. Own choice."""


@dataclass(frozen=True, slots=True)
class Gap:
    """What a sum lacks: a wording key and what fills its words."""

    key: str
    params: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class OwnMonth:
    """One pair of bloods. night: of the treatment, as a date. bloods: as the model takes them; None with most ``gaps``.

    before, after: the results; urea_before, urea_after: their figures [mmol/L of plasma]. notes: what was taken for
    granted. creatinine_l_min: what the dialyser clears of it [L/min], None where its leaflet doesn't say.
    """

    treatment: str
    night: date
    before: BloodView
    after: BloodView
    urea_before: BloodFigure
    urea_after: BloodFigure
    bloods: MonthBloods | None
    gaps: tuple[Gap, ...] = ()
    notes: tuple[Gap, ...] = ()
    creatinine_l_min: float | None = None

    @property
    def entries(self) -> tuple[str, str]:
        """Ids of the two results."""
        return self.before.fact.id, self.after.fact.id


@dataclass(frozen=True, slots=True)
class OwnNumbers:
    """What the record holds for sums about weeks. basis: None while something is lacking, which ``gaps`` names.

    months: every pair, oldest first; used: places in it of those that ``basis`` rests on. levels: what it starts from,
    by substance.
    """

    basis: Basis | None
    gaps: tuple[Gap, ...]
    months: tuple[OwnMonth, ...]
    used: tuple[int, ...] = ()
    levels: Mapping[str, NewestLevel] = field(default_factory=dict)

    def carried(self, names: Iterable[str]) -> dict[str, date]:
        """Of some substances those whose level goes into sums about nights as they go now, with its night."""
        left_out = frozenset() if self.basis is None else self.basis.other_nights
        return {
            name: self.levels[name].night for name in names if name in self.levels and name not in left_out
        }


def own_numbers(
    standing: Facts, past: Mapping[str, NightSummary], order: Order | None, now: Moment
) -> OwnNumbers:
    """What the record says up to now.

    order: in force, for the dialyser and what the fluid holds, None for none; a pair goes by that of its own night.
    Rounds nothing, keeps nothing.
    Source: kinetics A5, A7, A8.
    """
    nights = NightsRan(past, now)
    koa, gaps = _koa(standing, "" if order is None else order.lines.get(DIALYSER, ""))
    months = []
    drawn = _pairs(blood_results(standing))
    collected = collected_urine(standing, _levels(nights, drawn))
    for treatment, before, after in _newest(nights, drawn):
        month = _month(standing, nights, collected, treatment, before, after, order)
        if month is not None:
            months.append(month)
    used = tuple(place for place, one in enumerate(months) if one.bloods is not None)
    if not used:
        gaps.append(Gap("own.no_pairs" if not months else "own.no_usable_pairs"))
    present = nights.present(order)
    if present is None:
        gaps.append(Gap("own.no_pattern"))
    gain, weight = nights.gain_l_day(), nights.weight_kg()
    if gain is None or weight is None:
        gaps.append(Gap("own.no_weights"))
    if gaps or present is None or gain is None or weight is None:
        return OwnNumbers(None, tuple(gaps), tuple(months), used)
    found, odd, why = _fitted(months, used)
    for place in odd:
        months[place] = replace(months[place], gaps=(Gap(ODD),))
    used = tuple(place for place in used if place not in odd)
    pairs = tuple(bloods for place in used if (bloods := months[place].bloods) is not None)
    if found is None:
        return OwnNumbers(None, (why,) if why else (), tuple(months), used)
    levels = newest_levels(standing, nights.past)
    held = body_held(standing)
    body = None if held is None else held[1]
    return OwnNumbers(
        Basis(
            months=pairs,
            fit=found,
            present=present,
            weight_kg=weight,
            gain_l_day=gain,
            koa_ml_min=koa,
            before={name: one.level for name, one in levels.items()},
            bath=_bath(order),
            residual_l_min=pairs[-1].residual_l_min,
            drawn_before={
                name: which
                for name, one in levels.items()
                if (which := present.nights.place_of(one.night)) is not None
            },
            other_nights=frozenset(
                name for name, one in levels.items() if nights.otherwise(one.night, present)
            ),
            height_cm=None if body is None else float(body.height_cm),
            age=None if body is None else float(now.at.year - int(body.born)),
            water_by="" if body is None else body.water_by,
        ),
        (),
        tuple(months),
        used,
        levels,
    )


def _fitted(
    months: Sequence[OwnMonth], used: Sequence[int]
) -> tuple[Fit | None, tuple[int, ...], Gap | None]:
    """The person's own numbers and the places of the odd months, or the plain reason why there are no numbers."""
    try:
        found = sound_fit([bloods for place in used if (bloods := months[place].bloods) is not None])
    except EbbwellError as why:
        params = ((name, str(value)) for name, value in why.params.items())
        return None, (), Gap("own.cant_say", (("why", why.key), *params))
    odd = tuple(used[number] for number in found.odd)
    return found.fit, odd, Gap(found.why, tuple(found.why_params.items())) if found.why else None


_Found = tuple[str, list[BloodView], list[BloodView]]
"""A treatment with every result of urea before it, and after."""


def _pairs(results: Sequence[BloodView]) -> list[_Found]:
    """Treatments with urea before and after: every result that names them, so that two of a kind are seen."""
    found: dict[str, dict[str, list[BloodView]]] = {}
    for view in results:
        if view.body.night and UREA in view.figures and view.body.drawn in ("before", "after"):
            found.setdefault(view.body.night, {}).setdefault(view.body.drawn, []).append(view)
    return [
        (night, held["before"], _nearest_the_end(held["after"]))
        for night, held in found.items()
        if "before" in held and "after" in held
    ]


def _nearest_the_end(afters: list[BloodView]) -> list[BloodView]:
    """Of samples of one night those drawn nearest to the end of dialysis; a later one says the same by another way."""
    least = min(abs(minutes_after(view.body)) for view in afters)
    return [view for view in afters if abs(minutes_after(view.body)) == least]


def _newest(nights: NightsRan, pairs: Sequence[_Found]) -> list[_Found]:
    """The newest ``MONTHS`` pairs of treatments that ran, oldest first."""
    known = [(day, pair) for pair in pairs if (day := nights.day_of(pair[0])) is not None]
    return [pair for _, pair in sorted(known, key=lambda one: one[0])[-MONTHS:]]


class _Then(NamedTuple):
    """What is on record of a treatment and of the weeks before it; None for what isn't.

    koa: substance to mass transfer of the dialyser [mL/min]. weight after [kg]; minutes of dialysis; flows of blood and
    dialysis fluid [mL/min]; kept: the pattern; gain of fluid [L/day].
    """

    koa: Mapping[str, float]
    weight: Decimal | None
    minutes: int | None
    flows: tuple[float, float] | None
    kept: Kept | None
    gain: float | None

    def gaps(self) -> list[Gap]:
        """What of it a sum would lack."""
        lacking = {
            "own.no_leaflet": UREA not in self.koa,
            "own.no_weight_after": self.weight is None,
            "own.no_minutes": not self.minutes,
            "own.no_flows": self.flows is None,
            "own.no_pattern_then": self.kept is None,
            "own.not_settled": self.kept is not None and bool(self.kept.off),
            "own.no_weights_then": self.gain is None,
        }
        return [Gap(key) for key, lacks in lacking.items() if lacks]


def _then(
    standing: Facts, nights: NightsRan, summary: NightSummary, night: date, order: Order | None
) -> _Then:
    return _Then(
        _koa(standing, ordered(DIALYSER, summary, order))[0],
        decimal_of(summary.values.get("weight_after", "")),
        summary.fluid.minutes,
        flows_of(summary, order),
        nights.kept(night),
        nights.gain_l_day(night),
    )


def _blood_gaps(befores: list[BloodView], afters: list[BloodView], minutes: int | None) -> list[Gap]:
    """What keeps two samples of a night out of the sums. minutes: of dialysis, None for not known."""
    ends = [[view.figures[UREA] for view in views] for views in (befores, afters)]
    first, second = ends[0][0], ends[1][0]
    kept_out = {
        "own.two_results": any(apart(figure, figures[0]) for figures in ends for figure in figures),
        "own.bound": not (first.exact and second.exact),
        "own.not_falling": second.value >= first.value,
        "own.drawn_before": bool(minutes) and minutes_after(afters[0].body) <= -Decimal(minutes or 0),
    }
    return [Gap(key) for key, out in kept_out.items() if out]


def _month(
    standing: Facts,
    nights: NightsRan,
    collected: Sequence[Collected],
    treatment: str,
    befores: list[BloodView],
    afters: list[BloodView],
    order: Order | None,
) -> OwnMonth | None:
    """A pair as the model takes it, or with what keeps it out; None for a treatment that isn't on record."""
    summary = nights.past.get(treatment)
    night = nights.day_of(treatment)
    if summary is None or night is None:
        return None
    before, after = befores[0], afters[0]
    first, second = before.figures[UREA], after.figures[UREA]
    then = _then(standing, nights, summary, night, order)
    gaps = (*_blood_gaps(befores, afters, then.minutes), *then.gaps())
    month = OwnMonth(treatment, night, before, after, first, second, None, gaps)
    koa, weight, minutes, flows, kept, gain = then
    if gaps or weight is None or not minutes or flows is None or kept is None or gain is None:
        return month
    pattern = Nights(kept.days, kept.cycle_days)
    which = pattern.place_of(night)
    if which is None:
        raise ValueError(f"{night} is kept, but on no day of its pattern")
    residual, notes = _own_kidneys(collected, night, pattern, float(minutes))
    bloods = MonthBloods(
        before=float(first.value / PLASMA_WATER),
        post=float(second.value / PLASMA_WATER),
        weight_kg=float(weight),
        clearance_l_min=clearance_l_min(koa[UREA], *flows),
        gain_l_min=gain / DAY_MIN,
        starts_min=pattern.starts_min(),
        minutes=float(minutes),
        cycle_min=kept.cycle_days * DAY_MIN,
        which=which,
        residual_l_min=residual,
        drawn_after_min=float(minutes_after(after.body)),
    )
    creatinine = creatinine_clearance_l_min(koa[CREATININE], *flows) if CREATININE in koa else None
    return replace(month, bloods=bloods, notes=notes, creatinine_l_min=creatinine)


def _levels(nights: NightsRan, pairs: Sequence[_Found]) -> list[Levels]:
    """Night of each pair with its urea before and after."""
    found = []
    for treatment, befores, afters in pairs:
        night, before, after = nights.day_of(treatment), befores[0].figures[UREA], afters[0].figures[UREA]
        falls = before.exact and after.exact and after.value < before.value
        if night is not None and falls:
            found.append(Levels(night, before.value, after.value))
    return found


def _own_kidneys(
    collected: Sequence[Collected], night: date, pattern: Nights, minutes: float
) -> tuple[float, tuple[Gap, ...]]:
    """What own kidneys clear of urea [L/min], by the collection nearest to a night; 0 and a note without one."""
    near = [one for one in collected if abs((one.ended - night).days) <= URINE_DAYS]
    if not near:
        return 0.0, (Gap("own.no_urine", (("days", str(URINE_DAYS)),)),)
    one = min(near, key=lambda one: abs((one.ended - night).days))
    try:
        cleared, rule = cleared_by(one, gap_before_min(one.levels.night, pattern) - minutes)
    except EbbwellError as why:
        params = tuple((name, str(value)) for name, value in why.params.items())
        return 0.0, (Gap("own.urine_cant_be", (*params, ("day", day(one.body.ended_on)), ("why", why.key))),)
    told = (("day", day(one.body.ended_on)), ("hours", one.body.hours))
    key = {LAST_DAY: URINE_DAY if one.body.taken else URINE_TAKEN_AS_DAY}.get(rule)
    return float(cleared * PLASMA_WATER) / 1000, (Gap(key, told),) if key else ()


def _koa(standing: Facts, name: str) -> tuple[dict[str, float], list[Gap]]:
    """Substance to mass transfer of the dialyser of that name, and what is lacking of it."""
    if not name:
        return {}, [Gap("own.no_dialyser")]
    held = dialyser_figures(standing, name)
    if not held:
        return {}, [Gap("own.no_leaflet_of", (("dialyser", name),))]
    if differ([fact for fact, _ in held]):
        return {}, [Gap("own.two_leaflets", (("dialyser", name),))]
    body = held[0][1]
    try:
        clearances = {name: Decimal(text) for name, text in body.clearances.items()}
        koa = koa_by_leaflet(
            clearances, Decimal(body.blood_flow), Decimal(body.fluid_flow), Decimal(body.removal)
        )
    except (EbbwellError, ArithmeticError):
        return {}, [Gap("own.leaflet_cant_be", (("dialyser", name),))]
    return koa, [] if UREA in koa else [Gap("own.leaflet_no_urea", (("dialyser", name),))]


def _bath(order: Order | None) -> dict[str, float]:
    lines = {} if order is None else order.lines
    return {name: float(value) for name in BATH if (value := decimal_of(lines.get(name, ""))) is not None}
