"""Words on papers: what is measured or set, and where."""

from __future__ import annotations

import pytest

from ebbwell.core.text import MissingText
from ebbwell.papers.words import place_words
from ebbwell.procedure.model import SETTINGS


@pytest.mark.parametrize("name", SETTINGS)
def test_every_machine_setting_has_words(name: str) -> None:
    assert place_words(name, "setting").endswith(", as set on the machine")


def test_a_setting_reads_as_set() -> None:
    assert place_words("sodium", "setting") == "sodium, as set on the machine"


def test_a_measured_value_reads_with_its_place() -> None:
    assert place_words("total_chlorine", "tank1") == "total chlorine, after tank 1"


def test_a_name_without_words_is_a_fault() -> None:
    with pytest.raises(MissingText):
        place_words("nothing_of_that_name")
