"""The one next thing, and the page where it is done."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.core.text import say
from ebbwell.deeds.coming_up import next_view
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.papers.standing_now import next_words
from ebbwell.procedure.holds import Status
from ebbwell.procedure.scene import CLOCK_QUESTION
from ebbwell.state.facts import Fact
from ebbwell.state.night import ON_MACHINE, Phase, first_blood
from ebbwell.state.standing import held_back, people


@dataclass(frozen=True)
class Next:
    """words: what comes. button: what the button says. to: where it leads; "" for the form that opens the night.

    also: a second way that stands open.
    """

    words: str
    button: str
    to: str
    also: tuple[str, str] | None = None


ENDED = (Phase.NONE, Phase.CLOSED, Phase.CALLED_OFF)


def next_thing(desk: Desk) -> Next | None:
    """What comes next; None where nothing may be begun, because the person said "not tonight"."""
    if desk.phase in ENDED:
        return _between(desk)
    words = next_words(desk)
    if desk.phase is Phase.SETTING_UP:
        held = _order_first(desk)
        if held is not None:
            return held
        if not desk.bars and next_view(desk) is None:
            return Next(words, say("web.tonight.go.connect"), "/connect")
        return Next(words, say("web.tonight.go.setup"), "/setup")
    if desk.phase in ON_MACHINE:
        return Next(words, say("web.tonight.go.night"), "/night")
    if desk.phase is Phase.STOPPING and first_blood(desk.treatment) is None:
        return Next(words, say("web.tonight.go.call_off"), "/call-off")
    return Next(words, say("web.tonight.go.off"), "/off", _next_night(desk))


def _between(desk: Desk) -> Next | None:
    """Between two nights: enter who is missing, then the order, then open a night."""
    known = people(desk.standing)
    roles = {role for one in known.values() for role in one.roles}
    if not {"dialysis", "carer"} <= roles:
        return Next(say("web.tonight.enter_people"), say("web.tonight.go.begin"), "/begin")
    held = _order_first(desk)
    if held is not None:
        return held
    if held_back(desk.standing, desk.now.at) is not None:
        return None
    return Next(next_words(desk), say("web.tonight.go.open"), "")


def _order_first(desk: Desk) -> Next | None:
    held = desk.scene.order
    if held is None:
        two = bool(desk.standing.of("prescription"))
        to = "/prescription" if two else "/prescription/new"
        return Next(say("tonight.next.prescription"), say("web.tonight.go.prescription"), to)
    if held.waiting:
        to = f"/prescription/check/{held.waiting[0]}"
        return Next(say("tonight.next.second_check"), say("web.tonight.go.second_check"), to)
    return None


def _next_night(desk: Desk) -> tuple[str, str] | None:
    """While a sheet waits for its last lines another night may be opened, once the machine was cleaned."""
    if desk.phase is not Phase.SAFE or held_back(desk.standing, desk.now.at) is not None:
        return None
    if any(not v.passed for v in desk.views.where(lambda step: step.gate == "next_night")):
        return None
    return say("web.tonight.go.open"), ""


def clock_asked(desk: Desk) -> bool:
    """Whether nothing waits for the clock to be compared: after a restart it does, until somebody compared it."""
    if desk.phase is not Phase.SETTING_UP:
        return True
    asked = desk.treatment.at_slot("answer", CLOCK_QUESTION)
    if any(f.recorded.boot == desk.now.boot for f in asked):
        return True
    return all(view.status is not Status.NOT_KNOWN for view in desk.views.values())


def offered_to(desk: Desk) -> Fact | None:
    """The hand-over of this night that waits for an answer; None without one."""
    offers = desk.treatment.of("handed_over")
    taken = {f.body.offer for f in offers if isinstance(f.body, HandedOver)}
    for fact in reversed(offers):
        if isinstance(fact.body, HandedOver) and fact.body.stage == "offered" and fact.id not in taken:
            return fact
    return None
