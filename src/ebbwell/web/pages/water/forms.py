"""The forms about the water: what was typed stays, each slip stands beside its own field, a question is asked once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.papers.spoken import error_words
from ebbwell.papers.water_forms import CARERS, FORMS, OUTRIGHT, held_values
from ebbwell.state.water import chemical_lists, plant
from ebbwell.web.visit import HOME, Trouble, Visit

SETTERS = frozenset({"carer", "dialysis"})
"""Who may set a line of a list, as with the other limits."""

OWN = ("key", "instead", "asked", "sure", "as_typed", "take")
"""Names of a form that aren't fields of it."""


def show_form(visit: Visit) -> Response:
    """A form; with ``instead``, the entry to be typed again stands in it."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.water.no_form"), 404)
    instead = visit.typed.get("instead", "") or visit.query.get("instead", "")
    values = dict(visit.typed) if visit.typed else held_values(visit.desk, FORMS[name], instead)
    lists = chemical_lists() if name == "report" else ()
    if lists and values.get("list", "") not in lists:
        own = plant(visit.desk.standing)[1].list
        wanted = (visit.query.get("list", ""), own, lists[0])
        values["list"] = next(one for one in wanted if one in lists)
    return visit.show(
        "pages/water/form.html",
        name=name,
        fields=FORMS[name].fields(visit.desk, values),
        values=values,
        instead=instead,
        asked=_as_typed(values),
        lists=lists,
        may_act=bool(visit.roles & (SETTERS if name in CARERS else HOME)),
    )


def _as_typed(values: Mapping[str, str]) -> str:
    """Everything typed as one text: a question answered "as typed" holds only for what it was asked about."""
    return "|".join(
        f"{name}={values[name].strip()}" for name in sorted(values) if name not in OWN and values[name]
    )


def keep(visit: Visit) -> Response:
    """Keep what a form says; each field that can't be read is named, and nothing is kept by half."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.water.no_form"), 404)
    if name in CARERS and not visit.roles & SETTERS:
        return show_form(visit)
    form = FORMS[name]
    typed = {field: words for field, words in visit.typed.items() if field not in OWN}
    _, read = form.read(visit.desk, typed)
    visit.troubles += [Trouble(error_words(why), field) for field, why in read.wrong.items()]
    if visit.troubles:
        return show_form(visit)
    same = visit.typed.get("asked", "") == _as_typed(typed)
    instead = visit.typed.get("instead", "")
    more: dict[str, Any] = {} if name in OUTRIGHT else {"instead_of": (instead,) if instead else ()}
    done = visit.do(
        form.deed,
        field="form",
        key=visit.typed.get("key"),
        typed=typed,
        sure=visit.sure if same and "as_typed" in visit.typed else (),
        **more,
    )
    return show_form(visit) if done is None else visit.go(f"/water?saved={name}", kept=f"water-{name}")
