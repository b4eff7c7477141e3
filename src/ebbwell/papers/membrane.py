"""Removal for each mmHg across the membrane, tonight and on own nights of the same dialyser and form. No verdict."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from ebbwell.core.clock import elapsed
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.worked import Input, Worked
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.words import form_words
from ebbwell.science import catalogue
from ebbwell.science.own_past import MembraneReading, OwnLevel, own_coefficient
from ebbwell.state.facts import Fact
from ebbwell.state.membrane import NOT_SETTLED, points_of, values_by_form
from ebbwell.state.night import first_blood
from ebbwell.state.own_past import NightSummary, latest
from ebbwell.state.pressure_past import MembraneRow, dialyser_of, membrane_at, membrane_row

LEAST_MMHG = Decimal(5)
"""Under this no coefficient is formed: it is one step of the display, and the figure could be anything.

Source: practice:a0 (step of the display); fluids 5.3 (with high flux the level means little).
"""

NIGHTS = 40
"""Nights among which those of the same dialyser and form are looked for. Own choice."""


def coefficient(row: MembraneRow) -> Worked | None:
    """Removal so far, evened out, for each mmHg across the membrane [mL/h/mmHg]; None where the pressure is near 0.

    Minutes count from first blood, time off included. Source: fluids:P10.
    """
    if row.pressure < LEAST_MMHG:
        return None
    worked = catalogue.work(
        "membrane_coefficient",
        {
            "rate_ml_h": Input("rate_ml_h", row.removed_l * 60_000 / row.minutes, "mL/h"),
            "transmembrane_mmhg": Input("transmembrane_mmhg", row.pressure, "mmHg"),
        },
    )
    return worked if worked.value is not None else None


def own_level(nights: Sequence[tuple[str, MembraneRow]], *, form: str, dialyser: str) -> OwnLevel | None:
    """One's own coefficient from nights of this form, machine and dialyser; None for fewer than 3 of them.

    nights: dialyser and row, oldest first. Source: fluids:P8, fluids 5.3.
    """
    if form == NOT_SETTLED or not dialyser:
        return None
    points = points_of(form)
    past = [
        MembraneReading(worked.value, points)
        for code, row in nights
        if code == dialyser and row.form == form
        if (worked := coefficient(row)) is not None and worked.value is not None
    ]
    return own_coefficient(past, points=points)


def membrane_words(desk: Desk, fact: Fact | None) -> tuple[str, ...]:
    """What stands beside a pressure across the membrane of tonight: its form, and the coefficient against own nights.

    fact: the reading that holds it.
    """
    start, pinned = first_blood(desk.treatment), desk.treatment.of("pinned")
    if fact is None or not isinstance(fact.body, Reading) or start is None or not pinned:
        return ()
    form = fact.body.membrane_form
    formed = say("membrane.formed", form=form_words(form or "as_shown"))
    minutes = round(elapsed(start, fact.at).total_seconds() / 60)
    row = membrane_row(minutes, values_by_form(fact.body))
    if row is None:
        return formed, say("membrane.no_removed")
    now = coefficient(row)
    if now is None or now.value is None:
        return formed, say("membrane.near_zero", pressure=plain(row.pressure))
    bodies = [f.body for f in desk.treatment.of("lot_used") if isinstance(f.body, LotUsed)]
    dialyser = dialyser_of((b.item, b.code, b.lot, b.expiry) for b in bodies)
    before = latest(desk.past, before=pinned[0].at, nights=NIGHTS)
    own = own_level(like_rows(before, minutes), form=form, dialyser=dialyser)
    return formed, say("membrane.tonight", value=catalogue.shown(now)), _against(now, own, dialyser)


def like_rows(newest_first: Sequence[NightSummary], minutes: int) -> list[tuple[str, MembraneRow]]:
    """Of each night its dialyser and its row nearest to these minutes after first blood, oldest first."""
    return [
        (dialyser_of(summary.packs), row)
        for summary in reversed(newest_first)
        if (row := membrane_at(summary, minutes)) is not None
    ]


def _against(now: Worked, own: OwnLevel | None, dialyser: str) -> str:
    if not dialyser:
        return say("membrane.no_dialyser")
    if own is None:
        return say("membrane.own_too_few")
    change = catalogue.work(
        "coefficient_change",
        {
            "coefficient_ml_h_mmhg": Input("coefficient_ml_h_mmhg", now.value, "mL/h/mmHg"),
            "own_coefficient_ml_h_mmhg": Input("own_coefficient_ml_h_mmhg", own.value, "mL/h/mmHg"),
        },
    )
    if change.value is None:
        return say("membrane.own_too_few")
    own_shown = plain(own.value.quantize(Decimal("0.1")))
    return say("membrane.own", value=own_shown, nights=own.nights, change=catalogue.shown(change))
