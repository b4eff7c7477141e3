"""The deed of agreeing tonight's plan: figures worked out from what was ordered and measured, kept as shown."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import parse_decimal, plain, without_noise
from ebbwell.core.quantity import Quantity
from ebbwell.core.worked import Input, Worked
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.turn import need_open
from ebbwell.journal.kinds.orders import Plan
from ebbwell.plan.method import Method, MethodLine
from ebbwell.plan.tonight import PlanInputs, TonightPlan, Word, plan_tonight
from ebbwell.plan.uneven import HIGHEST, uneven_lines
from ebbwell.procedure.evidence import plan_void
from ebbwell.procedure.plan_limits import gone_by
from ebbwell.procedure.rule_facts import ordered_facts
from ebbwell.procedure.scene import allowing
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.science.catalogue import shown, work
from ebbwell.state.facts import Fact, agreed_measure
from ebbwell.state.labels import liquid_share

PLAN_STEP = "S26"
"""The step that the plan is evidence of."""

WEIGHT_STEP = "S29"

SETTINGS = {
    "fluid_to_remove": "fits_tonight",
    "removal_rate": "removal_rate",
    "heparin_rate_ml": "heparin_rate_ml",
}
"""Machine setting to the line of the plan that it must read."""

ORDERED = ("treatment_minutes", "blood_flow", "dialysate_flow", "fluid_temperature", "sodium", "bicarbonate")
"""Machine settings that are a line of the prescription."""

OF_THE_ORDER = ("needle_narrow",)
"""Rules that judge the lines of the order against each other; no figure of tonight is needed."""


@dataclass(frozen=True)
class Draughted:
    """A plan worked out but not agreed. refused: rule ids that keep it from being agreed.

    by_unit: the figures that rest on the unit's own volume, where the person couldn't be weighed. limits: those that it
    was judged by, as ``Plan`` keeps them.
    """

    tonight: TonightPlan
    figures: dict[str, str]
    findings: tuple[Finding, ...]
    rests_on: tuple[str, ...]
    by_unit: Mapping[str, Worked] = field(default_factory=dict)
    limits: Mapping[str, str] = field(default_factory=dict)

    def line(self, name: str) -> Worked | None:
        """The working of a figure by name; None where tonight has none of that name."""
        return self.by_unit.get(name) or self.tonight.line(name)

    @property
    def digest(self) -> str:
        """A digest of the figures as they are shown, so that what is agreed is what was seen."""
        return figures_digest(self.figures)

    @property
    def refused(self) -> tuple[Finding, ...]:
        """What has to be put right, or said by the unit, before it can be agreed."""
        return tuple(f for f in self.findings if f.grade is Grade.STOP)


def figures_digest(figures: Mapping[str, str]) -> str:
    """SHA-256 of figures by name and text, in hex."""
    lines = "\n".join(f"{name}={figures[name]}" for name in sorted(figures))
    return hashlib.sha256(lines.encode()).hexdigest()


def draught(
    desk: Desk,
    *,
    drink: Decimal | None,
    saline: Decimal = Decimal(0),
    losses: Decimal = Decimal(0),
    start_at: datetime | None = None,
    removal_by_unit: Decimal | None = None,
    carer_leaves: datetime | None = None,
) -> Draughted:
    """Work tonight out, without writing anything.

    drink, saline, losses [L]: expected tonight, 0 to 8; None is not known. start_at: expected first blood.
    removal_by_unit [L]: the unit's figure where the person couldn't be weighed. carer_leaves: when the carer has to go.
    Refuses without a prescription in force.
    """
    order = desk.scene.order
    if order is None:
        desk.refuse("refuse.no_prescription")
    if order.waiting:
        desk.refuse("refuse.second_check_waits")

    def line(name: str) -> Input | None:
        text = order.lines.get(name, "")
        definition = desk.rulebook.line(name)
        return Input(name, Decimal(text), definition.unit, order.from_entry[name]) if text else None

    def word(name: str) -> Word | None:
        text = order.lines.get(name, "")
        return Word(text, order.from_entry[name]) if text else None

    def litres(name: str, value: Decimal | None) -> Input | None:
        return None if value is None else Input(name, value, "L")

    last = desk.scene.facts.get("weight_after@last")
    inputs = PlanInputs(
        target_weight=line("target_weight"),
        treatment_minutes=line("treatment_minutes"),
        removal_cap=line("removal_cap"),
        blood_flow=line("blood_flow"),
        dialysate_flow=line("dialysate_flow"),
        rinse_back=line("rinse_back"),
        prime_given=line("prime_given"),
        removal_way=word("removal_way"),
        isolated_litres=line("isolated_litres"),
        isolated_minutes=line("isolated_minutes"),
        removal_profile=word("removal_profile"),
        connection=word("connection"),
        anticoagulant=word("anticoagulant"),
        heparin_strength=line("heparin_strength"),
        heparin_first_dose=line("heparin_first_dose"),
        heparin_rate=line("heparin_rate"),
        heparin_stop_before_end=line("heparin_stop_before_end"),
        heparin_dead_space=line("heparin_dead_space"),
        acid_parts=line("acid_parts"),
        bicarbonate_form=word("bicarbonate_form"),
        bicarbonate_mixed=line("bicarbonate_mixed"),
        weight_before=_measured(desk, "weight_before"),
        last_weight_after=Input("weight_after", last.value, "kg") if isinstance(last, Quantity) else None,
        drink=litres("drink", drink),
        saline=litres("saline", saline),
        losses=litres("losses", losses),
        acid_can=_measured(desk, "acid_left"),
        acid_start_up=_setting(desk, "acid_start_up"),
        bicarbonate_usable=_setting(desk, "bicarbonate_usable"),
        bicarbonate_powder=_measured(desk, "bicarbonate_powder"),
        bicarbonate_liquid=_measured(desk, "bicarbonate_liquid"),
        bicarbonate_parts=_share(desk, order.lines),
        feed_conductivity=_measured(desk, "feed_conductivity"),
        product_conductivity=_measured(desk, "product_conductivity"),
        start_at=start_at,
        zone=desk.now.zone,
    )
    tonight = plan_tonight(inputs, _method(desk, line))
    figures = tonight.figures()
    facts = dict(tonight.facts)
    by_unit = (
        {} if removal_by_unit is None else _by_unit(inputs, removal_by_unit, figures, facts, tonight.bounds)
    )
    for setting, name in SETTINGS.items():
        if name in figures:
            figures[setting] = figures[name]
    for setting in ORDERED:
        if order.lines.get(setting) and setting in desk.procedure.settings:
            figures[setting] = f"{order.lines[setting]} {desk.rulebook.line(setting).unit}".strip()
    for setting in ("heparin_stop_before_end", "rinse_back"):
        if order.lines.get(setting):
            figures[setting] = f"{order.lines[setting]} {desk.rulebook.line(setting).unit}"
    if carer_leaves is not None and tonight.finish_at is not None:
        ends = tonight.finish_at.replace(second=0, microsecond=0)
        stays = round(elapsed(ends, carer_leaves).total_seconds() / 60)
        facts["carer_stays"] = Quantity(Decimal(stays), "min")
    lines = {one.name: one for one in (*tonight.lines, *by_unit.values())}
    rules, findings = _judged(desk, facts, {"removal_uneven_known": _uneven_known(lines)})
    rests_on = tuple(sorted({*tonight.rests_on, *(fact.id for fact in order.facts)}))
    limits = gone_by(desk.scene.rulebook, rules)
    return Draughted(tonight, figures, findings, rests_on, by_unit, limits)


def _share(desk: Desk, lines: Mapping[str, str]) -> Input | None:
    """Parts of liquid bicarbonate for each part of acid, by its label or its family."""
    found = liquid_share(desk.standing, lines)
    return None if found is None else Input("bicarbonate_parts", found[0], "parts", found[1] or None)


def _method(desk: Desk, line: Callable[[str], Input | None]) -> Method:
    """What the procedure's own lines of the plan are worked out from: the order, what was measured, limits."""

    def given(text: str) -> Input | str | None:
        source, _, name = text.partition(":")
        if source == "sum":
            return name
        if source == "line":
            return line(name)
        return _setting(desk, name) if source == "limit" else _measured(desk, name)

    lines = [
        MethodLine(each.name, {name: given(text) for name, text in each.inputs.items()})
        for each in desk.procedure.sums
    ]
    return Method(desk.procedure.plan_parts, tuple(lines))


