"""Words on papers: what is measured or set, and where."""

from __future__ import annotations

import pytest

from ebbwell.core.text import say
from ebbwell.papers.words import place_words, unit_words
from ebbwell.procedure.model import SETTINGS
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import QuantityDef


@pytest.mark.parametrize("name", SETTINGS)
def test_every_machine_setting_has_words(name: str) -> None:
    assert place_words(name, "setting").endswith(", as set on the machine")


def test_a_setting_reads_as_set() -> None:
    assert place_words("sodium", "setting") == "sodium, as set on the machine"


def test_a_measured_value_reads_with_its_place() -> None:
    assert place_words("total_chlorine", "tank1") == "total chlorine, after tank 1"


def test_a_name_of_a_newer_program_stays_as_it_is() -> None:
    assert place_words("lung_water") == "lung_water"
    assert unit_words("lung_water", load_rulebook()) == ""


@pytest.mark.parametrize("quantity", load_rulebook().quantities(), ids=lambda q: q.id)
def test_every_quantity_of_ours_has_words(quantity: QuantityDef) -> None:
    assert place_words(quantity.id) == say(f"quantity.{quantity.id}")
    assert unit_words(quantity.id, load_rulebook()) == quantity.unit
