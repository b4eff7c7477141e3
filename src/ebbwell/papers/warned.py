"""The one list of what is to be looked at or called about now, for home, night page and keyboard alike."""

from __future__ import annotations

from datetime import timedelta

from ebbwell.core.clock import elapsed
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.text import say
from ebbwell.deeds.blood_look import blood_found
from ebbwell.deeds.bloods_now import blood_findings
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.open_calls import open_calls
from ebbwell.deeds.water_now import water_findings
from ebbwell.papers.carer_now import carer_findings
from ebbwell.papers.night_now import changed_since, night_clock, reading_findings
from ebbwell.papers.removal_now import finish_findings
from ebbwell.papers.standing_now import findings
from ebbwell.procedure.holds import Status
from ebbwell.state.calls import Advised, Told, advice_of, told_of, tried_of
from ebbwell.state.night import first_blood
from ebbwell.state.standing import people, taken_back

LATELY = timedelta(hours=12)
"""How long what was said without a night is told on every page; then it is asked about. Own choice: one night."""

TOLD = (Grade.STOP, Grade.CARE)


def warnings(desk: Desk) -> tuple[Finding, ...]:
    """Everything that speaks now, what asks for a call first.

    Before first blood also what is only for the sheet. After it, what was measured in the night goes before what was
    measured at set-up, and takes its place where it is the same thing.
    """
    said = [*symptoms_said(desk), *blood_found(desk), *blood_findings(desk), *water_findings(desk)]
    if desk.treatment_id is None or first_blood(desk.treatment) is None:
        return _sorted([*said, *after_all(desk), *findings(desk)])
    read = reading_findings(desk)
    values = {name for f in desk.treatment.of("reading") for name in getattr(f.body, "values", ())}
    before = [f for f in findings(desk) if f.grade in TOLD and f.fact.partition("@")[0] not in values]
    return _sorted(
        [*said, *read, *finish_findings(desk), *carer_findings(desk), *before, *changed_since(desk)]
    )


def call_is_open(desk: Desk) -> bool:
    """Whether anything asks for a call now, or did on an earlier night, or waits for the unit's word."""
    barred = any(v.status is Status.BARRED for v in desk.views.where(lambda step: step.advisable))
    stops = any(found.grade is Grade.STOP for found in warnings(desk))
    return barred or stops or bool(open_calls(desk))


def _sorted(found: list[Finding]) -> tuple[Finding, ...]:
    order = (Grade.STOP, Grade.CARE, Grade.NOTE, Grade.UNKNOWN)
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: order.index(finding.grade)))


def symptoms_said(desk: Desk) -> tuple[Finding, ...]:
    """What somebody felt tonight that asks for a call, each once, with who said it and when; none that was answered.

    A word of the unit that came later answers it; a call that nobody answered stands beside it. Source: practice:d2.
    """
    tried = (*tried_of(desk.standing), *tried_of(desk.treatment))
    said = (*advice_of(desk.standing), *advice_of(desk.treatment))
    lately = [told for told in told_of(desk.standing) if elapsed(told.at, desk.now.at) < LATELY]
    newest: dict[str, Told] = {}
    for told in sorted([*told_of(desk.treatment), *lately], key=lambda one: (one.at, one.id)):
        if told.kind == "event" and not any(one.at >= told.at and not one.about for one in said):
            newest[told.name] = told
    return tuple(_symptom(desk, told, tried) for told in newest.values())


def after_all(desk: Desk) -> list[Finding]:
    """The newest "not tonight" that was taken back under the person's name, so that the person themself can see it.

    No screen can tell who pressed. Source: design, 2 (the person's own word holds).
    """
    names = people(desk.standing)
    found = []
    for said, back in taken_back(desk.standing, desk.now.at)[-1:]:
        by = back.envelope.by
        who = names[by].name if by in names else by
        at, then = (night_clock(desk, one.envelope.at) for one in (back, said))
        found.append(
            Finding(
                "not_tonight_taken_back",
                Grade.CARE,
                (("at", at), ("said", then), ("who", who)),
                ("design",),
                (said.id, back.id),
                "next.ask_person",
            )
        )
    return found


def _symptom(desk: Desk, told: Told, tried: tuple[Advised, ...]) -> Finding:
    names = people(desk.standing)
    who = names[told.by].name if told.by in names else told.by
    times = "; ".join(
        night_clock(desk, at) for at in sorted(one.at for one in tried if one.at >= told.at and not one.about)
    )
    called = f" {say('call.tried', at=times)}" if times else ""
    params = (("at", night_clock(desk, told.at)), ("symptom", told.name), ("tried", called), ("who", who))
    rule = "symptom_said" if told.said_by == "person" else "symptom_seen"
    return Finding(rule, Grade.STOP, params, ("practice:d",), (told.id,))
