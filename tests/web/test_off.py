"""Coming off: from every state in one form, person safe with open steps, and the sheet that closes with reasons."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, night, setup
from ebbwell.journal.kinds.bedside import BloodByHand
from ebbwell.journal.kinds.night import CameOff, Reading, Safe
from ebbwell.sim.household import READING
from ebbwell.state.night import Phase
from tests.web.site import Seen, Site

HOURS = timedelta(hours=7, minutes=30)


def _ran(site: Site) -> None:
    site.connect()
    site.clock.pass_time(HOURS)


def _off(site: Site, **typed: str) -> Seen:
    return site.fill(site.get("/off"), "/off", **{"blood": "all", "act": "off", **typed})


def _steps(site: Site, page: Seen, **typed: str) -> Seen:
    """Save the steps alone, before or after coming off."""
    action = "/off/steps" if any(f.action == "/off/steps" for f in page.forms) else "/off"
    return site.fill(page, action, **{"act": "steps", **typed})


def test_nothing_ran_says_so_and_can_be_told_otherwise(site: Site) -> None:
    site.open_night()
    page = site.get("/off")
    assert "No blood is running" in page.text
    assert _off(site).status == 303
    assert site.desk.phase is Phase.OFF
    assert site.desk.treatment.of("already_running")


@pytest.mark.source("practice:c", detail="C8; H56: coming off is one action from every state")
@pytest.mark.parametrize("state", ["running", "paused", "stopping"])
@pytest.mark.parametrize("who", ["bram", "tove", "ilka", "bedside"])
def test_off_the_machine_is_one_form_from_every_state_by_anyone(site: Site, state: str, who: str) -> None:
    _ran(site)
    if state == "paused":
        site.do(night.go_off)
    if state == "stopping":
        site.do(night.stop_now)
    site.who = who
    assert (_off(site).status, site.desk.phase) == (303, Phase.OFF)
    body = site.desk.treatment.of("came_off")[-1].body
    assert isinstance(body, CameOff)
    assert body.blood_returned == "all"
    assert body.times["pump_stopped"] == site.clock.now().at.isoformat()


def test_the_pump_stop_is_the_time_that_was_typed(site: Site) -> None:
    _ran(site)
    stopped = site.clock.now().at.replace(second=0) - timedelta(minutes=12)
    typed = (stopped + timedelta(hours=1)).strftime("%H:%M")
    assert _off(site, blood="part", pump_stopped=typed, words="clotted").status == 303
    body = site.desk.treatment.of("came_off")[-1].body
    assert isinstance(body, CameOff)
    assert body.times["pump_stopped"] == stopped.isoformat()
    assert (body.blood_returned, body.words) == ("part", "clotted")


@pytest.mark.parametrize(
    ("typed", "words"),
    [({"pump_stopped": "late"}, "Type the time like 21:40")],
)
def test_what_is_missing_is_told_beside_its_field(site: Site, typed: dict[str, str], words: str) -> None:
    _ran(site)
    page = _off(site, **typed)
    assert page.status == 409
    assert words in page.text
    assert site.desk.phase is Phase.RUNNING


def test_the_time_alone_is_kept_and_how_much_blood_went_back_stays_asked(site: Site) -> None:
    _ran(site)
    assert _off(site, blood="").status == 303
    assert site.desk.phase is Phase.OFF
    page = site.get("/off")
    assert "Blood given back: not written down yet" in page.text
    before = site.desk.treatment.of("came_off")[0]
    assert _steps(site, page, blood="none").status == 303
    (after,) = site.desk.treatment.of("came_off")
    assert isinstance(before.body, CameOff)
    assert isinstance(after.body, CameOff)
    assert (after.body.blood_returned, after.body.times, after.at) == ("none", before.body.times, before.at)
    assert "Call now: Blood stayed out" in site.get("/off").text


@pytest.mark.source("practice:c", detail="times that must not be mixed: blood pump stop among them")
def test_a_stop_that_was_noted_is_the_time_of_the_pump_unless_told(site: Site) -> None:
    _ran(site)
    site.do(night.stop_now)
    noted = site.clock.now().at
    site.clock.pass_time(timedelta(minutes=2))
    page = site.get("/off")
    at = (noted + timedelta(hours=1)).strftime("%H:%M")
    assert f"A stop was noted at {at}. Left empty: that time" in page.text
    assert _off(site).status == 303
    (off,) = site.desk.treatment.of("came_off")
    assert isinstance(off.body, CameOff)
    assert (off.body.times["pump_stopped"], off.at) == (noted.isoformat(), noted)


def test_a_stop_with_a_later_reading_of_the_flow_is_not_the_pumps(site: Site) -> None:
    _ran(site)
    site.do(night.stop_now)
    site.clock.pass_time(timedelta(minutes=20))
    site.do(night.read, values=dict(READING))
    assert "A stop was noted" not in site.get("/off").text


def test_what_needs_a_running_pump_is_asked_about_when_it_is_timed_after_it_stopped(site: Site) -> None:
    _ran(site)
    _off(site)
    site.clock.pass_time(timedelta(minutes=4))
    page = site.get("/off?part=pump_running")
    row = {"row.before_off.venous_pressure": "124"}
    asked = _steps(site, page, **row)
    assert asked.status == 409
    assert "The pump stopped at" in asked.text
    assert "before_off" not in _rows(site)
    early = (site.clock.now().at + timedelta(hours=1) - timedelta(minutes=6)).strftime("%H:%M")
    assert _steps(site, asked, **row, **{"row.before_off.at": early}).status == 303
    assert _rows(site)["before_off"] == {"venous_pressure": "124"}


def test_a_bleeding_longer_than_the_person_is_off_is_asked_about(site: Site) -> None:
    _ran(site)
    _off(site)
    site.clock.pass_time(timedelta(minutes=4))
    page = _steps(site, site.get("/off"), **{"C10.bleeding_minutes.arterial": "12"})
    assert page.status == 409
    assert "You typed 12 min of bleeding, and the pump stopped 4 min ago" in page.text


def test_a_second_tap_writes_nothing_anew(site: Site) -> None:
    _ran(site)
    page = site.get("/off")
    for _ in range(3):
        assert site.fill(page, "/off", blood="all", act="off").status == 303
    assert len(site.desk.treatment.of("came_off")) == 1


def test_steps_are_kept_field_by_field_before_and_after(site: Site) -> None:
    _ran(site)
    typed = {
        "C1.end_reason": "time_reached",
        "C1.treatment_minutes": "450",
        "C1.fluid_removed": "2.3",
        "C3.feeling": "well",
    }
    page = site.get("/off")
    answer = _steps(site, page, **typed)
    assert (answer.status, answer.to) == (303, "/off?kept=off-pump_running")
    desk = site.desk
    assert desk.views["C1"].passed
    assert "C1 " not in site.get("/off").text
    saline = {"C4.things_ready": "all_there", "C4.saline_left": "enough"}
    assert _steps(site, site.get("/off?part=blood_back"), **saline).status == 303
    assert site.desk.views["C4"].passed
    assert _steps(site, page, **typed).status == 303
    assert len(desk.treatment.at_slot("measured", "fluid_removed", "")) == 1


def test_one_field_that_cannot_be_read_holds_no_other_back(site: Site) -> None:
    _ran(site)
    page = _steps(site, site.get("/off"), **{"C1.treatment_minutes": "long", "C3.feeling": "dizzy"})
    assert page.status == 409
    assert 'id="C1.treatment_minutes-why"' in page.html
    assert site.desk.treatment.at_slot("answer", "feeling")
    assert not site.desk.treatment.at_slot("measured", "treatment_minutes", "")


def _heading(page: Seen) -> str:
    return page.html.partition('<h2 class="moment">')[2].partition("</h2>")[0]


@pytest.mark.source(
    "practice:c", detail="C1 to C13 in order; what is open gates only the closing of the sheet"
)
def test_one_moment_of_the_morning_is_on_the_screen_and_the_others_are_a_tap_away(site: Site) -> None:
    _ran(site)
    page = site.get("/off")
    assert _heading(page) == "While the pump still runs"
    assert "/off?part=blood_back" in page.links
    assert 'name="blood"' in page.html, "off the machine can be written down from every one of them"
    other = site.get("/off?part=blood_back")
    assert _heading(other) == "Giving the blood back"
    assert 'name="blood"' in other.html
    assert _heading(site.get("/off?part=nothing_such")) == "While the pump still runs"


def test_once_off_the_needles_come_first_and_what_was_passed_over_stays_in_reach(site: Site) -> None:
    _ran(site)
    _off(site)
    page = site.get("/off")
    assert _heading(page) == "Off the machine: pressure, access, weight"
    assert {"/off?part=pump_running", "/off?part=blood_back"} <= set(page.links)
    late = site.get("/off?part=pump_running")
    assert _steps(site, late, **{"C3.feeling": "dizzy"}).status == 303
    assert site.desk.treatment.at_slot("answer", "feeling")
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert _heading(site.get("/off")) == "Off the machine: pressure, access, weight"
    assert "/off?part=clean_up" in site.get("/off").links


BLOOD_STAYS = {"C7b.blood_lost": "200_to_300_ml", "C7b.unit_called": "not_yet"}


@pytest.mark.source(
    "practice:c", detail="C7: blood not returned: estimated loss 200 to 300 mL; call the unit"
)
@pytest.mark.parametrize("back", ["none", "part"])
@pytest.mark.parametrize("looks", ["normal", "clotted"])
def test_blood_that_stayed_out_is_always_asked_about_however_it_looked(
    site: Site, back: str, looks: str
) -> None:
    _ran(site)
    _off(site, blood=back)
    page = site.get("/off")
    assert "Call now: Blood stayed out" in page.text
    assert "C7b.unit_called" in page.form("/off/steps").names, "it stands first, with needles and pressure"
    assert ("C6.rinse_back" in site.get("/off?part=blood_back").form("/off/steps").names) == (back == "part")
    kept = _steps(site, site.get("/off?part=blood_back"), **{"C7.blood_return": looks})
    assert kept.status == 303
    page = site.get("/off")
    assert _steps(site, page, **BLOOD_STAYS).status == 303
    assert "Blood stayed out" in site.get("/off").text or looks == "clotted"
    assert not site.desk.views["C7b"].passed, "not called yet is not what it asks for"
    assert "C7b.unit_called" in site.get("/off").form("/off/steps").names
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert "C7b.unit_called" in site.get("/off").form("/off/steps").names
    assert _steps(site, site.get("/off"), **{"C7b.unit_called": "called"}).status == 303
    assert site.desk.views["C7b"].passed
    assert "Call now: Blood stayed out" not in site.get("/off").text


def test_the_home_page_says_what_came_of_the_night_and_asks_before_another(site: Site) -> None:
    """Source: arithmetic (46 minutes from first blood to the pump's stop; 450 min ordered are 7 h 30 min)."""
    site.connect()
    site.clock.pass_time(timedelta(minutes=46))
    site.do(comeoff.come_off, blood_returned="none")
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    treatment = site.desk.treatment_id
    left = {v.step.id for v in site.desk.views.values() if v.step.gate == "close" and not v.passed}
    site.do(comeoff.close, because=dict.fromkeys(left, "tired"))
    page = site.get("/")
    assert "Blood ran 46 min; ordered: 7 h 30 min." in page.text
    assert page.text.index("Blood ran 46 min") < page.text.index("Open tonight")
    assert f"/sheet/{treatment}" in page.links
    assert "Disinfect" in page.text or "Clean the machine" in page.text, "C16 is told as not written down"
    asked = site.fill(page, "/")
    assert asked.status == 409
    assert "Open another?" in asked.text
    assert site.desk.phase is Phase.NONE
    assert site.fill(asked, "/").status == 303
    assert site.desk.phase is Phase.SETTING_UP


def test_nothing_typed_is_dropped_because_of_the_answer_before_it(site: Site) -> None:
    """One save: the blood looks as on other nights, and beside it how much was lost."""
    _ran(site)
    _steps(site, site.get("/off?part=blood_back"), **{"C7.blood_return": "clotted"})
    page = site.get("/off?part=blood_back")
    look = site.desk.treatment.at_slot("choice", "C7", "blood_return")
    site.do(setup.choose, step="C7", name="blood_return", option="normal", instead_of=(look[0].id,))
    _steps(site, page, **BLOOD_STAYS)
    assert site.desk.treatment.at_slot("choice", "C7b", "blood_lost")
    assert site.desk.treatment.at_slot("choice", "C7b", "unit_called")


@pytest.mark.source("practice:c", detail="C9 to C13 belong to person safe; C14 to C20 are closed later today")
def test_what_cannot_wait_stands_above_what_can(site: Site) -> None:
    _ran(site)
    _off(site, blood="none")
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    page = site.get("/off")
    below = page.text.index("These can wait until you have slept")
    for words in ("Say how much blood stayed out", "one at a time", "2 of 2"):
        assert words in page.text[:below], words
    assert "Cleaning up" in page.text[below:]
    assert "The person comes first" not in page.text


def test_what_was_for_the_running_hours_is_no_task_for_after_sleep(site: Site) -> None:
    site.connect()
    site.fill(site.get("/night"), "/night/steps", **{"S33.wait": "yes"})
    site.clock.pass_time(timedelta(minutes=1))
    _off(site, blood="part")
    home = site.get("/").text
    assert "wait is over" not in home, "nothing of the running hours is waited for once off"
    assert home.index("Say how much blood stayed out") < home.index("C1 ")
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    page = site.get("/off").text
    missed = page.index("Not written down before you were off the machine:")
    waits = page[page.index("These can wait until you have slept") : missed]
    for words in ("Bring the flow up", "While the pump still runs", "Giving the blood back"):
        assert words not in waits
        assert words in page[missed:]
    assert "Cleaning up" in waits


def test_what_was_just_written_down_is_told_with_its_unit_and_can_be_put_right(site: Site) -> None:
    _ran(site)
    _steps(site, site.get("/off"), **{"C1.fluid_removed": "2.31"})
    page = site.get("/off")
    assert "2.31 L" in page.text
    entry = site.desk.treatment.at_slot("measured", "fluid_removed", "")[0].id
    assert f"/entry/{entry}" in page.links


def test_a_field_that_was_not_kept_comes_back_on_its_own_moment(site: Site) -> None:
    _ran(site)
    page = site.get("/off?part=blood_back")
    back = _steps(site, page, **{"C6.rinse_back": "much"})
    assert back.status == 409
    assert _heading(back) == "Giving the blood back"
    assert 'value="much"' in back.html


def test_an_empty_form_of_steps_says_what_to_do(site: Site) -> None:
    _ran(site)
    page = _steps(site, site.get("/off"))
    assert page.status == 409
    assert "Fill in at least one field" in page.text


def test_rows_of_the_person_alone_ask_for_pressure_and_pulse_and_lead_back(site: Site) -> None:
    _ran(site)
    page = site.get("/night/reading?when=lying")
    assert "venous_pressure" not in page.form("/night/reading").names
    answer = site.fill(page, "/night/reading", pressure="126/70", pulse="68")
    assert answer.to.startswith("/off")
    assert _rows(site) == {"lying": {"systolic": "126", "diastolic": "70", "pulse": "68"}}


def _rows(site: Site) -> dict[str, dict[str, str]]:
    bodies = [f.body for f in site.desk.treatment.of("reading")]
    return {b.when: b.values for b in bodies if isinstance(b, Reading)}


def test_rows_are_kept_among_the_steps_each_by_itself(site: Site) -> None:
    _ran(site)
    page = site.get("/off")
    names = page.form("/off").names
    assert "row.before_off.venous_pressure" in names
    assert "row.lying.venous_pressure" not in names
    assert "row.before_off.pressure" not in names, "the pressure lying is asked beside it, once"
    assert "C1.fluid_removed" in names
    assert "row.before_off.fluid_removed" not in names
    typed = {
        "row.lying.pressure": "126/70",
        "row.lying.pulse": "68",
        "row.before_off.venous_pressure": "high",
    }
    back = _steps(site, page, **typed)
    assert back.status == 409
    assert 'id="row.before_off.venous_pressure-why"' in back.html
    assert _rows(site) == {"lying": {"systolic": "126", "diastolic": "70", "pulse": "68"}}
    assert "row.lying.pressure" not in back.form("/off").names, "what was kept isn't asked again"
    last = {"row.before_off.venous_pressure": "124", "row.before_off.why.arterial_pressure": "cannot_read"}
    more = _steps(site, back, **last)
    assert more.status == 303
    assert _rows(site)["before_off"] == {"venous_pressure": "124"}
    assert _steps(site, page, **{"row.lying.pressure": "126/70"}).status == 303
    assert len(site.desk.treatment.of("reading")) == 2, "a second tap writes nothing anew"


def test_an_odd_pressure_among_the_steps_is_asked_about_in_its_field(site: Site) -> None:
    _ran(site)
    page = _steps(site, site.get("/off"), **{"row.lying.pressure": "230/70"})
    assert page.status == 409
    assert _rows(site) == {}
    plain = _steps(site, page)
    assert plain.status == 409, "only the field's own button answers"
    kept = _steps(site, page, as_typed="row.lying.pressure")
    assert kept.status == 303
    assert _rows(site)["lying"]["systolic"] == "230"


@pytest.mark.source("practice:a0", detail="bleeding over 30 min: call")
def test_a_long_bleeding_says_call_now(site: Site) -> None:
    _ran(site)
    _off(site)
    site.clock.pass_time(timedelta(minutes=50))
    typed = {"C10.bleeding_minutes.arterial": "35", "C10.bleeding_minutes.venous": "9"}
    page = _steps(site, site.get("/off"), **typed)
    while page.status == 409:
        page = _steps(site, page, as_typed="C10.bleeding_minutes.arterial")
    text = site.get("/off").text
    assert "Call now" in text
    assert "35 min" in text


def test_person_safe_needs_no_step_and_names_those_left(site: Site) -> None:
    _ran(site)
    _off(site)
    asked = site.fill(site.get("/off"), "/off/safe")
    assert asked.status == 409
    assert "Not written down: needles out, bleeding stopped. Is the person safe?" in asked.text
    assert not site.desk.treatment.of("safe")
    assert site.fill(asked, "/off/safe").status == 303, "asked once, never refused"
    fact = site.desk.treatment.of("safe")[-1]
    assert isinstance(fact.body, Safe)
    assert "C10" in fact.body.open_steps
    page = site.get("/off")
    assert "Marked as safe. Not written down then:" in page.text
    assert "needles out, bleeding stopped. By Bram Venn" in page.text
    assert "Person safe: needles out, bleeding stopped" not in page.text
    assert f"/entry/{fact.id}" in page.links


def test_needles_on_record_are_not_asked_about_before_the_person_is_safe(site: Site) -> None:
    _ran(site)
    _off(site)
    site.clock.pass_time(timedelta(minutes=30))
    for place in ("arterial", "venous"):
        site.do(setup.measure, quantity="bleeding_minutes", place=place, typed="8")
    assert site.fill(site.get("/off"), "/off/safe").status == 303
    assert "needles out, bleeding stopped" not in site.get("/off").text


@pytest.mark.source("practice:e", detail="first actions from every page; needle holes may bleed again")
def test_something_is_wrong_stays_a_tap_away_for_two_hours_after_the_person_is_safe(site: Site) -> None:
    _ran(site)
    _off(site)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    left = {v.step.id for v in site.desk.views.values() if v.step.gate == "close" and not v.passed}
    assert "#wrong" in site.get("/").links
    site.clock.pass_time(timedelta(hours=1, minutes=55))
    assert "#wrong" in site.get("/off").links
    site.do(comeoff.close, because=dict.fromkeys(left, "tired"))
    assert "#wrong" in site.get("/").links, "also once the sheet is closed"
    site.clock.pass_time(timedelta(hours=3))
    assert "#wrong" not in site.get("/").links


def test_person_safe_before_coming_off_is_refused_with_words(site: Site) -> None:
    _ran(site)
    page = site.post("/off/safe", {})
    assert page.status == 409
    assert not site.desk.treatment.of("safe")


def test_the_sheet_closes_only_with_a_reason_for_each_open_step(site: Site) -> None:
    _ran(site)
    site.do(night.read, values=dict(READING))
    _off(site)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    treatment = site.desk.treatment_id
    page = site.get("/off")
    refused = site.fill(page, "/off/close")
    assert refused.status == 409
    assert site.desk.phase is Phase.SAFE
    names = [name for name in page.form("/off/close").names if name.startswith("because.")]
    assert "because.C10" in names
    assert "because.C16" not in names, "the disinfection keeps the next night, not this sheet"
    reasons = dict.fromkeys(names, "asleep")
    some = dict(list(reasons.items())[1:])
    assert site.fill(page, "/off/close", **some).status == 409
    kept = site.fill(page, "/off/close", **reasons)
    assert (kept.status, kept.to) == (303, f"/sheet/{treatment}?kept=off-close")
    assert site.desk.phase is not Phase.SAFE


def test_blood_by_hand_is_kept_and_coming_off_follows(site: Site) -> None:
    _ran(site)
    page = site.get("/off/by-hand")
    assert site.fill(page, "/off/by-hand", why="power", amount="about 200").status == 409
    assert site.fill(page, "/off/by-hand").status == 409
    answer = site.fill(page, "/off/by-hand", why="power", amount="200", started="03:20")
    assert (answer.status, answer.to) == (303, "/off?kept=by-hand")
    body = site.desk.treatment.of("blood_by_hand")[-1].body
    assert isinstance(body, BloodByHand)
    assert (body.why, body.amount) == ("power", "200")
    assert site.desk.phase is Phase.RUNNING
    assert _off(site).status == 303


def test_a_reader_at_the_clinic_writes_nothing_here(site: Site) -> None:
    from ebbwell.deeds.people import enter_person

    _ran(site)
    site.do(enter_person, person="unit", name="The home team", roles=("clinic",))
    site.who = "unit"
    rows = site.rows
    for address in ("/off", "/off/steps", "/off/safe", "/off/close", "/off/by-hand"):
        assert site.post(address, {"blood": "all"}).status == 403
    assert site.rows == rows


def test_off_the_machine_keeps_the_steps_filled_in_with_it_and_none_holds_it_up(site: Site) -> None:
    _ran(site)
    typed = {"C3.feeling": "well", "C1.treatment_minutes": "long", "row.lying.pressure": "126/70"}
    page = _off(site, **typed)
    assert page.status == 409, "one field can't be read"
    assert site.desk.phase is Phase.OFF, "and yet the person is off"
    assert _rows(site)["lying"]["systolic"] == "126"
    assert site.desk.treatment.at_slot("answer", "feeling")
    assert 'id="C1.treatment_minutes-why"' in page.html


def test_enter_in_a_field_never_says_off_the_machine(site: Site) -> None:
    _ran(site)
    form = site.get("/off").form("/off")
    assert form.buttons[0] == ("act", "steps"), "the first button is the one that Enter presses"


@pytest.mark.source(
    "practice:c", detail="C7: clotted set, haemolysis or chemical suspicion: do not return blood"
)
@pytest.mark.parametrize("address", ["/off", "/off?part=blood_back"])
def test_which_blood_stays_out_and_whom_to_call_stands_above_the_question(site: Site, address: str) -> None:
    _ran(site)
    page = site.get(address)
    box = page.html.index('id="look-first"')
    assert box < page.html.index('name="blood"')
    words = page.html[box : page.html.index("</div>", box)]
    assert "cherry juice" in words
    assert "give it back" in words
    assert "Number to call" in words


@pytest.mark.source("practice:d2", detail="haemolysis: pump stop, clamp both, don't return; keep set; call")
def test_blood_like_cherry_juice_says_call_now_before_all_part_or_none_is_picked(site: Site) -> None:
    _ran(site)
    page = site.get("/off?part=blood_back")
    assert _steps(site, page, **{"C7.blood_return": "haemolysis"}).status == 303
    for address in ("/off", "/off?part=blood_back"):
        seen = site.get(address)
        told = seen.text.index("Call now: The blood looks like cherry juice")
        assert "Don't give it back" in seen.text
        assert told < seen.text.index("Was the blood given back?")
    _off(site, blood="none")
    assert "The blood looks like cherry juice" in site.get("/off").text
    site.do(setup.choose, step="C7b", name="unit_called", option="called")
    assert "The blood looks like cherry juice" not in site.get("/off").text


def test_blood_as_on_other_nights_calls_nobody(site: Site) -> None:
    _ran(site)
    page = site.get("/off?part=blood_back")
    assert _steps(site, page, **{"C7.blood_return": "normal"}).status == 303
    assert "The blood looks" not in site.get("/off").text


def test_blood_found_running_without_a_record_is_looked_at_first_too(site: Site) -> None:
    site.open_night()
    page = site.get("/off")
    assert page.html.index('id="look-first"') < page.html.index('name="blood"')


@pytest.mark.source("fluids:3.4", detail="signs of clotting; own scale from clean to clotted")
@pytest.mark.parametrize("after", [False, True])
def test_how_the_dialyser_looked_is_one_pick_before_or_after_coming_off(site: Site, after: bool) -> None:
    _ran(site)
    if after:
        _off(site)
    page = site.get("/off?part=blood_back")
    for words in ("Clean", "A few streaks", "Many streaks, or a clot", "Clotted"):
        assert words in page.text
    assert _steps(site, page, **{"C6b.clot_score": "clots"}).status == 303
    (fact,) = site.desk.treatment.at_slot("choice", "C6b", "clot_score")
    assert (getattr(fact.body, "option", ""), fact.by) == ("clots", site.who)
    assert site.desk.views["C6b"].passed


def test_nobody_has_to_look_at_the_dialyser_for_anything(site: Site) -> None:
    """Source: practice:e H56 (from first blood on, no step gates coming off)."""
    _ran(site)
    assert _off(site).status == 303
    assert not site.desk.views["C6b"].passed
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert site.desk.phase is Phase.SAFE
