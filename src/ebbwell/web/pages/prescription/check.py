"""Second check of a prescription or of one changed line: read from the paper again, the first reading hidden.

Lines that differ are read a third time, hidden again; two readings that are the same say which one was the slip.
"""

from __future__ import annotations

from dataclasses import dataclass

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds import orders, record
from ebbwell.deeds.desk import Done
from ebbwell.journal.kinds.marks import Corrected
from ebbwell.journal.kinds.orders import LineAmended, Prescription, SecondCheck
from ebbwell.papers.words import day, named
from ebbwell.procedure.evidence import same_value
from ebbwell.rulebook.model import Rulebook
from ebbwell.state.facts import Fact
from ebbwell.state.standing import checked, people
from ebbwell.web.pages.prescription import lines
from ebbwell.web.pages.prescription.amend import BACK, came_from
from ebbwell.web.visit import HOME, Trouble, Visit, Way

SAME_PERSON = "reread"


@dataclass(frozen=True)
class Looked:
    """What is to be read: the order, its first reading, the lines to ask, and the second reading where there was one.

    third: the two readings differ, so these lines are read a third time. put_right: the first reading was a slip and
    was put right, so these lines are looked at once more.
    """

    fact: Fact
    first: dict[str, str]
    ask: tuple[str, ...]
    second: dict[str, str]
    third: bool = False
    put_right: bool = False


def look(visit: Visit) -> Looked | None:
    """What the address names; None where nothing there waits for a second check."""
    standing = visit.desk.standing
    fact = standing.fact(visit.path["id"])
    if fact is None or fact.id in standing.replaced or checked(standing, fact.id) is not None:
        return None
    first = first_reading(fact)
    if not first:
        return None
    ids = standing.versions(fact)
    before = [
        f.body
        for f in standing.of("second_check")
        if isinstance(f.body, SecondCheck) and ids & set(f.body.of) and set(f.body.values) >= set(first)
    ]
    if not before:
        return Looked(fact, first, tuple(first), {})
    second = dict(before[-1].values)
    book = visit.desk.rulebook
    named = dict.fromkeys((*first, *(line for line, value in second.items() if value)))
    differ = tuple(line for line in named if not same(book, line, first.get(line, ""), second.get(line, "")))
    if differ:
        return Looked(fact, first, differ, second, third=True)
    return Looked(fact, first, _put_right(fact) or tuple(first), second, put_right=True)


def first_reading(fact: Fact) -> dict[str, str]:
    """Line to value as first read."""
    if isinstance(fact.body, Prescription):
        return {line: value for line, value in fact.body.lines.items() if value}
    return {fact.body.line: fact.body.value} if isinstance(fact.body, LineAmended) else {}


def same(book: Rulebook, line: str, one: str, other: str) -> bool:
    """Whether two readings of a line agree. A code made of digits is text, so 007 isn't 7."""
    if book.line(line).kind == "text":
        return one.casefold() == other.casefold()
    return same_value(one, other)


def _put_right(fact: Fact) -> tuple[str, ...]:
    body = fact.entry.body
    if not isinstance(body, Corrected):
        return ()
    if isinstance(fact.body, LineAmended):
        return (fact.body.line,)
    return tuple(name.partition(".")[2] for name in body.changes if name.startswith("lines."))


def show(visit: Visit) -> Response:
    """The lines to read, empty. What was typed first is not on the page."""
    looked = look(visit)
    if looked is None:
        return visit.show("pages/prescription/nothing.html", status=404 if not visit.troubles else 0)
    book = visit.desk.rulebook
    left_out = [] if looked.third or looked.put_right else _left_out(visit, looked)
    return visit.show(
        "pages/prescription/check.html",
        looked=looked,
        body=looked.fact.body,
        whole=isinstance(looked.fact.body, Prescription),
        groups=lines.fields(book, looked.ask, visit.typed, must=not _once_more(looked)),
        readers=_readers(visit, looked.fact),
        reader=visit.typed.get("reader", ""),
        back=came_from(visit),
        left_out=lines.fields(book, left_out, visit.typed),
        written=lines.written(visit, looked.fact),
        day=day,
    )


def _left_out(visit: Visit, looked: Looked) -> list[str]:
    """Lines that weren't on the paper when it was first read; the second reader looks whether it is so."""
    if not isinstance(looked.fact.body, Prescription):
        return []
    wanted = orders.whole_paper(visit.desk, looked.first)
    return [line for line in wanted if line not in looked.first]


