"""What stands between treatments: the order in force, people and what they are signed off for, recalls."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from ebbwell.core.clock import elapsed
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.house import Household, Person, Skill, StepsAdopted
from ebbwell.journal.kinds.marks import LotRecalled, Measured
from ebbwell.journal.kinds.night import Disinfected
from ebbwell.journal.kinds.orders import LineAmended, Prescription, SecondCheck
from ebbwell.state.facts import Fact, Facts, agreed
from ebbwell.state.night import first_blood
from ebbwell.state.noes import noes

CHEMICAL = frozenset({"hypochlorite", "peracetic", "other"})
"""Agents that need a residual test after them. Source: practice:section f; fluids 1.11."""

RESIDUAL = "residual_disinfectant"

HOLDS_FOR = timedelta(hours=12)
"""How long "not tonight" keeps another night from being opened. Own choice: it is about this night."""


def stands(entry: Entry) -> bool:
    """Whether an entry is kept with what stands, beside or instead of its treatment."""
    if entry.envelope.treatment is None or entry.envelope.kind == "disinfected":
        return True
    return (
        entry.envelope.kind == "measured"
        and isinstance(entry.body, Measured)
        and entry.body.quantity == RESIDUAL
    )


@dataclass(frozen=True)
class Order:
    """The prescription in force, amendments worked in.

    lines: line to text. from_entry: line to the id of the entry that says so. facts: every entry it rests on.
    waiting: ids that wait for their second check; while there is one, nothing is in force to connect by.
    unconfirmed: amended lines whose written confirmation is still to come. alone: line changed for this night alone to
    what it is again from the next night on; "" where it isn't on the order then.
    """

    prescription: Fact
    lines: dict[str, str]
    from_entry: dict[str, str]
    facts: tuple[Fact, ...]
    waiting: tuple[str, ...]
    unconfirmed: tuple[str, ...]
    alone: Mapping[str, str] = field(default_factory=dict)

    @property
    def body(self) -> Prescription:
        """The prescription as transcribed, before amendments."""
        body = self.prescription.body
        if not isinstance(body, Prescription):
            raise TypeError(f"not a prescription: {self.prescription.kind}")
        return body


def checked(facts: Facts, entry_id: str) -> Fact | None:
    """The second check that holds, agrees and names an entry; None without one."""
    for check in facts.of("second_check"):
        if isinstance(check.body, SecondCheck) and check.body.agrees and entry_id in check.body.of:
            return check
    return None


def order(standing: Facts, alone: frozenset[str] = frozenset()) -> Order | None:
    """The order as it stands; None when there is none, or when two disagree.

    alone: ids of the changes for one night alone that hold for the night it is asked for (``state.alone``); the others
    hold for other nights. A new prescription takes the place of the one before when it is written, so that nobody works
    from the old one while the new waits for its second check.
    """
    found = standing.worked_out(_orders)
    if alone not in found:
        found[alone] = _order(standing, alone)
    return found[alone]


def _orders(_: Facts) -> dict[frozenset[str], Order | None]:
    """The order of each night, as it comes to be asked for."""
    return {}


def _order(standing: Facts, alone: frozenset[str]) -> Order | None:
    held = standing.of("prescription")
    if len(held) != 1 or not isinstance(held[0].body, Prescription):
        return None
    prescription = held[0]
    lines = {line: value for line, value in held[0].body.lines.items() if value}
    from_entry = dict.fromkeys(lines, prescription.id)
    waiting = []
    rests: list[Fact] = [prescription]
    unconfirmed = []
    again: dict[str, str] = {}
    check = checked(standing, prescription.id)
    if check is None:
        waiting.append(prescription.id)
    else:
        rests.append(check)
    versions = standing.versions(prescription)
    for fact, body in _amended(standing, alone):
        if body.prescription not in versions:
            continue
        rests.append(fact)
        check = checked(standing, fact.id)
        if check is None:
            waiting.append(fact.id)
            continue
        rests.append(check)
        if body.tonight_only:
            again.setdefault(body.line, lines.get(body.line, ""))
        elif body.written_awaited:
            unconfirmed.append(body.line)
        lines[body.line] = body.value
        from_entry[body.line] = fact.id
    return Order(prescription, lines, from_entry, tuple(rests), tuple(waiting), tuple(unconfirmed), again)


def _amended(standing: Facts, alone: frozenset[str]) -> list[tuple[Fact, LineAmended]]:
    """The changed lines that hold: first those from now on, then those for this night alone, which go before them."""
    found = [(f, f.body) for f in standing.of("line_amended") if isinstance(f.body, LineAmended)]
    return [
        *((fact, body) for fact, body in found if not body.tonight_only),
        *((fact, body) for fact, body in found if body.tonight_only and fact.id in alone),
    ]


def household(standing: Facts) -> Household | None:
    """The home's own entry."""
    fact = standing.last("household")
    return fact.body if fact is not None and isinstance(fact.body, Household) else None


