"""The gate to connecting: everything that keeps it shut, each with the words for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ebbwell.journal.kinds.orders import Pinned
from ebbwell.procedure.holds import Status, StepView, Views, unpassed
from ebbwell.procedure.scene import Scene
from ebbwell.state.night import Phase, phase
from ebbwell.state.standing import held_back


@dataclass(frozen=True)
class Bar:
    """One reason why connecting isn't open. key: its wording; step: the hold point, if one; entries: what it names."""

    key: str
    step: str = ""
    entries: tuple[str, ...] = ()
    about: str = ""


def connect_bars(scene: Scene, views: Views) -> Iterator[Bar]:
    """All that keeps connecting shut at this look, one by one; nothing when the gate is open."""
    if phase(scene.treatment) is not Phase.SETTING_UP:
        yield Bar("bar.not_setting_up")
    said = held_back(scene.standing, scene.now.at)
    if said is not None:
        yield Bar("bar.not_tonight", entries=(said.id,))
    if not _as_pinned(scene):
        yield Bar("bar.rules_lost")
    if scene.holder is None:
        yield Bar("bar.no_holder")
    order = scene.order
    if order is None or order.waiting:
        yield Bar("bar.no_prescription", entries=order.waiting if order is not None else ())
    if order is not None:
        for line in scene.procedure.misfits(order.lines):
            yield Bar("bar.other_steps", about=line)
    for facts in (scene.treatment, scene.standing):
        for entry in facts.not_understood():
            yield Bar("bar.not_understood", entries=(entry.id,), about=entry.envelope.kind)
    for slot, held in scene.treatment.disagreements().items():
        yield Bar(
            "bar.unsettled",
            entries=tuple(f.id for f in held),
            about=".".join(filter(None, slot[1:])) or slot[0],
        )
    for view in unpassed(views, "connect"):
        yield step_bar(view)


def _as_pinned(scene: Scene) -> bool:
    """Whether this look goes by the steps and limits that the night was opened with, or by limits tightened since."""
    return all(
        isinstance(fact.body, Pinned)
        and fact.body.procedure_digest == scene.procedure.digest
        and fact.body.rulebook_digest in (scene.rulebook.digest, scene.rulebook.base)
        for fact in scene.treatment.of("pinned")
    )


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