def _readers(visit: Visit, fact: Fact) -> list[tuple[str, str]]:
    """Who can give the second reading: everybody else who is entered, or the same person once more."""
    others = [(id, one.name) for id, one in people(visit.desk.standing).items() if id != fact.by]
    return [*others, (SAME_PERSON, say("web.prescription.same_person", who=lines.who(visit, fact.by)))]


def take(visit: Visit) -> Response:
    """Compare the readings, and keep the second one whether or not it is the same."""
    looked = look(visit)
    if looked is None:
        return show(visit)
    reader = visit.typed.get("reader", "")
    if reader not in {name for name, _ in _readers(visit, looked.fact)}:
        visit.troubles.append(Trouble(say("web.prescription.need_reader"), "reader"))
    typed = _typed(visit, looked)
    if visit.troubles:
        return show(visit)
    if looked.third and not _third(visit, looked, typed):
        return show(visit)
    slips = _slips(visit, looked, typed) if looked.third else {}
    if slips:
        return _correct(visit, looked, slips)
    done = _do(visit, looked, {**looked.second, **typed}, reader)
    if done is None:
        return show(visit)
    check = visit.desk.standing.fact(done.entries[0])
    same = check is not None and isinstance(check.body, SecondCheck) and check.body.agrees
    draft = f"check-{looked.fact.id}"
    if same:
        return visit.go("/setup" if came_from(visit) else "/prescription?told=checked", kept=draft)
    back = f"?back={BACK}" if came_from(visit) else ""
    return visit.go(f"/prescription/check/{looked.fact.id}{back}", kept=draft)


def _once_more(looked: Looked) -> bool:
    """Whether single lines of a whole paper are looked at once more, any of which may turn out not to be on it."""
    return isinstance(looked.fact.body, Prescription) and (looked.third or looked.put_right)


def _typed(visit: Visit, looked: Looked) -> dict[str, str]:
    """The lines as read now; "" for a line that needn't be on the paper and was left empty."""
    book = visit.desk.rulebook
    left_out = [] if looked.third or looked.put_right else _left_out(visit, looked)

    def must(line: str) -> bool:
        may = _once_more(looked) and not book.line(line).needed(looked.first)
        return line not in left_out and not may

    typed = lines.read_typed(visit, [*looked.ask, *left_out], must=must)
    troubled = {trouble.field for trouble in visit.troubles}
    empty = [line for line in (*looked.ask, *left_out) if line not in typed]
    return typed | {line: "" for line in empty if lines.PREFIX + line not in troubled}


def _do(visit: Visit, looked: Looked, values: dict[str, str], reader: str) -> Done | None:
    """Keep the second reading, in the name of who read."""
    how, by = ("reread", visit.who) if reader == SAME_PERSON else ("person", reader)
    at_screen, visit.who = visit.who, by
    try:
        return visit.do(
            orders.check_order, key=visit.typed.get("key"), of=looked.fact.id, values=values, how=how
        )
    finally:
        visit.who = at_screen
        visit.look_again()


def _third(visit: Visit, looked: Looked, typed: dict[str, str]) -> bool:
    """Whether each third reading is the same as one of the two before; one that isn't decides nothing."""
    book = visit.desk.rulebook
    for line, third in typed.items():
        if not any(same(book, line, third, before.get(line, "")) for before in (looked.first, looked.second)):
            words = say("web.prescription.three_differ", line=named("line", line))
            visit.troubles.append(Trouble(words, lines.PREFIX + line))
    return not visit.troubles


def _slips(visit: Visit, looked: Looked, typed: dict[str, str]) -> dict[str, str]:
    """Lines whose first reading was the slip: the second and the third are the same."""
    book = visit.desk.rulebook
    return {
        line: third
        for line, third in typed.items()
        if not same(book, line, third, looked.first.get(line, ""))
    }


def _correct(visit: Visit, looked: Looked, slips: dict[str, str]) -> Response:
    changes: dict[str, str] = {}
    for line, value in slips.items():
        if isinstance(looked.fact.body, LineAmended):
            changes |= {"value": value, "read_back": value}
        else:
            changes[f"lines.{line}"] = value
    done = visit.do(
        record.correct,
        key=visit.typed.get("key"),
        of=looked.fact.id,
        changes=changes,
        reason=say("web.prescription.slip"),
    )
    if done is None:
        return show(visit)
    back = f"?back={BACK}" if came_from(visit) else ""
    return visit.go(f"/prescription/check/{done.entries[0]}{back}", kept=f"check-{looked.fact.id}")


WAYS = (
    Way("GET", "/prescription/check/{id}", show, HOME),
    Way("POST", "/prescription/check/{id}", take, HOME),
)