def people(standing: Facts) -> dict[str, Person]:
    """Person id to the person, as last written."""
    return {f.body.person: f.body for f in standing.of("person") if isinstance(f.body, Person)}


def signed_off(standing: Facts, person: str, skill: str) -> bool:
    """Whether someone may do a thing alone: a trained carer, or a stand-in signed off for it.

    Nobody who isn't entered is signed off for anything before first blood.
    """
    known = people(standing).get(person)
    if known is None:
        return False
    latest = None
    for fact in standing.of("skill"):
        if isinstance(fact.body, Skill) and fact.body.person == person and fact.body.skill == skill:
            latest = fact.body.signed_off
    return latest if latest is not None else "carer" in known.roles


def recalled(standing: Facts, item: str, lot: str) -> Fact | None:
    """The recall that names this lot, or None."""
    for fact in standing.of("lot_recalled"):
        if (
            isinstance(fact.body, LotRecalled)
            and fact.body.item == item
            and fact.body.lot.strip().casefold() == lot.strip().casefold()
        ):
            return fact
    return None


def held_back(standing: Facts, now: datetime) -> Fact | None:
    """The person's word "not tonight" that keeps a night from being opened now; None without one."""
    for fact in reversed(standing.of("not_tonight")):
        if elapsed(fact.at, now) < HOLDS_FOR:
            return fact
    return None


def said_no(treatment: Facts, standing: Facts, now: datetime) -> Fact | None:
    """The person's word "not tonight" that holds now: for a night to be opened, or for this one before any blood ran."""
    ran = first_blood(treatment) is not None
    return held_back(standing, now) or (None if ran else treatment.last("not_tonight"))


def taken_back(facts: Facts, now: datetime) -> list[tuple[Entry, Entry]]:
    """Each "not tonight" of the last hours that was taken back: what was said, and the taking back; oldest first."""
    pairs = [(no.entry, back) for no in noes(facts) for back in no.backs]
    lately = [pair for pair in pairs if elapsed(pair[0].envelope.at, now) < HOLDS_FOR]
    return sorted(lately, key=lambda pair: pair[1].id)


def adopted_steps(standing: Facts) -> str:
    """The household's own text of the steps; "" where it has none, or where two stand that differ."""
    held = agreed(standing.of("steps_adopted"))
    body = None if held is None else held.body
    return body.text if isinstance(body, StepsAdopted) else ""


def last_chemical(standing: Facts) -> Fact | None:
    """The latest chemical disinfection recorded, or None."""
    found = [
        f for f in standing.of("disinfected") if isinstance(f.body, Disinfected) and f.body.agent in CHEMICAL
    ]
    return max(found, key=lambda fact: fact.at, default=None)


def residual_test_needed(standing: Facts) -> bool:
    """Whether a residual test has to be made tonight.

    It has, unless the last disinfection on record was by heat and the last chemical one, if any, was followed by
    a negative test. With nothing on record it has to be made. Source: practice:H10.
    """
    return standing.worked_out(_residual_test_needed)


def _residual_test_needed(standing: Facts) -> bool:
    if not standing.of("disinfected"):
        return True
    chemical = last_chemical(standing)
    if chemical is None:
        return False
    negatives = [
        f.at
        for f in standing.of("measured")
        if isinstance(f.body, Measured) and f.body.quantity == RESIDUAL and f.body.value == "negative"
    ]
    return max(negatives, default=chemical.at) <= chemical.at
