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
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Given
from ebbwell.papers.night_now import night_clock, ordered_line, times_of
from ebbwell.papers.strength_apart import STRENGTH
from ebbwell.papers.words import span
from ebbwell.procedure.evidence import number_in
from ebbwell.procedure.heparin_facts import heparin_by, heparin_hours
from ebbwell.science import catalogue
from ebbwell.state.night import Phase
from ebbwell.state.night_thinner import FIRST_DOSE

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


def _other_vial(desk: Desk) -> str:
    """What is said where the vial was read as another strength than the ordered one: then no units are counted.

    Source: fluids:3.3, practice:H29 (a 5 or 25-fold error).
    """
    ordered = number_in(ordered_line(desk, STRENGTH))
    read = {
        Decimal(body.value)
        for fact in desk.treatment.at_slot("measured", STRENGTH, "")
        if isinstance(body := fact.body, Measured) and number_in(body.value) is not None
    }
    others = sorted(read - {ordered})
    if ordered is None or not others:
        return ""
    said = " / ".join(plain(one) for one in others)
    return thousands(say("heparin.now.other_vial", read=said, ordered=plain(ordered)))


def _sums(desk: Desk) -> list[str]:
    other = _other_vial(desk)
    if other:
        return [other]
    at = desk.now.at
    given, run = heparin_by(desk.treatment, at), heparin_hours(desk.treatment, at)
    rate = number_in(ordered_line(desk, "heparin_rate"))
    ml_h = number_in(ordered_line(desk, "heparin_rate_ml"))
    if given is None or run is None or rate is None or ml_h is None:
        return []
    gone, whole = run
    left = max(ml_h * whole - given, Decimal(0)).quantize(HUNDREDTH)
    counted = {"rate_units_h": rate, "run_time_h": min(gone, whole)}
    pumped = catalogue.work("heparin_total", {**counted, "first_dose_units": Decimal(0)})
    out = [say("heparin.now.given", ml=plain(given), units=_units(pumped.value), left=plain(left))]
    first = first_dose(desk)
    if first is None:
        return [*out, say("heparin.now.no_first")]
    total = catalogue.work("heparin_total", {**counted, "first_dose_units": first})
    return [*out, say("heparin.now.with_first", first=plain(first), total=_units(total.value))]


def _units(value: Decimal | None) -> str:
    return (
        say("outcome.missing") if value is None else thousands(f"{plain(value.quantize(Decimal(1)))} units")
    )
