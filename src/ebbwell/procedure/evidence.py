"""Evidence: which facts speak for a step, and whether what they say lets it pass."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal, InvalidOperation
from zoneinfo import ZoneInfo

from ebbwell.journal.kinds.marks import Answer, Choice, LotUsed, Measured
from ebbwell.journal.kinds.night import Disinfected, Given, Reading
from ebbwell.journal.kinds.orders import Plan, Readback
from ebbwell.procedure.model import Evidence, Step, parse_evidence
from ebbwell.procedure.plan_limits import moved_limits
from ebbwell.procedure.scene import Scene
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.labels import off_family
from ebbwell.state.night import first_blood
from ebbwell.state.standing import Order, recalled

SETTING = "setting"
"""The place of a machine setting: typed blind, compared with plan or prescription."""

CODE_LINES = {
    "acid": "acid_code",
    "bicarbonate": "bicarbonate_code",
    "dialyser": "dialyser",
    "fluid_bags": "bag_code",
}
"""Item to the line of the prescription that its label must match."""

TESTS_FAILED = "tests_failed_first"
"""A machine test that passed only after failing needs words. Source: practice:section b, S21."""

FAMILIES = ("acid", "bicarbonate")
"""Items that are mixed by parts, and must be of one family of dilution."""

CAPPED = ("removal_cap", "target_weight", "treatment_minutes")
"""Lines that say how much the removal cap lets off."""

Finder = Callable[[Scene, Step, Evidence], tuple[Fact, ...]]


def _answer(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return scene.treatment.at_slot("answer", evidence.name)


def _measured(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return scene.treatment.at_slot("measured", evidence.name, evidence.place)


def _setting(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return scene.treatment.at_slot("measured", evidence.name, SETTING)


def _choice(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return scene.treatment.at_slot("choice", step.id, evidence.name)


def _lot(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return tuple(
        f
        for f in scene.treatment.of("lot_used")
        if isinstance(f.body, LotUsed) and f.body.item == evidence.name and not f.body.new_set
    )


def _tick(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return tuple(f for f in scene.treatment.of("tick") if getattr(f.body, "step", "") == step.id)


def _wait(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return tuple(f for f in scene.treatment.of("waited") if getattr(f.body, "step", "") == step.id)


def _given(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return tuple(
        f for f in scene.treatment.of("given") if isinstance(f.body, Given) and f.body.what == evidence.name
    )


def _reading(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return tuple(
        f
        for f in scene.treatment.of("reading")
        if isinstance(f.body, Reading) and evidence.name in ("", f.body.when)
    )


def _connected(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return scene.treatment.of("connected") + scene.treatment.of("already_running")


def _kind(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    return scene.treatment.of(evidence.form)


def _disinfected(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    done = scene.treatment.of("disinfected")
    return tuple(f for f in done if isinstance(f.body, Disinfected) and f.body.step == step.id)


FINDERS: dict[str, Finder] = {
    "answer": _answer,
    "measured": _measured,
    "setting": _setting,
    "choice": _choice,
    "lot": _lot,
    "tick": _tick,
    "wait": _wait,
    "given": _given,
    "reading": _reading,
    "connected": _connected,
    "readback": _kind,
    "plan": _kind,
    "disinfected": _disinfected,
    "came_off": _kind,
    "safe": _kind,
    "closed": _kind,
}


def find(scene: Scene, step: Step, evidence: Evidence) -> tuple[Fact, ...]:
    """The facts that hold and speak for this piece of evidence, oldest first; whether they count is asked apart."""
    return FINDERS[evidence.form](scene, step, evidence)


def test_failed_before(treatment: Facts) -> bool:
    """Whether the record of a night holds a failed machine test that isn't the one that stands now.

    One that was replaced or taken back counts; one that was put right as a slip of that very entry doesn't. Source:
    practice:b, S21.
    """
    stands = (
        f for f in treatment.of("choice") if isinstance(f.body, Choice) and f.body.name == "machine_tests"
    )
    own = {version for fact in stands for version in treatment.versions(fact)}
    return any(
        entry.envelope.kind == Choice.KIND
        and isinstance(entry.body, Choice)
        and (entry.body.name, entry.body.option) == ("machine_tests", "failed")
        and entry.id not in own
        for entry in treatment.entries.values()
    )


def accepted(scene: Scene, step: Step, evidence: Evidence, fact: Fact) -> str:
    """Why what a fact says doesn't let the step pass, as a wording key; "" when it does."""
    body = fact.body
    if isinstance(body, Answer):
        if body.question == TESTS_FAILED and body.answer == "no" and test_failed_before(scene.treatment):
            return "hold.test_failed_before"
        wants = step.wants.get(body.question)
        return "" if wants is None or body.answer in wants else "hold.answer"
    if isinstance(body, Choice):
        wants = step.wants.get(body.name)
        why = "hold.choice_unit" if step.advisable else "hold.choice"
        return "" if wants is None or body.option in wants else why
    if isinstance(body, LotUsed):
        return lot_refused(scene, body)
    if isinstance(body, Readback):
        return _readback(scene, body)
    if isinstance(body, Plan):
        return plan_void(scene, body)
    if isinstance(body, Measured):
        if body.not_measured:
            return "" if step.gate == "close" else "hold.not_measured"
        if evidence.form == "setting":
            return _as_ordered(scene, body)
        wants = step.wants.get(body.quantity)
        return "" if wants is None or body.value in wants else "hold.value"
    return ""


