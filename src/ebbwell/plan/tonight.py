"""Tonight's figures, each a worked value with the entries it rests on.

What fits and what remains: nothing shown goes beyond the prescribed hours or the unit's cap, nothing is
spread over other nights, and what isn't known stays not known. Source: practice hazards H26 and H61 (fluids
4).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from ebbwell.core.numbers import without_noise
from ebbwell.core.quantity import Quantity
from ebbwell.core.units import convert
from ebbwell.core.worked import Input, Outcome, Worked
from ebbwell.plan.clock_times import after, local_text
from ebbwell.plan.inputs import PlanInputs, Word
from ebbwell.plan.method import Method
from ebbwell.plan.uneven import HIGHEST, uneven_lines
from ebbwell.plan.working import work_line
from ebbwell.science import catalogue

__all__ = ["PlanInputs", "TonightPlan", "Word", "plan_tonight"]


TENTH = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class TonightPlan:
    """lines: in the order of the night. facts: for the rulebook, by name; None is "not known".

    ``facts["removal_rate_per_kg"]`` is what all of the removal would ask for in the prescribed hours, so
    that a rule can hold it against the cap; the line of that name is for what fits. ``acid_margin`` and
    ``bicarbonate_margin`` are the hours by which a container outlasts the treatment (negative: it runs dry
    first). bounds: line to the most that the unit's cap lets it be, unrounded. finish_at, heparin_stop_at: UTC
    instants. rests_on: ids of the entries that went in.
    """

    lines: tuple[Worked, ...]
    facts: Mapping[str, Quantity | None]
    bounds: Mapping[str, Decimal]
    finish_at: datetime | None
    heparin_stop_at: datetime | None
    start_at: datetime | None
    zone: str
    rests_on: tuple[str, ...]

    def line(self, name: str) -> Worked | None:
        """The line of that name, if tonight has one."""
        return next((line for line in self.lines if line.name == name), None)

    def figures(self) -> dict[str, str]:
        """Name to text with unit, as shown; a line without a value gives the name of its outcome.

        ``finish_at`` and ``heparin_stop_at`` stand on the home's clock, with the offset when the clocks
        change.
        """
        texts = {line.name: _text(line, self.bounds.get(line.name)) for line in self.lines}
        for name, instant in (("finish_at", self.finish_at), ("heparin_stop_at", self.heparin_stop_at)):
            if instant is not None and self.start_at is not None:
                texts[name] = local_text(instant, self.zone, beside=self.start_at)
        return texts


EVERY_PART = Method()


def plan_tonight(inputs: PlanInputs, method: Method = EVERY_PART) -> TonightPlan:
    """Work tonight out. Pure: the same inputs give the same plan. method: how the fluid is come by.

    Raises UnitError for an Input whose unit measures something else, ValueError for a start without zone;
    anything about the values is an outcome of its line.
    """
    sums = _Sums()
    _fluid(sums, inputs)
    sums.add("blood_processed", blood_flow_ml_min=inputs.blood_flow, minutes_min=inputs.treatment_minutes)
    for part, add in (("heparin", _heparin), ("concentrates", _concentrates), ("water", _water)):
        if part in method.parts:
            add(sums, inputs)
    for line in method.lines:
        sums.add(line.name, **{name: _before(sums, one) for name, one in line.inputs.items()})
    finish, heparin_stop = _times(inputs)
    return TonightPlan(
        lines=tuple(sums.lines.values()),
        facts=sums.facts,
        bounds=_bounds(inputs),
        finish_at=finish,
        heparin_stop_at=heparin_stop,
        start_at=inputs.start_at,
        zone=inputs.zone,
        rests_on=tuple(sorted({*inputs.entries(), *method.entries()})),
    )


def _before(sums: _Sums, one: Input | str | None) -> Input | Worked | None:
    """An input of a line: as given, or the line before it of that name."""
    return sums.lines[one] if isinstance(one, str) else one


class _Sums:
    """The lines so far, each worked from inputs or from lines before it."""

    def __init__(self) -> None:
        self.lines: dict[str, Worked] = {}
        self.facts: dict[str, Quantity | None] = {}

    def work(self, name: str, **given: Input | Worked | None) -> Worked:
        """Work a line out without keeping it."""
        return work_line(name, **given)

    def add(self, name: str, **given: Input | Worked | None) -> Worked:
        """Work a line out and keep it, with the fact of the same name."""
        return self.keep(self.work(name, **given))

    def keep(self, line: Worked) -> Worked:
        """Keep a line that was worked out, with the fact of its name."""
        self.lines[line.name] = line
        self.facts[line.name] = _fact(line)
        return line

    def say(self, name: str, outcome: Outcome, why: str) -> None:
        """A line of words only."""
        self.lines[name] = Worked(name, None, "", (), "", "design", outcome, why)


def _fact(line: Worked) -> Quantity | None:
    if line.outcome is Outcome.NOTHING:
        return Quantity(Decimal(0), line.unit)
    return None if line.value is None else Quantity(without_noise(line.value), line.unit)


def _fluid(sums: _Sums, given: PlanInputs) -> None:
    prime = given.prime_given
    if given.connection is None:
        prime = None
    elif given.connection.value == "prime_to_drain":
        prime = Input("prime_given", Decimal(0), "L", given.connection.entry)
    goes_in = {
        "rinse_back_l": given.rinse_back,
        "prime_given_l": prime,
        "drink_l": given.drink,
        "saline_l": given.saline,
        "losses_l": given.losses,
    }
    hours, weight = given.treatment_minutes, given.target_weight
    sums.add(
        "weight_gain", weight_before_kg=given.weight_before, last_weight_after_kg=given.last_weight_after
    )
    sums.add(
        "weight_gain_share",
        weight_before_kg=given.weight_before,
        last_weight_after_kg=given.last_weight_after,
        target_weight_kg=weight,
    )
    volume = sums.add(
        "removal_volume", weight_before_kg=given.weight_before, target_weight_kg=weight, **goes_in
    )
    cap = sums.add("cap_volume", cap_ml_kg_h=given.removal_cap, target_weight_kg=weight, hours_h=hours)
    fits = sums.add("fits_tonight", removal_l=volume, cap_volume_l=cap)
    remains = sums.add("remains_after", removal_l=volume, cap_volume_l=cap)
    rate = sums.add("removal_rate", volume_l=fits, hours_h=hours)
    sums.add("removal_rate_per_kg", rate_ml_h=rate, weight_kg=weight)
    taken = fits
    if fits.outcome is Outcome.NOTHING:
        taken = replace(fits, value=Decimal(0), outcome=Outcome.OK)
    sums.add("weight_after_expected", weight_before_kg=given.weight_before, removed_l=taken, **goes_in)
    all_of_it = sums.work("removal_rate", volume_l=volume, hours_h=hours)
    sums.facts["removal_rate_per_kg"] = _fact(
        sums.work("removal_rate_per_kg", rate_ml_h=all_of_it, weight_kg=weight)
    )
    sums.facts["remains"] = _fact(remains)
    share = sums.work("removal_of_body_water", removal_l=volume, target_weight_kg=weight).value
    sums.facts["removal_of_body_water"] = None if share is None else Quantity(share.quantize(TENTH), "%")
    for line in uneven_lines(given, fits):
        sums.keep(line)


def _bounds(given: PlanInputs) -> dict[str, Decimal]:
    """What the unit's cap lets the rates be."""
    cap, weight = given.removal_cap, given.target_weight
    if cap is None or cap.value is None:
        return {}
    per_kg = convert(cap.value, cap.unit, "mL/kg/h")
    bounds = {"removal_rate_per_kg": per_kg}
    if uneven_lines(given, None):
        bounds[HIGHEST] = per_kg
    if weight is not None and weight.value is not None:
        bounds["removal_rate"] = per_kg * convert(weight.value, weight.unit, "kg")
    return bounds


