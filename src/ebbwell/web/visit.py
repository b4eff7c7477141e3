"""One request, as a page works with it: who asks, what was typed, the desk as it stands, and the answer.

Pages are plain functions of a visit; they run in the house's thread.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cached_property
from typing import Any

from starlette.responses import HTMLResponse, RedirectResponse, Response

from ebbwell.core.clock import Moment, elapsed
from ebbwell.core.errors import EbbwellError
from ebbwell.deeds.desk import Asked, Desk, Done, Refused
from ebbwell.house import House
from ebbwell.journal.errors import RecordError
from ebbwell.journal.kinds.house import Person
from ebbwell.papers.spoken import bar_words, error_words
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.typed import Question, say_question
from ebbwell.state.night import ON_MACHINE, Phase, first_blood
from ebbwell.state.own_past import latest
from ebbwell.state.reminders import reminders
from ebbwell.state.standing import people
from ebbwell.web.render import render

LOOKS = ("day", "night")
BLEEDS_AGAIN = timedelta(hours=2)
"""How long first actions stay on every page once the person is marked as safe. Own choice: holes may bleed again."""

BLEEDS_AGAIN_CLOSED = timedelta(hours=3)
"""The same on a sheet that is closed, from the end of the treatment on. Own choice: an hour for needles and pressing."""

BEDSIDE = "bedside"
"""Who acts when nobody said who they are."""

Page = Callable[["Visit"], Response]


@dataclass(frozen=True)
class Way:
    """One way into a page: method and path, the function, and who may use it.

    roles: of ``bedside`` (nobody said who), ``dialysis``, ``carer``, ``stand_in``, ``clinic``.
    """

    method: str
    path: str
    page: Page
    roles: frozenset[str]


ALL = frozenset({"bedside", "dialysis", "carer", "stand_in", "clinic"})
"""Everyone who can see a screen in this house."""

HOME = frozenset({"bedside", "dialysis", "carer", "stand_in"})
"""Everyone of the household; a reader at the clinic only reads."""


@dataclass(frozen=True)
class Trouble:
    """Why something wasn't kept. field: what it is about. words: what to do. rows: each reason, where there are more.

    questions: what is asked before it is kept; sure: the keys that answer them; raised: the questions themselves.
    offers: what a button sends that takes another figure in its place, and the button's words; only a sign is ever
    offered in this way.
    """

    words: str
    field: str = ""
    rows: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    sure: tuple[str, ...] = ()
    lost: bool = False
    raised: tuple[Question, ...] = ()
    offers: tuple[tuple[str, str], ...] = ()


@dataclass
class Visit:
    """house: in its own thread. path: names from the address. typed: the form, as typed; the last of each name.

    who: opaque id of who acts; "bedside" when nobody said. device: the name under which this screen has reminders on.
    heard: name of each screen with reminders on to its last sign of life since the server started.
    """

    house: House
    path: Mapping[str, str]
    query: Mapping[str, str]
    typed: Mapping[str, str]
    many: Mapping[str, Sequence[str]]
    who: str
    at: str
    picked_look: str = ""
    device: str = ""
    heard: Mapping[str, Moment] = field(default_factory=dict)
    troubles: list[Trouble] = field(default_factory=list)
    findings: list[Any] = field(default_factory=list)

    @cached_property
    def desk(self) -> Desk:
        """Tonight's desk, looked at once a request, and again after each deed."""
        return self.house.look(by=self.who)

    @property
    def person(self) -> Person | None:
        """Who acts, if they are entered."""
        return people(self.desk.standing).get(self.who)

    @property
    def roles(self) -> frozenset[str]:
        """What they are here."""
        return frozenset(self.person.roles) if self.person is not None else frozenset({BEDSIDE})

    def look_again(self) -> Desk:
        """The desk anew."""
        self.__dict__.pop("desk", None)
        return self.desk

    def key(self) -> str:
        """A fresh one-time key for a form."""
        return self.house.ids.new()

    def do(
        self,
        deed: Callable[..., None],
        /,
        *,
        field: str = "",
        key: str | None = None,
        treatment: str | None = None,
        **inputs: Any,
    ) -> Done | None:
        """Do a deed; None when it wasn't kept, and ``troubles`` says why.

        field: the name of the form's field that it is about. key: the form's one-time key.
        """
        try:
            done = self.house.do(deed, by=self.who, key=key or None, treatment=treatment, **inputs)
        except EbbwellError as why:
            self.troubles.append(self._trouble(why, field))
            return None
        self.findings += done.findings
        self.look_again()
        return done

    def _trouble(self, why: EbbwellError, field: str) -> Trouble:
        if isinstance(why, Asked):
            asked = tuple(say_question(q) for q in why.questions)
            sure = tuple(q.key for q in why.questions)
            return Trouble("", field, questions=asked, sure=sure, raised=why.questions)
        if isinstance(why, Refused):
            rows = tuple(bar_words(bar, self.desk) for bar in why.bars)
            return Trouble(error_words(why), field, rows)
        return Trouble(error_words(why), field, lost=isinstance(why, RecordError))

    @property
    def sure(self) -> tuple[str, ...]:
        """Keys of the questions that this form answers with "as typed"."""
        return tuple(self.many.get("sure", ()))

    def about(self, field: str) -> list[Trouble]:
        """What is wrong with one field."""
        return [t for t in self.troubles if t.field == field]

    def show(self, template: str, /, status: int = 0, **values: Any) -> Response:
        """A page. Without a status: 200, or 409 where something asked or refused, 503 where the record failed."""
        if not status:
            status = 503 if any(t.lost for t in self.troubles) else 409 if self.troubles else 200
        return HTMLResponse(render(template, self, **values), status)

    def go(self, address: str, *, kept: str = "") -> Response:
        """Send on to another page after something was kept. kept: name of the draft that isn't needed any more."""
        if kept:
            address += f"{'&' if '?' in address else '?'}kept={kept}"
        return RedirectResponse(address, 303)

    @property
    def row(self) -> int:
        """Number of the newest row that this page shows."""
        return self.house.store.last_row()

    @property
    def look(self) -> str:
        """``day`` or ``night``: as picked at this screen, else night while blood runs."""
        if self.picked_look in LOOKS:
            return self.picked_look
        desk = self.desk
        if desk.phase is Phase.STOPPING and first_blood(desk.treatment) is not None:
            return "night"
        return "night" if desk.phase in ON_MACHINE else "day"

    @property
    def reminding(self) -> bool:
        """Whether this screen has reminders on."""
        return any(r.device == self.device and r.state == "on" for r in reminders(self.desk.treatment))

    @property
    def _just_off(self) -> bool:
        last = next(iter(latest(self.desk.past, before=self.desk.now.at, nights=1)), None)
        off = last.pump_stopped if last is not None else None
        return off is not None and timedelta() <= elapsed(off, self.desk.now.at) < BLEEDS_AGAIN_CLOSED

    @property
    def needles_in(self) -> bool:
        """Whether first actions belong on every page: from cleaning the skin for the needles until all are safe.

        And for a while after, since a needle hole may bleed again. Source: practice:H34.
        """
        desk = self.desk
        safe = desk.treatment.last("safe") if desk.treatment_id is not None else None
        if safe is not None:
            return elapsed(safe.at, desk.now.at) < BLEEDS_AGAIN
        if desk.treatment_id is None or desk.phase in (Phase.CLOSED, Phase.CALLED_OFF):
            return self._just_off
        if first_blood(desk.treatment) is not None or desk.scene.needles is not None:
            return True
        near = (view.status for view in desk.views.where(lambda step: step.stage == "needles"))
        return any(status not in (Status.SHUT, Status.NOT_NEEDED) for status in near)
