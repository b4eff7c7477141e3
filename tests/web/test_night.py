"""The night page, a reading, stop now: what a person sees, and what the record then holds."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from ebbwell.deeds import comeoff, night, setup
from ebbwell.deeds.connect import already_running, connect
from ebbwell.deeds.readings_due import due_readings
from ebbwell.deeds.texts import enter_emergency_details, order_fields, write_first_action
from ebbwell.deeds.upkeep import disinfect
from ebbwell.journal.kinds.night import Reading, Stop
from ebbwell.papers.words import clock
from ebbwell.sim import hands
from ebbwell.sim.household import ZONE
from ebbwell.state.night import Phase, first_blood
from tests.web.site import Site

ROW = {
    "systolic": "131",
    "diastolic": "74",
    "pulse": "70",
    "blood_flow": "230",
    "dialysate_flow": "300",
    "arterial_pressure": "-92",
    "venous_pressure": "124",
    "fluid_conductivity": "13.8",
}


FORM = {"pressure": "131/74", **{k: v for k, v in ROW.items() if k not in ("systolic", "diastolic")}}
"""The same row as it is typed."""


def _read(site: Site, **more: str) -> None:
    site.do(night.read, values={**ROW, **more})


def test_without_a_running_night_there_is_nothing_to_show(site: Site) -> None:
    site.open_night()
    page = site.get("/night")
    assert page.status == 200
    assert "No treatment is running" in page.text


@pytest.mark.source("arithmetic", detail="7 h 30 min from 20:00 UTC+1, heparin off 60 min before; 307 mL/h")
def test_hours_and_ages_are_told_with_the_time_they_are_of(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(timedelta(minutes=60))
    _read(site)
    site.clock.pass_time(timedelta(minutes=26))
    page = site.get("/night")
    assert "6 h 04 min left" in page.text
    assert "1 h 26 min done." in page.text
    local = timedelta(hours=1)
    end, off = start + local + timedelta(minutes=450), start + local + timedelta(minutes=390)
    assert f"Ends {end:%H:%M}." in page.text
    assert f"Heparin off {off:%H:%M}." in page.text
    assert f"As it stood at {site.clock.now().at + local:%H:%M}." in page.text
    assert "Venous pressure 124 mmHg 26 min old" in page.text
    assert "Arterial pressure \N{MINUS SIGN}92 mmHg" in page.text
    assert "Blood pressure 131/74 mmHg" in page.text
    assert "before the night 138/76" in page.text
    assert "Nobody at the clinic sees this tonight." in page.text
    assert "No other night has readings this far in to compare these with." in page.text


@pytest.mark.source("arithmetic", detail="removal rate x 1 h")
def test_fluid_removed_stands_beside_the_plan_at_an_even_rate(site: Site) -> None:
    site.connect()
    figure = site.desk.treatment.of("connected")[-1].body.shown["removal_rate"]  # type: ignore[attr-defined]
    site.clock.pass_time(timedelta(minutes=60))
    _read(site, fluid_removed="0.30")
    litres = round(float(figure.split()[0]) / 1000, 2)
    assert f"plan at that time {litres:.2f} L" in site.get("/night").text


@pytest.mark.source(
    "practice:e", detail="H17: elapsed in UTC; both clock-change nights; hours are hours that really pass"
)
@pytest.mark.parametrize(
    ("at", "zone"),
    [
        (datetime(2026, 3, 28, 19, 0, tzinfo=UTC), "Europe/Dublin"),
        (datetime(2026, 10, 24, 19, 0, tzinfo=UTC), "Europe/Dublin"),
    ],
)
def test_on_clock_change_nights_hours_are_hours_that_pass(at: datetime, zone: str) -> None:
    site = Site(at, zone)
    try:
        site.connect()
        site.clock.pass_time(timedelta(minutes=360))
        page = site.get("/night")
        assert "6 h 00 min done." in page.text
        assert "1 h 30 min left" in page.text
        assert "The clocks change tonight." in page.text
        assert "UTC+0" in page.text
    finally:
        site.close()


def test_a_clock_that_jumped_shows_no_hours(site: Site) -> None:
    site.connect()
    site.clock.step_wall(timedelta(hours=3))
    page = site.get("/night")
    assert "Go by the machine's own clock" in page.text
    assert " left " not in page.text.replace("are not known", "").replace("done and left", "")


@pytest.mark.source("fluids:P11", detail="a fall of 20 mmHg: look at the arm")
def test_a_fall_of_venous_pressure_sends_the_eyes_to_the_arm(site: Site) -> None:
    site.connect()
    _read(site)
    assert "Look at the arm now" not in site.get("/night").text
    site.clock.pass_time(timedelta(minutes=20))
    _read(site, venous_pressure="104")
    page = site.get("/night")
    assert "Look at the arm now" in page.text
    assert "Venous pressure is 104 mmHg. In the reading before it was 124 mmHg" in page.text
    site.clock.pass_time(timedelta(minutes=20))
    _read(site, venous_pressure="104")
    assert "Look at the arm now" not in site.get("/night").text


def test_a_stop_finding_after_first_blood_says_call_now(site: Site) -> None:
    site.connect()
    site.do(night.read, values={**ROW, "venous_pressure": "210"}, sure=("past_limit", "outside_asked_high"))
    assert "Call now: Venous pressure is 210 mmHg. Your unit's limit is 200 mmHg." in site.get("/night").text


@pytest.mark.source(
    "practice:a", detail="over the unit's own limit: no harmless number is offered for a true one"
)
def test_no_other_number_is_offered_for_one_past_a_limit(site: Site) -> None:
    site.move_in()
    for venous in ("118", "120", "122"):
        _whole_night(site, venous)
    site.do(setup.open_night)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    page = site.fill(site.get("/night/reading"), "/night/reading", **{**FORM, "venous_pressure": "210"})
    assert page.status == 409
    assert "Venous pressure is 210 mmHg. Your unit's limit is 200 mmHg." in page.text
    assert "Does it show 210 mmHg?" in page.text
    assert "would fit" not in page.text
    assert site.fill(page, "/night/reading", as_typed="venous_pressure").status == 303
    assert "Call now: Venous pressure is 210 mmHg." in site.get("/night").text


@pytest.mark.source("fluids:P20", detail="pressure in proportion to flow: 200/230 of 124 mmHg is 107.8 mmHg")
@pytest.mark.source("fluids:5.4", detail="venous down: needle out, or flow lowered: the arm first")
@pytest.mark.parametrize(
    ("venous", "flow", "arm"),
    [
        ("104", "230", "In the reading before it was 124 mmHg: it fell by 20 mmHg."),
        ("104", "250", "In the reading before it was 124 mmHg: it fell by 20 mmHg."),
        ("104", "229", "would leave about 124 mmHg: it is 20 mmHg under that"),
        ("60", "229", "would leave about 124 mmHg: it is 64 mmHg under that"),
        ("30", "225", "would leave about 122 mmHg: it is 92 mmHg under that"),
        ("88", "200", "would leave about 108 mmHg: it is 20 mmHg under that"),
        ("105", "230", ""),
        ("104", "200", ""),
        ("89", "200", ""),
    ],
)
def test_a_lower_flow_excuses_only_the_fall_that_it_explains(
    site: Site, venous: str, flow: str, arm: str
) -> None:
    site.connect()
    _read(site)
    site.clock.pass_time(timedelta(minutes=20))
    site.do(
        night.read,
        values={**ROW, "venous_pressure": venous, "blood_flow": flow},
        sure=("past_limit", "outside_own", "outside_expected", "outside_near"),
    )
    page = site.get("/night").text
    assert ("Look at the arm now" in page) is bool(arm)
    assert arm in page


@pytest.mark.source("practice:a0", detail="fluid conductivity outside 12.0-16.0: kept, stop; set +-2 %")
@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("12.1", "At set-up it was 13.8 mS/cm"),
        ("16.2", "It has to lie between 12.0 mS/cm and 16.0 mS/cm"),
        ("14.2", "At set-up it was 13.8 mS/cm"),
    ],
)
def test_a_conductivity_that_left_its_place_is_told(site: Site, value: str, words: str) -> None:
    site.connect()
    asked = ("outside_own", "outside_asked", "past_limit", "outside_expected", "decimal")
    site.do(night.read, values={**ROW, "fluid_conductivity": value}, sure=asked)
    assert words in site.get("/night").text


@pytest.mark.source("practice:a0", detail="removed so far: expected +-0.15 L")
def test_litres_removed_at_the_start_are_asked_about_and_told(site: Site) -> None:
    site.connect()
    page = site.fill(site.get("/night/reading"), "/night/reading", **{**FORM, "fluid_removed": "2.1"})
    assert page.status == 409
    kept = site.fill(page, "/night/reading", as_typed="fluid_removed")
    assert kept.status == 303
    assert "Fluid removed so far is 2.1" in site.get("/night").text


def test_what_was_not_measured_stands_beside_the_old_value(site: Site) -> None:
    site.connect()
    _read(site)
    site.clock.pass_time(timedelta(hours=3))
    rest = {k: v for k, v in ROW.items() if k not in ("systolic", "diastolic")}
    site.do(night.read, values=rest, missing={"systolic": "asleep", "diastolic": "asleep"})
    page = site.get("/night")
    assert "Blood pressure 131/74 mmHg 3 h 00 min old" in page.text
    assert "because asleep" in page.text


def test_a_late_reading_is_told_and_leads_to_its_form(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=40))
    page = site.get("/night")
    started = first_blood(site.desk.treatment)
    assert started is not None
    due = clock(started + timedelta(minutes=15), ZONE)
    assert f"reading at 15 minutes, due at {due}" in page.text
    assert "/night/reading?when=min15" in page.links


def test_a_reading_is_kept_with_its_reasons_and_its_time(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(minutes=16))
    page = site.get("/night/reading?when=min15")
    form = page.form("/night/reading")
    assert all(form.fields.get(name, [""]) == [""] for name in FORM), "measured values are never filled in"
    typed = {k: v for k, v in FORM.items() if k not in ("pulse", "fluid_conductivity")}
    answer = site.fill(
        page, "/night/reading", **typed, why__pulse="no_device", why="asleep", words="turned over"
    )
    kept = site.desk.treatment.of("reading")[-1].id
    assert (answer.status, answer.to) == (303, f"/night?told={kept}&kept=reading-row")
    body = site.desk.treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    assert body.values["venous_pressure"] == "124"
    assert body.missing == {
        "pulse": "no device, or it failed",
        "fluid_conductivity": "asleep",
        "fluid_removed": "asleep",
    }
    assert (body.when, body.words) == ("min15", "turned over")


def test_the_same_form_sent_twice_is_one_reading(site: Site) -> None:
    site.connect()
    page = site.get("/night/reading")
    for _ in range(3):
        assert site.fill(page, "/night/reading", **FORM).status == 303
    assert len(site.desk.treatment.of("reading")) == 1


def test_an_odd_value_is_asked_about_beside_its_field_and_then_kept(site: Site) -> None:
    site.connect()
    odd = {**FORM, "pressure": "231/74"}
    page = site.fill(site.get("/night/reading"), "/night/reading", **odd)
    assert page.status == 409
    assert 'id="pressure-why"' in page.html
    assert page.form("/night/reading").fields["pressure"] == ["231/74"]
    assert not site.desk.treatment.of("reading")
    kept = site.fill(page, "/night/reading", as_typed="pressure")
    assert kept.status == 303
    body = site.desk.treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    assert body.values["systolic"] == "231"
    assert body.asked


def test_an_answer_counts_only_for_the_value_it_was_given_for(site: Site) -> None:
    site.connect()
    page = site.fill(site.get("/night/reading"), "/night/reading", **{**FORM, "pressure": "231/74"})
    again = site.fill(page, "/night/reading", pressure="245/74", as_typed="pressure")
    assert again.status == 409
    assert not site.desk.treatment.of("reading")


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("pressure", "l3l", "l3l"),
        ("pressure", "131", "two numbers"),
        ("pulse", "l3l", "l3l"),
        ("venous_pressure", "1,200", "1,200"),
        ("at", "half past", "Type the time like 21:40"),
    ],
)
def test_what_cannot_be_read_is_told_beside_the_field_and_kept_in_it(
    site: Site, name: str, typed: str, words: str
) -> None:
    site.connect()
    page = site.fill(site.get("/night/reading"), "/night/reading", **{**FORM, name: typed})
    assert page.status == 409
    assert words in page.text
    assert f'id="{name}-why"' in page.html
    assert page.form("/night/reading").fields[name] == [typed]
    assert page.form("/night/reading").fields["blood_flow"] == ["230"]
    assert not site.desk.treatment.of("reading")


def test_an_empty_row_says_what_to_do(site: Site) -> None:
    site.connect()
    page = site.fill(site.get("/night/reading"), "/night/reading")
    assert page.status == 409
    assert not site.desk.treatment.of("reading")


def test_a_reading_without_a_night_is_refused_with_words(site: Site) -> None:
    site.move_in()
    page = site.fill(site.get("/night/reading"), "/night/reading", **FORM)
    assert page.status == 409
    assert not site.desk.treatment.of("reading")


def test_a_row_typed_while_the_server_was_away_is_dated_by_the_gap(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=1))
    form = site.get("/night/reading").form("/night/reading")
    data = {name: values[-1] for name, values in form.fields.items() if values}
    odd = {**FORM, "pressure": "231/74", "pulse": "7o"}
    late = {"queued": "yes", "made": "1000000", "sent": str(1000000 + 600_000), "made_under": "3 abc"}
    assert site.post("/night/reading", {**data, **odd, **late}).status == 303
    fact = site.desk.treatment.of("reading")[-1]
    assert isinstance(fact.body, Reading)
    assert fact.at == site.clock.now().at - timedelta(minutes=10)
    assert fact.body.values["systolic"] == "231"
    assert "pulse" not in fact.body.values
    assert "7o" in fact.body.words
    assert fact.body.made_under == "3 abc"


@pytest.mark.parametrize("who", ["bram", "ilka", "tove", "bedside", "nobody-known"])
def test_anyone_can_stop_from_any_page_in_one_tap(site: Site, who: str) -> None:
    site.connect()
    site.who = who
    page = site.get("/night")
    answer = site.fill(page, "/stop")
    assert (answer.status, answer.to) == (303, "/stop")
    held = site.desk.treatment.of("stop")
    assert len(held) == 1
    assert isinstance(held[0].body, Stop)
    assert held[0].body.said_by == ("person" if who == "ilka" else "carer")
    stopped = site.get("/stop")
    assert "The time is written down:" in stopped.text
    assert "It stops no machine" in stopped.text
    assert "#wrong" in stopped.links, "something is wrong stays a tap away"
    assert 'class="night' in stopped.html, "no bright page in the dark"
    assert site.desk.phase is Phase.STOPPING
    assert "Stop was pressed." in site.get("/night").text


@pytest.mark.parametrize(
    "data", [{}, {"key": "nonsense"}, {"made": "x", "sent": "y"}, {"made": "9", "sent": "1"}]
)
def test_stop_is_never_refused_for_what_the_form_holds(site: Site, data: dict[str, str]) -> None:
    site.connect()
    assert site.post("/stop", data).status == 303
    assert site.desk.treatment.of("stop")[0].at == site.clock.now().at


def test_blood_that_runs_on_takes_the_stop_as_a_note(site: Site) -> None:
    """Source: practice:H16 (readings are asked for while blood runs); the record keeps both."""
    site.connect()
    site.clock.pass_time(timedelta(minutes=43))
    site.fill(site.get("/night"), "/stop")
    assert not due_readings(site.desk)
    answer = site.fill(site.get("/stop"), "/stop/runs-on")
    assert (answer.status, answer.to) == (303, "/night")
    assert site.desk.phase is Phase.RUNNING
    assert due_readings(site.desk)
    assert len(site.desk.treatment.of("stop")) == 1
    assert "Stop was pressed." not in site.get("/night").text
    site.clock.pass_time(timedelta(hours=1))
    site.do(night.go_off)
    assert site.desk.phase is Phase.PAUSED, "the note of running on answers no later pause"
    site.do(night.go_on)
    site.clock.pass_time(timedelta(minutes=5))
    site.do(night.stop_now)
    assert site.desk.phase is Phase.STOPPING, "a later stop holds"


def test_stop_without_a_night_is_noted_too(site: Site) -> None:
    site.move_in()
    assert site.post("/stop", {}).status == 303
    assert site.desk.standing.of("stop")
    assert "The time is written down:" in site.get("/stop").text


def test_stop_that_the_record_cannot_take_still_says_what_to_do_first(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    from ebbwell.journal.errors import DiskFull

    site.connect()

    def full(*_: object, **__: object) -> None:
        raise DiskFull("disk.full")

    monkeypatch.setattr(site.keeper.house, "do", full)
    page = site.post("/stop", {})
    assert page.status == 503
    assert "Stop. Clamp. Call" in page.text
    assert "Write the time on paper" in page.text


def test_the_page_of_first_actions_is_part_of_every_page_and_asks_nothing(site: Site) -> None:
    site.connect()
    for address in ("/", "/night", "/night/reading", "/who"):
        page = site.get(address)
        part = page.html.split('id="wrong"')[1].split("</section>")[0]
        assert "Stop. Clamp. Call" in part
        assert "not filled in" in part
        assert "<select" not in part
        assert 'type="text"' not in part
        assert "<textarea" not in part
    site.do(comeoff.come_off)
    assert 'id="wrong"' in site.get("/").html
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    site.clock.pass_time(timedelta(hours=2, minutes=1))
    assert 'id="wrong"' not in site.get("/").html


@pytest.mark.source(
    "practice:b", detail="S25: the air detector, which can still be looked at while blood runs"
)
def test_a_check_that_was_open_can_be_written_down_while_blood_runs(site: Site) -> None:
    site.open_night()
    site.do(already_running)
    page = site.get("/night")
    assert page.links.index("/night/check/S25") < page.links.index("/night/check/S0")
    form = site.get("/night/check/S25")
    seen = {"S25.air_detector": "on_line_in_level_up", "S25.air_detector_test": "it_reacted"}
    answer = site.fill(form, "/night/check/S25", **seen)
    assert (answer.status, answer.to) == (303, "/night?kept=check-S25")
    page = site.get("/night")
    assert "/night/check/S25" not in page.links
    assert "Written down since: S25" in page.text
    assert site.get("/night/check/nothing").status == 409


def test_steps_of_the_first_hour_stand_on_the_page_until_they_are_kept(site: Site) -> None:
    site.connect()
    page = site.get("/night")
    assert "S33b.heparin_first_dose" in page.form("/night/steps").names
    kept = site.fill(page, "/night/steps", **{"S33b.heparin_first_dose": "1500", "S33.wait": "yes"})
    assert (kept.status, kept.to) == (303, "/night?kept=night-steps")
    assert site.desk.views["S33b"].passed
    assert "S33b" not in site.get("/night").html


def test_an_unread_figure_of_the_first_hour_comes_back_with_its_reason(site: Site) -> None:
    site.connect()
    page = site.fill(site.get("/night"), "/night/steps", **{"S33b.heparin_first_dose": "a bit"})
    assert page.status == 409
    assert page.form("/night/steps").fields["S33b.heparin_first_dose"] == ["a bit"]


def _whole_night(site: Site, venous: str, arterial: str = "-90") -> None:
    """A night with one reading an hour after first blood, closed; the next one may be opened after it."""
    site.do(setup.open_night)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.clock.pass_time(timedelta(minutes=60))
    site.do(
        night.read,
        values={**ROW, "venous_pressure": venous, "arterial_pressure": arterial},
        sure=("outside_own",),
    )
    site.clock.pass_time(timedelta(hours=6))
    site.do(comeoff.come_off)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    desk = site.desk
    site.do(comeoff.close, because={v.step.id: "tired" for v in desk.views.values() if not v.passed})
    ended = site.clock.now().at
    site.do(disinfect, what="machine", agent="heat", started_at=ended - timedelta(minutes=40), ended_at=ended)
    site.clock.pass_time(timedelta(hours=17))


@pytest.mark.source("practice:a0", detail="own = the last 10 nights; lowest and highest of two: arithmetic")
def test_own_other_nights_at_this_hour_stand_beside_the_value(site: Site) -> None:
    site.move_in()
    _whole_night(site, "118", "-110")
    _whole_night(site, "126", "-90")
    site.do(setup.open_night)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.clock.pass_time(timedelta(minutes=70))
    _read(site, venous_pressure="124", arterial_pressure="-95")
    page = site.get("/night")
    assert "this far into 2 nights of your own: 118 to 126" in page.text
    minus = "\N{MINUS SIGN}"
    assert f"this far into 2 nights of your own: {minus}90 to {minus}110" in page.text, "as the dial is read"
    site.clock.pass_time(timedelta(minutes=120))
    _read(site, venous_pressure="124")
    assert "No other night has readings this far in to compare these with." in site.get("/night").text


@pytest.mark.source(
    "arithmetic", detail="middle of -84, -90 and -97 is -90; -131 is 41 from it, over the limit of 40"
)
def test_a_value_far_from_the_persons_own_nights_is_told_in_words_on_its_row(site: Site) -> None:
    site.move_in()
    for arterial in ("-84", "-90", "-97"):
        _whole_night(site, "120", arterial)
    site.do(setup.open_night)
    site.act(lambda house: hands.set_up(house, site.clock))
    site.do(connect)
    site.clock.pass_time(timedelta(minutes=70))
    row = {**ROW, "venous_pressure": "124", "arterial_pressure": "-131"}
    site.do(night.read, values=row, sure=("outside_own",))
    page, minus = site.get("/night"), "\N{MINUS SIGN}"
    words = f"41 mmHg from {minus}90 mmHg, the middle of your own nights this far in."
    assert f'<span class="apart">{words}</span>' in page.html
    assert page.html.count('class="apart"') == 1, "and of nothing else"


def test_fields_stand_in_the_order_of_the_household(site: Site) -> None:
    site.connect()
    site.do(order_fields, fields=("venous_pressure", "arterial_pressure", "systolic", "diastolic"))
    html = site.get("/night/reading").html
    places = [html.index(f'id="{name}"') for name in ("venous_pressure", "arterial_pressure", "pressure")]
    assert places == sorted(places)
    assert 'id="pulse"' not in html


@pytest.mark.source(
    "practice:e", detail="H58: the unit's own words with signer and date; else stop, clamp, call"
)
def test_signed_words_and_the_number_stand_on_the_page_of_first_actions(site: Site) -> None:
    site.connect()
    words = "Pump off. Clamp the vein line.\nPress on the hole."
    site.do(
        write_first_action,
        situation="bleeding",
        words=words,
        signed_by="Home team, Northmere",
        signed_on="2026-01-10",
        valid_until="2026-12-31",
    )
    site.do(enter_emergency_details, number="000 0000", address="1 Saltmarsh Row", how_to_find="Blue door")
    part = site.get("/night").html.split('id="wrong"')[1].split("</section>")[0]
    for text in (
        "Press on the hole.",
        "Signed: Home team, Northmere",
        "000 0000",
        "1 Saltmarsh Row",
        "Blue door",
    ):
        assert text in part
    page = site.get("/first-action/bleeding")
    assert "Pump off." in page.text
    other = site.get("/first-action/air")
    assert "Pump off." not in other.text
    assert "Stop. Clamp. Call" in other.text


@pytest.mark.source("practice:e", detail="H58: out of date: void")
def test_words_past_their_last_day_are_not_shown(site: Site) -> None:
    site.connect()
    site.do(
        write_first_action,
        situation="air",
        words="Left side down.",
        signed_by="Home team",
        signed_on="2026-01-10",
        valid_until="2026-04-01",
    )
    assert "Left side down." not in site.get("/night").html
    page = site.get("/first-action/air")
    assert "Left side down." not in page.text
    assert "past their date" in page.text


def test_a_situation_that_is_none_still_says_what_to_do_first(site: Site) -> None:
    site.connect()
    page = site.get("/first-action/nonsense")
    assert page.status == 404
    assert "Stop. Clamp. Call" in page.text


@pytest.mark.source("arithmetic", detail="1,500 units of 1,000 units/mL are 1.5 mL")
def test_what_is_ordered_stands_beside_the_flow_and_the_first_dose(site: Site) -> None:
    site.connect()
    page = site.get("/night").text
    assert "Blood flow 230 mL/min" in page
    assert "First dose of heparin 1500 units" in page
    assert "Volume of the heparin first dose: 1.5 mL" in page


def test_the_number_of_the_unit_stands_on_each_page_of_a_night_and_with_the_first_actions(site: Site) -> None:
    site.open_night()
    none_yet = site.get("/plan")
    assert "Your unit's number isn't written down here." in none_yet.text
    assert 'href="/texts"' in none_yet.html
    site.do(
        enter_emergency_details,
        number="000 0000",
        address="1 Saltmarsh Row",
        unit_number="+00 100",
        unit_hours="8 to 18",
        unit_other="00 101",
    )
    for path in ("/plan", "/happened", "/stop"):
        page = site.get(path)
        assert "Your unit: +00 100 (8 to 18)" in page.text, path
        assert "Your unit at other hours: 00 101" in page.text, path
        assert 'href="tel:+00100"' in page.html
        if path != "/stop":
            assert 'href="#unit">Call your unit</a>' in page.html
            assert 'id="unit"' in page.html
        assert 'href="tel:00101"' in page.html
