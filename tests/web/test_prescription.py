"""The prescription on pages: typed from the paper, second check, one line by phone, the paper that comes later."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import orders, setup
from ebbwell.journal.kinds.orders import LineAmended, Prescription, SecondCheck
from ebbwell.papers.words import clock, day
from ebbwell.sim.household import BRAM, ILKA, PRESCRIPTION, UNIT, ZONE
from ebbwell.state.standing import Order, people
from tests.web.site import Seen, Site

LINES = {f"line__{name}": text for name, text in PRESCRIPTION.items()}
HEAD = {"number": "4", "giver": UNIT, "valid_from": "2026-04-29"}


@pytest.fixture
def home(site: Site) -> Site:
    """The household with its prescription 3 in force; no night is open."""
    site.move_in()
    return site


def order(site: Site) -> Order:
    """The order as it stands."""
    found = site.desk.scene.order
    assert found is not None
    return found


def follow(site: Site, answer: Seen) -> tuple[Seen, str]:
    """The page that an answer leads to, and its address without what was kept."""
    assert answer.status == 303, answer.text
    address = answer.to.split("?")[0]
    return site.get(address), address


def typed(site: Site, **change: str) -> tuple[Seen, str]:
    """A new prescription typed and kept; the page of its second check."""
    return follow(
        site,
        site.fill(site.get("/prescription/new"), "/prescription/new", **{**HEAD, **LINES, **change}),
    )


def test_the_page_shows_every_line_in_force_with_its_unit(home: Site) -> None:
    page = home.get("/prescription")
    assert page.status == 200
    assert "Prescription 3" in page.text
    for words in (
        "Target weight 64.5 kg",
        "Cap on fluid removal 7 mL/kg/h",
        "Length of treatment 450 min (7 h 30)",
        "Acid dilution in parts 1 + 34 (35 parts)",
        "Needle gauge 15 gauge",
        "Arterial pressure limit \N{MINUS SIGN}180 mmHg",
        "First dose of heparin 1500 units",
    ):
        assert words in page.text
    for line in PRESCRIPTION:
        assert f'id="line-{line}"' in page.html


def test_an_empty_record_says_so_and_offers_to_type_it(site: Site) -> None:
    page = site.get("/prescription")
    assert "No prescription is in the record yet." in page.text
    assert "/prescription/new" in page.links


def test_a_typed_prescription_waits_and_hides_what_was_typed(home: Site) -> None:
    check, address = typed(home, line__target_weight="64.9")
    assert order(home).waiting == (address.rsplit("/", 1)[1],)
    for page in (check, home.get("/prescription")):
        assert "64.9" not in page.html
        assert 'value="230"' not in page.html
    assert "Number 4" in check.text
    assert "Not in force yet: prescription 4" in home.get("/prescription").text


def test_its_second_check_by_another_person_puts_it_in_force(home: Site) -> None:
    check, address = typed(home, line__target_weight="64.9")
    answer = home.fill(check, address, reader=ILKA, **{**LINES, "line__target_weight": "64.90"})
    assert answer.to.partition("?")[0] == "/prescription"
    assert (order(home).body.number, order(home).waiting) == ("4", ())
    held = home.desk.standing.last("second_check")
    assert held is not None
    assert held.by == ILKA
    assert "Target weight 64.9 kg" in home.get("/prescription").text


def test_the_same_person_looks_away_first(home: Site) -> None:
    check, address = typed(home)
    early = home.fill(check, address, reader="reread", **LINES)
    assert early.status == 409
    assert "Look away first" in early.text
    assert order(home).waiting
    home.clock.pass_time(timedelta(seconds=20))
    assert home.fill(check, address, reader="reread", **LINES).to.partition("?")[0] == "/prescription"
    assert not order(home).waiting


def test_the_one_who_typed_cannot_pass_as_a_second_person(home: Site) -> None:
    check, address = typed(home)
    form = check.form(address)
    lines = {name.replace("__", "."): text for name, text in LINES.items()}
    for reader in (BRAM, "nobody-here", ""):
        answer = home.post(address, {**form.fields, **lines, "reader": reader})
        assert answer.status == 409
        assert "Who reads now? Pick a name." in answer.text
    assert order(home).waiting


def test_a_check_with_a_line_left_empty_is_not_kept(home: Site) -> None:
    check, address = typed(home)
    before = home.rows
    answer = home.fill(check, address, reader=ILKA, **{**LINES, "line__sodium": ""})
    assert answer.status == 409
    assert "Sodium: type what the prescription says." in answer.text
    assert 'value="230"' in answer.html
    assert home.rows == before


def differing(home: Site, first: str, second: str) -> tuple[Seen, str]:
    """A prescription whose two readings of the target weight differ: the page that asks for a third."""
    check, address = typed(home, line__target_weight=first)
    return follow(home, home.fill(check, address, reader=ILKA, **{**LINES, "line__target_weight": second}))


def test_readings_that_differ_are_kept_and_read_a_third_time_hidden(home: Site) -> None:
    page, _ = differing(home, "64.9", "64.6")
    check = home.desk.standing.last("second_check")
    assert check is not None
    assert isinstance(check.body, SecondCheck)
    assert not check.body.agrees
    assert order(home).waiting
    assert "The two readings differ" in page.text
    assert "Target weight" in page.text
    assert "Sodium" not in page.text
    assert "64.9" not in page.html
    assert "64.6" not in page.html


def test_a_third_reading_like_the_first_puts_it_in_force(home: Site) -> None:
    page, address = differing(home, "64.9", "64.6")
    assert (
        home.fill(page, address, reader=ILKA, line__target_weight="64.9").to.partition("?")[0]
        == "/prescription"
    )
    assert order(home).lines["target_weight"] == "64.9"
    assert not order(home).waiting


@pytest.mark.hazard("H3")
def test_a_line_left_empty_first_is_looked_for_in_the_second_reading(home: Site) -> None:
    check, address = typed(home, line__venous_limit="")
    assert 'name="line.venous_limit"' in check.html
    home.clock.pass_time(timedelta(seconds=30))
    third, again = follow(home, home.fill(check, address, reader=ILKA, **LINES))
    assert again == address
    assert order(home).waiting
    put_right, address = follow(home, home.fill(third, again, reader=ILKA, line__venous_limit="200"))
    home.clock.pass_time(timedelta(seconds=30))
    last = home.fill(put_right, address, reader=ILKA, line__venous_limit="200")
    assert last.status == 303, last.text
    assert (order(home).waiting, order(home).lines["venous_limit"]) == ((), "200")


def test_a_third_reading_like_the_second_puts_the_first_right_then_asks_once_more(home: Site) -> None:
    page, address = differing(home, "64.9", "64.6")
    page, address = follow(home, home.fill(page, address, reader=ILKA, line__target_weight="64.6"))
    assert "put right" in page.text
    assert order(home).waiting == (address.rsplit("/", 1)[1],)
    assert (
        home.fill(page, address, reader=ILKA, line__target_weight="64.6").to.partition("?")[0]
        == "/prescription"
    )
    assert (order(home).lines["target_weight"], order(home).waiting) == ("64.6", ())
    first = home.desk.standing.last("prescription")
    assert first is not None
    assert first.corrects is not None
    assert isinstance(first.corrects.body, Prescription)
    assert first.corrects.body.lines["target_weight"] == "64.9"


def test_a_third_reading_unlike_both_decides_nothing(home: Site) -> None:
    page, address = differing(home, "64.9", "64.6")
    before = home.rows
    answer = home.fill(page, address, reader=ILKA, line__target_weight="64.3")
    assert answer.status == 409
    assert "unlike both before" in answer.text
    assert home.rows == before
    assert order(home).waiting


def test_lines_that_cannot_be_read_come_back_with_what_was_typed(home: Site) -> None:
    page = home.get("/prescription/new")
    before = home.rows
    answer = home.fill(
        page,
        "/prescription/new",
        **{**HEAD, **LINES, "giver": " ", "line__blood_flow": "2300", "line__heparin_first_dose": "1,500"},
    )
    assert answer.status == 409
    assert "#line.blood_flow" in answer.links
    assert "Blood flow: 2300 mL/min lies outside 50 to 500 mL/min." in answer.text
    assert "#giver" in answer.links
    assert 'value="1,500"' in answer.html
    assert 'value="64.5"' in answer.html
    assert home.rows == before


@pytest.mark.parametrize(
    ("kind", "left_empty"),
    [("heparin", "heparin_rate"), ("low_molecular", "low_molecular_dose")],
)
def test_lines_that_the_others_call_for_are_asked(home: Site, kind: str, left_empty: str) -> None:
    lines = {**LINES, "line__anticoagulant": kind, f"line__{left_empty}": ""}
    answer = home.fill(home.get("/prescription/new"), "/prescription/new", **{**HEAD, **lines})
    assert answer.status == 409
    assert f"#line.{left_empty}" in answer.links


@pytest.mark.source(
    "practice:a0", detail="target weight: ask at a change over 1.0 kg or 2 % from the last version"
)
def test_a_target_weight_that_moves_far_is_asked_about_and_then_kept_as_typed(home: Site) -> None:
    asked = home.fill(
        home.get("/prescription/new"),
        "/prescription/new",
        **{**HEAD, **LINES, "line__target_weight": "46.5"},
    )
    assert asked.status == 409
    assert "Did two digits change places? Read it again" in asked.text
    assert "64.5 kg" not in asked.text.partition("Did two digits")[2], "no target weight is named"
    other = home.fill(asked, "/prescription/new", line__target_weight="56.4")
    assert other.status == 409
    kept = home.fill(asked, "/prescription/new", as_typed="yes")
    check, address = follow(home, kept)
    home.fill(check, address, reader=ILKA, **{**LINES, "line__target_weight": "46.5"})
    assert order(home).lines["target_weight"] == "46.5"


def test_two_taps_on_keep_make_one_prescription(home: Site) -> None:
    page = home.get("/prescription/new")
    first = home.fill(page, "/prescription/new", **{**HEAD, **LINES})
    second = home.fill(page, "/prescription/new", **{**HEAD, **LINES})
    assert first.to == second.to
    assert len(home.desk.standing.of("prescription")) == 1


@pytest.mark.source("practice:a0", detail="heparin rate 0 to 3,000 units/h; as mL/h 0 to 5")
@pytest.mark.hazard("H29")
def test_so_few_units_that_they_are_likely_millilitres_are_asked_about(home: Site) -> None:
    page = home.get("/prescription/amend?line=heparin_rate")
    fields = {"by": "phone", "giver": "Sister Aun", "value": "0.9", "read_back": "0.9", "lasts": "on"}
    asked = home.fill(page, "/prescription/amend", **fields)
    assert asked.status == 409
    assert "0.9 is a figure as it is in mL/h. Look at the unit on the paper." in asked.text
    assert home.fill(asked, "/prescription/amend", as_typed="yes").status == 303
    assert home.desk.standing.last("line_amended") is not None


@pytest.mark.source("fluids:3.3", detail="1,000, 5,000 and 25,000 are all sold: second look if different")
@pytest.mark.hazard("H29")
@pytest.mark.parametrize(("typed", "shown", "times"), [("5000", "5000", 5), ("25 000", "25 000", 25)])
def test_another_heparin_strength_than_the_one_in_force_is_asked_about(
    home: Site, typed: str, shown: str, times: int
) -> None:
    words = (
        f"You typed {shown} units/mL for heparin strength. The order in force says 1000 units/mL."
        f" The same mL from such a vial would hold {times} times the heparin."
    )
    page = home.get("/prescription/amend?line=heparin_strength")
    fields = {"by": "phone", "giver": "Sister Aun", "value": typed, "read_back": typed, "lasts": "on"}
    asked = home.fill(page, "/prescription/amend", **fields)
    assert asked.status == 409
    assert words in asked.text
    assert home.desk.standing.last("line_amended") is None
    assert home.fill(asked, "/prescription/amend", as_typed="yes").status == 303
    anew = home.fill(
        home.get("/prescription/new"),
        "/prescription/new",
        **{**HEAD, **LINES, "line__heparin_strength": typed},
    )
    assert anew.status == 409
    assert words in anew.text


def by_phone(
    home: Site, line: str = "potassium", value: str = "3", back: str = "3.0", lasts: str = "on", **more: str
) -> Seen:
    """One line taken down by phone."""
    page = home.get(f"/prescription/amend?line={line}")
    return home.fill(
        page,
        "/prescription/amend",
        by="phone",
        giver="Sister Aun, home team",
        value=value,
        read_back=back,
        lasts=lasts,
        **more,
    )


def test_one_line_by_phone_is_in_force_after_its_check_and_awaits_its_paper(home: Site) -> None:
    check, address = follow(home, by_phone(home))
    waits = home.get("/prescription")
    assert "Not in force yet: Potassium has changed" in waits.text
    assert "Potassium 2.0 mmol/L" in waits.text
    assert order(home).lines["potassium"] == "2.0"
    assert home.fill(check, address, reader=ILKA, line__potassium="3").to.partition("?")[0] == "/prescription"
    page = home.get("/prescription")
    assert "Potassium 3 mmol/L By phone from Sister Aun, home team, taken down" in page.text
    assert "The written paper is still to come." in page.text
    assert order(home).unconfirmed == ("potassium",)


def test_what_is_said_back_must_be_what_was_heard(home: Site) -> None:
    before = home.rows
    answer = by_phone(home, back="2.5")
    assert answer.status == 409
    assert (
        "You heard 3 mmol/L and read back 2.5 mmol/L for Potassium. Ask the unit to say it again."
        in answer.text
    )
    assert home.rows == before


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ("by", "How did it come? Pick by phone or on paper."),
        ("lasts", "How long does it hold? Pick for tonight only or from now on."),
        ("giver", "Enter who"),
        ("value", "Potassium:"),
    ],
)
def test_a_changed_line_needs_all_of_it(home: Site, field: str, words: str) -> None:
    page = home.get("/prescription/amend?line=potassium")
    fields = {"by": "phone", "giver": "Sister Aun", "value": "3", "read_back": "3", "lasts": "on"}
    before = home.rows
    answer = home.post(
        "/prescription/amend", {**page.form("/prescription/amend").fields, **fields, field: ""}
    )
    assert answer.status == 409
    assert words in answer.text
    assert home.rows == before


def test_a_line_of_another_name_leads_back_to_the_list(home: Site) -> None:
    page = home.get("/prescription/amend?line=shoe_size")
    assert "Which line changed?" in page.text
    answer = home.post("/prescription/amend", {"line": "shoe_size", "value": "3"})
    assert "Which line changed?" in answer.text


def test_a_line_from_a_paper_in_hand_awaits_none(home: Site) -> None:
    page = home.get("/prescription/amend?line=potassium")
    check, address = follow(
        home,
        home.fill(page, "/prescription/amend", by="paper", giver=UNIT, value="3", read_back="3", lasts="on"),
    )
    home.fill(check, address, reader=ILKA, line__potassium="3")
    assert (order(home).lines["potassium"], order(home).unconfirmed) == ("3", ())


def phoned(home: Site) -> None:
    """A line taken by phone, in force, its paper awaited."""
    check, address = follow(home, by_phone(home))
    home.fill(check, address, reader=ILKA, line__potassium="3")


def test_the_paper_that_comes_is_read_with_what_was_heard_hidden(home: Site) -> None:
    phoned(home)
    page = home.get("/prescription/written?line=potassium")
    assert 'value="3"' not in page.html
    differs = home.fill(page, "/prescription/written", giver="Dr Ash", value="2")
    assert differs.status == 409
    assert "you heard 3 mmol/L; the paper says 2 mmol/L" in differs.text
    assert order(home).unconfirmed == ("potassium",)
    assert home.fill(page, "/prescription/written", giver="Dr Ash", value="3.0").to.startswith(
        "/prescription?"
    )
    assert (order(home).lines["potassium"], order(home).unconfirmed, order(home).waiting) == ("3", (), ())
    fact = home.desk.standing.last("line_amended")
    assert fact is not None
    assert isinstance(fact.body, LineAmended)
    assert fact.body.giver == "Dr Ash"


def test_no_paper_is_awaited_for_a_line_as_first_typed(home: Site) -> None:
    assert home.get("/prescription/written?line=sodium").status == 404
    assert home.post("/prescription/written", {"line": "sodium", "value": "137", "giver": "x"}).status == 404


def test_a_check_of_nothing_says_so(home: Site) -> None:
    for address in ("/prescription/check/nothing", f"/prescription/check/{order(home).prescription.id}"):
        assert home.get(address).status == 404
        assert home.post(address, {"reader": ILKA}).status == 404


def at_reading(site: Site) -> Site:
    """A night that has come to the reading from the paper (S2)."""
    site.until("S2")
    return site


def test_tonights_prescription_is_read_with_the_number_off_the_paper(site: Site) -> None:
    at_reading(site)
    page = site.get("/prescription/read")
    assert "Target weight 64.5 kg" in page.text
    assert "Prescription 3" not in page.text
    name = next(one.name for one in people(site.desk.standing).values() if "dialysis" in one.roles)
    assert f"Whose it is {name}" in page.text
    held = order(site).body
    assert f"Valid from {day(held.valid_from)} Given by {held.giver}" in page.text
    assert "Number read it off your paper and type it at the end" in page.text
    wrong = site.fill(page, "/prescription/read", version_read="2")
    assert wrong.status == 409
    assert "The paper in your hand says 2" in wrong.text
    empty = site.fill(page, "/prescription/read", version_read=" ")
    assert "type it as it stands there" in empty.text
    assert not site.desk.views["S2"].passed
    assert site.fill(page, "/prescription/read", version_read="3").to == "/setup?saved=S2&kept=read"
    assert "Kept:" in site.get(site.get("/setup?saved=S2").to).text
    assert site.desk.views["S2"].passed
    assert f"Number {held.number}" in site.get("/prescription/read").text


@pytest.mark.source("practice:H2", detail="the version is read fresh at S2, a line by phone told as such")
def test_a_line_by_phone_is_told_as_such_where_the_paper_is_read(site: Site) -> None:
    at_reading(site)
    done = site.do(orders.amend_line, line="potassium", value="3", giver="Sister Aun", read_back="3")
    at = clock(site.clock.now().at, ZONE)
    site.clock.pass_time(timedelta(seconds=30))
    site.do(orders.check_order, of=done.entries[0], values={"potassium": "3"}, how="reread")
    page = site.get("/prescription/read")
    assert "Potassium 3 mmol/L By phone from Sister Aun, taken down" in page.text
    assert f"{at}, by Bram Venn. The written paper is still to come." in page.text
    assert page.text.count("By phone from") == 1
    site.clock.pass_time(timedelta(seconds=30))
    site.do(orders.confirm_written, line="potassium", value="3", giver="Dr Ash")
    page = site.get("/prescription/read")
    assert "By phone from" not in page.text
    assert "Potassium 3 mmol/L Changed on the word of Dr Ash." in page.text


def test_the_reading_waits_for_the_questions_before_it(site: Site) -> None:
    site.open_night()
    page = site.get("/prescription/read")
    assert "Not yet. First:" in page.text
    assert all(form.action != "/prescription/read" for form in page.forms)
    key = site.act(lambda house: house.ids.new())
    answer = site.post("/prescription/read", {"version_read": "3", "key": key})
    assert answer.status == 409
    assert not site.desk.views["S2"].passed


def test_a_changed_line_makes_the_reading_stale_and_the_plan_void(site: Site) -> None:
    site.until("S26")
    phoned_line = site.do(orders.amend_line, line="potassium", value="3", giver=UNIT, read_back="3").entries[
        0
    ]
    site.do(orders.check_order, by=ILKA, of=phoned_line, values={"potassium": "3"}, how="person")
    assert not site.desk.views["S2"].passed
    assert "Read it from the paper for tonight" in site.get("/prescription").text


def test_a_paper_that_begins_later_is_named(home: Site) -> None:
    check, address = typed(home, valid_from="2026-05-03")
    home.fill(check, address, reader=ILKA, **LINES)
    assert "valid from 3 May 2026. That day is still to come." in home.get("/prescription").text


def test_a_clinic_reader_looks_and_types_nothing(home: Site) -> None:
    from ebbwell.deeds.people import enter_person

    home.do(enter_person, person="aun", name="Sister Aun", roles=("clinic",))
    home.who = "aun"
    assert home.get("/prescription").status == 200
    assert home.get("/prescription/new").status == 403
    assert home.post("/prescription/new", {}).status == 403


def test_looking_writes_nothing(home: Site) -> None:
    home.do(setup.open_night)
    before = home.rows
    for path in ("", "/new", "/amend", "/amend?line=sodium", "/read", "/written?line=sodium", "/check/x"):
        home.get(f"/prescription{path}")
    assert home.rows == before