def lot_refused(scene: Scene, body: LotUsed) -> str:
    """Why an opened item can't be used tonight: seal, expiry, recall, code, family; "" when nothing speaks against it.

    Source: practice:section b (expired, unreadable expiry or broken seal: stop; lot alone unreadable: care); fluids 2.1
    (a concentrate whose label is of another family of dilution than the order).
    """
    if not body.intact:
        return "hold.lot.seal"
    try:
        expiry = date.fromisoformat(body.expiry)
    except ValueError:
        return "hold.lot.expiry_unreadable"
    if expiry < scene.now.at.astimezone(ZoneInfo(scene.now.zone)).date():
        return "hold.lot.expired"
    if body.lot and recalled(scene.standing, body.item, body.lot) is not None:
        return "hold.lot.recalled"
    line = CODE_LINES.get(body.item)
    ordered = scene.order.lines.get(line, "") if scene.order is not None and line is not None else ""
    if ordered and body.code.strip().casefold() != ordered.strip().casefold():
        return "hold.lot.code"
    if scene.order is not None and body.item in FAMILIES:
        return "hold.lot.family" if off_family(scene.standing, scene.order.lines, body.item) else ""
    return ""


def _readback(scene: Scene, body: Readback) -> str:
    order = scene.order
    if order is None or order.waiting:
        return "hold.no_prescription"
    return (
        ""
        if body.prescription == order.prescription.id and body.shown == order.lines
        else "hold.readback_old"
    )


def plan_void(scene: Scene, body: Plan) -> str:
    """Why a plan no longer holds; "" while everything it rests on does.

    Until first blood a line of it past a limit that was made stricter since opens it again. Source: practice:H2, H67.
    """
    order = scene.order
    if order is None or order.waiting:
        return "hold.no_prescription"
    rests = set(body.rests_on)
    if not rests.issuperset(fact.id for fact in order.facts):
        return "hold.plan_void"
    for entry_id in rests:
        if entry_id in scene.treatment.replaced or entry_id in scene.standing.replaced:
            return "hold.plan_void"
    if first_blood(scene.treatment) is None and any(m.opens for m in moved_limits(scene.rulebook, body)):
        return "hold.plan_limit"
    return ""


def number_in(text: str) -> Decimal | None:
    """The number at the start of a figure as shown ("2.3 L"), or None."""
    try:
        return Decimal(text.split()[0])
    except (InvalidOperation, IndexError):
        return None


