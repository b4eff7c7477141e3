"""Looking again in mid-night: before going on, and with a new set. Asked and recorded; nothing waits for it."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.bedside import Rechecked
from ebbwell.procedure.asides import ASIDES, AsideCheck, asides
from ebbwell.state.again import rounds


@dataclass(frozen=True)
class CheckView:
    """A check as it stands in the round that is on. option: what was recorded, "" while nothing was."""

    check: AsideCheck
    option: str

    @property
    def wanted(self) -> bool:
        """Whether what was recorded needs no word with the unit. Nothing recorded isn't wanted."""
        return self.option in self.check.wants


def checks_again(desk: Desk, aside: str) -> tuple[CheckView, ...]:
    """The checks of the round that was begun last, with what was recorded; () where none was begun."""
    begun = rounds(desk.treatment, aside)
    if not begun:
        return ()
    return tuple(CheckView(check, begun[-1].said.get(check.id, "")) for check in asides()[aside])


def check_again(desk: Desk, *, aside: str, check: str, option: str, words: str = "") -> None:
    """Record what was seen when looking again. A second word on the same check takes the first one's place.

    aside: ``on_again`` or ``new_set``. Refuses a word that the check doesn't have, and where nothing of the kind was
    begun. What isn't as wanted is kept and found; it shuts nothing, least of all coming off.
    """
    if aside not in ASIDES:
        raise InputError("enter.option", question="aside", options=", ".join(ASIDES))
    known = {each.id: each for each in asides()[aside]}
    if check not in known:
        raise InputError("enter.option", question="check", options=", ".join(known))
    if option not in known[check].options:
        raise InputError("enter.option", question=check, options=", ".join(known[check].options))
    begun = rounds(desk.treatment, aside)
    if not begun:
        desk.refuse(f"refuse.not_begun.{aside}")
    older = tuple(
        fact.id
        for fact in desk.treatment.of("rechecked")
        if isinstance(fact.body, Rechecked)
        and (fact.body.aside, fact.body.check) == (aside, check)
        and fact.id > begun[-1].began.id
    )
    desk.add(
        Rechecked(aside=aside, check=check, option=option, words=words.strip()),
        replaces=older,
        reason="looked again" if older else None,
    )
    if option not in known[check].wants:
        desk.findings.append(
            Finding(
                "again_not_wanted", Grade.STOP, (("checks", check), ("seen", option)), ("practice:section c",)
            )
        )


def open_findings(desk: Desk, aside: str) -> tuple[Finding, ...]:
    """What is found when somebody goes on though a check is open, or wasn't as wanted."""
    views = checks_again(desk, aside)
    odd = [v.check.id for v in views if v.option and not v.wanted]
    left = [v.check.id for v in views if not v.option]
    source = ("practice:section c",)
    found = []
    if odd:
        found.append(Finding("on_though_found", Grade.STOP, (("checks", ", ".join(odd)),), source))
    if left:
        found.append(Finding("on_with_open_checks", Grade.CARE, (("checks", ", ".join(left)),), source))
    return tuple(found)
