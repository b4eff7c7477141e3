"""The prescription in force: number, giver, date, every line with its unit, and what waits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds import orders
from ebbwell.deeds.plan import order_findings
from ebbwell.journal.kinds.orders import LineAmended, Prescription
from ebbwell.papers.words import day
from ebbwell.state.alone import for_one_night
from ebbwell.state.facts import Fact
from ebbwell.state.standing import Order, checked
from ebbwell.web.pages.prescription import amend, check, lines, reading, transcribe
from ebbwell.web.visit import ALL, Visit, Way


@dataclass(frozen=True)
class Shown:
    """A line as it is in force. amended: how, by whom and when it was changed, "" where it is as first typed."""

    id: str
    value: str
    amended: str = ""
    paper_awaited: bool = False
    waits: bool = False


def show(visit: Visit) -> Response:
    """What is in force and what waits. A line that waits for its second check is named, its value is not shown."""
    desk = visit.desk
    order = desk.scene.order
    held = desk.standing.of("prescription")
    first = order is not None and order.prescription.id in order.waiting
    older = older_papers(order)
    return visit.show(
        "pages/prescription/page.html",
        order=order,
        several=held if len(held) > 1 else (),
        waiting=_waiting(visit, order),
        whole_waits=first,
        groups=[] if order is None or first else _groups(visit, order),
        typed_by="" if order is None else lines.written(visit, order.prescription),
        checked_by=_checked(visit, order),
        to_come=order is not None and order.body.valid_from > _today(visit),
        to_read=order is not None and not order.waiting and _to_read(visit),
        older=older,
        found=order_findings(desk),
        older_papers=OLDER if order is not None and _paper_changed(order) else OLDER[1:],
        changes=_what_changed(visit, order),
        other_nights=_other_nights(visit, order),
        told=visit.query.get("told", ""),
        older_day="" if older is None else older.astimezone(ZoneInfo(desk.now.zone)).date().isoformat(),
        whose=lines.whose(visit),
        day=day,
    )


def older_papers(order: Order | None) -> datetime | None:
    """When the order last changed: papers made before hold no more. None while nothing was changed in it.

    Source: practice:H74.
    """
    if order is None:
        return None
    changed = [fact for fact, body in _lasting(order)]
    if order.prescription.entry.envelope.replaces:
        changed.append(order.prescription)
    return max((fact.entry.envelope.recorded_at for fact in changed), default=None)


OLDER = ("prescription", "plan", "sheet", "card")
"""Papers from before a change that hold no more; the prescription itself only once a newer paper is there."""


def _lasting(order: Order) -> list[tuple[Fact, LineAmended]]:
    """The lines changed from now on."""
    found = [(fact, fact.body) for fact in order.facts if isinstance(fact.body, LineAmended)]
    return [(fact, body) for fact, body in found if not body.tonight_only]


def _paper_changed(order: Order) -> bool:
    """Whether the paper in hand is a new one: not where a line came by phone and its paper is still to come."""
    return not any(body.written_awaited for _, body in _lasting(order))


def _what_changed(visit: Visit, order: Order | None) -> list[str]:
    """What the newest change of the order was: line, from, to. A change that waits for its check isn't told."""
    if order is None:
        return []
    standing, book = visit.desk.standing, visit.desk.rulebook
    found = sorted(
        (fact.at, lines.from_to(book, body.line, _before(visit, order, fact, body), body.value))
        for fact, body in _lasting(order)
        if fact.id not in order.waiting
    )
    held = order.prescription
    olds = [standing.fact(old) for old in held.first.envelope.replaces]
    before = [old.body.lines for old in olds if old is not None and isinstance(old.body, Prescription)]
    if before and held.id not in order.waiting:
        was, now = before[0], order.body.lines
        names = [name for name in dict.fromkeys([*was, *now]) if was.get(name, "") != now.get(name, "")]
        words = [lines.from_to(book, name, was.get(name, ""), now.get(name, "")) for name in names]
        found = [*((held.at, each) for each in words), *found]
    return [words for _, words in found]


def _before(visit: Visit, order: Order, fact: Fact, body: LineAmended) -> str:
    """What a line was before it was amended: as amended before, else as the paper had it."""
    standing = visit.desk.standing
    for old in reversed(fact.first.envelope.replaces):
        was = standing.fact(old)
        if was is not None and isinstance(was.body, LineAmended) and was.body.value != body.value:
            return was.body.value
    return order.body.lines.get(body.line, "")


def _other_nights(visit: Visit, order: Order | None) -> list[tuple[str, str, bool]]:
    """Changes for the next night alone, taken down while the sheet of the last is open: id, words, whether it waits."""
    if order is None:
        return []
    desk = visit.desk
    out = []
    for fact in for_one_night(desk.standing):
        body = fact.body
        if not isinstance(body, LineAmended) or fact.id in desk.scene.alone:
            continue
        if fact.id in orders.holding(desk):
            waits = checked(desk.standing, fact.id) is None
            name = say(f"line.{body.line}")
            line = name if waits else f"{name} {lines.shown(desk.rulebook, body.line, body.value)}"
            words = say("web.prescription.next_alone", line=line, giver=body.giver)
            out.append((fact.id, words, waits))
    return out


def _today(visit: Visit) -> str:
    now = visit.desk.now
    return now.at.astimezone(ZoneInfo(now.zone)).date().isoformat()


def _waiting(visit: Visit, order: Order | None) -> list[tuple[str, str]]:
    """Id and line of each order that waits for its second check; "" is the whole prescription."""
    found = []
    for entry in order.waiting if order is not None else ():
        fact = visit.desk.standing.fact(entry)
        found.append((entry, fact.body.line if fact and isinstance(fact.body, LineAmended) else ""))
    return found


def _checked(visit: Visit, order: Order | None) -> str:
    fact = checked(visit.desk.standing, order.prescription.id) if order is not None else None
    if order is None or fact is None:
        return ""
    same = order.prescription.by == fact.by
    key = "web.prescription.checked_same" if same else "web.prescription.checked"
    return say(key, written=lines.written(visit, fact))


def _to_read(visit: Visit) -> bool:
    """Whether tonight's reading from the paper is what comes next."""
    view = visit.desk.views.get(reading.STEP) if visit.desk.treatment_id is not None else None
    return view is not None and not view.passed and not view.waits_for


def _groups(visit: Visit, order: Order) -> list[tuple[str, list[Shown]]]:
    wait = {line for _, line in _waiting(visit, order)}
    book = visit.desk.rulebook
    out = []
    for group, ids in lines.grouped([*order.lines, *sorted(wait - set(order.lines) - {""})]):
        rows = []
        for line in ids:
            fact = visit.desk.standing.fact(order.from_entry.get(line, ""))
            rows.append(
                _row(visit, order, line, lines.shown(book, line, order.lines[line]), fact, wait)
                if line in order.lines
                else Shown(line, "", waits=True)
            )
        out.append((group, rows))
    return out


def _row(visit: Visit, order: Order, line: str, value: str, fact: Fact | None, wait: set[str]) -> Shown:
    if fact is None or isinstance(fact.body, Prescription):
        return Shown(line, value, waits=line in wait)
    changed = lines.changed_by(visit, order, line)
    return Shown(line, value, changed, line in order.unconfirmed, waits=line in wait)


WAYS = (
    Way("GET", "/prescription", show, ALL),
    *transcribe.WAYS,
    *check.WAYS,
    *amend.WAYS,
    *reading.WAYS,
)
