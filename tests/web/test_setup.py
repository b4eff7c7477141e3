"""Setting up by the pages: a whole evening in every home, and each screen's own ways."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.people import enter_person
from ebbwell.journal.kinds.marks import LotUsed, Measured, Waited
from ebbwell.journal.kinds.night import Connected
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.papers.words import clock
from ebbwell.procedure.holds import Status
from ebbwell.sim.homes import HOMES
from ebbwell.sim.household import ILKA, LOTS, USUAL, ZONE
from tests.web.evening import Evening
from tests.web.site import Seen, Site
from tests.web.test_sheet import closed_night

QUESTIONS = "/setup/first_questions"
WATER = "S5.total_chlorine.tank1"
ANSWERS = {
    "S0.breathless_chest_pain": "no",
    "S0.ill": "no",
    "S0.fever_feeling": "no",
    "S0.bleeding": "no",
    "S0.fall": "no",
    "S0.operation": "no",
    "S0.new_medicine": "no",
    "S0.carer_fit": "yes",
    "S0.stock_enough": "yes",
    "S0b.thrill_felt": "yes",
}


def send(site: Site, address: str, sent: dict[str, str], page: Seen | None = None) -> Seen:
    """A screen's form with something filled in, as a browser sends it."""
    form = (page or site.get(address)).form(address)
    assert set(sent) <= form.names | {name for name, _ in form.buttons}, set(sent) - form.names
    return site.post(address, {**form.fields, **sent})


def hhmm(at: datetime) -> str:
    """An instant on the home's clock."""
    return clock(at, ZONE)


def status(site: Site, step: str) -> Status:
    """How a step stands."""
    return site.desk.views[step].status


def measured(site: Site, quantity: str, place: str = "") -> list[Measured]:
    """What stands on record for a quantity."""
    held = [f.body for f in site.desk.treatment.at_slot("measured", quantity, place)]
    return [b for b in held if isinstance(b, Measured)]


@pytest.mark.parametrize("home", HOMES)
def test_an_evening_by_the_pages_comes_to_an_open_gate_in_every_home(site: Site, home: str) -> None:
    site.act(lambda house: HOMES[home].open_night(house, site.clock))
    evening = Evening(site)
    page = evening.set_up()
    assert site.desk.gate_open
    assert "Blood is in the lines: connected" in page.text
    answer = send(site, "/connect", {}, page)
    assert (answer.status, answer.to) == (303, "/night")
    body = site.desk.treatment.of("connected")[0].body
    assert isinstance(body, Connected)
    needed = {v.step.id for v in site.desk.views.values() if v.step.gate == "connect" and v.by}
    assert needed <= set(body.satisfied)
    assert site.get("/setup").to == "/night"


@pytest.mark.source(
    "design", detail="section 2, rule 5: a night takes at most 90 taps, 60 typed fields, 8 scans"
)
def test_taps_fields_and_scans_of_an_evening_are_counted(
    site: Site, capsys: pytest.CaptureFixture[str]
) -> None:
    site.open_night()
    evening = Evening(site)
    evening.set_up()
    with capsys.disabled():
        print(
            f"\nset-up of an uneventful fistula night: {evening.taps} taps ({evening.saves} of them to save a screen), "
            f"{evening.fields} typed fields, {evening.scans} scans"
        )
    assert evening.scans <= 8
    assert evening.fields <= 60 - 22, "the readings of a night and the morning take 22"
    # regression pin: over the 90, since each hold answered by a pick takes a tap, and each screen one to save it
    assert evening.taps <= 103


def test_packs_without_a_scanner_are_read_twice(site: Site) -> None:
    site.open_night()
    evening = Evening(site, scanner=False)
    evening.set_up()
    assert evening.scans == 0
    checks = [f.body for f in site.desk.treatment.of("second_check")]
    twice = {b.step for b in checks if isinstance(b, SecondCheck)}
    assert {"S9", "S10", "S12", "S13", "S14", "S5", "S18"} <= twice


# -- one save, each field its own deed ---------------------------------------------------------------------------


def test_a_save_keeps_each_field_and_what_is_not_kept_comes_back_as_typed(site: Site) -> None:
    site.until("S29")
    pressure = {"S29b.systolic": "138", "S29b.diastolic": "seventy", "S29b.pulse": "72"}
    page = send(site, "/setup/person", {"S29.weight_before": "66.3", **pressure})
    assert page.status == 409
    assert "Not kept yet" in page.text
    assert 'value="seventy"' in page.html
    assert measured(site, "weight_before")[0].value == "66.3"
    assert measured(site, "pulse")[0].value == "72"
    assert measured(site, "diastolic") == []
    assert "Weight before: 66.3 kg" in page.text
    assert "S29.weight_before" not in page.form("/setup/person").names
    assert send(site, "/setup/person", {"S29b.diastolic": "76"}, page).status == 303


