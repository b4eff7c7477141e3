"""What the clinic ordered for one night, for the sheet: the order itself, and each line beside what was done of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta

from ebbwell.core.clock import elapsed
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.journal.kinds.orders import LineAmended, Plan
from ebbwell.papers.describe import describe
from ebbwell.papers.home_clock import ONE_NIGHT, opened_at
from ebbwell.papers.sheet_figures import LIMITS
from ebbwell.papers.words import day, figure_value, line_value, line_words, measured_words, named
from ebbwell.procedure.evidence import SETTING
from ebbwell.procedure.model import SETTINGS
from ebbwell.state.facts import Facts
from ebbwell.state.standing import Order

OTHER_NAME = {"heparin_rate_ml": "heparin_rate"}
"""Setting of the machine to the line of the prescription that it comes from, where the two differ."""

BY_PACK = {"dialyser": "dialyser", "acid": "acid_code", "bicarbonate": "bicarbonate_code"}
"""Item that is opened to the line of the prescription that names it."""

BY_GIVEN = {name: name for name in ("heparin_first_dose", "low_molecular_dose", "rinse_back")}
"""What goes in to the line of the prescription that says how much."""

BARE = frozenset({"access", "anticoagulant", "connection", "needle_gauge", "needle_method"})
"""Lines whose value says by itself what it is: Fistula, 15 gauge, Buttonhole."""

STANDING = frozenset(
    {"bleeding_call_minutes", "fluid_from", "pattern", "reading_schedule", "spread_nights", "spread_rule"}
)
"""Lines that are a rule for every night and set nothing on this one; the sheet says that there are some."""


@dataclass
class Ordered:
    """The order of one night. shown: lines that stand beside what was done; the others are told in one run.

    order: None where there is none, or where two disagree.
    """

    desk: Desk
    order: Order | None
    shown: set[str] = field(default_factory=set)

    def line(self, name: str) -> str:
        """What the order says of a line, with its unit; "" where it says nothing."""
        if self.order is None or name not in self.order.lines:
            return ""
        self.shown.add(name)
        return line_value(name, self.order.lines[name], self.desk.rulebook)

    def beside(self, name: str, unit: str = "") -> str:
        """What is put after a value: `` (ordered 1500)``; "" where the order says nothing of it.

        unit: of the value that it is put after; the same one isn't said again.
        """
        value = self.line(name) if name else ""
        return say("sheet.ordered_beside", value=value.removesuffix(f" {unit}")) if value else ""

    def settings(self) -> list[str]:
        """Each machine setting with what was ordered, or planned where it is worked out, and what was read off.

        A line of the order that this machine isn't set to stands with the rest of the order.
        """
        plan = self.desk.treatment.last("plan")
        figures = plan.body.figures if plan is not None and isinstance(plan.body, Plan) else {}
        held = self.desk.treatment.of("measured")
        bodies = [f.body for f in held if isinstance(f.body, Measured) and f.body.place == SETTING]
        known = [body.quantity for body in bodies if body.quantity not in SETTINGS]
        out = []
        for name in (*SETTINGS, *dict.fromkeys(known)):
            read = [measured_words(body) for body in bodies if body.quantity == name]
            if not read and name not in self.desk.procedure.settings:
                continue
            wanted = self.line(OTHER_NAME.get(name, name))
            words = named("setting", name)
            if not wanted and name in figures:
                wanted, words = figure_value(figures[name]), say("sheet.planned", what=words)
            if wanted or read:
                out.append(f"{words} {_pair(wanted or '-', ' / '.join(read) or '-')}")
        return out

    def drawn(self) -> tuple[str, ...]:
        """Lines that stand in the chart of pressures: its limits, where there is a reading to draw."""
        readings = [f.body for f in self.desk.treatment.of("reading") if isinstance(f.body, Reading)]
        seen = {name for body in readings for name in body.values}
        return LIMITS if {"venous_pressure", "arterial_pressure"} <= seen else ()

    def lead(self) -> str:
        """Who ordered, when, by which number; lines changed since; the lines that stand nowhere else on the sheet."""
        if self.order is None:
            return say("sheet.no_order")
        body = self.order.body
        said = [
            say("sheet.order", number=body.number or "-", giver=body.giver, day=day(body.valid_from)),
            *([say("tonight.waits")] if self.order.prescription.id in self.order.waiting else []),
        ]
        changed = [
            fact
            for fact in self.order.facts
            if fact.id in (*self.order.from_entry.values(), *self.order.waiting)
            and isinstance(fact.body, LineAmended)
        ]
        said += [
            say("sheet.order_changed", what=describe(fact.body), day=day(fact.at.date().isoformat()))
            for fact in changed
        ]
        told = {*self.shown, *self.drawn(), *STANDING, *(getattr(fact.body, "line", "") for fact in changed)}
        known = [line.id for line in self.desk.rulebook.lines()]
        rest = [
            (line_value if name in BARE else line_words)(name, self.order.lines[name], self.desk.rulebook)
            for name in dict.fromkeys([*known, *self.order.lines])
            if name in self.order.lines and name not in told
        ]
        if rest:
            said.append(say("sheet.order_rest", lines="; ".join(rest)))
        if STANDING & self.order.lines.keys():
            said.append(say("sheet.order_standing"))
        if body.free_text:
            said.append(body.free_text)
        return " ".join(said)


def _pair(wanted: str, read: str) -> str:
    """Two values; a unit that both have is said once: ``230 / 230 mL/min``."""
    number, _, unit = wanted.partition(" ")
    same = unit and read.partition(" ")[2] == unit
    return f"{number if same else wanted} / {read}"


def ordered_for(desk: Desk) -> Ordered:
    """The order as it stood for the night on the desk: what was written after the night changes nothing of it.

    A correction made weeks later leaves the sheet with the order of then.
    """
    opened = opened_at(desk)
    if opened is None or elapsed(opened, desk.now.at) <= ONE_NIGHT:
        return Ordered(desk, desk.scene.order)
    until = opened + ONE_NIGHT
    standing = Facts()
    for entry in desk.standing:
        if elapsed(entry.envelope.recorded_at, until) >= timedelta(0):
            standing.step(entry)
    then = replace(desk, standing=standing, drafts=[], findings=[])
    return Ordered(desk, then.scene.order)
