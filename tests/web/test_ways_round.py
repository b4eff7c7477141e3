"""Ways round a hold point by the pages, each written down and tried: none of them works.

Each test ends by asking the record whether the hold stands as open as before, or the gate as shut.
"""

from __future__ import annotations

import pytest

from ebbwell.deeds import comeoff, orders, person, record, setup
from ebbwell.house import House
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.procedure.holds import Status
from ebbwell.sim.elsewhere import written_elsewhere
from ebbwell.sim.household import BRAM, ILKA, TOVE
from ebbwell.state.night import Phase
from tests.web.evening import Evening
from tests.web.site import Seen, Site
from tests.web.test_setup import ANSWERS, QUESTIONS, WATER, measured, send, status

ELSEWHERE = {"origin": "http://elsewhere.test"}


def forms(page: Seen, address: str) -> dict[str, str | list[str]]:
    """What a form would send as it stands."""
    return dict(page.form(address).fields)


@pytest.fixture
def fresh(site: Site) -> Site:
    """A night just opened."""
    site.open_night()
    return site


@pytest.fixture
def ready(site: Site) -> Site:
    """The gate is open."""
    site.set_up()
    return site


def shut(site: Site) -> bool:
    """Whether connecting is as shut as it should be: no blood on record, and the gate not open."""
    return not site.desk.gate_open and not site.desk.treatment.of("connected")


# -- the gate itself -----------------------------------------------------------------------------------------------


def test_1_connect_is_sent_before_the_gate_is_open(fresh: Site) -> None:
    key = fresh.act(lambda house: house.ids.new())
    answer = fresh.post("/connect", {"night": fresh.desk.treatment_id or "", "connect.key": key})
    assert answer.status == 409
    assert "things keep connecting shut" in answer.text
    assert shut(fresh)


def test_2_connect_is_sent_without_its_key(ready: Site) -> None:
    form = forms(ready.get("/connect"), "/connect")
    del form["connect.key"]
    assert ready.post("/connect", form).status == 409
    assert ready.desk.phase is Phase.SETTING_UP


def test_3_the_page_was_opened_while_the_gate_was_open_and_something_shut_it_since(ready: Site) -> None:
    page = ready.get("/connect")
    ready.do(setup.happened, what="water_restart")
    assert send(ready, "/connect", {}, page).status == 409
    assert shut(ready)


def test_4_the_connect_page_of_last_night_is_sent_tonight(ready: Site) -> None:
    page = ready.get("/connect")
    ready.do(comeoff.call_off, words="tried")
    ready.do(setup.open_night)
    answer = send(ready, "/connect", {}, page)
    assert answer.status == 409
    assert "made for another night" in answer.text
    assert shut(ready)


@pytest.mark.parametrize("who", [TOVE, ILKA, "bedside", "nobody-known", "../bram"])
def test_5_connect_is_sent_by_someone_not_signed_off(ready: Site, who: str) -> None:
    page = ready.get("/connect")
    ready.who = who
    assert send(ready, "/connect", {}, page).status in (403, 409)
    assert ready.desk.phase is Phase.SETTING_UP


def test_6_connect_is_dated_before_the_last_check(ready: Site) -> None:
    assert send(ready, "/connect", {"at": "19:05"}).status == 409
    assert send(ready, "/connect", {"at": "yesterday"}).status == 409
    assert ready.desk.phase is Phase.SETTING_UP


def test_7_after_not_tonight_the_open_page_does_not_connect(ready: Site) -> None:
    page = ready.get("/connect")
    ready.do(person.not_tonight, by=ILKA)
    assert send(ready, "/connect", {}, page).status == 409
    assert not ready.desk.treatment.of("connected")


def test_8_a_form_from_another_site_keeps_nothing(ready: Site) -> None:
    form = forms(ready.get("/connect"), "/connect")
    assert ready.post("/connect", form, headers=ELSEWHERE).status == 403
    assert ready.post("/connect", form, headers={}).status == 403
    assert ready.desk.phase is Phase.SETTING_UP


# -- forms that were edited ------------------------------------------------------------------------------------------


def test_9_a_step_that_is_shut_is_put_into_the_form_of_an_open_one(fresh: Site) -> None:
    key = fresh.act(lambda house: house.ids.new())
    form = forms(fresh.get(QUESTIONS), QUESTIONS)
    sent = {**form, "S31.tape": "as_taught_with_slack", "S31.tape.key": key}
    answer = fresh.post(QUESTIONS, sent)
    assert answer.status == 409
    assert "This is not asked now" in answer.text
    assert status(fresh, "S31") is Status.SHUT
    assert fresh.desk.treatment.of("choice") == ()


