"""Past nights: found by words, a lot or a month; evenings on which the person said "not tonight"."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, night, person, setup
from ebbwell.journal.kinds.marks import LotUsed
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ILKA, LOTS
from ebbwell.web.pages.nights import page as nights_page
from tests.web.site import Seen, Site
from tests.web.test_sheet import closed_night

WORDS = "a blue towel under the arm"


def quick(site: Site, words: str) -> str:
    """A night opened and called off, and a day gone by. words: why. Its treatment."""
    site.do(setup.open_night)
    treatment = site.desk.treatment_id
    assert treatment is not None
    site.clock.pass_time(timedelta(minutes=5))
    site.do(comeoff.call_off, words=words)
    site.clock.pass_time(timedelta(days=1, minutes=-5))
    return treatment


def find(site: Site, **typed: str) -> Seen:
    """The list after its form was filled in and sent, as a browser without script sends it."""
    form = site.get("/nights").form("/nights")
    assert form.method == "get"
    assert set(typed) <= form.names
    asked = {name: values[-1] for name, values in form.fields.items()} | typed
    return site.get("/nights?" + "&".join(f"{name}={value}" for name, value in asked.items()))


def sheets(page: Seen) -> list[str]:
    """The nights on the list, by their treatment."""
    return [link.removeprefix("/sheet/") for link in page.links if link.startswith("/sheet/")]


def test_a_night_is_found_by_words_in_any_order_and_case_and_the_line_is_shown(site: Site) -> None:
    site.move_in()
    wanted = quick(site, WORDS)
    quick(site, "something else")
    for typed in ("towel", "TOWEL", "arm+blue", "tow"):
        page = find(site, words=typed)
        assert sheets(page) == [wanted]
        assert f"Found in: 20:05 Called off: nothing ran. {WORDS}" in page.text
        assert "Looked through every night, back to the first." in page.text
    page = find(site, words="arm+blue")
    assert page.form("/nights").fields["words"] == ["arm blue"]
    assert 'Looked for: "arm blue"' in page.text


def test_words_have_to_stand_in_one_line(site: Site) -> None:
    site.move_in()
    site.do(setup.open_night)
    site.do(night.note_event, what="other", words="a cold foot")
    site.do(night.note_event, what="other", words="a warm hand")
    assert sheets(find(site, words="cold+foot"))
    assert not sheets(find(site, words="cold+hand"))


def test_a_night_is_found_by_a_lot_and_the_pack_is_named(site: Site) -> None:
    site.move_in()
    quick(site, "told for this test")
    site.do(setup.open_night)
    treatment = site.desk.treatment_id
    site.act(lambda house: hands.set_up(house, site.clock))
    opened = {f.body.item for f in site.desk.treatment.of("lot_used") if isinstance(f.body, LotUsed)}
    assert len(opened) > 5
    for code, lot in (LOTS[item] for item in sorted(opened)):
        page = find(site, words=lot)
        assert sheets(page) == [treatment]
        assert f"code {code}, lot {lot}, use by " in page.text
        assert sheets(find(site, words=lot[:-1])) == [treatment]
    code, lot = LOTS["saline"]
    assert sheets(find(site, words=f"saline+{lot}")) == [treatment]
    assert not sheets(find(site, words="saline"))


def test_a_symptom_is_found_by_its_own_word(site: Site) -> None:
    site.connect()
    treatment = site.desk.treatment_id
    site.do(night.note_event, what="bleeding", symptom="bleeding", words="")
    assert sheets(find(site, words="bleeding")) == [treatment]


@pytest.mark.source("fluids:1.3", detail="over 0.1 mg/L total chlorine the water is not used")
@pytest.mark.parametrize(("value", "found"), [("0.13", True), ("0.03", False)])
def test_chlorine_finds_the_nights_on_which_the_test_failed(site: Site, value: str, found: bool) -> None:
    site.until("S5")
    site.do(
        setup.measure,
        quantity="total_chlorine",
        place="tank1",
        typed=value,
        method="meter",
        sure=("outside_asked",),
    )
    page = find(site, words="chlorine")
    assert bool(sheets(page)) is found
    assert (f"{value} mg/L, failed" in page.text) is found


def test_a_note_put_on_a_closed_sheet_is_found_too(site: Site) -> None:
    treatment = closed_night(site)
    assert not sheets(find(site, words="marmalade"))
    site.do(person.annotate, treatment=treatment, words="marmalade on the cuff")
    assert sheets(find(site, words="marmalade")) == [treatment]


def test_a_month_and_a_year_are_picked_and_stay_picked(site: Site) -> None:
    site.move_in()
    april = [quick(site, "first"), quick(site, "second")]
    may = quick(site, "third")
    page = find(site, month="4", year="2026")
    assert sheets(page) == april[::-1]
    assert page.form("/nights").fields["month"] == ["4"]
    assert page.form("/nights").fields["year"] == ["2026"]
    assert "Looked for: April 2026" in page.text
    assert sheets(find(site, month="5")) == [may]
    assert sheets(find(site, year="2026")) == [may, *april[::-1]]
    assert sheets(find(site, words="second", month="4")) == [april[1]]
    both = find(site, words="second", month="5")
    assert not sheets(both)
    assert "Set month and year back to Any, or pick another." in both.text


def test_nothing_found_says_what_to_try_and_leads_back(site: Site) -> None:
    site.move_in()
    quick(site, "told")
    page = find(site, words="zebra")
    assert page.status == 200
    assert "Nothing found." in page.text
    assert "Try one word, or its first letters." in page.text
    assert "It looks in notes" in page.text
    assert "/nights" in page.links
    assert page.form("/nights").fields["words"] == ["zebra"]


@pytest.mark.parametrize("query", ["month=13", "month=x", "year=1", "words=", "before=nothing", "words=+"])
def test_what_cannot_be_picked_shows_every_night(site: Site, query: str) -> None:
    site.move_in()
    treatment = quick(site, "told")
    page = site.get(f"/nights?{query}")
    assert page.status == 200
    assert sheets(page) == [treatment]
    assert "Looked for" not in page.text


def test_what_was_typed_is_never_run(site: Site) -> None:
    site.move_in()
    quick(site, "told")
    page = site.get("/nights?words=%22%3E%3Cscript%3Ealert(1)%3C/script%3E")
    assert "<script>alert" not in page.html
    assert page.form("/nights").fields["words"] == ['"><script>alert(1)</script>']


def test_how_far_back_was_looked_is_said_and_a_link_goes_on(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nights_page, "A_LOOK", 2)
    site.move_in()
    oldest = quick(site, WORDS)
    for _ in range(3):
        quick(site, "told")
    first = find(site, words="towel")
    assert not sheets(first)
    assert (
        "Looked through 2 nights, back to 1 May 2026. Older nights were not looked through yet." in first.text
    )
    (onward,) = [link for link in first.links if link.startswith("/nights?before=")]
    second = site.get(onward)
    assert sheets(second) == [oldest]
    assert second.form("/nights").fields["words"] == ["towel"]
    assert "Looked through every night, back to the first." in second.text


def test_more_than_a_page_of_matches_stands_on_several_each_once(site: Site) -> None:
    site.move_in()
    made = [quick(site, WORDS) for _ in range(nights_page.A_PAGE + 2)]
    first = find(site, words="towel")
    (onward,) = [link for link in first.links if link.startswith("/nights?before=")]
    second = site.get(onward)
    assert [*sheets(first), *sheets(second)] == made[::-1]
    assert not [link for link in second.links if link.startswith("/nights?before=")]


def test_an_evening_without_a_night_stands_in_order_with_who_said_it_and_when(site: Site) -> None:
    site.move_in()
    before = quick(site, "the night before")
    site.do(person.not_tonight, by=ILKA)
    site.clock.pass_time(timedelta(days=1))
    after = quick(site, "the night after")
    page = site.get("/nights")
    assert sheets(page) == [after, before]
    line = "Not tonight, said at 20:00 by Ilka Venn, the person on dialysis. No night was opened after it."
    assert f"30 April 2026 {line}" in page.text
    places = [page.text.index(words) for words in ("1 May 2026", line, "29 April 2026")]
    assert places == sorted(places)
    assert line in find(site, words="ilka").text
    assert line in find(site, month="4").text
    assert line not in find(site, month="5").text


def test_said_by_a_carer_and_taken_back_stand_on_it_too(site: Site) -> None:
    site.move_in()
    site.do(person.not_tonight, by=BRAM, said_by="carer", words="very tired")
    site.clock.pass_time(timedelta(minutes=30))
    site.do(person.tonight_after_all, by=ILKA)
    text = site.get("/nights").text
    assert "said at 20:00 by Bram Venn for the person on dialysis. very tired" in text
    assert "20:30 taken back under the name Ilka Venn: tonight after all" in text
    assert "No night is in the record yet." not in text


@pytest.mark.parametrize(("hours", "alone"), [(0.5, False), (11.0, False), (23.0, True)])
def test_where_a_night_was_opened_after_it_the_evening_is_not_alone(
    site: Site, hours: float, alone: bool
) -> None:
    site.move_in()
    site.do(person.not_tonight, by=ILKA)
    if hours < 12:
        site.clock.pass_time(timedelta(minutes=5))
        site.do(person.tonight_after_all, by=ILKA)
    site.clock.pass_time(timedelta(hours=hours))
    site.do(setup.open_night)
    assert ("No night was opened after it." in site.get("/nights").text) is alone


def test_in_the_morning_and_a_night_that_evening_it_is_not_alone(site: Site) -> None:
    site.move_in()
    site.clock.pass_time(timedelta(hours=11))
    site.do(person.not_tonight, by=ILKA)
    site.clock.pass_time(timedelta(hours=14))
    site.do(setup.open_night)
    assert "No night was opened after it." not in site.get("/nights").text


def test_one_said_in_an_open_night_is_that_nights_also_when_taken_back(site: Site) -> None:
    site.open_night()
    site.do(person.not_tonight, by=ILKA)
    assert "No night was opened after it." not in site.get("/nights").text
    site.clock.pass_time(timedelta(minutes=5))
    site.do(person.tonight_after_all, by=ILKA)
    assert "No night was opened after it." not in site.get("/nights").text


def test_said_after_midnight_it_belongs_to_the_evening_before_and_names_the_day(site: Site) -> None:
    site.move_in()
    site.clock.pass_time(timedelta(hours=4, minutes=30))
    site.do(person.not_tonight, by=ILKA)
    text = site.get("/nights").text
    assert "29 April 2026 Not tonight, said at 30 April 2026 00:30 by Ilka Venn" in text


def test_many_evenings_without_a_night_stand_on_several_pages_each_once(site: Site) -> None:
    site.move_in()
    for _ in range(nights_page.A_PAGE + 2):
        site.do(person.not_tonight, by=ILKA)
        site.clock.pass_time(timedelta(days=1))
    first = site.get("/nights")
    (onward,) = [link for link in first.links if link.startswith("/nights?before=")]
    second = site.get(onward)
    told = [page.text.count("No night was opened after it.") for page in (first, second)]
    assert told == [nights_page.A_PAGE, 2]


def test_before_the_first_night_no_number_of_nights_is_told(site: Site) -> None:
    text = site.get("/nights").text
    assert "No night is in the record yet." in text
    assert "0 in the record" not in text
