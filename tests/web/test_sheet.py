"""The sheet as a page and as paper, and the list of past nights."""

from __future__ import annotations

from datetime import timedelta

from ebbwell.deeds import comeoff, setup
from ebbwell.deeds.night import read
from ebbwell.deeds.upkeep import disinfect
from ebbwell.papers.sheet import build_sheet
from ebbwell.sim.household import READING
from tests.web.site import Site


def closed_night(site: Site) -> str:
    """A night that ran 7 h 30 min and whose sheet is closed. Its treatment."""
    site.connect()
    site.clock.pass_time(timedelta(minutes=15))
    site.do(read, values={**READING, "fluid_removed": "0.10"}, when="min15")
    site.clock.pass_time(timedelta(hours=7, minutes=15))
    treatment = site.desk.treatment_id
    assert treatment is not None
    site.do(comeoff.come_off, times={"pump_stopped": site.clock.now().at}, blood_returned="all")
    site.clock.pass_time(timedelta(minutes=20))
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    left = [v.step.id for v in site.desk.views.values() if v.step.gate == "close" and not v.passed]
    site.do(comeoff.close, because=dict.fromkeys(left, "left out in this test"))
    return treatment


def test_a_sheet_left_open_is_named_tonight_and_closed_from_its_own_page(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=7))
    first = site.desk.treatment_id
    site.do(comeoff.come_off, times={"pump_stopped": site.clock.now().at}, blood_returned="all")
    site.clock.pass_time(timedelta(minutes=20))
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    ended = site.clock.now().at
    heat = {"agent": "heat", "started_at": ended - timedelta(minutes=15), "ended_at": ended}
    site.do(disinfect, what="machine", **heat)
    for view in site.desk.views.values():
        if view.step.gate == "next_night" and not view.passed:
            site.do(setup.skip, step=view.step.id, reason="told for this test")
    site.clock.pass_time(timedelta(hours=10))
    site.do(setup.open_night)
    assert site.desk.treatment_id != first
    tonight = site.get("/")
    assert "The sheet of 29 April 2026 is still open" in tonight.text
    page = site.get(f"/sheet/{first}")
    rows = site.rows
    refused = site.fill(page, f"/sheet/{first}/close")
    assert refused.status == 409
    assert site.rows == rows
    form = page.form(f"/sheet/{first}/close")
    why = {name.replace(".", "__"): "forgotten" for name in form.names if name.startswith("why.")}
    assert why
    assert site.fill(page, f"/sheet/{first}/close", **why).status == 303
    assert "is still open" not in site.get("/").text
    assert site.desk.past[str(first)].phase == "closed"


def test_the_page_says_all_that_the_sheet_says_exceptions_first(site: Site) -> None:
    treatment = closed_night(site)
    page = site.get(f"/sheet/{treatment}")
    sheet = site.act(lambda house: build_sheet(house.look(treatment=treatment), house.store.heads()))
    assert page.status == 200
    assert sheet.title in page.text
    for section in sheet.sections:
        assert section.title in page.text
        for cells in section.table:
            for cell in cells:
                assert cell in page.text
    titles = [section.title for section in sheet.sections]
    places = [page.text.index(f" {title} ") for title in titles]
    assert places[0] == min(places)
    assert sheet.data["exceptions"]
    assert "left out in this test" in page.text


def test_pressures_are_drawn_with_the_table_behind(site: Site) -> None:
    page = site.get(f"/sheet/{closed_night(site)}")
    assert "<svg" in page.html
    assert "<title" in page.html.partition("<svg")[2]
    assert "The same as a table" in page.text
    assert " style=" not in page.html


def test_on_paper_it_is_a_pdf_of_either_size(site: Site) -> None:
    treatment = closed_night(site)
    page = site.get(f"/sheet/{treatment}")
    for size in ("a4", "letter"):
        address = f"/sheet/{treatment}.pdf?paper={size}"
        assert address in page.links
        seen = site.get(address)
        assert seen.status == 200
        assert seen.headers["content-type"] == "application/pdf"
        assert seen.html.startswith("%PDF-")
    assert site.get(f"/sheet/{treatment}.pdf?paper=wall").status == 404


def test_no_sheet_of_an_unknown_night(site: Site) -> None:
    site.move_in()
    assert site.get("/sheet/nothing").status == 404
    assert site.get("/sheet/nothing.pdf").status == 404


def test_a_sheet_of_a_night_that_still_runs(site: Site) -> None:
    site.connect()
    assert site.get(f"/sheet/{site.desk.treatment_id}").status == 200


def test_past_nights_say_length_weights_and_how_much_was_not_as_planned(site: Site) -> None:
    treatment = closed_night(site)
    page = site.get("/nights")
    assert "29 April 2026" in page.text
    assert "blood ran 7 h 30 min" in page.text
    assert "weight before 66.3 kg" in page.text
    assert f"/sheet/{treatment}" in page.links
    sheet = site.act(lambda house: build_sheet(house.look(treatment=treatment), house.store.heads()))
    odd = sheet.data["exceptions"]
    assert len(odd) > 3
    assert f"Not as planned: {odd[0][:60]}" in page.text
    assert f"{len(odd) - 2} more lines on the sheet" in page.text
    assert 'class="mark' not in page.html


def test_a_night_touched_since_is_counted_anew(site: Site) -> None:
    treatment = closed_night(site)
    before = site.get("/nights").text
    desk = site.act(lambda house: house.look(treatment=treatment))
    fact = next(f for f in desk.treatment.of("measured") if getattr(f.body, "quantity", "") == "pulse")
    seen = site.fill(site.get(f"/entry/{fact.id}"), f"/entry/{fact.id}", change__value="74", reason="misread")
    assert seen.status == 303
    assert site.get("/nights").text != before


def test_many_nights_stand_on_several_pages(site: Site) -> None:
    site.move_in()
    for _ in range(14):
        site.do(setup.open_night)
        site.clock.pass_time(timedelta(minutes=5))
        site.do(comeoff.call_off, words="told for this test")
        site.clock.pass_time(timedelta(days=1))
    first = site.get("/nights")
    older = [link for link in first.links if link.startswith("/nights?before=")]
    second = site.get(older[0])
    sheets = [link for page in (first, second) for link in page.links if link.startswith("/sheet/")]
    assert len(sheets) == len(set(sheets)) == 14
    assert not [link for link in second.links if link.startswith("/nights?before=")]
    assert "called off" in first.text


def test_without_a_night_the_list_says_so(site: Site) -> None:
    site.move_in()
    assert "No night is in the record yet." in site.get("/nights").text


def test_the_page_names_who_held_the_night_at_its_top(site: Site) -> None:
    page = site.get(f"/sheet/{closed_night(site)}")
    assert page.text.index("The night was held by Bram Venn.") < page.text.index("Not as planned")


def test_after_a_note_the_sheet_says_that_it_was_kept_and_leads_to_it(site: Site) -> None:
    treatment = closed_night(site)
    before = site.get(f"/sheet/{treatment}?kept=note")
    assert "Your note was kept" not in before.text
    form = site.get(f"/mine?night={treatment}")
    sent = site.fill(form, "/mine/note", treatment=treatment, note="The tape itched.")
    assert sent.status == 303
    page = site.get(sent.headers["location"])
    assert "Your note was kept: Note: The tape itched." in page.text
    assert "#note" in page.links
    assert page.html.count('id="note"') == 1
    assert "Your note was kept" not in site.get(f"/sheet/{treatment}").text
