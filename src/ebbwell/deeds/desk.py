"""The desk a deed works at: what is known this moment, and what the deed wants written.

A deed reads from the desk, then adds drafts to it or raises. It never touches a store. The house runs it inside
one write transaction, so what it read is what is so.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import NoReturn

from ebbwell.core.clock import Moment
from ebbwell.core.errors import EbbwellError
from ebbwell.core.findings import Finding
from ebbwell.core.ids import Ids
from ebbwell.journal.envelope import Envelope, utc
from ebbwell.journal.kinds import Body, kind_of, must_understand
from ebbwell.journal.kinds.house import Erased
from ebbwell.journal.store.base import Draft
from ebbwell.procedure.gate import Bar, connect_bars
from ebbwell.procedure.holds import Views
from ebbwell.procedure.model import Procedure
from ebbwell.procedure.rule_facts import rule_facts
from ebbwell.procedure.scene import Scene
from ebbwell.procedure.sums import with_sums
from ebbwell.rulebook.evaluate import Fact
from ebbwell.rulebook.model import Rulebook
from ebbwell.rulebook.typed import Question
from ebbwell.state.alone import for_night
from ebbwell.state.facts import Facts
from ebbwell.state.night import Phase, phase
from ebbwell.state.own_past import NightSummary
from ebbwell.state.standing import order

LATE = 20
"""Minutes between seeing and writing from which an entry is marked late. Source: practice:H42."""


class Refused(EbbwellError):
    """A deed isn't open yet, and why. bars: everything that keeps it shut."""

    exit_code = 40

    def __init__(self, key: str, **params: object) -> None:
        bars = params.pop("bars", ())
        super().__init__(key, **params)
        self.bars: tuple[Bar, ...] = bars if isinstance(bars, tuple) else ()


class Asked(EbbwellError):
    """A typed value is unusual: the deed asks first. questions: what to ask; sure: what answers them.

    The same deed with ``sure`` holding every question's key goes on and keeps the questions with the entry.
    """

    exit_code = 41

    def __init__(self, questions: tuple[Question, ...]) -> None:
        super().__init__("asked", questions=", ".join(q.key for q in questions))
        self.questions = questions


@dataclass(frozen=True)
class Done:
    """What a deed did. entries: ids written, the first one being the key it was called with. findings: what to show.

    repeated: the key had been used before; nothing was written anew.
    """

    entries: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    repeated: bool = False


@dataclass
class Desk:
    """by: who acts. key: the one-time key, which becomes the id of the first entry. treatment_id: tonight's, if open.

    procedure, rulebook: those that the treatment is pinned to. present: those that a night opened now is pinned to.
    """

    household: str
    treatment_id: str | None
    treatment: Facts
    standing: Facts
    past: Mapping[str, NightSummary]
    procedure: Procedure
    rulebook: Rulebook
    now: Moment
    by: str
    writer: str
    ids: Ids
    key: str | None = None
    present: tuple[Procedure, Rulebook] | None = None
    drafts: list[Draft] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    @cached_property
    def scene(self) -> Scene:
        """One look at the treatment."""
        return Scene(
            procedure=self.procedure,
            rulebook=self.rulebook,
            treatment=self.treatment,
            standing=self.standing,
            now=self.now,
            gather=self._facts,
            past=self.past,
        )

    @property
    def access(self) -> str:
        """Access that the order names, for the words to it; "" where none stands or it names none. Judges nothing."""
        held = order(self.standing, for_night(self.standing, self.treatment, self.past, self.now.at))
        return held.lines.get("access", "") if held is not None else ""

    def _facts(self) -> Mapping[str, Fact]:
        """Everything known tonight that a rule may ask for, the procedure's own sums among it."""
        found = rule_facts(self.treatment, self.standing, self.past, self.now, self.rulebook)
        return with_sums(found, self.procedure, self.rulebook)

    @cached_property
    def views(self) -> Views:
        """Every step as it stands."""
        return Views(self.scene)

    @cached_property
    def bars(self) -> tuple[Bar, ...]:
        """What keeps connecting shut."""
        return tuple(connect_bars(self.scene, self.views))

    @cached_property
    def gate_open(self) -> bool:
        """Whether nothing keeps connecting shut; stops looking at the first thing that does."""
        return next(connect_bars(self.scene, self.views), None) is None

    @property
    def phase(self) -> Phase:
        """Where the night stands."""
        return phase(self.treatment)

    def add(
        self,
        body: Body,
        *,
        at: datetime | None = None,
        replaces: tuple[str, ...] = (),
        reason: str | None = None,
        standing: bool = False,
    ) -> str:
        """Put an entry on the list to be written. Gives its id. standing: not of tonight.

        Raises ValueError for a time without a zone.
        """
        kind, version = kind_of(body)
        entry_id = self.key if self.key is not None and not self.drafts else self.ids.new()
        envelope = Envelope(
            id=entry_id,
            kind=kind,
            version=version,
            household=self.household,
            treatment=None if standing else self.treatment_id,
            at=utc(at) if at is not None else self.now.at,
            zone=self.now.zone,
            offset=self.now.offset,
            recorded_at=self.now.at,
            boot=self.now.boot,
            mono=self.now.mono,
            by=self.by,
            replaces=replaces,
            reason=reason,
            must_understand=must_understand(body),
        )
        self.drafts.append(Draft(envelope, body))
        return entry_id

    def marker(self, of: str, ground: str, authority: str) -> Draft:
        """The entry that stays where a body was lawfully erased."""
        self.add(Erased(of=of, ground=ground, authority=authority), standing=True)
        return self.drafts.pop()

    def refuse(self, key: str, **params: object) -> NoReturn:
        """Say "not yet" with the reason."""
        raise Refused(key, **params)

    def need_phase(self, *phases: Phase) -> None:
        """Refuse unless the night stands at one of these phases."""
        if self.phase not in phases:
            self.refuse(f"refuse.phase.{self.phase.value}")

    def need_holder(self) -> None:
        """Refuse a mark in a store that doesn't hold this treatment."""
        if self.scene.holder is None or self.scene.holder[0] != self.writer:
            self.refuse("refuse.not_holder")


Deed = Callable[..., None]
"""``deed(desk, **inputs)``: adds drafts to the desk, or raises."""


def ask_first(questions: tuple[Question, ...], sure: tuple[str, ...]) -> tuple[str, ...]:
    """Raise Asked for questions not yet answered; give the keys of those that were."""
    open_ones = tuple(q for q in questions if q.key not in sure)
    if open_ones:
        raise Asked(open_ones)
    return tuple(q.key for q in questions)