def test_10_a_shut_screen_is_sent_by_its_address(fresh: Site) -> None:
    for address, name, word in (
        ("/setup/S31", "S31.tape", "as_taught_with_slack"),
        ("/setup/S30", "S30.flashback", "both_needles"),
        ("/setup/lines", "S17.venous_line", "in_detector_and_clamp"),
    ):
        key = fresh.act(lambda house: house.ids.new())
        sent = {"night": fresh.desk.treatment_id or "", name: word, f"{name}.key": key}
        assert fresh.post(address, sent).status == 409
    assert fresh.desk.treatment.of("choice") == ()


def test_11_a_word_that_is_not_offered_is_sent(fresh: Site) -> None:
    assert fresh.post(QUESTIONS, {**forms(fresh.get(QUESTIONS), QUESTIONS), "S0.fall": "never"}).status == 409
    assert fresh.desk.treatment.of("answer") == ()


def test_12_a_step_behind_connecting_is_sent_from_the_set_up(fresh: Site) -> None:
    key = fresh.act(lambda house: house.ids.new())
    for address in ("/setup/S32", "/setup/S33", "/setup/C16", "/setup/clean_up", "/setup/nothing"):
        sent = {"night": fresh.desk.treatment_id or "", "S33.wait": "yes", "S33.wait.key": key}
        assert fresh.post(address, sent).status == 409
    assert shut(fresh)


def test_13_a_bundle_is_merged_into_another_ones_form(site: Site) -> None:
    site.until("S12")
    page = site.get("/setup/packs")
    keys = [site.act(lambda house: house.ids.new()) for _ in range(2)]
    sent = {
        **forms(page, "/setup/packs"),
        "S24.alarm_limits": "set_as_taught",
        "S24.alarm_limits.key": keys[0],
        "S27.needle_sensor": "it_beeped",
        "S27.needle_sensor.key": keys[1],
    }
    assert site.post("/setup/packs", sent).status == 409
    assert status(site, "S24") is Status.OPEN
    assert status(site, "S27") is Status.OPEN


def test_14_one_key_is_used_for_every_field(fresh: Site) -> None:
    form = forms(fresh.get(QUESTIONS), QUESTIONS)
    one = form["S0.fall.key"]
    same = {name: one if name.endswith(".key") else value for name, value in form.items()}
    answer = fresh.post(QUESTIONS, {**same, **ANSWERS})
    assert answer.status == 409
    assert len(fresh.desk.treatment.of("answer")) == 1
    assert status(fresh, "S0") is Status.OPEN


def test_15_keys_are_left_out_or_made_up(fresh: Site) -> None:
    form = forms(fresh.get(QUESTIONS), QUESTIONS)
    for made_up in ("", "1", "x" * 36, fresh.desk.treatment.of("pinned")[0].id):
        edited = {name: made_up if name.endswith(".key") else value for name, value in form.items()}
        assert fresh.post(QUESTIONS, {**edited, **ANSWERS}).status == 409
    assert fresh.desk.treatment.of("answer") == ()


def test_16_a_hold_that_may_not_be_left_out_is_left_out_with_an_edited_button(fresh: Site) -> None:
    for step in ("S0", "S0b", "S5", "S31", "C16"):
        key = fresh.act(lambda house: house.ids.new())
        sent = {
            **forms(fresh.get(QUESTIONS), QUESTIONS),
            "act": f"skip:{step}",
            f"{step}.skip.key": key,
            f"{step}.skip.reason": "no time",
            f"{step}.skip.unit": "nobody",
        }
        assert fresh.post(QUESTIONS, sent).status == 409
    assert fresh.desk.treatment.of("skipped") == ()


def test_17_the_units_word_is_used_where_the_unit_may_not_allow_it(site: Site) -> None:
    site.until("S5")
    page = send(site, "/setup/chlorine", {WATER: "0.15", f"{WATER}.method": "meter"})
    send(site, "/setup/chlorine", {"as_typed": WATER}, page)
    key = site.act(lambda house: house.ids.new())
    said = {"S5.unit.who": "someone", "S5.unit.words": "go on", "S5.unit.allows": "yes", "S5.unit.key": key}
    site.post(
        "/setup/chlorine", {**forms(site.get("/setup/chlorine"), "/setup/chlorine"), **said, "act": "unit:S5"}
    )
    assert status(site, "S5") is Status.BARRED
    site.do(orders.advise, who="someone", words="go on", about=("S5",), allows=True)
    assert status(site, "S5") is Status.BARRED


