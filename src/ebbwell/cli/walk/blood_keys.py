"""The forms about bloods at the keyboard: each field by the label of its page, units only for what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ebbwell.cli.walk.forms import KeyForm
from ebbwell.cli.walk.prompt import Walk
from ebbwell.core.errors import EbbwellError
from ebbwell.deeds.desk import Desk
from ebbwell.papers.blood_asks import about_something, nights
from ebbwell.papers.blood_forms import FORMS, first_values
from ebbwell.papers.water_asks import Ask

NAMES = {"bloods": "result", "target": "target", "urine": "urine", "dialyser": "dialyser", "body": "body"}
"""Name at the keyboard to the form's name in its address."""


def blood_key_form(walk: Walk, name: str, instead: str = "") -> KeyForm:
    """One of these forms. name: in its address. instead: the entry that is typed again."""
    form = FORMS[name]

    def wrong(desk: Desk, typed: Mapping[str, str], _: str) -> Mapping[str, EbbwellError]:
        return form.read(desk, typed)[1].wrong

    made = KeyForm(
        title=f"web.bloods.form.{name}",
        fields=lambda typed: blood_fields(walk.desk(), name, typed),
        wrong=wrong,
        deed=form.deed,
        inputs=lambda typed: {"typed": typed},
        held={field: text for field, text in first_values(walk.desk(), form, instead).items() if text},
    )
    if not instead:
        return made
    return replace(made, inputs=lambda typed: {"typed": typed, "instead_of": (instead,)}, draft=f"-{instead}")


def blood_fields(desk: Desk, name: str, typed: Mapping[str, str]) -> list[Ask]:
    """What is asked by what was typed so far; of the nights only those around the day of the sample."""
    found = [one for one in FORMS[name].fields(desk, typed) if about_something(one.name, typed)]
    near = nights(desk, typed.get("sampled_on", ""))
    return [
        replace(one, options=near) if one.name == "night" else one
        for one in found
        if one.name != "night" or near
    ]
