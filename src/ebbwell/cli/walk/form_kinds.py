"""The forms that can be filled in at the keyboard: what each asks, by the labels of its page, and the deed behind it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from textwrap import shorten
from typing import Any

from ebbwell.cli.walk.blood_keys import NAMES, blood_key_form
from ebbwell.cli.walk.forms import KeyForm, tried
from ebbwell.cli.walk.prompt import Walk
from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.labels import IONS, NEEDED, check_label, read_label
from ebbwell.deeds.limits import change_limit
from ebbwell.deeds.units import choose_units
from ebbwell.deeds.water_lines import ANOTHER
from ebbwell.journal.kinds.house import HEARD
from ebbwell.papers.blood_forms import FORMS as BLOODS
from ebbwell.papers.blood_forms import OUTRIGHT as BLOODS_OUTRIGHT
from ebbwell.papers.describe import describe
from ebbwell.papers.limit_themes import themed
from ebbwell.papers.water_asks import Ask, ask
from ebbwell.papers.water_forms import FORMS, OUTRIGHT, held_values
from ebbwell.papers.words import limit_value
from ebbwell.rulebook.own_units import CHOICES, limit_unit
from ebbwell.rulebook.water_lists import OWN_ITEM, item_words
from ebbwell.state.labels import labels
from ebbwell.state.standing import people
from ebbwell.state.units import chosen_units
from ebbwell.state.water import chemical_lists, plant

Typed = Mapping[str, str]

LONGEST_TOLD = 110
"""Letters by which an entry is told apart from others in a list."""

SAME_PERSON = "reread"

CARERS = frozenset({"limit", "line", "measures"})
"""Forms for the carer and the person on dialysis alone, as on their pages."""

LIMIT_FIELDS = {
    "limit.unknown": "limit",
    "limit.fixed": "limit",
    "limit.outside_bounds": "typed",
    "enter.limit_again": "again",
    "enter.limit_same": "typed",
    "enter.limit_reason": "reason",
    "enter.limit_allowed_by": "allowed_by",
    "enter.limit_how": "how",
}
"""What the deed of a limit refuses, to its field."""

LABEL_FIELDS = {
    "enter.label_code": "code",
    "enter.label_acid": "ion.citrate",
}
"""What the deeds of a label refuse, to the field."""


def _water(walk: Walk, name: str) -> KeyForm:
    form = FORMS[name]
    desk = walk.desk()
    held: dict[str, str] = held_values(desk, form, "") if name == "set" else {}
    own = plant(desk.standing)[1].list
    lists = chemical_lists()
    if name == "report":
        held = {"list": own if own in lists else lists[0]}
    return KeyForm(
        title=f"web.water.form.{name}",
        fields=lambda typed: _water_fields(walk.desk(), name, typed),
        wrong=partial(_water_wrong, name=name),
        deed=form.deed,
        inputs=lambda typed: {"typed": typed},
        held={n: text for n, text in held.items() if text},
        blind=frozenset({"again"}),
    )


def _water_wrong(desk: Desk, typed: Typed, _: str, *, name: str) -> Mapping[str, EbbwellError]:
    """What can't be taken, by field. A figure whose form wasn't picked yet is wrong at the form, which is asked next."""
    read = FORMS[name].read
    found = dict(read(desk, typed)[1].wrong)
    for one in _water_fields(desk, name, typed):
        head, _, item = one.name.partition(".")
        line = f"line.{item}"
        if head != "form" or typed.get(one.name) or line not in found:
            continue
        if line not in read(desk, {**typed, one.name: one.options[0][0]})[1].wrong:
            del found[line]
            found[one.name] = InputError("water.form_needed", label=item_words(item))
    return found


def _again(walk: Walk) -> KeyForm | None:
    """An entry about water or bloods, typed anew in the place of the one that stands; None where there is none."""
    desk = walk.desk()
    kinds = [(name, form.kind) for name, form in FORMS.items() if name not in OUTRIGHT]
    kinds += [(name, form.kind) for name, form in BLOODS.items() if name not in BLOODS_OUTRIGHT]
    rows = [(fact, name) for name, kind in kinds for fact in desk.standing.of(kind)]
    rows.sort(key=lambda row: (row[0].at, row[0].id), reverse=True)
    if not rows:
        walk.say("form.nothing_again")
        return None
    told = [(fact.id, shorten(describe(fact.body), LONGEST_TOLD)) for fact, _ in rows]
    chosen = walk.pick(say("form.which_again"), told)
    name = next(name for fact, name in rows if fact.id == chosen)
    if name in BLOODS:
        return blood_key_form(walk, name, chosen)
    held = held_values(desk, FORMS[name], chosen)
    return replace(
        _water(walk, name),
        inputs=lambda typed: {"typed": typed, "instead_of": (chosen,)},
        held={field: text for field, text in held.items() if text},
        draft=f"-{chosen}",
    )


def _water_fields(desk: Desk, name: str, typed: Typed) -> list[Ask]:
    """The fields of the page; a report also asks for its list, which the page takes from the address.

    What a figure counts, and its unit, is asked only where the figure was typed.
    """
    found = [one for one in FORMS[name].fields(desk, typed) if _about_something(one.name, typed)]
    if name != "report":
        return found
    options = tuple((one, say(f"water.list.{one}")) for one in chemical_lists())
    return [ask("list", "pick", options=options), *found]


def _about_something(name: str, typed: Typed) -> bool:
    """Whether a field stands by itself, or the figure that it is about was typed."""
    if name in ("name", "take_off") and "item" in typed:
        return typed["item"] == ANOTHER if name == "name" else typed["item"].startswith(OWN_ITEM)
    head, _, item = name.partition(".")
    figure = (
        f"line.{item}" if head == "form" else name.removesuffix("_unit") if name.endswith("_unit") else ""
    )
    return not figure or bool(typed.get(figure, "").strip())


def _limit(walk: Walk) -> KeyForm:
    book = (walk.desk().present or (None, walk.desk().rulebook))[1]
    by_theme = {
        theme: tuple((one.id, say(f"limit.{one.id}")) for one in found if one.owner != "fixed")
        for theme, found in themed(book)
    }
    themes = tuple((theme, say(f"web.limits.theme.{theme}")) for theme, found in by_theme.items() if found)

    def fields(typed: Typed) -> list[Ask]:
        chosen = next((one for one in book.limits() if one.id == typed.get("limit")), None)
        unit, holds = "", ""
        if chosen is not None:
            unit = limit_unit(book, chosen)
            value = limit_value(chosen.id, plain(chosen.value), chosen.unit)
            holds = say("form.limit_now", value=value)
        options = by_theme.get(typed.get("theme", ""), ())
        found = [
            Ask("theme", say("form.which_theme"), "pick", options=themes),
            Ask("limit", say("form.which_limit"), "pick", options=options),
            Ask("typed", say("web.limits.typed"), "number", unit, hint=holds),
            Ask("again", say("web.limits.again"), "number", unit),
            Ask("reason", say("web.limits.reason")),
        ]
        if chosen is not None and chosen.owner != "clinic":
            return found
        heard = tuple((word, say(f"limit_how.{word}")) for word in HEARD)
        return [
            *found,
            Ask("allowed_by", say("web.limits.allowed_by")),
            Ask("how", say("web.limits.how_heard"), "pick", options=heard),
        ]

    def inputs(typed: Typed) -> dict[str, Any]:
        names = ("limit", "typed", "reason", "allowed_by", "how")
        return {**{n: typed.get(n, "") for n in names}, "again": typed.get("again", typed.get("typed", ""))}

    def wrong(desk: Desk, typed: Typed, asked: str) -> Mapping[str, EbbwellError]:
        if typed.get("theme", "") not in by_theme:
            return {"theme": InputError("limit.unknown", name=typed.get("theme", ""))}
        figure = "again" if asked == "again" else "typed"
        return tried(change_limit, inputs(typed), desk, LIMIT_FIELDS, figure)

    return KeyForm(
        "web.limits.set", fields, wrong, change_limit, inputs, sure=False, blind=frozenset({"again"})
    )


def _label_fields(_: Typed) -> list[Ask]:
    ions = [Ask(f"ion.{name}", say(f"label.{name}"), "number", "mmol/L") for name in IONS]
    return [Ask("parts", say("web.labels.parts")), *ions]


def _ions(typed: Typed) -> dict[str, str]:
    return {name: typed.get(f"ion.{name}", "") for name in IONS}


def _label_errors(typed: Typed) -> dict[str, str]:
    """What a label is refused for, to the field; what is missing is of the first one that is empty."""
    empty = next((f"ion.{name}" for name in NEEDED if not typed.get(f"ion.{name}", "").strip()), "parts")
    return {**LABEL_FIELDS, "enter.label_missing": empty}


def _label(_: Walk) -> KeyForm:
    def inputs(typed: Typed) -> dict[str, Any]:
        return {"code": typed.get("code", ""), "parts": typed.get("parts", ""), "ions": _ions(typed)}

    def wrong(desk: Desk, typed: Typed, asked: str) -> Mapping[str, EbbwellError]:
        if asked == "code" and typed.get("code", "").strip():
            return {}
        return tried(read_label, inputs(typed), desk, _label_errors(typed), asked or "parts")

    return KeyForm(
        "web.labels.new",
        lambda typed: [Ask("code", say("web.labels.code")), *_label_fields(typed)],
        wrong,
        read_label,
        inputs,
    )


def _label_check(walk: Walk) -> KeyForm | None:
    """The second reading of the label that waits; None where none does."""
    desk = walk.desk()
    waits = next((one for one in labels(desk.standing) if not one.goes_by), None)
    if waits is None:
        walk.say("web.labels.none_waits")
        return None
    first, known = waits.facts[-1], people(desk.standing)
    name = known[first.by].name if first.by in known else say("web.plan.somebody")
    others = [(id, one.name) for id, one in known.items() if id != first.by and set(one.roles) - {"clinic"}]
    readers = (*others, (SAME_PERSON, say("web.labels.same", name=name)))
    walk.say("web.labels.check_title", code=waits.code)
    walk.say("web.labels.check_how")

    def inputs(typed: Typed) -> dict[str, Any]:
        how = "reread" if typed.get("reader", SAME_PERSON) == SAME_PERSON else "person"
        return {"of": first.id, "parts": typed.get("parts", ""), "ions": _ions(typed), "how": how}

    def wrong(_: Desk, typed: Typed, asked: str) -> Mapping[str, EbbwellError]:
        looks = walk.house.look(by=_reader(first.by, typed))
        about = _label_errors(typed)
        return {} if asked == "reader" else tried(check_label, inputs(typed), looks, about, asked or "parts")

    return KeyForm(
        "web.labels.check",
        lambda typed: [
            Ask("reader", say("web.labels.reader"), "pick", options=readers),
            *_label_fields(typed),
        ],
        wrong,
        check_label,
        inputs,
        by=partial(_reader, first.by),
        sure=False,
    )


def _reader(first: str, typed: Typed) -> str:
    """Who reads a second time: somebody else, or the one who read first."""
    reader = typed.get("reader", SAME_PERSON)
    return first if reader == SAME_PERSON else reader


def _measures(walk: Walk) -> KeyForm:
    usual = {name: "" if name == "glucose" else units[0] for name, units in CHOICES.items()}

    def fields(_: Typed) -> list[Ask]:
        found = []
        for name, units in CHOICES.items():
            options = [(unit, say(f"measure.{unit.replace('/', '_')}")) for unit in units]
            more = [("none", say("measure.none"))] if name == "glucose" else []
            hint = say(f"web.measures.{name}_fields")
            found.append(Ask(name, say(f"web.measures.{name}"), "pick", options=(*options, *more), hint=hint))
        return found

    def inputs(typed: Typed) -> dict[str, Any]:
        return {name: typed.get(name, "").removeprefix("none") for name in CHOICES}

    def wrong(desk: Desk, typed: Typed, asked: str) -> Mapping[str, EbbwellError]:
        given = any(not typed.get(name) for name in CHOICES) or bool(asked)
        return {} if given else tried(choose_units, inputs(typed), desk, {}, "weight")

    held = {**usual, **dict(chosen_units(walk.desk().standing))}
    held["glucose"] = held["glucose"] or "none"
    return KeyForm("web.measures.title", fields, wrong, choose_units, inputs, held=held, sure=False)


KINDS: Mapping[str, Callable[[Walk], KeyForm | None]] = {
    **{name: partial(_water, name=name) for name in FORMS if name != "set"},
    "plant": partial(_water, name="set"),
    **{key: partial(blood_key_form, name=name) for key, name in NAMES.items()},
    "limit": _limit,
    "label": _label,
    "label-check": _label_check,
    "measures": _measures,
    "again": _again,
}
"""Name at the keyboard to its form."""

TITLES = {
    "plant": "web.water.form.set",
    **{key: f"web.bloods.form.{name}" for key, name in NAMES.items()},
    "limit": "form.limit",
    "label": "web.labels.new",
    "label-check": "form.label_check",
    "measures": "web.measures.title",
    "again": "form.again",
}
"""Name of a form to the key of its words; those about the water have their page's."""


def title_of(name: str) -> str:
    """What a form is called."""
    return say(TITLES.get(name, f"web.water.form.{name}"))
