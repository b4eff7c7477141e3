"""Where the night stands now, in words: the one next thing, what is open, order, plan, findings, what isn't known.

For every screen; each breaks or frames the lines its own way.
"""

from __future__ import annotations

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding, Grade, name_fact
from ebbwell.core.text import MissingText, say
from ebbwell.deeds.coming_up import next_view
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.fluid_words import fluid_findings
from ebbwell.papers.night_now import night_clock, times_of
from ebbwell.papers.spoken import age, bar_words, plain_words
from ebbwell.papers.words import clock, day, figure_value, figure_words, line_words, step_words
from ebbwell.procedure.evidence import plan_void
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.plan_limits import plan_limit_findings
from ebbwell.rulebook.evaluate import evaluate
from ebbwell.state.night import Phase, first_blood

FIGURES = (
    "fluid_to_remove",
    "removal_rate",
    "remains_after",
    "heparin_rate_ml",
    "finish_at",
    "heparin_stop_at",
)
"""Figures of the plan that are shown, in the order of the night."""

WHILE_BLOOD_RUNS = ("settle",)
"""Stages whose steps stand on the night page until each is recorded, and can't be done any more once off; closing the
sheet asks why they were left open."""


URGENT = "needles_out"
"""The bundle of needles, bleeding, pressure and sharps. Source: practice:c, C9 to C13 (person safe)."""

KEPT_OUT = "blood_kept_out"
"""Condition of the steps for blood that stays out."""


def urgent_first(desk: Desk, views: list[StepView]) -> list[StepView]:
    """Open steps in their order; once off, what can't be left until somebody has slept before all else."""
    if desk.phase not in (Phase.OFF, Phase.SAFE):
        return views
    return sorted(views, key=lambda v: not (v.step.bundle == URGENT or v.step.only_if == KEPT_OUT))


def next_words(desk: Desk) -> str:
    """The one next thing, in words."""
    phase = desk.phase
    if phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF):
        if desk.scene.order is None:
            return say("tonight.next.prescription")
        return say("tonight.next.begin")
    if phase is Phase.STOPPING and first_blood(desk.treatment) is None:
        return say("tonight.next.call_off")
    if desk.scene.order is None or desk.scene.order.waiting:
        return say("tonight.next.second_check")
    view = _first_after(desk) or next_view(desk)
    if view is not None:
        return step_words(desk.procedure, view.step.id)
    if phase is Phase.SETTING_UP and not desk.bars:
        return step_words(desk.procedure, desk.procedure.connect_id)
    waits = [v.until for v in desk.views.values() if v.status.value == "waiting" and v.until is not None]
    if waits:
        return say("tonight.next.wait", until=clock(min(waits), desk.now.zone))
    return say(f"tonight.next.{phase.value}")


def _first_after(desk: Desk) -> StepView | None:
    """Once off, the first open step that can't be left until somebody has slept; None where there is none."""
    if desk.phase not in (Phase.OFF, Phase.SAFE):
        return None
    left = desk.views.where(lambda step: step.bundle == URGENT or step.only_if == KEPT_OUT)
    return next((v for v in left if not v.passed and v.status is not Status.WAITING), None)


def stopped_before_blood(desk: Desk) -> bool:
    """Whether the night was stopped before any blood ran: then no step of it is still to do."""
    return desk.phase is Phase.STOPPING and first_blood(desk.treatment) is None


def open_lines(desk: Desk) -> list[str]:
    """What is still open: before connecting what keeps it shut, later what the sheet still needs."""
    if desk.phase in (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF) or stopped_before_blood(desk):
        return []
    if desk.phase is Phase.SETTING_UP:
        return [bar_words(bar, desk) for bar in desk.bars]
    left = [v for v in desk.views.values() if v.step.gate in ("close", "next_night") and not v.passed]
    if desk.phase in (Phase.OFF, Phase.SAFE):
        left = [v for v in left if v.step.stage not in WHILE_BLOOD_RUNS]
    return [step_words(desk.procedure, view.step.id) for view in urgent_first(desk, left)]


def prescription_lines(desk: Desk) -> list[str]:
    """The prescription in force, and what waits."""
    order = desk.scene.order
    if order is None:
        held = desk.standing.of("prescription")
        return [say("tonight.two_prescriptions" if len(held) > 1 else "tonight.no_prescription")]
    lines = [
        say(
            "tonight.prescription",
            number=order.body.number,
            giver=order.body.giver,
            day=day(order.body.valid_from),
        )
    ]
    for entry_id in order.waiting:
        fact = desk.standing.fact(entry_id)
        what = getattr(fact.body, "line", "") if fact is not None else ""
        lines.append(
            say("tonight.line_waits", line=line_words(what, getattr(fact.body, "value", "")))
            if what and fact is not None
            else say("tonight.waits")
        )
    lines += [
        say("tonight.written_awaited", line=line_words(line, order.lines[line])) for line in order.unconfirmed
    ]
    return lines


def plan_lines(desk: Desk) -> list[str]:
    """Tonight's figures with their age; a plan that no longer holds says so and shows none.

    Once blood has run, end and heparin off are counted from first blood: one page tells one time for each.
    """
    fact = desk.treatment.last("plan")
    if fact is None or not isinstance(fact.body, Plan):
        return [say("tonight.no_plan")]
    void = plan_void(desk.scene, fact.body)
    if void:
        return [say("tonight.plan_void", why=plain_words(void))]
    minutes = elapsed(fact.at, desk.now.at).total_seconds() / 60
    lines = [say("tonight.plan_agreed", at=clock(fact.at, desk.now.zone), age=age(minutes))]
    figures = fact.body.figures
    times = times_of(desk)
    counted = {} if times is None else {"finish_at": times.end, "heparin_stop_at": times.heparin_off}
    for name in (name for name in FIGURES if name in figures):
        if name not in counted:
            lines.append(f"{figure_words(name)}: {figure_value(figures[name])}")
            continue
        at = counted[name]
        if at is not None and times is not None and times.trusted is not False:
            lines.append(say("tonight.counted", figure=figure_words(name), at=night_clock(desk, at)))
    return lines


def findings(desk: Desk) -> list[Finding]:
    """What the rules say of tonight's facts: those that speak, not those without data."""
    if desk.treatment_id is None:
        return []
    found = evaluate(desk.scene.rulebook, desk.scene.facts)
    told = [*(f for f in found if f.grade is not Grade.UNKNOWN), *fluid_findings(desk)]
    return [*told, *older_limits(desk)]


def older_limits(desk: Desk) -> tuple[Finding, ...]:
    """What is told of tonight's plan where a limit became stricter after it was agreed; it bars nothing by itself."""
    fact = desk.treatment.last("plan")
    if fact is None or not isinstance(fact.body, Plan) or desk.phase in (Phase.CLOSED, Phase.CALLED_OFF):
        return ()
    return plan_limit_findings(desk.scene.rulebook, fact.body)


def not_known(desk: Desk) -> list[str]:
    """Facts that were asked for and aren't known."""
    out = []
    for key, fact in desk.scene.facts.items():
        if fact is None and not key.endswith(("@own", "@last", ".own")):
            try:
                out.append(name_fact(key))
            except MissingText:
                out.append(key)
    return out
