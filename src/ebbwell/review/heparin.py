"""Heparin and clotting over past nights, and the relative-effect curve of one: for looking back, never for a bedside.

The import contract "no bedside page shows the heparin curve" keeps this module out of the pages of tonight.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import DomainError
from ebbwell.science.heparin import heparin_run_time, heparin_total, units_per_kg
from ebbwell.science.review_heparin import CurvePoint, Given, relative_effect
from ebbwell.state.night_fluid import decimal_of
from ebbwell.state.night_thinner import FIRST_DOSE, NightThinner, score_of
from ebbwell.state.own_past import NightSummary

STEP = Decimal("0.25")
"""Hours between two points of the curve. Own choice."""

CLOTS = "clot"
"""What an event that tells of clots has in its words."""

SITES = ("arterial", "venous")


@dataclass(frozen=True, slots=True)
class ThinnerNight:
    """One night; None or "" for what isn't known.

    kind: ``heparin``, ``low_molecular``, ``none``. first: units of the first dose as written down. pumped: units that
    the pump gave by the plan until stop or coming off; total: both; None where a vial was read as another strength, for
    then nobody knows. stop_at: when the pump was to stop. pump_ml: the
    last reading of the pump. ordered: the low molecular dose in the unit's words; medicines: what was written down as
    given, in words. looks: as picked at coming off. clots: events that speak of clots. bleeding: minutes by site.
    per_kg: total for each kg of the target weight [units/kg]. score: how dialyser and drip chamber looked, 0 clean to
    3 clotted, and the id of who said so.
    """

    treatment: str
    night: str
    at: datetime
    kind: str
    first: Decimal | None
    pumped: Decimal | None
    total: Decimal | None
    stop_at: datetime | None
    pump_ml: Decimal | None
    ordered: str
    medicines: tuple[tuple[str, str, str], ...]
    looks: Mapping[str, str]
    clots: tuple[str, ...]
    clotted_sets: int
    bleeding: Mapping[str, Decimal]
    given: tuple[Given, ...]
    hours: Decimal | None
    per_kg: Decimal | None = None
    score: tuple[int, str] | None = None


def thinner_nights(newest_first: Iterable[NightSummary]) -> tuple[ThinnerNight, ...]:
    """The nights on which blood ran through the gate, in the order given; others have no order to hold beside."""
    return tuple(
        _night(one, one.first_blood)
        for one in newest_first
        if one.first_blood is not None and one.thinner.shown.get("anticoagulant")
    )


def _night(one: NightSummary, start: datetime) -> ThinnerNight:
    thinner = one.thinner
    kind = thinner.shown["anticoagulant"]
    rate, first = _number(thinner, "heparin_rate"), _first_dose(thinner)
    pieces = _pieces(one, start) if kind == "heparin" else None
    pumped = total = None
    if thinner.other_vials:
        rate = None
    if pieces is not None and rate is not None:
        run = sum((until - begin for begin, until in pieces), Decimal(0))
        pumped = heparin_total(first_dose_units=Decimal(0), rate_units_h=rate, run_time_h=run)
        total = None if first is None else pumped + first.units
    readings = [decimal_of(values.get("heparin_given", "")) for _, values in one.rows]
    end = None if one.pump_stopped is None else _hours(elapsed(start, one.pump_stopped))
    given = [] if first is None else [first]
    if pieces is not None and rate is not None:
        given += [Given(rate * (until - begin), begin, until) for begin, until in pieces if until > begin]
    return ThinnerNight(
        treatment=one.treatment,
        night=one.night,
        at=start,
        kind=kind,
        first=None if first is None else first.units,
        pumped=pumped,
        total=total,
        stop_at=None if not pieces else start + timedelta(hours=float(pieces[-1][1])),
        pump_ml=next((value for value in reversed(readings) if value is not None), None),
        ordered=thinner.shown.get("low_molecular_dose", ""),
        medicines=tuple(
            (what, amount, unit) for _, what, amount, unit in thinner.given if what != FIRST_DOSE
        ),
        looks=thinner.looks,
        clots=tuple(what for what in thinner.events if CLOTS in what.lower()),
        clotted_sets=thinner.clotted_sets,
        bleeding={
            site: minutes
            for site in SITES
            if (minutes := decimal_of(one.values.get(f"bleeding_minutes@{site}", ""))) is not None
        },
        given=tuple(given) if first is not None and pieces and rate is not None else (),
        hours=end,
        per_kg=None if total is None else _per_kg(total, _number(thinner, "target_weight")),
        score=score_of(thinner.scores),
    )


def _per_kg(units: Decimal, weight: Decimal | None) -> Decimal | None:
    """For each kg of the target weight, as on the plan; None without one, or outside of what the sum takes."""
    if weight is None:
        return None
    try:
        return units_per_kg(dose_units=units, weight_kg=weight)
    except DomainError:
        return None


def _first_dose(thinner: NightThinner) -> Given | None:
    """The one first dose that was written down in units; None for none, and for two."""
    found = [
        (Decimal(minutes) / 60, amount)
        for minutes, what, text, unit in thinner.given
        if what == FIRST_DOSE and unit == "units" and (amount := decimal_of(text)) is not None
    ]
    return Given(found[0][1], found[0][0], found[0][0]) if len(found) == 1 else None


def _pieces(one: NightSummary, start: datetime) -> list[tuple[Decimal, Decimal]] | None:
    """When the pump ran by the plan, in hours after first blood: until its stop or coming off, less the time off."""
    minutes, before_end = (
        _number(one.thinner, line) for line in ("treatment_minutes", "heparin_stop_before_end")
    )
    if one.pump_stopped is None or minutes is None or before_end is None:
        return None
    try:
        left = heparin_run_time(treatment_min=minutes, stop_before_end_min=before_end)
    except DomainError:
        return None
    end, at = _hours(elapsed(start, one.pump_stopped)), Decimal(0)
    pieces: list[tuple[Decimal, Decimal]] = []
    for out, back in (*one.thinner.off, (None, None)):
        until = end if out is None else min(Decimal(out) / 60, end)
        until = min(until, at + left)
        if until > at:
            pieces.append((at, until))
            left -= until - at
        at = end if back is None else Decimal(back) / 60
    return pieces


def curve(one: ThinnerNight) -> tuple[CurvePoint, ...]:
    """The relative-effect curve of a night, from first blood to coming off; () where the sum lacks a part.

    Ends with the treatment: nothing here says when a needle may come out. Source: fluids:A2, fluids:A5, fluids 3.2.
    """
    if not one.given or one.hours is None or one.hours <= 0:
        return ()
    hours = [STEP * n for n in range(int(one.hours / STEP) + 1)]
    try:
        return relative_effect(one.given, hours)
    except DomainError:
        return ()


def _hours(length: timedelta) -> Decimal:
    return Decimal(round(length.total_seconds() / 60)) / 60


def _number(thinner: NightThinner, line: str) -> Decimal | None:
    """The number that a line begins with; None for none."""
    return decimal_of(thinner.shown.get(line, "").split(" ")[0])
