"""What came of a call to the unit while the night is set up: its words, and the step that they may open."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.deeds import orders
from ebbwell.deeds.desk import Desk
from ebbwell.papers.warned import call_is_open
from ebbwell.papers.words import step_words
from ebbwell.web.once import KEPT, from_tonight, once, sent
from ebbwell.web.pages.setup.screen import urgent
from ebbwell.web.visit import Visit


def show_unit(visit: Visit) -> Response:
    """What the unit said, about any step or none."""
    open_call = call_is_open(visit.desk)
    return visit.show("pages/setup/unit_said.html", barred=_advisable(visit.desk), call_open=open_call)


def _advisable(desk: Desk) -> list[tuple[str, str]]:
    """The steps that the unit's word could open, as they stand now."""
    first = {step.id for _, _, step in urgent(desk)}
    return [
        (v.step.id, step_words(desk.procedure, v.step.id))
        for v in desk.views.values()
        if v.unit_may or (v.step.advisable and v.step.id in first)
    ]


def take_unit(visit: Visit) -> Response:
    """Write down what the unit said, in its words."""
    about = sent(visit, "about")
    allowed = sent(visit, "unit.allows") == "yes" and bool(about)
    if from_tonight(visit):
        kept = once(
            visit,
            orders.advise,
            field="unit",
            outcome=sent(visit, "unit.outcome"),
            who=sent(visit, "unit.who"),
            words=sent(visit, "unit.words"),
            about=(about,) if about else (),
            allows=allowed,
        )
        if kept == KEPT:
            visit.findings.clear()
            return visit.go(f"/happened/kept/{sent(visit, 'unit', 'key')}", kept="unit-said")
    return show_unit(visit)