def test_an_odd_value_is_asked_about_and_kept_as_typed(site: Site) -> None:
    site.until("S29")
    page = send(site, "/setup/person", {"S29b.systolic": "210"})
    assert page.status == 409
    assert measured(site, "systolic") == []
    assert ("as_typed", "S29b.systolic") in page.form("/setup/person").buttons
    again = send(site, "/setup/person", {"as_typed": "S29b.systolic"}, page)
    assert again.status == 303
    assert measured(site, "systolic")[0].value == "210"
    assert measured(site, "systolic")[0].asked == ("outside_asked",)


def test_as_typed_answers_only_for_the_value_that_was_asked_about(site: Site) -> None:
    site.until("S29")
    page = send(site, "/setup/person", {"S29b.systolic": "210"})
    other = {"as_typed": "S29b.systolic", "S29b.systolic": "220"}
    assert send(site, "/setup/person", other, page).status == 409
    assert measured(site, "systolic") == []


def test_why_something_was_not_measured_is_as_easy_as_a_number(site: Site) -> None:
    site.until("S29")
    assert send(site, "/setup/person", {"S29.weight_before.not": "the scale is broken"}).status == 303
    assert measured(site, "weight_before")[0].not_measured == "the scale is broken"
    assert status(site, "S29") is Status.BARRED
    page = site.get("/setup/person")
    assert "Not measured. Only the unit's word can let this step pass." in page.text


def test_a_value_and_a_reason_against_it_are_told_apart(site: Site) -> None:
    site.until("S29")
    both = {"S29.weight_before": "66.3", "S29.weight_before.not": "no scale"}
    assert send(site, "/setup/person", both).status == 409
    assert measured(site, "weight_before") == []


def test_nothing_filled_in_is_told(site: Site) -> None:
    site.open_night()
    page = send(site, QUESTIONS, {})
    assert page.status == 409
    assert "Nothing was filled in." in page.text


def test_no_measured_value_and_no_pick_is_ever_filled_in_beforehand(site: Site) -> None:
    for step in ("S5", "S29", "S18", "S23b"):
        again = Site()
        again.until(step)
        screen = again.desk.procedure.step(step)
        page = again.get(f"/setup/{screen.bundle or step}")
        form = page.form(f"/setup/{screen.bundle or step}")
        for evidence in screen.evidence:
            name = ".".join(filter(None, (step, evidence.name, evidence.place)))
            assert form.fields.get(name, [""]) == [""]
        again.close()


# -- waits ---------------------------------------------------------------------------------------------------------


def test_a_wait_begins_with_the_save_of_what_comes_before_it(site: Site) -> None:
    site.open_night()
    evening = Evening(site)
    for _ in range(3):
        address, page = evening.follow("/setup")
        evening.one(address.partition("?")[0], page)
    began = [f for f in site.desk.treatment.of("waited") if isinstance(f.body, Waited)]
    assert [f.body.step for f in began] == ["S3"]
    page = site.get("/setup/room_and_water")
    end = hhmm(began[0].at + timedelta(minutes=15))
    assert f"Wait until {end}." in page.text


def test_a_wait_that_is_all_a_screen_asks_begins_by_one_button(site: Site) -> None:
    site.until("S19")
    page = site.get("/setup/S19")
    form = page.form("/setup/S19")
    assert ("S19.wait", "yes") in form.buttons
    assert "Start the 5 minutes" in page.text
    earlier = site.clock.now().at - timedelta(minutes=2)
    assert send(site, "/setup/S19", {"S19.wait": "yes", "S19.wait.at": hhmm(earlier)}).status == 303
    began = [f for f in site.desk.treatment.of("waited") if getattr(f.body, "step", "") == "S19"]
    assert [f.at for f in began] == [earlier.replace(second=0, microsecond=0)]


def test_the_reading_from_the_paper_is_led_to_by_itself_unless_the_step_is_shut_for_a_reason(
    site: Site,
) -> None:
    site.until("S2")
    assert site.get("/setup").to.startswith("/prescription/read")
    site.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    site.who = "ann"
    assert site.get("/setup").to.startswith("/setup/S2"), "who may only read is shown the step"


def test_a_value_just_kept_is_told_before_the_plan_is_asked_for(site: Site) -> None:
    site.until("S26")
    others = ".".join(step for step in site.desk.procedure.ids if step != "S26")
    assert site.get(f"/setup?later={others}").to.startswith("/plan")
    told = site.get(f"/setup?later={others}&saved=S29").to
    assert told.startswith("/setup/settings")
    assert f"{USUAL['weight_before']} kg" in site.get(told).text


