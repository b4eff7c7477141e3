"""Heparin of a running night by the plan: given so far, still to come, the stop clock. For every screen.

Arithmetic on what was ordered and shown at connecting. Nothing here says how much of it still works.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.thousands import thousands
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.night import Given
from ebbwell.papers.night_now import night_clock, ordered_line, times_of
from ebbwell.papers.words import span
from ebbwell.procedure.evidence import number_in
from ebbwell.procedure.heparin_facts import heparin_by, heparin_hours, vial_times
from ebbwell.science import catalogue
from ebbwell.state.night import Phase
from ebbwell.state.night_thinner import FIRST_DOSE, STRENGTH, vials_read

RUNS = (Phase.RUNNING, Phase.PAUSED, Phase.STOPPING)
HUNDREDTH = Decimal("0.01")
"""Two places of a millilitre, as on a syringe."""


def heparin_lines(desk: Desk) -> tuple[str, ...]:
    """The sentences, in their order; none without running blood or with another blood thinner, and none of hours while
    the clock is not trusted. Source: fluids:3.3 (given so far against the plan; the stop moves with the end).
    """
    times = times_of(desk)
    if times is None or desk.phase not in RUNS or times.trusted is False:
        return ()
    out = [*_sums(desk)]
    if times.heparin_off is not None:
        at, left = night_clock(desk, times.heparin_off), elapsed(desk.now.at, times.heparin_off)
        out.append(
            say("heparin.now.stops", at=at, left=span(left))
            if left.total_seconds() > 0
            else say("heparin.now.stopped", at=at, ago=span(-left))
        )
    return (*out, say("heparin.now.read")) if out else ()


def first_dose(desk: Desk) -> Decimal | None:
    """Units of the first dose as written down when given; None where nobody did, or two amounts stand."""
    amounts = {
        body.amount
        for fact in desk.treatment.of("given")
        if isinstance(body := fact.body, Given) and body.what == FIRST_DOSE and body.unit == "units"
    }
    return Decimal(amounts.pop()) if len(amounts) == 1 else None


def _other_vial(desk: Desk, ordered: Decimal | None, times: Decimal | None) -> list[str]:
    """What is said first where the vial was read as another strength than the ordered one.

    Source: fluids:3.3, practice:H29 (a 5 or 25-fold error).
    """
    if times == 1 or ordered is None:
        return []
    read = " / ".join(plain(one) for one in sorted(vials_read(desk.treatment)))
    key = "heparin.now.two_vials" if times is None else "heparin.now.other_vial"
    return [thousands(say(key, read=read, ordered=plain(ordered)))]


def _sums(desk: Desk) -> list[str]:
    strength = number_in(ordered_line(desk, STRENGTH))
    times = vial_times(desk.treatment, strength)
    other = _other_vial(desk, strength, times)
    at = desk.now.at
    given, run = heparin_by(desk.treatment, at), heparin_hours(desk.treatment, at)
    rate = number_in(ordered_line(desk, "heparin_rate"))
    ml_h = number_in(ordered_line(desk, "heparin_rate_ml"))
    if times is None or given is None or run is None or rate is None or ml_h is None:
        return other
    gone, whole = run
    left = max(ml_h * whole - given, Decimal(0)).quantize(HUNDREDTH)
    counted = {"rate_units_h": rate, "run_time_h": min(gone, whole)}
    pumped = catalogue.work("heparin_total", {**counted, "first_dose_units": Decimal(0)}).value
    units = _units(None if pumped is None else pumped * times)
    out = [*other, say("heparin.now.given", ml=plain(given), units=units, left=plain(left))]
    first = first_dose(desk)
    if first is None:
        out.append(say("heparin.now.no_first"))
        return [*out, say("heparin.now.tell_unit")] if other else out
    total = catalogue.work("heparin_total", {**counted, "first_dose_units": first}).value
    if not other:
        return [*out, say("heparin.now.with_first", first=plain(first), total=_units(total))]
    volume = catalogue.work("heparin_volume", {"dose_units": first, "strength_units_ml": strength}).value
    return [*out, _first_of_other(first, volume, total, times), say("heparin.now.tell_unit")]


def _first_of_other(first: Decimal, volume: Decimal | None, total: Decimal | None, times: Decimal) -> str:
    """The first dose from a vial of another strength. It was written down in units; what was drawn up were mL.

    Nothing here says how much was drawn up: what it was if it were the mL of the order, beside the sum by the order.
    """
    if volume is None or total is None:
        return say("heparin.now.first_not_counted", first=_units(first))
    return say(
        "heparin.now.first_of_other",
        first=_units(first),
        ml=plain(volume.quantize(HUNDREDTH).normalize() + 0),
        units=_units(first * times),
        total=_units(total * times),
        ordered=_units(total),
    )


def _units(value: Decimal | None) -> str:
    return (
        say("outcome.missing") if value is None else thousands(f"{plain(value.quantize(Decimal(1)))} units")
    )
