"""The facts that the rulebook judges by, gathered from a treatment: measured, ordered, and worked out from both.

Keys are ``quantity@place``; ``@prescribed`` is the order's line, ``@own`` the middle of this person's last nights,
``@last`` the night before. A key with None was asked for and isn't known; a key that is absent doesn't apply yet.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import lru_cache
from statistics import median
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment, elapsed, in_step
from ebbwell.core.numbers import plain
from ebbwell.core.quantity import Quantity
from ebbwell.core.worked import Input, Outcome
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.marks import Answer, Choice, LotUsed, Measured
from ebbwell.procedure.evidence import SETTING
from ebbwell.rulebook.evaluate import Fact as RuleFact
from ebbwell.rulebook.model import Rulebook
from ebbwell.rulebook.pressure_tables import load_pressure_tables
from ebbwell.science.catalogue import work
from ebbwell.state.alone import for_night
from ebbwell.state.chlorine_test import CONTROLLED_AT, QUANTITY, by_steps, control_coloured
from ebbwell.state.facts import Facts, differ
from ebbwell.state.labels import liquid_share
from ebbwell.state.membrane import NOT_SETTLED, PRESSURE, form_now, name_of
from ebbwell.state.night import first_blood
from ebbwell.state.night_fluid import decimal_of, last_reading, weight_after_expected
from ebbwell.state.night_thinner import HEPARIN, LOW, kinds_given
from ebbwell.state.own_past import NightSummary, latest, values_of
from ebbwell.state.standing import order, recalled

Found = dict[str, RuleFact]

JUDGED_CHOICES = {"machine_tests": ("machine_test_passed", "passed")}
"""Name of a choice that a rule judges: the fact's key, and the option that makes it true."""

CONTROL = "chlorine_control_coloured"
"""Key of whether tonight's chlorine test is known to colour where there is chlorine."""


def rule_facts(
    treatment: Facts, standing: Facts, past: Mapping[str, NightSummary], now: Moment, rulebook: Rulebook
) -> Mapping[str, RuleFact]:
    """Everything known tonight that a rule may ask for. rulebook: the one that the night was opened with.

    What that rulebook doesn't know, such as a quantity of a newer program, is no fact here and stops nothing.
    """
    found: Found = {}
    alone = for_night(standing, treatment, past, now.at)
    found.update(ordered_facts(standing, rulebook, alone))
    found.update(_as_measured(treatment, rulebook))
    _marks(found, treatment)
    _lots(found, treatment, standing, now)
    _past(found, treatment, past, now, rulebook)
    _membrane(found, treatment, standing, past, now)
    _counted(found, treatment)
    _worked(found, treatment, rulebook)
    if kinds_given(treatment) >= {HEPARIN, LOW}:
        found["both_heparins"] = True
    _liquid(found, standing, rulebook)
    if treatment.of("pinned"):
        found["clock_trusted"] = clock_trusted(treatment, now)
    return found


def _liquid(found: Found, standing: Facts, rulebook: Rulebook) -> None:
    """How long the liquid bicarbonate of tonight lasts, where it was measured. Source: arithmetic (fluids 2.2)."""
    if "bicarbonate_liquid" not in found:
        return
    names = ("acid_parts", "bicarbonate_form", "bicarbonate_code")
    ordered = {name: _as_text(found.get(f"{name}@prescribed")) for name in names}
    share = liquid_share(standing, ordered)
    _result(
        found,
        "bicarbonate_runs_dry_after",
        "bicarbonate_liquid_runs_dry_after",
        "h",
        bicarbonate_l=_number(found, "bicarbonate_liquid"),
        start_up_l=rulebook.limit("acid_start_up").value,
        acid_parts=_number(found, "acid_parts@prescribed"),
        bicarbonate_parts=share[0] if share is not None else None,
        dialysate_flow_ml_min=_number(found, "dialysate_flow@prescribed"),
    )


def _as_text(fact: RuleFact) -> str:
    return plain(fact.value) if isinstance(fact, Quantity) else fact if isinstance(fact, str) else ""


def clock_trusted(treatment: Facts, now: Moment) -> bool:
    """Whether wall clock and boot clock moved together from every entry of tonight to now.

    Entries of another start of the machine, or of another machine, can't tell and don't speak against it.
    Source: practice:H18.
    """
    return all(in_step(moment, now) is not False for moment in treatment.worked_out(_furthest))


def _furthest(treatment: Facts) -> tuple[Moment, ...]:
    """Of every start of the machine the two moments at which wall and boot clock lay furthest apart."""
    ends: dict[str, tuple[Entry, Entry]] = {}
    for entry in treatment.entries.values():
        low, high = ends.get(entry.envelope.boot, (entry, entry))
        if entry.ahead < low.ahead:
            low = entry
        elif entry.ahead > high.ahead:
            high = entry
        ends[entry.envelope.boot] = (low, high)
    return tuple(entry.envelope.recorded for both in ends.values() for entry in both)


def _put(found: Found, key: str, value: Decimal | None, unit: str) -> None:
    found[key] = None if value is None else Quantity(value, unit)


