"""A household that reads pounds and Fahrenheit: on every page of a night no kilogram or Celsius stands alone."""

from __future__ import annotations

import re
from typing import Any, cast

import pytest
from tools.scenes import scenes

from ebbwell.deeds.units import choose_units
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_model import model_of
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.procedure.load import load_procedure
from ebbwell.sim.household import USUAL
from tests.web.site import Site
from tests.web.ways_table import GETS

YARD = {"weight": "lb", "temperature": "F", "glucose": "mg/dL"}
IN_YARD = {
    "weight_before": "146.2",
    "weight_after": "142.2",
    "body_temperature": "97.9",
    "fluid_temperature": "97.7",
}
"""What this household types on a usual night: 66.3 and 64.5 kg, 36.6 and 36.5 C."""

BESIDE = re.compile(
    r"-?[\d.]+ (?:lb|F) \(-?[\d.]+ (?:kg|C)\)|[\d.]+ (?:kg|C) = [\d.]+ (?:lb|F)|[\d.]+ (?:lb|F) = [\d.]+ (?:kg|C)"
)
"""A kept figure with the household's beside it."""

ALONE = re.compile(r"(?<![\w./])(?:kg|C)(?![\w/])")

MAY = (
    "for each kg",
    "For each kg",
    "The temperature it corrects to C",
    "like 64.5 kg.",
    "kilograms (kg)",
    "Celsius (C)",
    "Conductivity at 25 C",
    "should have at 25 C",
    "by order and label the fluid has",
    "brought to 25 C",
    "at 25 C: not known",
    "C-reactive protein",
)
"""A name that begins with the letter; rates for each kg; the page of units itself; the meter's reference
temperature, which is printed on it in C."""


AT = ("plan", "night", "the morning", "two values to settle")
"""Moments of the night at which every page is looked at."""

EVERY = (
    *(path for path in GETS if "{" not in path),
    *(
        f"/setup/{bundle}"
        for bundle in sorted({step.bundle for step in load_procedure().steps if step.bundle})
    ),
)


def alone(text: str) -> list[str]:
    """Each kilogram or Celsius that stands alone, with the words around it."""
    left = BESIDE.sub("~", text)
    for words in MAY:
        left = left.replace(words, "~")
    return [left[max(0, one.start() - 60) : one.end() + 20] for one in ALONE.finditer(left)]


def text_of(site: Site, path: str) -> str:
    """The words of a page, or of the one that it sends on to."""
    page = site.get(path)
    while page.status == 303:
        page = site.get(page.to)
    assert page.status in (200, 404), path
    return page.text


def test_one_that_stands_alone_is_found() -> None:
    for words in ("Weight 64.5 kg.", "It is 36.5 C now", "Before, kg", "64.5 to 66.3 kg"):
        assert alone(words)
    assert not alone("142.2 lb (64.5 kg), 64.5 kg = 142.2 lb, 4.75 mL/kg/h, 97.7 F (36.5 C)")


@pytest.mark.hazard("H6")
@pytest.mark.source(
    "fluids:4.5", detail="142.2 lb is 64.5 kg, 146.2 lb 66.3 kg; 36.5 C x 9 / 5 + 32 is 97.7 F"
)
def test_no_kilogram_or_celsius_stands_alone_on_any_page_or_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, typed in IN_YARD.items():
        monkeypatch.setitem(USUAL, name, typed)
    site, seen, chosen = Site(), {}, False
    try:
        for name, _, before, address in scenes():
            before(cast(Any, site))
            if name == "tonight":
                site.do(choose_units, **YARD)
                chosen = True
            if chosen:
                seen[name] = text_of(site, address(cast(Any, site)))
                for path in EVERY if name in AT else ():
                    seen[f"{name}: {path}"] = text_of(site, path)
        night = next(iter(site.desk.past.values())).treatment
        sheet = site.act(lambda h: build_sheet(h.look(treatment=night), h.store.heads()))
    finally:
        site.close()
    papers = {
        "the sheet as text": " ".join(sheet_text(sheet).split()),
        "the sheet as PDF": str(model_of(sheet, "a4")),
    }
    found = {name: hits for name, text in (seen | papers).items() if (hits := alone(text))}
    assert not found
    assert "Target weight 142.2 lb (64.5 kg)" in seen["prescription"]
    assert "146.2 lb" in seen["plan"]
    assert "97.7 F (36.5 C)" in seen["prescription"]
    assert "66.3 kg = 146.2 lb" in papers["the sheet as text"]
    assert "66.3 kg = 146.2 lb" in papers["the sheet as PDF"]
    assert re.search(r"Target weight +64.5 kg = 142.2 lb", sheet_text(sheet))
    assert re.search(r"Weight after +64.5 kg = 142.2 lb +Not known", sheet_text(sheet))
