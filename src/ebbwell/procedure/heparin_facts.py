"""What the heparin pump should have given by a moment of the night, by what was shown at connecting."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.journal.kinds.night import Connected
from ebbwell.procedure.evidence import number_in
from ebbwell.science.catalogue import work
from ebbwell.state.facts import Facts
from ebbwell.state.night import first_blood, paused_for
from ebbwell.state.night_thinner import vials_read


def heparin_by(treatment: Facts, at: datetime) -> Decimal | None:
    """What the heparin pump should have given by then, without the first dose [mL]; None before first blood, and
    where heparin is not the blood thinner or no plan was shown.

    Pump rate x hours that blood ran, up to the stop. Rate, hours and stop are those shown when the person was
    connected; while off for a while the pump is taken to stand still, as the blood pump does.
    Source: fluids:3.3.
    """
    run = heparin_hours(treatment, at)
    rate = _number(_shown(treatment), "heparin_rate_ml")
    if run is None or rate is None:
        return None
    gone, whole = run
    worked = work("heparin_given_expected", {"rate_ml_h": rate, "elapsed_h": gone, "run_time_h": whole})
    return None if worked.value is None else worked.value.quantize(Decimal("0.01"))


def heparin_hours(treatment: Facts, at: datetime) -> tuple[Decimal, Decimal] | None:
    """Hours that blood ran by then, and hours that the heparin pump is to run in all; None as ``heparin_by``."""
    shown, start = _shown(treatment), first_blood(treatment)
    kinds = {one.get("anticoagulant", "") for one in shown}
    minutes, before_end = (_number(shown, name) for name in ("treatment_minutes", "heparin_stop_before_end"))
    if kinds != {"heparin"} or start is None or minutes is None or before_end is None:
        return None
    ran = elapsed(start, max(at, start)) - paused_for(treatment, at)
    whole = work("heparin_run_time", {"treatment_min": minutes, "stop_before_end_min": before_end}).value
    return None if whole is None else (Decimal(round(ran.total_seconds())) / 3600, whole)


def vial_times(treatment: Facts, ordered: Decimal | None) -> Decimal | None:
    """How many times the ordered strength the vial holds that was read; 1 where it is the ordered one or none is on
    record, None where two readings stand. The pump gives mL, so it gives that many times the units.

    ordered: units/mL; None where none is ordered. Source: fluids:3.3 (a 5 or 25-fold error), practice:H29.
    """
    read = vials_read(treatment)
    if ordered is None or read <= {ordered}:
        return Decimal(1)
    if len(read) != 1:
        return None
    return work("strength_ratio", {"vial_units_ml": next(iter(read)), "prescribed_units_ml": ordered}).value


def _shown(treatment: Facts) -> list[Mapping[str, str]]:
    return [f.body.shown for f in treatment.of("connected") if isinstance(f.body, Connected)]


def _number(shown: list[Mapping[str, str]], name: str) -> Decimal | None:
    return next((n for one in shown if (n := number_in(one.get(name, ""))) is not None), None)