# -- tabs, the back button, two devices --------------------------------------------------------------------------------


def test_18_a_stale_tab_does_not_put_aside_a_value_that_it_never_showed(site: Site) -> None:
    site.until("S29")
    tab = site.get("/setup/person")
    site.do(setup.measure, quantity="weight_before", typed="66.3")
    answer = send(site, "/setup/person", {"S29.weight_before": "64.0"}, tab)
    assert answer.status == 409
    assert [b.value for b in measured(site, "weight_before")] == ["66.3"]


def test_19_the_back_button_does_not_change_what_was_saved(site: Site) -> None:
    site.until("S29")
    page = site.get("/setup/person")
    assert send(site, "/setup/person", {"S29.weight_before": "66.3"}, page).status == 303
    again = send(site, "/setup/person", {"S29.weight_before": "63.6"}, page)
    assert again.status == 409
    assert "What you typed now was not kept." in again.text
    assert [b.value for b in measured(site, "weight_before")] == ["66.3"]
    assert send(site, "/setup/person", {"S29.weight_before": "66.3"}, page).status == 303
    assert [b.value for b in measured(site, "weight_before")] == ["66.3"]


def test_20_a_tap_that_comes_five_times_makes_one_entry_for_each_field(fresh: Site) -> None:
    page = fresh.get(QUESTIONS)
    for _ in range(5):
        send(fresh, QUESTIONS, ANSWERS, page)
    assert len(fresh.desk.treatment.of("answer")) == len(ANSWERS)
    assert fresh.desk.treatment.disagreements() == {}


def test_21_a_set_up_page_of_last_night_keeps_nothing_tonight(fresh: Site) -> None:
    page = fresh.get(QUESTIONS)
    fresh.do(comeoff.call_off, words="tried")
    fresh.do(setup.open_night)
    assert send(fresh, QUESTIONS, ANSWERS, page).status == 409
    assert fresh.desk.treatment.of("answer") == ()


def test_22_a_withdrawn_check_shuts_the_page_that_was_open(ready: Site) -> None:
    page = ready.get("/connect")
    fact = ready.desk.treatment.at_slot("choice", "S31", "tape")[0]
    ready.do(record.withdraw, of=fact.id, reason="it was another night")
    assert send(ready, "/connect", {}, page).status == 409
    assert shut(ready)


# -- second readings ---------------------------------------------------------------------------------------------------


@pytest.fixture
def once(site: Site) -> Site:
    """Chlorine after tank 1 was read once, by Bram."""
    site.until("S5")
    send(site, "/setup/chlorine", {WATER: "0.03", f"{WATER}.method": "meter"})
    return site


@pytest.mark.parametrize("how", ["person:bram", "person:nobody", "reread", "scan", "blind", "person", ""])
def test_23_the_second_person_is_the_first_or_nobody_or_a_way_that_is_not_taken(once: Site, how: str) -> None:
    page = once.get("/setup/chlorine")
    second = {"S5.second.total_chlorine.tank1": "0.03", "S5.second.how": how}
    once.post("/setup/chlorine", {**forms(page, "/setup/chlorine"), **second})
    assert status(once, "S5") is Status.SECOND


def test_24_the_second_reading_comes_in_the_same_form_as_the_first(site: Site) -> None:
    site.until("S18")
    key = site.act(lambda house: house.ids.new())
    page = site.get("/setup/S18")
    sent = {
        **forms(page, "/setup/S18"),
        "S18.heparin_strength": "1000",
        "S18.second.heparin_strength": "1000",
        "S18.second.how": "reread",
        "S18.second.key": key,
        "S18.second.of": page.form("/setup/S18").fields["S18.heparin_strength.key"][0],
    }
    site.post("/setup/S18", sent)
    assert status(site, "S18") is not Status.MET


def test_25_the_same_hand_looks_again_at_once(site: Site) -> None:
    site.until("S18")
    send(site, "/setup/S18", {"S18.heparin_strength": "1000"})
    second = {"S18.second.heparin_strength": "1000", "S18.second.how": "reread"}
    assert send(site, "/setup/S18", second).status == 409
    assert status(site, "S18") is Status.SECOND