def _by_unit(
    inputs: PlanInputs,
    volume: Decimal,
    figures: dict[str, str],
    facts: dict[str, Quantity | None],
    most: Mapping[str, Decimal],
) -> dict[str, Worked]:
    rate = work("removal_rate", {"volume_l": volume, "hours_h": inputs.treatment_minutes})
    per_kg = work("removal_rate_per_kg", {"rate_ml_h": rate.value, "weight_kg": inputs.target_weight})
    figures["fits_tonight"] = str(Quantity(volume, "L"))
    figures["removal_rate"] = shown(rate, most.get("removal_rate"))
    figures["removal_rate_per_kg"] = shown(per_kg, most.get("removal_rate_per_kg"))
    facts["removal_volume"] = Quantity(volume, "L")
    facts["removal_rate_per_kg"] = (
        None if per_kg.value is None else Quantity(without_noise(per_kg.value), per_kg.unit)
    )
    said = Worked(
        "fits_tonight", volume, "L", (), "the unit's own figure, since nobody was weighed", "practice:b"
    )
    found = {"fits_tonight": said, "removal_rate": rate, "removal_rate_per_kg": per_kg}
    facts["fits_tonight"] = facts["removal_volume"]
    for one in uneven_lines(inputs, said):
        found[one.name] = one
        figures[one.name] = shown(one, most.get(one.name))
        facts[one.name] = None if one.value is None else Quantity(without_noise(one.value), one.unit)
    return found