def planned(scene: Scene, line: str) -> Decimal | None:
    """What a machine setting should read: the plan's figure where there is one, else the prescription's line."""
    plan = scene.treatment.last("plan")
    if plan is not None and isinstance(plan.body, Plan) and line in plan.body.figures:
        return number_in(plan.body.figures[line])
    if scene.order is not None and line in scene.order.lines:
        return number_in(scene.order.lines[line])
    return None


def _as_ordered(scene: Scene, body: Measured) -> str:
    wanted, read = planned(scene, body.quantity), number_in(body.value)
    if wanted is None:
        return "hold.setting_unknown"
    if read is None:
        return "hold.setting_differs"
    most = most_by_cap(scene.order, body.quantity)
    to_set = on_machine(scene, body.quantity, wanted)
    if most is not None and read > most >= wanted:
        return "hold.setting_differs"
    alike = read in (wanted, to_set) or _as_shown(scene, body.quantity, read) == to_set
    return "" if alike else "hold.setting_differs"


def most_by_cap(order: Order | None, line: str) -> Decimal | None:
    """The most that the unit's removal cap lets a setting be, unrounded; None where it bounds none.

    line: ``removal_rate`` [mL/h] or ``fluid_to_remove`` [L]. Source: arithmetic (fluids 4.3).
    """
    texts = [order.lines.get(each, "") for each in CAPPED] if order is not None else [""]
    if line not in ("removal_rate", "fluid_to_remove") or not all(texts):
        return None
    cap, weight, minutes = map(Decimal, texts)
    return cap * weight if line == "removal_rate" else cap * weight * minutes / 60_000


def on_machine(scene: Scene, line: str, value: Decimal) -> Decimal:
    """A figure with the digits that a machine shows: the nearest one, or the one below where that is over the cap."""
    nearest = _as_shown(scene, line, value)
    most = most_by_cap(scene.order, line)
    if most is None or value > most or nearest <= most:
        return nearest
    return _as_shown(scene, line, value, ROUND_FLOOR)


def settings_apart(scene: Scene, step: Step) -> tuple[tuple[str, Decimal, Decimal, str], ...]:
    """Machine settings of a step that were read otherwise than planned or ordered.

    Name, as read, as it should be, and the unit of both.
    """
    found = []
    for evidence in step.evidence:
        for fact in _setting(scene, step, evidence) if evidence.form == "setting" else ():
            body, wanted = fact.body, planned(scene, evidence.name)
            if isinstance(body, Measured) and _as_ordered(scene, body) == "hold.setting_differs":
                read = number_in(body.value)
                if read is not None and wanted is not None:
                    found.append((evidence.name, read, wanted, body.unit))
    return tuple(found)


def _as_shown(scene: Scene, line: str, value: Decimal, rounding: str = ROUND_HALF_UP) -> Decimal:
    """A setting to the digits that a machine shows."""
    known = scene.line_places
    places = known[line] if line in known else scene.rulebook.quantity(line).places
    return value.quantize(Decimal(1).scaleb(-places), rounding)


def same_refused(scene: Scene, step: Step, text: str, line: str) -> str:
    """Why what was read isn't what the prescription's line says; "" when it is the same, "hold.same" when not."""
    wanted = parse_evidence(text)
    ordered = scene.order.lines.get(line, "") if scene.order is not None else ""
    if wanted is None or not ordered:
        return "hold.line_unknown"
    for fact in find(scene, step, wanted):
        body = fact.body
        said = ""
        if isinstance(body, LotUsed):
            said = body.code
        elif isinstance(body, Measured):
            said = body.value
        elif isinstance(body, Choice):
            said = body.option
        if not same_value(said, ordered):
            return "hold.same"
    return ""


def same_value(said: str, ordered: str) -> bool:
    """Whether two texts say the same: as numbers where both are numbers (2.0 is 2), else letter for letter."""
    try:
        return Decimal(said) == Decimal(ordered)
    except InvalidOperation:
        return said.strip().casefold() == ordered.strip().casefold()
