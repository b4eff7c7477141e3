"""The limits: every one with value, unit, owner, bounds and source; the unit's own from the order."""

from __future__ import annotations

from itertools import chain

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds import orders
from ebbwell.papers.limit_themes import THEMES
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.water_lists import load_water_lists
from ebbwell.sim.household import UNIT
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


def _line(html: str, id: str) -> str:
    start = html.index(f'id="{id}"')
    return html[start : html.index("</div></div>", start)]


def test_every_line_of_the_water_lists_stands_with_place_unit_source_and_how_well_it_is_founded(
    site: Site,
) -> None:
    page = site.get("/limits")
    lists, book = load_water_lists(), load_rulebook()
    assert len(lists.chemicals) + len(lists.microbes) == page.html.count('id="water-') - 1 - len(
        lists.jurisdictions
    )
    for line in lists.chemicals:
        said = _line(page.html, f"water-{line.jurisdiction}-{line.item}")
        assert f"at most {plain(line.most)} {line.unit}" in said
        assert f"({line.source})" in said
        assert say(f"web.work.kind.{line.mark}") in said
        for unit, value in line.printed.items():
            assert f"= {plain(value)} {unit}" in said
    for one in lists.microbes:
        said = _line(page.html, f"water-{one.jurisdiction}-{one.what}-{one.fluid}")
        assert f"below {plain(one.limit.below)} {one.limit.unit}" in said
        action = one.limit.action
        assert ("takes steps" in said) is (action is not None)
        assert action is None or f"From {plain(action)} {one.limit.unit} on" in said
        assert book.source(one.source).title[:20] in said


def test_the_water_lists_can_be_found_from_the_top(site: Site) -> None:
    page = site.get("/limits")
    for place in load_water_lists().jurisdictions:
        assert f"#water-{place}" in page.links
    assert page.links.index("#water-lists") < page.links.index("#water-international")


def test_the_tables_of_usual_pressures_stand_there_as_no_limits(site: Site) -> None:
    text = site.get("/limits").text
    start = text.rindex(say("usual.title"))
    assert "These are no limits." in text[start : start + 100]
    assert "Fistula, blood flow 200 to 300 mL/min arterial \N{MINUS SIGN}60 to \N{MINUS SIGN}180 mmHg" in text
    assert "Needle 15 G, 1.83 mm wide outside blood flow 350 to 450 mL/min or more" in text
    assert "(fluids:P7)" in text[start:]
    assert "(fluids:P19)" in text[start:]
    assert "Read in a study, 17 G at 500 mL/min venous 382 mmHg" in text