def test_an_earlier_start_is_taken(site: Site) -> None:
    site.until("S3")
    now = site.clock.now().at
    site.clock.pass_time(timedelta(minutes=30))
    began = hhmm(now + timedelta(minutes=10))
    sent = {"S3.supply_pressure": "as_usual", "S3.wait.at": began}
    assert send(site, "/setup/room_and_water", sent).status == 303
    assert status(site, "S3") is Status.MET


def test_a_wait_does_not_begin_without_water(site: Site) -> None:
    site.until("S3")
    assert send(site, "/setup/room_and_water", {"S3.supply_pressure": "none"}).status == 303
    assert site.desk.treatment.of("waited") == ()
    page = site.get("/setup/room_and_water")
    assert "What you saw is not what this step needs." in page.text
    assert send(site, "/setup/room_and_water", {"S3.supply_pressure": "as_usual"}, page).status == 303
    assert status(site, "S3") is Status.WAITING


def test_while_a_wait_runs_other_steps_are_offered(site: Site) -> None:
    site.until("S3")
    send(site, "/setup/room_and_water", {"S1.tick": "yes", "S3.supply_pressure": "as_usual"})
    page = site.get("/setup/room_and_water")
    assert "/setup/packs" in page.links
    assert "till then" in page.text


def test_what_is_looked_at_after_a_wait_is_not_asked_before_it_is_over(site: Site) -> None:
    site.until("S22")
    send(site, "/setup/S22", {"S22.wait": "yes"})
    page = site.get("/setup/S22")
    assert "S22.bubbles_after" not in page.form("/setup/S22").names
    site.clock.pass_time(timedelta(minutes=10))
    assert "S22.bubbles_after" in site.get("/setup/S22").form("/setup/S22").names


# -- packs -----------------------------------------------------------------------------------------------------------


def test_a_scanned_label_is_first_and_second_check(site: Site) -> None:
    site.until("S12")
    scan = {"S12.dialyser.scan": "]d2240D-18\x1d10D4410\x1d17270600", "S12.dialyser.intact": "yes"}
    assert send(site, "/setup/packs", scan).status == 303
    body = site.desk.treatment.of("lot_used")[-1].body
    assert isinstance(body, LotUsed)
    assert (body.code, body.lot, body.expiry, body.scanned) == ("D-18", "D4410", "2027-06-30", True)
    assert status(site, "S12") is Status.MET


def test_a_typed_label_waits_for_its_second_reading(site: Site) -> None:
    site.until("S12")
    typed = {"S12.dialyser.code": "D-18", "S12.dialyser.lot": "D4410", "S12.dialyser.expiry": "2027-06"}
    assert send(site, "/setup/packs", {**typed, "S12.dialyser.intact": "yes"}).status == 303
    assert status(site, "S12") is Status.SECOND
    page = site.get("/setup/packs?saved=S12")
    assert "D4410" not in page.text + page.html
    assert "What was read stays hidden until the second reading." in page.text


def test_another_dialyser_keeps_the_step_shut_and_says_so(site: Site) -> None:
    site.until("S12")
    typed = {"S12.dialyser.code": "D-15", "S12.dialyser.lot": "D1", "S12.dialyser.expiry": "2027-06"}
    send(site, "/setup/packs", {**typed, "S12.dialyser.intact": "yes"})
    page = site.get("/setup/packs")
    assert status(site, "S12") is Status.BARRED
    assert "The code on the pack is not the one on the prescription." in page.text


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"S12.dialyser.code": "D-18"}, "Look at the pack."),
        ({"S12.dialyser.intact": "yes"}, "Type the code on the label, or scan it."),
        ({"S12.dialyser.scan": "hello", "S12.dialyser.intact": "yes"}, "That is not a label"),
        (
            {"S12.dialyser.code": "D-18", "S12.dialyser.expiry": "soon", "S12.dialyser.intact": "yes"},
            "Type the date like 2027-06-30",
        ),
    ],
)
def test_a_label_that_is_not_whole_is_asked_for(site: Site, sent: dict[str, str], words: str) -> None:
    site.until("S12")
    page = send(site, "/setup/packs", sent)
    assert page.status == 409
    assert words in page.text
    assert [f for f in site.desk.treatment.of("lot_used") if getattr(f.body, "item", "") == "dialyser"] == []


