"""The gate to connecting: everything that keeps it shut, each with the words for it."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.procedure.holds import Status, StepView, unpassed
from ebbwell.procedure.scene import Scene
from ebbwell.state.night import Phase, phase


@dataclass(frozen=True)
class Bar:
    """One reason why connecting isn't open. key: its wording; step: the hold point, if one; entries: what it names."""

    key: str
    step: str = ""
    entries: tuple[str, ...] = ()
    about: str = ""


def connect_bars(scene: Scene, views: dict[str, StepView]) -> tuple[Bar, ...]:
    """All that keeps connecting shut at this look; empty when the gate is open."""
    bars: list[Bar] = []
    if phase(scene.treatment) is not Phase.SETTING_UP:
        bars.append(Bar("bar.not_setting_up"))
    if scene.holder is None:
        bars.append(Bar("bar.no_holder"))
    order = scene.order
    if order is None or order.waiting:
        bars.append(Bar("bar.no_prescription", entries=order.waiting if order is not None else ()))
    for facts in (scene.treatment, scene.standing):
        strange = facts.not_understood()
        bars += [Bar("bar.not_understood", entries=(e.id,), about=e.envelope.kind) for e in strange]
    for slot, held in scene.treatment.disagreements().items():
        bars.append(
            Bar("bar.unsettled", entries=tuple(f.id for f in held), about=".".join(slot[1:]) or slot[0])
        )
    bars += [step_bar(view) for view in unpassed(views, "connect")]
    return tuple(bars)


def step_bar(view: StepView) -> Bar:
    """The reason that one step gives."""
    key = {
        Status.OPEN: "bar.open",
        Status.SHUT: "bar.shut",
        Status.WAITING: "bar.waiting",
        Status.STALE: "bar.stale",
        Status.NOT_KNOWN: "bar.not_known",
        Status.UNSETTLED: "bar.unsettled",
        Status.BARRED: "bar.barred",
        Status.SECOND: "bar.second",
    }[view.status]
    return Bar(key, step=view.step.id, entries=view.by, about=view.why)
