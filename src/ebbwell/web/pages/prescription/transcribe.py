"""Typing a prescription from the paper, all its lines on one page."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.deeds import orders
from ebbwell.rulebook.typed import Question, say_question
from ebbwell.web.pages.prescription import lines
from ebbwell.web.visit import HOME, Trouble, Visit, Way

HEAD = {
    "number": "web.prescription.need_number",
    "giver": "enter.giver",
    "valid_from": "web.prescription.need_date",
}
"""Field at the top of the paper to what is said where it was left empty."""

DRAFT = "prescription"


def show(visit: Visit) -> Response:
    """The empty form, or the form as it was typed with what is to be looked at."""
    book = visit.desk.rulebook
    return visit.show(
        "pages/prescription/new.html",
        order=visit.desk.scene.order,
        groups=lines.fields(book, [line.id for line in book.lines()], visit.typed),
        head={name: visit.typed.get(name, "") for name in HEAD},
        free_text=visit.typed.get("free_text", ""),
    )


def take(visit: Visit) -> Response:
    """Keep it, if every line can be read; unusual ones are asked about once."""
    book = visit.desk.rulebook
    for name, key in HEAD.items():
        lines.left_empty(visit, name, key)
    words = {line.id: visit.typed.get(lines.PREFIX + line.id, "") for line in book.lines() if line.options}
    found = lines.read_typed(
        visit, [line.id for line in book.lines()], must=lambda line: book.line(line).needed(words)
    )
    if not visit.troubles:
        ask(visit, found)
    if visit.troubles:
        return show(visit)
    done = visit.do(
        orders.transcribe,
        key=visit.typed.get("key"),
        number=visit.typed["number"],
        giver=visit.typed["giver"],
        valid_from=visit.typed["valid_from"],
        lines=found,
        free_text=visit.typed.get("free_text", "").strip(),
    )
    return show(visit) if done is None else visit.go(f"/prescription/check/{done.entries[0]}", kept=DRAFT)


def ask(visit: Visit, found: dict[str, str], field: str = "") -> None:
    """Ask about unusual lines. The answer "as typed" holds for this line with this value alone."""
    for line, question in orders.odd_lines(visit.desk, found):
        sure = token(line, found[line], question)
        if sure not in visit.sure:
            words = (say_question(question),)
            visit.troubles.append(Trouble("", field or lines.PREFIX + line, questions=words, sure=(sure,)))


def token(line: str, value: str, question: Question) -> str:
    """What says that a question about this value of this line was answered."""
    return f"{line}={value}:{question.key}"


WAYS = (Way("GET", "/prescription/new", show, HOME), Way("POST", "/prescription/new", take, HOME))