def test_the_last_pack_is_offered_and_its_seal_is_not(site: Site) -> None:
    closed_night(site)
    site.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    evening = Evening(site, scanner=False)
    for _ in range(4):
        address, page = evening.follow("/setup")
        if address.startswith("/setup/S5a"):
            break
        evening.one(address.partition("?")[0], page)
    form = page.form("/setup/S5a")
    assert form.fields["S5a.chlorine_test.code"] == [LOTS["chlorine_test"][0]]
    assert "S5a.chlorine_test.intact" not in form.fields
    assert "from the night of 29 April 2026." in page.text
    assert send(site, "/setup/S5a", {"S5a.chlorine_kind": "total_chlorine"}, page).status == 303
    assert "S5a" not in {getattr(f.body, "step", "") for f in site.desk.treatment.of("lot_used")}


# -- second readings -----------------------------------------------------------------------------------------------


@pytest.fixture
def tested(site: Site) -> Site:
    """Chlorine after tank 1 was read once, by Bram."""
    site.until("S5")
    page = send(site, "/setup/chlorine", {WATER: "0.03", f"{WATER}.method": "meter"})
    assert page.status == 303
    assert status(site, "S5") is Status.SECOND
    return site


def test_the_first_value_is_nowhere_on_the_page_of_the_second(tested: Site) -> None:
    page = tested.get("/setup/chlorine?saved=S5")
    assert "0.03" not in page.html


def test_another_person_reads_it_and_signs_for_it(tested: Site) -> None:
    second = {"S5.second.total_chlorine.tank1": "0,03", "S5.second.how": f"person:{ILKA}"}
    assert send(tested, "/setup/chlorine", second).status == 303
    check = tested.desk.treatment.of("second_check")[-1]
    assert check.by == ILKA
    assert status(tested, "S5") is Status.MET


def test_a_number_without_its_nought_is_told_with_it_and_its_unit(site: Site) -> None:
    site.until("S5")
    send(site, "/setup/chlorine", {WATER: ".03", f"{WATER}.method": "meter"})
    assert [b.value for b in measured(site, "total_chlorine", "tank1")] == ["0.03"]
    second = {"S5.second.total_chlorine.tank1": ",03", "S5.second.how": f"person:{ILKA}"}
    page = send(site, "/setup/chlorine", second)
    assert status(site, "S5") is Status.MET
    assert "0.03 mg/L" in site.get(page.to).text or "0.03 mg/L" in site.get("/setup/chlorine?saved=S5").text


def test_a_second_reading_that_differs_shuts_and_both_are_read_again(tested: Site) -> None:
    second = {"S5.second.total_chlorine.tank1": "0.09", "S5.second.how": f"person:{ILKA}"}
    send(tested, "/setup/chlorine", second)
    page = tested.get("/setup/chlorine")
    assert "The two readings were not the same. Both are kept." in page.text
    assert "S5.second.key" not in page.form("/setup/chlorine").names
    assert "Draw again" not in page.text
    assert "0.03" not in tested.get("/setup/chlorine?saved=S5").html
    assert status(tested, "S5") is Status.BARRED
    first = {WATER: "0.04", f"{WATER}.method": "meter"}
    assert send(tested, "/setup/chlorine", first, page).status == 303
    assert [b.value for b in measured(tested, "total_chlorine", "tank1")] == ["0.04"]
    assert "The two readings were not the same" not in tested.get("/setup/chlorine").text
    assert send(tested, "/setup/chlorine", {**second, "S5.second.total_chlorine.tank1": "0.04"}).status == 303
    assert status(tested, "S5") is Status.MET


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"S5.second.total_chlorine.tank1": "0.03"}, "Choose who reads it now."),
        ({"S5.second.how": f"person:{ILKA}"}, "Type what you read now"),
        ({"S5.second.total_chlorine.tank1": "0.03", "S5.second.how": "photo"}, "Enter the name of the photo"),
    ],
)
def test_half_a_second_reading_is_asked_for(tested: Site, sent: dict[str, str], words: str) -> None:
    page = send(tested, "/setup/chlorine", sent)
    assert page.status == 409
    assert words in page.text
    assert status(tested, "S5") is Status.SECOND
    assert "S5" not in {getattr(f.body, "step", "") for f in tested.desk.treatment.of("second_check")}


def test_the_same_person_looks_again_only_after_a_while(site: Site) -> None:
    site.until("S18")
    send(site, "/setup/S18", {"S18.heparin_strength": "1000"})
    page = site.get("/setup/S18")
    second = {"S18.second.heparin_strength": "1000", "S18.second.how": "reread"}
    assert "The same person can read it again from" in page.text
    assert send(site, "/setup/S18", second, page).status == 409
    site.clock.pass_time(timedelta(seconds=21))
    assert send(site, "/setup/S18", second).status == 303
    assert status(site, "S18") is Status.MET
