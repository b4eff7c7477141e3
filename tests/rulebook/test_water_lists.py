"""The file of water lists: every line has a source, a place and an owner, and what contradicts itself is refused."""

from __future__ import annotations

import pytest

from ebbwell.rulebook.load import RulebookFault, load_rulebook
from ebbwell.rulebook.water_lists import OWNER, load_water_lists, parse_water_lists
from tests.external.test_water_lists import MICROBES

LISTS = load_water_lists()


def test_no_line_for_microbes_is_left_unread() -> None:
    assert len(MICROBES) == len(LISTS.microbes)


def test_every_line_has_source_place_and_owner() -> None:
    keys = {source.key for source in load_rulebook().sources()}
    for one in (*LISTS.chemicals, *LISTS.microbes):
        assert one.source in keys
        assert one.jurisdiction in LISTS.jurisdictions
    assert OWNER == "clinic"


SOUND = """
[jurisdiction]
here = "a list"
[chemical.here]
lead = {{ most = {most}, unit = "{unit}", form = "total", group = "toxic", source = "{source}", mark = "{mark}" }}
[microbe.{place}]
water_standard = {{ below = 100, unit = "CFU/mL", action = {action}, source = "fluids:W4", mark = "published" }}
[endotoxin.here]
"""
PARTS = {
    "most": "0.005",
    "unit": "mg/L",
    "source": "fluids:W1",
    "mark": "published",
    "place": "here",
    "action": "50",
}


def test_a_sound_file_is_read() -> None:
    assert len(parse_water_lists(SOUND.format(**PARTS)).chemicals) == 1


@pytest.mark.parametrize(
    ("part", "wrong"),
    [
        ("most", "0"),
        ("most", '"much"'),
        ("unit", "mg/kg"),
        ("unit", "ML/min"),
        ("source", "fluids:W99"),
        ("mark", "heard"),
        ("place", "there"),
        ("action", "100"),
        ("action", "0"),
    ],
)
def test_a_file_that_contradicts_itself_is_refused(part: str, wrong: str) -> None:
    with pytest.raises(RulebookFault):
        parse_water_lists(SOUND.format(**{**PARTS, part: wrong}))


def test_a_file_with_a_part_missing_is_refused() -> None:
    with pytest.raises(RulebookFault):
        parse_water_lists("[jurisdiction]\n")