def ordered_facts(standing: Facts, rulebook: Rulebook, alone: frozenset[str]) -> Mapping[str, RuleFact]:
    """The lines of the order in force, as the rules ask for them. alone: ids of what holds for this night alone."""
    by_book = standing.worked_out(_none_yet)
    about = (rulebook.digest, alone)
    if about not in by_book:
        by_book[about] = _as_ordered(standing, rulebook, alone)
    return by_book[about]


def _none_yet(_: Facts) -> dict[tuple[str, frozenset[str]], Found]:
    """What each rulebook makes of the order of a night, as it comes to be asked for."""
    return {}


def _as_ordered(standing: Facts, rulebook: Rulebook, alone: frozenset[str]) -> Found:
    found: Found = {}
    ordered = order(standing, alone)
    if ordered is None:
        return found
    known = {line.id: line for line in rulebook.lines()}
    for line, text in ordered.lines.items():
        if line in known and known[line].kind == "number":
            _put(found, f"{line}@prescribed", decimal_of(text), known[line].unit)
        else:
            found[f"{line}@prescribed"] = text
    most = load_pressure_tables().ceiling(ordered.lines.get("needle_gauge", ""))
    if most is not None and ordered.lines.get("access") != "catheter":
        found["needle_flow_most"] = Quantity(most, "mL/min")
    found["written_awaited"] = bool(ordered.unconfirmed)
    return found


def _as_measured(treatment: Facts, rulebook: Rulebook) -> Found:
    """What was measured tonight, as each rulebook knows it; worked out once until something is added."""
    by_book = treatment.worked_out(_no_book_yet)
    if rulebook.digest not in by_book:
        found: Found = {}
        _measured(found, treatment, rulebook)
        by_book[rulebook.digest] = found
    return by_book[rulebook.digest]


def _no_book_yet(_: Facts) -> dict[str, Found]:
    return {}


def _measured(found: Found, treatment: Facts, rulebook: Rulebook) -> None:
    known = {quantity.id: quantity for quantity in rulebook.quantities()}
    for slot, facts in treatment.slots.items():
        if slot[0] != "measured" or differ(facts):
            continue
        body = facts[-1].body
        if not isinstance(body, Measured) or body.place == SETTING or body.quantity not in known:
            continue
        key = f"{body.quantity}@{body.place}" if body.place else body.quantity
        if body.not_measured or not body.value:
            found[key] = None
        elif known[body.quantity].words and not _is_decimal(body.value):
            found[key] = body.value
        else:
            value = decimal_of(body.value)
            found[key] = None if value is None else by_steps(body, value)
            if value is not None and (body.quantity, body.place) == (QUANTITY, CONTROLLED_AT):
                found[CONTROL] = control_coloured(body, value)
        if body.method:
            found[f"{body.quantity}_method@{body.place}" if body.place else f"{body.quantity}_method"] = (
                body.method
            )
    second = treatment.disagreements()
    found["values_disagree"] = bool(second)


def _is_decimal(text: str) -> bool:
    return decimal_of(text) is not None


def _marks(found: Found, treatment: Facts) -> None:
    for fact in treatment.of("answer"):
        if isinstance(fact.body, Answer):
            found[f"answer@{fact.body.question}"] = fact.body.answer
    for fact in treatment.of("choice"):
        if isinstance(fact.body, Choice) and fact.body.name in JUDGED_CHOICES:
            key, wanted = JUDGED_CHOICES[fact.body.name]
            found[key] = fact.body.option == wanted


def _lots(found: Found, treatment: Facts, standing: Facts, now: Moment) -> None:
    today = now.at.astimezone(ZoneInfo(now.zone)).date()
    for fact in treatment.of("lot_used"):
        body = fact.body
        if not isinstance(body, LotUsed):
            continue
        try:
            days: Decimal | None = Decimal((date.fromisoformat(body.expiry) - today).days)
        except ValueError:
            days = None
        _put(found, f"days_to_expiry@{body.item}", days, "days")
        found[f"lot_known@{body.item}"] = bool(body.lot)
        found[f"pack_whole@{body.item}"] = body.intact
        found[f"lot_recalled@{body.item}"] = recalled(standing, body.item, body.lot) is not None


def _past(
    found: Found, treatment: Facts, past: Mapping[str, NightSummary], now: Moment, rulebook: Rulebook
) -> None:
    pinned = treatment.of("pinned")
    opened = pinned[0].at if pinned else now.at
    nights = latest(past, before=opened)
    found.update(_own(_Nights(tuple(nights), rulebook)))
    last = next((night for night in nights if night.pump_stopped is not None), None)
    if last is not None and last.pump_stopped is not None:
        until = first_blood(treatment) or now.at
        hours = Decimal(round(elapsed(last.pump_stopped, until).total_seconds() / 60)) / 60
        found["hours_since_last_treatment"] = Quantity(hours.quantize(Decimal("0.1")), "h")
        found["days_since_last"] = Quantity((hours / 24).quantize(Decimal("0.01")), "days")


