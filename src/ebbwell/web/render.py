"""Templates to text: one environment, with the words, times and marks that every page uses."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from ebbwell.core.clock import elapsed
from ebbwell.core.readiness import practice_only
from ebbwell.core.text import has_text, say
from ebbwell.deeds.readings_due import DueReading, due_readings
from ebbwell.papers.first_actions import (
    emergency_lines,
    first_action_lines,
    read_out_parts,
    signed_situations,
    unit_calls,
    void_situations,
)
from ebbwell.papers.home_clock import home_clock
from ebbwell.papers.open_calls import call_lines
from ebbwell.papers.said_before import no_words
from ebbwell.papers.sheet_figures import on_dialysis
from ebbwell.papers.spoken import age, finding_words
from ebbwell.papers.words import day, named, place_words, span, step_words, when_words
from ebbwell.procedure.holds import StepView
from ebbwell.state.standing import household, people
from ebbwell.state.water import today
from ebbwell.web.lying import lying

if TYPE_CHECKING:
    from ebbwell.deeds.desk import Desk
    from ebbwell.web.visit import Visit


@cache
def environment() -> Environment:
    """The one environment. Names a template uses but wasn't given are a fault."""
    made = Environment(
        loader=PackageLoader("ebbwell.web", "."),
        autoescape=select_autoescape(("html",), default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(
        say=say,
        lying=lying,
        has_text=has_text,
        step_words=step_words,
        place_words=place_words,
        finding_words=finding_words,
        mark_of=mark_of,
        day=day,
        length=span,
        when_words=when_words,
        value_name=value_name,
        made_under=made_under,
        reminders_due=reminders_due,
        call_lines=call_lines,
        emergency_lines=emergency_lines,
        first_action_lines=first_action_lines,
        read_out_parts=read_out_parts,
        unit_calls=unit_calls,
        signed_situations=signed_situations,
        void_situations=void_situations,
        no_words=no_words,
        printed_on=printed_on,
    )
    made.filters["capitalize_first"] = lambda text: text[:1].upper() + text[1:]
    made.filters["minus"] = lambda text: str(text).replace("-", "\N{MINUS SIGN}")
    made.filters["role"] = lambda role: say(f"role.{role}")
    return made


def mark_of(view: StepView) -> str:
    """The mark in the margin: ``done``, ``shut`` for a hold point that is open still, ``open`` for the rest."""
    if view.passed:
        return "done"
    return "shut" if view.step.kind == "hold" else "open"


def value_name(quantity: str) -> str:
    """What a value is called where it stands alone; both blood pressures go by one name."""
    return say("web.blood_pressure") if quantity == "systolic" else named("quantity", quantity)


def reminders_due(desk: Desk) -> list[DueReading]:
    """The readings that a screen with reminders on reminds of: those with a time, not recorded yet."""
    return [r for r in due_readings(desk) if r.remind and r.due is not None and not r.given]


def made_under(desk: Desk) -> str:
    """Prescription and procedure that a page shows, for what a screen may have to hold back."""
    order = desk.scene.order
    return " ".join((order.prescription.id if order is not None else "", desk.procedure.digest[:12])).strip()


def printed_on(desk: Desk) -> str:
    """Whose page a paper is, and of which day: its ages count from there."""
    return say("web.printed_on", who=on_dialysis(desk), day=day(today(desk.now).isoformat()))


def render(template: str, visit: Visit, **values: Any) -> str:
    """A page as text. template: path below ``web``, such as ``pages/tonight/page.html``."""
    desk = visit.desk
    home = household(desk.standing)

    def hour(at: datetime) -> str:
        return home_clock(desk, at)

    def old(at: datetime) -> str:
        return age(elapsed(at, desk.now.at).total_seconds() / 60)

    return (
        environment()
        .get_template(template)
        .render(
            visit=visit,
            desk=desk,
            home=home,
            invented=home is not None and home.invented,
            practice=practice_only() and not (home is not None and home.invented),
            person=people(desk.standing).get(visit.who),
            hour=hour,
            old=old,
            now=desk.now,
            **values,
        )
    )