def _uneven_known(lines: Mapping[str, Worked]) -> bool | None:
    """Whether the fastest part of a removal that isn't even has a rate; None where it is even, or said elsewhere."""
    highest, rest, volume = (lines.get(n) for n in (HIGHEST, "rate_beside_isolated", "fits_tonight"))
    if highest is None or volume is None or volume.value is None:
        return None
    return None if rest is not None and rest.why == "science.isolated_over" else highest.value is not None


def _setting(desk: Desk, limit: str) -> Input:
    held = desk.rulebook.limit(limit)
    return Input(limit, held.value, held.unit)


def _measured(desk: Desk, quantity: str) -> Input | None:
    facts = desk.treatment.at_slot("measured", quantity, "")
    body = agreed_measure(facts)
    return None if body is None else Input(quantity, Decimal(body.value), body.unit, facts[-1].id)


def _judged(
    desk: Desk, facts: Mapping[str, Quantity | None], words: Mapping[str, bool | None]
) -> tuple[list[str], tuple[Finding, ...]]:
    """The rules that judge the plan's figures, and what they say."""
    named: dict[str, Quantity | bool | None] = {**facts, **words}
    named["heparin_first_dose_per_kg"] = named.pop("units_per_kg", None)
    named["heparin_rate_per_kg"] = named.pop("units_per_kg_h", None)
    every = {**desk.scene.facts, **{key: value for key, value in named.items() if value is not None}}
    rules = [
        rule.id
        for rule in desk.scene.rulebook.rules()
        if rule.id in OF_THE_ORDER or not named.keys().isdisjoint(dict(rule.keys()))
    ]
    findings = evaluate(desk.scene.rulebook, every, only=rules)
    return rules, tuple(f for f in findings if f.grade is not Grade.UNKNOWN)


