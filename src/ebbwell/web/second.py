"""The second reading of a step, as a form: what was read first isn't on the page, nor in it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ebbwell.core.clock import zone_info
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.text import say
from ebbwell.deeds import rereading
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.turn import LOOK_AGAIN
from ebbwell.journal.kinds.marks import Choice, LotUsed, Measured
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.papers.words import UNSHOWN, item_words, place_words
from ebbwell.procedure.holds import SECOND_WAYS, StepView
from ebbwell.rulebook.own_units import field_unit
from ebbwell.state.facts import Fact
from ebbwell.state.standing import people
from ebbwell.web.marks import capital, picks
from ebbwell.web.once import KEPT, LEFT, once, refuse, sent
from ebbwell.web.scan import read_scan
from ebbwell.web.visit import Visit


@dataclass(frozen=True)
class Reading:
    """One thing to be read again. name: of its field. said: the name it goes by in the record."""

    name: str
    said: str
    label: str
    options: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    pack: bool = False


@dataclass(frozen=True)
class Second:
    """What a step's second reading asks for. of: ids of the first readings. ways: (word, words) to pick from.

    not_before: how soon the same person may look again, as a clock time with seconds; "" where that is now.
    """

    step: str
    of: tuple[str, ...]
    readings: tuple[Reading, ...]
    ways: tuple[tuple[str, str], ...]
    photo: bool
    scan: bool
    not_before: str = ""

    @property
    def name(self) -> str:
        """The name its fields begin with."""
        return f"{self.step}.second"


def second_of(desk: Desk, view: StepView) -> Second:
    """The second reading that a step waits for."""
    step = view.step
    firsts = rereading.first_readings(desk, step.id)
    known = people(desk.standing)
    ways = SECOND_WAYS[step.second]
    read_by = {fact.by for fact in firsts}
    picks = [
        (f"person:{person}", say("web.marks.second_person", person=one.name))
        for person, one in known.items()
        if person not in read_by and "person" in ways and set(one.roles) - {"clinic"}
    ]
    picks += [(way, say(f"web.marks.second_{way}")) for way in ("reread", "photo") if way in ways]
    soonest = max((f.entry.envelope.recorded_at for f in firsts), default=desk.now.at) + LOOK_AGAIN
    later = "reread" in ways and soonest > desk.now.at
    return Second(
        step.id,
        tuple(fact.id for fact in firsts),
        tuple(_reading(desk, view, fact) for fact in firsts),
        tuple(picks),
        photo="photo" in ways,
        scan="scan" in ways and all(isinstance(fact.body, LotUsed) for fact in firsts),
        not_before=soonest.astimezone(zone_info(desk.now.zone)).strftime("%H:%M:%S") if later else "",
    )


def _reading(desk: Desk, view: StepView, fact: Fact) -> Reading:
    said, _ = rereading.said(fact)
    name = f"{view.step.id}.second.{said.replace('@', '.')}"
    body = fact.body
    if isinstance(body, Measured):
        definition = desk.rulebook.quantity(body.quantity)
        options = picks(desk, body.quantity, definition.words)
        unit = "" if definition.unit in UNSHOWN else field_unit(desk.rulebook, body.quantity)
        return Reading(name, said, capital(place_words(body.quantity, body.place)), options, unit)
    if isinstance(body, LotUsed):
        label = say("web.marks.code_of", item=item_words(body.item))
        return Reading(name, said, label, pack=True)
    if isinstance(body, Choice):
        options = picks(desk, body.name, view.step.options[body.name])
        return Reading(name, said, desk.procedure.say(f"choice.{body.name}"), options)
    return Reading(name, said, say("web.marks.read_again"), (("yes", say("web.marks.yes")),))


def keep_second(visit: Visit, second: Second) -> str:
    """Keep a second reading, if one was filled in. Gives LEFT, KEPT or NOT_KEPT."""
    values = {r.said: sent(visit, r.name) for r in second.readings}
    label = sent(visit, second.name, "scan") if second.scan else ""
    how = sent(visit, second.name, "how")
    if not (label or how or any(values.values())):
        return LEFT
    try:
        if tuple(sent(visit, second.name, "of").split()) != second.of:
            raise InputError("web.marks.first_changed")
        if label:
            code = read_scan(label).code
            values, how = {r.said: code for r in second.readings}, "scan"
        elif how not in dict(second.ways):
            raise InputError("web.marks.second_how")
        blank = next((r for r in second.readings if not values[r.said]), None)
        if blank is not None:
            raise InputError("web.marks.second_blank", label=blank.label)
    except EbbwellError as why:
        return refuse(visit, second.name, why)
    return _check(visit, second, how, values)


def second_before(visit: Visit, step: str) -> str:
    """What came of a second reading that isn't asked any more: KEPT where this very form kept it."""
    name = f"{step}.second"
    if not any(
        value.strip() for part, value in visit.typed.items() if part.startswith(f"{name}.") and _typed(part)
    ):
        return LEFT
    fact = visit.desk.treatment.fact(sent(visit, name, "key").lower())
    if fact is not None and isinstance(fact.body, SecondCheck):
        return KEPT
    return refuse(visit, name, InputError("web.marks.not_asked"))


def _typed(part: str) -> bool:
    return not part.endswith((".key", ".of"))


def _check(visit: Visit, second: Second, how: str, values: dict[str, str]) -> str:
    way, _, person = how.partition(":")
    reader = replace(visit, who=person) if person else visit
    photo = sent(visit, second.name, "photo") if way == "photo" else ""
    kept = once(
        reader,
        rereading.second_check,
        field=second.name,
        step=second.step,
        how=way,
        values=values,
        photo=photo,
    )
    if kept == KEPT:
        visit.look_again()
    return kept
