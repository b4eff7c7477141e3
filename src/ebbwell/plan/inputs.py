"""What tonight's plan is worked out from: prescription lines, measured values, containers and the start."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime

from ebbwell.core.worked import Input


@dataclass(frozen=True, slots=True)
class Word:
    """A prescription line that is a word. entry: id of the entry it came from."""

    value: str
    entry: str | None = None


@dataclass(frozen=True, slots=True)
class PlanInputs:
    """Every field may be None: not known. A volume that is none tonight is an Input of 0, never None.

    Prescription: as the lines of the same name. prime_given: asked only where the prime is given to the
    person. removal_way, isolated_litres, isolated_minutes, removal_profile: only where removal isn't to be even.
    first_dose_from_syringe: False where the first heparin dose is given from a syringe of its own.
    Measured or expected tonight: weights [kg]; drink, saline, losses [L]. Containers: acid_can [L];
    bicarbonate_powder [g]; bicarbonate_liquid [L], and bicarbonate_parts of it for each part of acid;
    acid_start_up [L], drawn before blood, and bicarbonate_usable [%]: left out they
    count as 0 L and 100 %, and the working shows it. Water: feed and product conductivity [uS/cm];
    other_water [L] and recovery [%], where the household keeps them. start_at: expected first blood, with
    its zone; zone: the home's, for display.
    """

    target_weight: Input | None = None
    treatment_minutes: Input | None = None
    removal_cap: Input | None = None
    blood_flow: Input | None = None
    dialysate_flow: Input | None = None
    rinse_back: Input | None = None
    removal_way: Word | None = None
    isolated_litres: Input | None = None
    isolated_minutes: Input | None = None
    removal_profile: Word | None = None
    connection: Word | None = None
    anticoagulant: Word | None = None
    heparin_strength: Input | None = None
    heparin_first_dose: Input | None = None
    heparin_rate: Input | None = None
    heparin_stop_before_end: Input | None = None
    heparin_dead_space: Input | None = None
    first_dose_from_syringe: bool = True
    acid_parts: Input | None = None
    bicarbonate_form: Word | None = None
    bicarbonate_mixed: Input | None = None
    bicarbonate_parts: Input | None = None
    weight_before: Input | None = None
    last_weight_after: Input | None = None
    prime_given: Input | None = None
    drink: Input | None = None
    saline: Input | None = None
    losses: Input | None = None
    acid_can: Input | None = None
    acid_start_up: Input | None = None
    bicarbonate_powder: Input | None = None
    bicarbonate_liquid: Input | None = None
    bicarbonate_usable: Input | None = None
    feed_conductivity: Input | None = None
    product_conductivity: Input | None = None
    other_water: Input | None = None
    recovery: Input | None = None
    start_at: datetime | None = None
    zone: str = "UTC"

    def entries(self) -> tuple[str, ...]:
        """Ids of the entries that the plan rests on, each once, sorted."""
        values = (getattr(self, field.name) for field in fields(self))
        return tuple(sorted({v.entry for v in values if isinstance(v, Input | Word) and v.entry}))