def _heparin(sums: _Sums, given: PlanInputs) -> None:
    kind = given.anticoagulant
    if kind is not None and kind.value == "none":
        sums.say("heparin", Outcome.NOTHING, "plan.no_heparin")
        return
    if kind is not None and kind.value == "low_molecular":
        sums.say("heparin", Outcome.NOTHING, "plan.low_molecular")
        return
    if kind is None:
        sums.say("heparin", Outcome.MISSING, "plan.anticoagulant_unknown")
        given = PlanInputs(treatment_minutes=given.treatment_minutes, target_weight=given.target_weight)
    strength = given.heparin_strength
    dose, units_rate = given.heparin_first_dose, given.heparin_rate
    run = sums.add(
        "heparin_run_time",
        treatment_min=given.treatment_minutes,
        stop_before_end_min=given.heparin_stop_before_end,
    )
    first = sums.add("heparin_volume", dose_units=dose, strength_units_ml=strength)
    rate = sums.add("heparin_rate_ml", rate_units_h=units_rate, strength_units_ml=strength)
    sums.add("heparin_total", first_dose_units=dose, rate_units_h=units_rate, run_time_h=run)
    in_syringe: Input | Worked = first
    if not given.first_dose_from_syringe:
        in_syringe = Input("first_dose_ml", Decimal(0), "mL")
    sums.add(
        "syringe_fill",
        rate_ml_h=rate,
        run_time_h=run,
        first_dose_ml=in_syringe,
        dead_space_ml=given.heparin_dead_space,
    )
    sums.add("units_per_kg", dose_units=dose, weight_kg=given.target_weight)
    sums.add("units_per_kg_h", rate_units_h=units_rate, weight_kg=given.target_weight)


