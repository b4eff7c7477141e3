"""The forms about bloods: what was typed stays, each slip stands beside its own field, a question is asked once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.papers.blood_forms import FORMS, OUTRIGHT, first_values
from ebbwell.papers.water_asks import Ask
from ebbwell.web.visit import HOME, Visit
from ebbwell.web.whole_form import as_typed, keep_whole

LONG = 4
"""Choices from which a list opens, in the place of buttons."""


@dataclass(frozen=True)
class Group:
    """Fields that stand together: one alone, or a figure with its unit and range."""

    fields: tuple[Ask, ...]

    @property
    def first(self) -> Ask:
        """The one that gives it its name."""
        return self.fields[0]


def grouped(fields: Sequence[Ask]) -> list[Group]:
    """Fields in their order, those of one substance together."""
    found: list[list[Ask]] = []
    for one in fields:
        of = one.name.partition(".")[2]
        together = found and of and found[-1][0].name == f"value.{of}"
        found[-1].append(one) if together else found.append([one])
    return [Group(tuple(group)) for group in found]


def show_form(visit: Visit) -> Response:
    """A form; with ``instead``, the entry to be typed again stands in it."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.bloods.no_form"), 404)
    instead = visit.typed.get("instead", "") or visit.query.get("instead", "")
    values = dict(visit.typed) if visit.typed else first_values(visit.desk, FORMS[name], instead)
    return visit.show(
        "pages/bloods/form.html",
        name=name,
        groups=grouped(FORMS[name].fields(visit.desk, values)),
        values=values,
        instead=instead,
        asked=as_typed(values),
        long=LONG,
        may_act=bool(visit.roles & HOME),
    )


def keep(visit: Visit) -> Response:
    """Keep what a form says; each field that can't be read is named, and nothing is kept by half."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.bloods.no_form"), 404)
    return keep_whole(
        visit,
        FORMS[name],
        outright=name in OUTRIGHT,
        again=show_form,
        to=f"/bloods?saved={name}",
        kept=f"bloods-{name}",
    )