def order_findings(desk: Desk) -> tuple[Finding, ...]:
    """What the rules say of the order by itself; nothing while a line of it waits for its second check."""
    order = desk.scene.order
    if order is None or order.waiting:
        return ()
    book = (desk.present or (desk.procedure, desk.rulebook))[1]
    found = evaluate(book, ordered_facts(desk.standing, book, desk.scene.alone), only=OF_THE_ORDER)
    return tuple(f for f in found if f.grade is not Grade.UNKNOWN)


def agree_plan(
    desk: Desk,
    *,
    drink: str,
    saline: str = "0",
    losses: str = "0",
    start_at: datetime | None = None,
    removal_by_unit: str = "",
    carer_leaves: datetime | None = None,
    instead_of: tuple[str, ...] = (),
    seen: str = "",
) -> None:
    """Agree tonight's plan: its figures are kept as shown, with the entries they rest on.

    drink, saline, losses: litres expected tonight, as typed. start_at: expected first blood, now unless told.
    carer_leaves: when the carer has to go, where that is known.
    seen: digest of the figures that were on the screen (``Draughted.digest``); when they come out otherwise by now,
    it is refused, so that nobody agrees what they didn't see.
    Refuses before its step is open (weight before comes first), without a figure for what to remove, and while a
    ``stop`` stands, such as removal over the unit's cap, unless the unit's advice about this step allows it. The plan
    then still holds no more than fits. Where the person couldn't be weighed it takes the unit's figure, with advice.
    """
    weight = desk.views.get(WEIGHT_STEP)
    need_open(desk, PLAN_STEP)
    begins = start_at or desk.now.at
    if elapsed(desk.now.at, begins).total_seconds() < -24 * 3600:
        raise InputError("enter.start_at")
    by_unit = _litres(removal_by_unit) if removal_by_unit.strip() else None
    if by_unit is not None and not advised(desk, WEIGHT_STEP):
        desk.refuse("refuse.removal_by_unit")
    plan = draught(
        desk,
        drink=_litres(drink),
        saline=_litres(saline),
        losses=_litres(losses),
        start_at=begins,
        removal_by_unit=by_unit,
        carer_leaves=carer_leaves,
    )
    if seen and seen != plan.digest:
        desk.refuse("refuse.plan_moved")
    fluid = plan.figures.get("fluid_to_remove", "")
    if not fluid[:1].isdigit():
        if weight is not None and not weight.by:
            desk.refuse("refuse.weigh_first")
        desk.refuse("refuse.nothing_to_plan")
    desk.findings.extend(plan.findings)
    if plan.refused and not advised(desk, PLAN_STEP):
        desk.refuse(
            "refuse.plan_stop",
            rules=", ".join(f.rule for f in plan.refused),
            fits=plan.figures.get("fits_tonight", "-"),
            remains=plan.figures.get("remains_after", "-"),
        )
    typed = {"drink": drink, "saline": saline, "losses": losses, "removal_by_unit": removal_by_unit}
    given = {name: f"{plain(_litres(text))} L" for name, text in typed.items() if text.strip()}
    if carer_leaves is not None:
        given["carer_leaves"] = carer_leaves.astimezone(UTC).isoformat()
    given["start_at"] = begins.astimezone(UTC).isoformat()
    older: tuple[Fact, ...] = desk.treatment.of("plan")
    desk.add(
        Plan(
            figures=plan.figures,
            rests_on=plan.rests_on,
            findings=tuple(f.rule for f in plan.findings),
            given=given,
            limits=dict(plan.limits),
        ),
        replaces=tuple(f.id for f in older if f.id in instead_of or _void(desk, f)),
        reason="planned again" if older else None,
    )


def _void(desk: Desk, fact: Fact) -> bool:
    return isinstance(fact.body, Plan) and bool(plan_void(desk.scene, fact.body))


def advised(desk: Desk, step: str) -> bool:
    """Whether the unit's advice tonight allows what a step asks for, and it didn't take that back since."""
    return bool(allowing(desk.treatment, step))


def _litres(typed: str) -> Decimal:
    value = parse_decimal(typed)
    if not 0 <= value <= 8:
        raise InputError("enter.litres", typed=typed)
    return value
