"""A picture that was made for the night look is legible on paper."""

from __future__ import annotations

import re
from dataclasses import fields
from importlib.resources import files

from ebbwell.draw.palette import NIGHT, PRINT

CSS = (files("ebbwell.web") / "static/ledger.css").read_text(encoding="utf-8")


def printed(attribute: str, colour: str) -> str:
    """What the style sheet gives, on paper, to a part of a picture of the night look."""
    found = ""
    for block in re.findall(r"@media print\{((?:[^{}]*\{[^{}]*\})*)\}", CSS):
        for picks, named, value in re.findall(r"([^{}]*)\{(fill|stroke):(#\w+)\}", block):
            if named == attribute and f'.draw-night [{attribute}="{colour}"]' in picks.split(","):
                found = value
    short = re.fullmatch("#(.)(.)(.)", found)
    return "#" + "".join(2 * one for one in short.groups()) if short else found


def test_each_colour_of_the_night_has_that_of_print() -> None:
    for role in (one.name for one in fields(NIGHT) if one.name != "name"):
        for attribute in ("fill", "stroke"):
            assert printed(attribute, getattr(NIGHT, role)).upper() == getattr(PRINT, role), role
