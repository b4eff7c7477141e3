"""The forms about the water: what was typed stays, each slip stands beside its own field, a question is asked once."""

from __future__ import annotations

from starlette.responses import PlainTextResponse, Response

from ebbwell.core.text import say
from ebbwell.papers.water_forms import CARERS, FORMS, OUTRIGHT, held_values
from ebbwell.state.water import chemical_lists, plant
from ebbwell.web.visit import HOME, Visit
from ebbwell.web.whole_form import as_typed, keep_whole

SETTERS = frozenset({"carer", "dialysis"})
"""Who may set a line of a list, as with the other limits."""


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
        asked=as_typed(values),
        lists=lists,
        may_act=bool(visit.roles & (SETTERS if name in CARERS else HOME)),
    )


def keep(visit: Visit) -> Response:
    """Keep what a form says; each field that can't be read is named, and nothing is kept by half."""
    name = visit.path["form"]
    if name not in FORMS:
        return PlainTextResponse(say("web.water.no_form"), 404)
    if name in CARERS and not visit.roles & SETTERS:
        return show_form(visit)
    return keep_whole(
        visit,
        FORMS[name],
        outright=name in OUTRIGHT,
        again=show_form,
        to=f"/water?saved={name}",
        kept=f"water-{name}",
    )
