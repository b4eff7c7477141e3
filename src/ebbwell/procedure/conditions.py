"""Conditions under which a step is needed tonight. Not knowing means: needed."""

from __future__ import annotations

from collections.abc import Callable

from ebbwell.procedure.scene import Scene
from ebbwell.state.standing import residual_test_needed


def _line(name: str, *options: str) -> Callable[[Scene], bool]:
    def holds(scene: Scene) -> bool:
        if scene.order is None or not scene.order.lines.get(name):
            return True
        return scene.order.lines[name] in options

    return holds


def _residual(scene: Scene) -> bool:
    tested = scene.treatment.at_slot("measured", "residual_disinfectant", "")
    return bool(tested) or residual_test_needed(scene.standing)


CHECKS: dict[str, Callable[[Scene], bool]] = {
    "chemical_used": _residual,
    "heparin": _line("anticoagulant", "heparin"),
    "no_heparin": _line("anticoagulant", "none"),
    "fistula": _line("access", "fistula", "graft"),
    "catheter": _line("access", "catheter"),
    "dry_bicarbonate": _line("bicarbonate_form", "dry"),
    "liquid_bicarbonate": _line("bicarbonate_form", "liquid"),
}
"""Condition to its check. A condition of the data without a check here is refused by the lint's test."""


def needed(scene: Scene, only_if: str) -> bool:
    """Whether a step with this condition is needed."""
    return only_if == "" or CHECKS[only_if](scene)