def test_26_a_second_reading_of_a_value_that_was_changed_since(once: Site) -> None:
    page = once.get("/setup/chlorine")
    first = once.desk.treatment.at_slot("measured", "total_chlorine", "tank1")[0]
    once.do(
        setup.measure,
        quantity="total_chlorine",
        place="tank1",
        typed="0.04",
        method="meter",
        instead_of=(first.id,),
    )
    second = {"S5.second.total_chlorine.tank1": "0.03", "S5.second.how": f"person:{ILKA}"}
    answer = send(once, "/setup/chlorine", second, page)
    assert answer.status == 409
    assert status(once, "S5") is Status.SECOND


def test_27_a_typed_pack_is_passed_off_as_scanned(site: Site) -> None:
    site.until("S12")
    typed = {
        **forms(site.get("/setup/packs"), "/setup/packs"),
        "S12.dialyser.code": "D-18",
        "S12.dialyser.lot": "D4410",
        "S12.dialyser.expiry": "2027-06",
        "S12.dialyser.intact": "yes",
        "S12.dialyser.scanned": "yes",
        "scanned": "true",
    }
    site.post("/setup/packs", typed)
    assert status(site, "S12") is Status.SECOND


# -- settings and waits ------------------------------------------------------------------------------------------------


def test_28_settings_are_sent_before_the_plan_is_agreed(site: Site) -> None:
    site.until("S26")
    key = site.act(lambda house: house.ids.new())
    sent = {**forms(site.get("/setup/settings"), "/setup/settings")}
    answer = site.post("/setup/settings", {**sent, "S26.blood_flow": "230", "S26.blood_flow.key": key})
    assert answer.status == 409
    assert measured(site, "blood_flow", "setting") == []


def test_29_a_setting_is_sent_as_a_measured_value_of_another_step(site: Site) -> None:
    site.until("S26")
    Evening(site).linked("/setup/settings", site.get("/setup/settings"))
    key = site.act(lambda house: house.ids.new())
    sent = forms(site.get("/setup/settings"), "/setup/settings")
    site.post("/setup/settings", {**sent, "S29.blood_flow.setting": "230", "S29.blood_flow.setting.key": key})
    assert status(site, "S26") is Status.OPEN
    assert measured(site, "blood_flow", "setting") == []


def test_30_a_wait_is_said_to_have_begun_before_it_could(site: Site) -> None:
    site.until("S22")
    ahead = {"S22.wait": "yes", "S22.wait.at": "soon"}
    assert send(site, "/setup/S22", ahead).status == 409
    assert site.desk.views["S22"].status is Status.OPEN
    send(site, "/setup/S22", {"S22.wait": "yes"})
    key = site.act(lambda house: house.ids.new())
    early = {"S22.bubbles_after": "none_seen", "S22.bubbles_after.key": key}
    assert site.post("/setup/S22", {"night": site.desk.treatment_id or "", **early}).status == 409
    assert status(site, "S22") is not Status.MET


def test_31_the_reading_back_is_sent_as_a_tick(fresh: Site) -> None:
    send(fresh, QUESTIONS, ANSWERS)
    key = fresh.act(lambda house: house.ids.new())
    sent = {"night": fresh.desk.treatment_id or "", "S2.readback": "yes", "S2.readback.key": key}
    assert fresh.post("/setup/S2", sent).status == 409
    assert status(fresh, "S2") is Status.OPEN


def test_32_nobody_who_only_reads_keeps_anything(fresh: Site) -> None:
    from ebbwell.deeds.people import enter_person

    fresh.do(enter_person, person="reader", name="The home team", roles=("clinic",))
    page = fresh.get(QUESTIONS)
    fresh.who = "reader"
    assert send(fresh, QUESTIONS, ANSWERS, page).status == 403
    assert fresh.desk.treatment.of("answer") == ()
    assert fresh.who != BRAM


def test_33_the_night_was_taken_over_on_another_computer(ready: Site) -> None:
    page, questions = ready.get("/connect"), ready.get(QUESTIONS)
    treatment = ready.desk.treatment_id

    def arrive(house: House) -> None:
        house.take_in([written_elsewhere(house, treatment, HandedOver(stage="store"))])

    ready.act(arrive)
    assert ready.get("/setup").to == "/hand-over"
    assert send(ready, "/connect", {}, page).status == 409
    assert send(ready, QUESTIONS, {}, questions).status == 409
    assert not ready.desk.treatment.of("connected")
