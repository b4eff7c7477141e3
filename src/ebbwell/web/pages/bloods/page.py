"""Bloods: newest results with unit, age, the laboratory's range and the clinic's target; and ways to enter more."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.core.when import day
from ebbwell.deeds.bloods_now import blood_findings
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water import unit_said
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.blood_forms import FORMS
from ebbwell.papers.describe import describe
from ebbwell.rulebook.substances import substance_words
from ebbwell.state.bloods import blood_calls
from ebbwell.state.facts import Fact
from ebbwell.web.pages.bloods.figures import about_the_rest, last_kept, parts, samples
from ebbwell.web.pages.bloods.forms import keep, show_form
from ebbwell.web.visit import ALL, HOME, Visit, Way

MOST = 4
"""Samples that are shown whole."""

MOST_WRITTEN = 12
"""Entries that are listed before all of them are asked for."""


def show(visit: Visit) -> Response:
    """The page. Writes nothing."""
    desk = visit.desk
    every = visit.query.get("written") == "all"
    saved = visit.query.get("saved", "")
    return visit.show(
        "pages/bloods/page.html",
        found=blood_findings(desk),
        answers=_to_answer(desk),
        forms=tuple(FORMS),
        parts=parts(desk, PALETTES[visit.look]),
        samples=samples(desk, MOST),
        rest=about_the_rest(desk),
        written=written(desk, None if every else MOST_WRITTEN),
        entries=sum(len(desk.standing.of(form.kind)) for form in FORMS.values()),
        saved=saved if saved in (*FORMS, "word") else "",
        kept=last_kept(desk) if saved == "result" else None,
        may_act=bool(visit.roles & HOME),
    )


def written(desk: Desk, most: int | None) -> list[tuple[Fact, str, str]]:
    """What stands on record about bloods, newest first: entry, words, form to type it again. most: how many."""
    rows = [(fact, name) for name, form in FORMS.items() for fact in desk.standing.of(form.kind)]
    rows.sort(key=lambda row: (row[0].at, row[0].id), reverse=True)
    return [(fact, describe(fact.body), name) for fact, name in rows[:most]]


def _to_answer(desk: Desk) -> list[tuple[str, str]]:
    """Results that wait for the unit's word: entry, and the words that tell them apart."""
    found: dict[str, list[str]] = {}
    days: dict[str, str] = {}
    for call in blood_calls(desk.standing):
        found.setdefault(call.view.fact.id, []).append(substance_words(call.substance.key))
        days[call.view.fact.id] = day(call.view.body.sampled_on)
    return [
        (entry, say("web.bloods.answer", substances=", ".join(names), day=days[entry]))
        for entry, names in found.items()
    ]


def keep_word(visit: Visit) -> Response:
    """Keep what the unit said about a result."""
    done = visit.do(
        unit_said,
        field="word",
        key=visit.typed.get("key"),
        of=visit.typed.get("of", ""),
        who=visit.typed.get("who", ""),
        words=visit.typed.get("words", ""),
    )
    return show(visit) if done is None else visit.go("/bloods?saved=word", kept="bloods-word")


WAYS = (
    Way("GET", "/bloods", show, ALL),
    Way("POST", "/bloods/unit-said", keep_word, HOME),
    Way("GET", "/bloods/{form}", show_form, ALL),
    Way("POST", "/bloods/{form}", keep, HOME),
)