def _concentrates(sums: _Sums, given: PlanInputs) -> None:
    flow, minutes = given.dialysate_flow, given.treatment_minutes
    fluid = sums.add("fluid_volume", dialysate_flow_ml_min=flow, treatment_min=minutes)
    start_up = {} if given.acid_start_up is None else {"start_up_l": given.acid_start_up}
    acid = sums.add("acid_needed", fluid_l=fluid, acid_parts=given.acid_parts, **start_up)
    acid_lasts = sums.add(
        "acid_runs_dry_after",
        acid_l=given.acid_can,
        acid_parts=given.acid_parts,
        dialysate_flow_ml_min=flow,
        **start_up,
    )
    sums.facts["acid_margin"] = _margin(acid_lasts, minutes)
    form = given.bicarbonate_form
    if form is None:
        sums.say("bicarbonate", Outcome.MISSING, "plan.bicarbonate_form_unknown")
        sums.facts["bicarbonate_margin"] = None
    elif form.value == "liquid":
        share = given.bicarbonate_parts
        sums.add("bicarbonate_liquid_needed", acid_l=acid, bicarbonate_parts=share)
        lasts = sums.add(
            "bicarbonate_liquid_runs_dry_after",
            bicarbonate_l=given.bicarbonate_liquid,
            acid_parts=given.acid_parts,
            bicarbonate_parts=share,
            dialysate_flow_ml_min=flow,
            **start_up,
        )
        sums.facts["bicarbonate_margin"] = _margin(lasts, minutes)
    else:
        mixed = given.bicarbonate_mixed
        sums.add("bicarbonate_powder_needed", fluid_l=fluid, bicarbonate_mixed_mmol_l=mixed)
        usable = {} if given.bicarbonate_usable is None else {"usable_percent": given.bicarbonate_usable}
        lasts = sums.add(
            "bicarbonate_runs_dry_after",
            powder_g=given.bicarbonate_powder,
            bicarbonate_mixed_mmol_l=mixed,
            dialysate_flow_ml_min=flow,
            **usable,
        )
        sums.facts["bicarbonate_margin"] = _margin(lasts, minutes)


def _margin(lasts: Worked, minutes: Input | None) -> Quantity | None:
    if lasts.value is None or minutes is None or minutes.value is None:
        return None
    return Quantity(lasts.value - convert(minutes.value, minutes.unit, "h"), "h")


def _water(sums: _Sums, given: PlanInputs) -> None:
    sums.add(
        "rejection",
        feed_conductivity_us_cm=given.feed_conductivity,
        product_conductivity_us_cm=given.product_conductivity,
    )
    other = {} if given.other_water is None else {"other_use_l": given.other_water}
    product = sums.add(
        "product_needed",
        dialysate_flow_ml_min=given.dialysate_flow,
        treatment_min=given.treatment_minutes,
        **other,
    )
    if given.recovery is not None:
        sums.add("feed_needed", product_l=product, recovery_percent=given.recovery)


def _times(given: PlanInputs) -> tuple[datetime | None, datetime | None]:
    start, length = given.start_at, given.treatment_minutes
    if start is None or length is None or length.value is None:
        return None, None
    minutes = convert(length.value, length.unit, "min")
    finish = after(start, minutes)
    stop = given.heparin_stop_before_end
    kind = given.anticoagulant
    if kind is None or kind.value != "heparin" or stop is None or stop.value is None:
        return finish, None
    before_end = convert(stop.value, stop.unit, "min")
    return finish, None if before_end > minutes else after(start, minutes - before_end)


def _text(line: Worked, most: Decimal | None) -> str:
    return line.outcome.name.lower() if line.value is None else catalogue.shown(line, most)
