"""Conditions under which a step is needed tonight. Not knowing means: needed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from ebbwell.journal.kinds.marks import Choice, Measured
from ebbwell.journal.kinds.night import CameOff
from ebbwell.state.facts import Fact, Facts
from ebbwell.state.standing import RESIDUAL, Order, household, residual_test_needed


class Known(Protocol):
    """What a condition may look at."""

    @property
    def order(self) -> Order | None:
        """The prescription in force."""
        ...

    @property
    def treatment(self) -> Facts:
        """Tonight's facts."""
        ...

    @property
    def standing(self) -> Facts:
        """What stands between treatments."""
        ...


def _line(name: str, *options: str) -> Callable[[Known], bool]:
    def holds(scene: Known) -> bool:
        if scene.order is None or not scene.order.lines.get(name):
            return True
        return scene.order.lines[name] in options

    return holds


def _buttonhole(scene: Known) -> bool:
    """A catheter has no needle sites, whether or not its prescription has a line for needles."""
    return _line("access", "fistula", "graft")(scene) and _line("needle_method", "buttonhole")(scene)


def _residual(scene: Known) -> bool:
    return scene.treatment.worked_out(_tested_tonight) or residual_test_needed(scene.standing)


def _tested_tonight(treatment: Facts) -> bool:
    """Whether a residual test was ever entered tonight; one taken back leaves the step open, not unneeded."""
    return any(
        isinstance(e.body, Measured) and e.body.quantity == RESIDUAL
        for e in treatment.entries.values()
        if e.envelope.kind == Measured.KIND
    )


def _tanks(scene: Known) -> bool:
    home = household(scene.standing)
    return home is None or home.carbon_tanks > 1


def _always(scene: Known) -> bool:
    return True


def _looks(scene: Known, *options: str) -> bool:
    """Whether the blood looked one of these ways; also where nobody looked."""
    seen = [_option(fact) for fact in scene.treatment.at_slot("choice", "C7", "blood_return")]
    return not seen or seen[-1] in options


def _given_back(scene: Known) -> tuple[str, ...]:
    """How much blood was given back, as every entry of coming off that stands has it."""
    facts = scene.treatment.of("came_off")
    return tuple(fact.body.blood_returned for fact in facts if isinstance(fact.body, CameOff))


def _returned(scene: Known) -> bool:
    """Blood that stayed out is given back no more, however it looked."""
    back = _given_back(scene)
    return _looks(scene, "normal") and not (back and set(back) == {"none"})


def _kept_out(scene: Known) -> bool:
    """Blood stayed out where it wasn't all given back, whatever the reason. Source: practice:c, C7."""
    looks = _looks(scene, "clotted", "haemolysis", "chemical", "other")
    return looks or any(back != "all" for back in _given_back(scene))


def _option(fact: Fact) -> str:
    return fact.body.option if isinstance(fact.body, Choice) else ""


CHECKS: dict[str, Callable[[Known], bool]] = {
    "chemical_used": _residual,
    "two_tanks": _tanks,
    "overnight": _always,
    "blood_thinner": _line("anticoagulant", "heparin", "low_molecular"),
    "low_molecular": _line("anticoagulant", "low_molecular"),
    "buttonhole": _buttonhole,
    "prime_to_drain": _line("connection", "prime_to_drain"),
    "prime_given": _line("connection", "prime_given"),
    "blood_returned": _returned,
    "blood_kept_out": _kept_out,
    "heparin": _line("anticoagulant", "heparin"),
    "no_heparin": _line("anticoagulant", "none"),
    "no_heparin_pump": _line("anticoagulant", "none", "low_molecular"),
    "fistula": _line("access", "fistula", "graft"),
    "catheter": _line("access", "catheter"),
    "dry_bicarbonate": _line("bicarbonate_form", "dry"),
    "liquid_bicarbonate": _line("bicarbonate_form", "liquid"),
}
"""Condition to its check. A condition of the data without a check here is refused by the lint's test."""


def needed(scene: Known, only_if: str) -> bool:
    """Whether a step with this condition is needed."""
    return only_if == "" or CHECKS[only_if](scene)
