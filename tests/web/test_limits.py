"""The limits: every one with value, unit, owner, bounds and source; the unit's own from the order."""

from __future__ import annotations

from itertools import chain

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds import orders
from ebbwell.rulebook.load import load_rulebook
from ebbwell.sim.household import UNIT
from ebbwell.web.pages.limits.page import THEMES
from tests.web.site import Site


def test_every_limit_of_the_rulebook_stands_with_its_source_and_owner(site: Site) -> None:
    site.move_in()
    page = site.get("/limits")
    assert page.status == 200
    book = load_rulebook()
    assert len(book.limits()) > 60
    for limit in book.limits():
        value = f"pH {plain(limit.value)}" if limit.unit == "pH" else f"{plain(limit.value)} {limit.unit}"
        owner = say(f"web.limits.owner.{limit.owner}")
        start = page.text.index(f"{say(f'limit.{limit.id}')} {value} {owner}")
        assert f"({limit.source})" in page.text[start : start + 700]
        assert f'id="limit-{limit.id}"' in page.html


def test_each_limit_stands_under_one_theme() -> None:
    placed = list(chain.from_iterable(THEMES.values()))
    assert sorted(placed) == sorted(limit.id for limit in load_rulebook().limits())


def test_the_units_own_limits_come_first_with_their_order(site: Site) -> None:
    site.move_in()
    text = site.get("/limits").text
    own = text.index("From prescription 3, by Northmere Kidney Unit, the home team.")
    assert own < text.index("Venous pressure limit 200 mmHg") < text.index("All others")
    assert "Bleeding: minutes until you call 20 min" in text


def test_without_an_order_in_force_none_of_the_units_is_shown(site: Site) -> None:
    assert "No prescription is in force" in site.get("/limits").text
    site.move_in()
    site.do(orders.amend_line, line="venous_limit", value="250", giver=UNIT, read_back="250")
    text = site.get("/limits").text
    assert "No prescription is in force" in text
    assert "Venous pressure limit 2" not in text


def test_a_fixed_limit_says_that_nobody_moves_it(site: Site) -> None:
    text = site.get("/limits").text
    start = text.index(say("limit.heparin_factor"))
    assert "Fixed. Nobody moves it." in text[start : start + 120]


def test_looking_writes_nothing(site: Site) -> None:
    site.get("/limits")
    assert site.rows == 0