def _membrane(
    found: Found, treatment: Facts, standing: Facts, past: Mapping[str, NightSummary], now: Moment
) -> None:
    """Other nights of the pressure across the membrane: those of the form that holds now, and no other.

    Source: fluids:P8, fluids 5.3.
    """
    form = form_now(standing)
    if not form:
        return
    pinned = treatment.of("pinned")
    values = values_of(latest(past, before=pinned[0].at if pinned else now.at), name_of(form))
    for where, value in (
        ("own", median(values) if values else None),
        ("last", values[0] if values else None),
    ):
        found.pop(f"{PRESSURE}@{where}", None)
        if value is not None and form != NOT_SETTLED:
            found[f"{PRESSURE}@{where}"] = Quantity(Decimal(value), "mmHg")


class _Nights:
    """The same nights by the same rulebook: the summaries themselves, so that one made anew isn't taken for the old."""

    __slots__ = ("nights", "rulebook")

    def __init__(self, nights: tuple[NightSummary, ...], rulebook: Rulebook) -> None:
        self.nights, self.rulebook = nights, rulebook

    def __hash__(self) -> int:
        return hash((self.rulebook.digest, *map(id, self.nights)))

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, _Nights)
            and self.rulebook.digest == other.rulebook.digest
            and len(self.nights) == len(other.nights)
            and all(one is two for one, two in zip(self.nights, other.nights, strict=True))
        )


@lru_cache(maxsize=8)
def _own(of: _Nights) -> Mapping[str, RuleFact]:
    """What other nights say of each quantity; they don't change while tonight is set up."""
    found: Found = {}
    for quantity in of.rulebook.quantities():
        for place in quantity.at or ("",):
            key = f"{quantity.id}@{place}" if place else quantity.id
            values = values_of(of.nights, key)
            if values:
                own = f"{key}.own" if place else f"{key}@own"
                found[own] = Quantity(Decimal(median(values)), quantity.unit)
                if not place:
                    found[f"{key}@last"] = Quantity(values[0], quantity.unit)
    return found


def _counted(found: Found, treatment: Facts) -> None:
    """The counter of fluid removed starts anew each night: the value before is tonight's, not that of another night."""
    found.pop("fluid_removed@last", None)
    held = treatment.at_slot("measured", "fluid_removed", "")
    before = last_reading(treatment, "fluid_removed", held[-1].at if held else None)
    if before is not None:
        found["fluid_removed@last"] = Quantity(before[1], "L")


def gain_facts(found: Mapping[str, RuleFact]) -> Found:
    """The gain since last time, as a share of the target weight [%] and a day [kg/day]; nothing without the weight
    before, the last weight after and the target. Source: fluids:U7.
    """
    before, last = _number(found, "weight_before"), _number(found, "weight_after@last")
    target = _number(found, "target_weight@prescribed")
    gained: Found = {}
    if before is None or last is None or target is None:
        return gained
    gain = before - last
    _put(gained, "weight_gain_percent", (gain / target * 100).quantize(Decimal("0.1")), "%")
    hours = _number(found, "hours_since_last_treatment")
    if hours:
        _put(gained, "weight_gain_per_day", (gain / hours * 24).quantize(Decimal("0.1")), "kg/day")
    return gained


def _number(found: Mapping[str, RuleFact], key: str) -> Decimal | None:
    fact = found.get(key)
    return fact.value if isinstance(fact, Quantity) else None


def _result(found: Found, key: str, name: str, unit: str, **inputs: Decimal | Input | None) -> None:
    worked = work(name, dict(inputs))
    _put(found, key, worked.value if worked.outcome is Outcome.OK else None, unit)


def _worked(found: Found, treatment: Facts, rulebook: Rulebook) -> None:
    if "feed_conductivity" in found and "product_conductivity" in found:
        _result(
            found,
            "rejection",
            "rejection",
            "%",
            feed_conductivity_us_cm=_number(found, "feed_conductivity"),
            product_conductivity_us_cm=_number(found, "product_conductivity"),
        )
    found.update(gain_facts(found))
    if "acid_left" in found:
        _result(
            found,
            "acid_runs_dry_after",
            "acid_runs_dry_after",
            "h",
            acid_l=_number(found, "acid_left"),
            start_up_l=rulebook.limit("acid_start_up").value,
            acid_parts=_number(found, "acid_parts@prescribed"),
            dialysate_flow_ml_min=_number(found, "dialysate_flow@prescribed"),
        )
    if "bicarbonate_powder" in found:
        _result(
            found,
            "bicarbonate_runs_dry_after",
            "bicarbonate_runs_dry_after",
            "h",
            powder_g=_number(found, "bicarbonate_powder"),
            usable_percent=rulebook.limit("bicarbonate_usable").value,
            bicarbonate_mixed_mmol_l=_number(found, "bicarbonate_mixed@prescribed"),
            dialysate_flow_ml_min=_number(found, "dialysate_flow@prescribed"),
        )
    expected = weight_after_expected(treatment)
    if expected is not None:
        found["weight_after@expected"] = Quantity(expected, "kg")
