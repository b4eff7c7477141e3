"""Controls of the running night and of the record: clocks, doubles, merges, hand-over, coming off."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from ebbwell.core.clock import SetClock, elapsed
from ebbwell.core.ids import SeededIds
from ebbwell.core.quantity import Quantity
from ebbwell.deeds import comeoff, night, people, record, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Desk, Refused
from ebbwell.house import House
from ebbwell.journal.kinds.marks import Measured
from ebbwell.papers.sheet import run_time
from ebbwell.procedure.holds import Status
from ebbwell.procedure.rule_facts import weight_after_expected
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science.catalogue import work
from ebbwell.sim.household import BRAM, ILKA, READING, TOVE, ZONE, prescribe
from ebbwell.state.night import Phase, carer_in_charge
from tests.hazards.home import EVENING, Home, beside, moved_in, night_open, refused, rules
from tests.hazards.test_controls_order import OTHER


@pytest.mark.hazard("H18")
@pytest.mark.source("practice:e", detail="H18: a jump of over 2 min: timed holds are not known")
@pytest.mark.parametrize("jump", [timedelta(hours=-3), timedelta(hours=3), timedelta(minutes=-3)])
def test_a_clock_that_jumps_shuts_timed_hold_points(jump: timedelta) -> None:
    home = night_open()
    home.until("S5")
    home.pass_step("S5")
    assert home.status("S5") is Status.MET
    home.clock.step_wall(jump)
    assert (home.status("S0"), home.why("S0")) == (Status.NOT_KNOWN, "hold.clock")
    assert {"S0", "S3", "S5"} <= home.bars()
    with refused("refuse.gate"):
        home.do(connect)


@pytest.mark.hazard("H18")
@pytest.mark.source(
    "practice:e", detail="H18: the clock set back 3 h in mid-night: order unchanged, flag shown"
)
def test_a_clock_set_back_in_mid_night_is_flagged_and_changes_no_order() -> None:
    home = night_open()
    home.connected()
    before = [entry.id for entry in home.entries()]
    assert "clock_not_trusted" not in home.findings()
    home.clock.step_wall(timedelta(hours=-3))
    assert "clock_not_trusted" in home.findings()
    home.do(night.note_event, what="Venous alarm")
    assert [entry.id for entry in home.entries()][:-1] == before
    last, newest = (entry.envelope for entry in home.entries()[-2:])
    assert newest.mono > last.mono
    assert newest.recorded_at < last.recorded_at
    home.clock.step_wall(timedelta(hours=3))
    assert "clock_not_trusted" in home.findings()
    assert "jumped" in home.sheet()


@pytest.mark.hazard("H18")
def test_a_clock_that_runs_rightly_is_not_flagged() -> None:
    home = night_open()
    home.set_up()
    home.clock.step_wall(timedelta(seconds=110))
    assert "clock_not_trusted" not in home.findings()


@pytest.mark.hazard("H19")
@pytest.mark.source("practice:e", detail="H19: zone moved in mid-night: the same time has passed")
def test_a_zone_moved_in_mid_night_changes_no_length() -> None:
    home = night_open()
    home.connected()
    now = home.clock.now()
    home.clock = SetClock(now.at, "America/Halifax", now.boot, now.mono)
    home.house.clock = home.clock
    home.clock.pass_time(timedelta(hours=7, minutes=30) - timedelta(seconds=5))
    home.do(comeoff.come_off)
    home.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    treatment = home.look().treatment
    assert run_time(treatment) == timedelta(hours=7, minutes=30)
    (started,), (safe,) = treatment.of("connected"), treatment.of("safe")
    assert elapsed(started.at, safe.at) == timedelta(hours=7, minutes=30, seconds=5)
    assert started.recorded.zone == ZONE
    assert home.status("C1") is not Status.STALE


@pytest.mark.hazard("H20")
@pytest.mark.source(
    "practice:e", detail="H20: killed at once after writing: none that was acknowledged is lost"
)
def test_what_was_acknowledged_outlives_a_kill(tmp_path: Path) -> None:
    store = tmp_path / "record.ebbwell"
    done = subprocess.run(
        [sys.executable, "-m", "tests.hazards.acknowledge", str(store)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        cwd=Path(__file__).parents[2],
    )
    assert done.returncode == -9, done.stderr
    said = done.stdout.split()
    assert len(said) == 20
    with House.open(store, SetClock(EVENING, ZONE), SeededIds(21), create=False) as house:
        assert [entry.id for entry in house.store.after(0)] == said
        assert not house.store.verify().flaws


@pytest.mark.hazard("H21")
@pytest.mark.source("practice:e", detail="H21: the same entry sent five times is one entry")
def test_the_same_key_five_times_is_one_entry() -> None:
    home = night_open()
    before = len(home.entries())
    key = home.house.ids.new()
    said = [
        home.house.do(setup.happened, by=BRAM, key=key, what="water_restart", words="off for a minute")
        for _ in range(5)
    ]
    assert len(home.entries()) == before + 1
    assert [done.repeated for done in said] == [False, True, True, True, True]
    assert {done.entries for done in said} == {(key,)}


@pytest.mark.hazard("H22")
@pytest.mark.source("practice:e", detail="H22: 64.8 and 65.8 merged: plan void, connect shut")
def test_two_values_shut_connecting_until_settled() -> None:
    home = night_open()
    home.set_up()
    other = beside(home)

    def weigh(desk: Desk) -> None:
        desk.add(Measured(quantity="weight_before", value="65.8", unit="kg", typed="65.8", step="S29"))

    other.do(weigh)
    home.house.take_in(other.entries())
    bars = home.look().bars
    assert ["weight_before" in bar.about for bar in bars if bar.key == "bar.unsettled" and not bar.step] == [
        True
    ]
    with refused("refuse.gate"):
        home.do(connect)
    assert home.look().scene.facts["values_disagree"] is True
    (held,) = home.look().treatment.disagreements().values()
    theirs = next(fact.id for fact in held if fact.writer != home.house.store.writer)
    home.do(record.settle, of=tuple(f.id for f in held), holds=theirs, reason="the second scale is right")
    assert {"S29", "S26"} <= home.bars()


@pytest.mark.hazard("H23")
@pytest.mark.source("practice:e", detail="H23: the old value stays on the sheet")
def test_a_correction_hides_nothing() -> None:
    home = night_open()
    home.until("S29b")
    done = home.do(setup.measure, quantity="pulse", typed="72")
    home.do(record.correct, of=done.entries[0], changes={"value": "78"}, reason="read the wrong line")
    sheet = home.sheet()
    assert "72 /min" in sheet
    assert "78 /min" in sheet
    assert "read the wrong line" in sheet
    assert home.house.store.held(done.entries[0]) is not None


@pytest.mark.hazard("H27")
@pytest.mark.source("fluids:4.5", detail="66.3 - 2.3 + 0.3 rinse-back + 0.2 drunk = 64.5 kg")
@pytest.mark.parametrize("rinse_recorded", [False, True])
def test_the_rinse_back_is_counted_once(rinse_recorded: bool) -> None:
    home = night_open()
    home.connected()
    home.do(night.give, what="drink", typed="200", unit="mL")
    home.do(night.read, values={**READING, "fluid_removed": "2.30"}, when="before_off", sure=("past_limit",))
    if rinse_recorded:
        home.do(night.give, what="rinse_back", typed="0.3", unit="L")
    home.come_off()
    assert str(weight_after_expected(home.look().treatment)) == "64.5"


@pytest.mark.hazard("H27")
@pytest.mark.source(
    "fluids:4.5", detail="before - removed + what went in: 66.3 - 2.5 + 0.3 = 64.1; 66.3 - 2.3 + 0.3"
)
@pytest.mark.parametrize(("measured_last", "awaited"), [(True, "64.1"), (False, "64.3")])
def test_the_newest_word_on_the_fluid_removed_counts(measured_last: bool, awaited: str) -> None:
    home = night_open()
    home.connected()
    home.clock.pass_time(timedelta(hours=1))
    removed: list[Callable[[], object]] = [
        lambda: home.do(night.read, values={**READING, "fluid_removed": "2.30"}, sure=("past_limit",)),
        lambda: home.do(setup.measure, quantity="fluid_removed", typed="2.5"),
    ]
    for act in removed if measured_last else reversed(removed):
        act()
    home.do(comeoff.come_off)
    assert str(weight_after_expected(home.look().treatment)) == awaited


@pytest.mark.hazard("H51")
@pytest.mark.source("practice:e", detail="H51: a night keeps the limits it was opened with")
def test_facts_are_worked_out_by_the_rulebook_the_night_was_opened_with() -> None:
    home = moved_in()
    shipped = load_rulebook()
    least = shipped.limit("acid_start_up")
    home.house.rulebook = shipped.with_limits({"acid_start_up": least.highest})
    home.do(setup.open_night)
    home.house.rulebook = shipped
    assert home.look().rulebook.limit("acid_start_up").value == least.highest != least.value
    home.until("S9b")
    home.pass_step("S9b")
    found = home.look().scene.facts
    acid, dry = found["acid_left"], found["acid_runs_dry_after"]
    parts, flow = found["acid_parts@prescribed"], found["dialysate_flow@prescribed"]
    assert isinstance(acid, Quantity)
    assert isinstance(dry, Quantity)
    assert isinstance(parts, Quantity)
    assert isinstance(flow, Quantity)
    expected = work(
        "acid_runs_dry_after",
        {
            "acid_l": acid.value,
            "start_up_l": least.highest,
            "acid_parts": parts.value,
            "dialysate_flow_ml_min": flow.value,
        },
    )
    assert dry.value == expected.value


@pytest.mark.hazard("H42")
@pytest.mark.source("practice:e", detail="H42: an entry three hours late bears its mark on the sheet")
def test_an_entry_written_late_says_so() -> None:
    home = night_open()
    home.connected()
    home.clock.pass_time(timedelta(hours=4))
    seen = home.clock.now().at - timedelta(hours=3)
    done = home.do(night.note_event, what="Venous alarm", at=seen)
    assert rules(done.findings) == ["written_late"]
    held = home.house.store.held(done.entries[0])
    assert held is not None
    assert elapsed(held.envelope.at, held.envelope.recorded_at) >= timedelta(hours=3)
    assert "180 min" in home.sheet()


@pytest.mark.hazard("H51")
@pytest.mark.source("practice:e", detail="H51: old sheets made again show old limits")
def test_an_update_changes_no_old_night_and_says_so() -> None:
    home = moved_in()
    old = home.whole_night()
    digest = home.house.rulebook.digest
    sheet = home.sheet(old)
    home.clock.pass_time(timedelta(hours=20))
    shipped = load_rulebook()
    home.house.rulebook = shipped.with_limits({"rejection_least": shipped.limit("rejection_least").highest})
    assert home.house.rulebook.digest != digest
    assert home.house.look(treatment=old).rulebook.digest == digest
    assert home.sheet(old) == sheet
    assert digest[:16] in sheet
    done = home.do(setup.open_night)
    assert rules(done.findings) == ["rules_changed"]
    assert home.house.rulebook.digest[:16] in home.sheet()


@pytest.mark.hazard("H54")
@pytest.mark.source("practice:e", detail="H54: a gap of 73 h is a finding")
@pytest.mark.parametrize(("hours", "said"), [(71, False), (73, True)])
def test_a_long_gap_is_a_finding(hours: int, said: bool) -> None:
    home = moved_in()
    home.whole_night()
    home.clock.pass_time(timedelta(hours=hours))
    home.do(setup.open_night)
    assert ("gap_long" in home.findings()) is said


@pytest.mark.hazard("H55")
@pytest.mark.source(
    "practice:e", detail="H55: a hand-over needs accepting; till then the first one keeps the night"
)
def test_a_night_is_handed_over_only_when_taken() -> None:
    home = night_open()
    home.connected()
    six = ("well", "calm", "7.5 h", "all", "C1", "none")
    done = home.do(people.offer_hand_over, to_person=TOVE, six_lines=six)
    assert rules(done.findings) == ["hand_over_waits"]
    assert carer_in_charge(home.look().treatment) == BRAM
    with refused("refuse.not_offered_to_you"):
        home.do(people.accept_hand_over, by=ILKA, offer=done.entries[0])
    home.clock.pass_time(timedelta(minutes=10))
    assert carer_in_charge(home.look().treatment) == BRAM
    home.do(people.accept_hand_over, by=TOVE, offer=done.entries[0])
    assert carer_in_charge(home.look().treatment) == TOVE


@pytest.mark.hazard("H56")
@pytest.mark.source(
    "practice:e", detail="H56: coming off is one action from every state, a stand-in alone included"
)
@pytest.mark.parametrize("by", [BRAM, TOVE, "bedside", "somebody-new"])
@pytest.mark.parametrize(
    "phase",
    [Phase.NONE, Phase.SETTING_UP, Phase.RUNNING, Phase.PAUSED, Phase.STOPPING, Phase.OFF, Phase.SAFE],
)
def test_coming_off_is_one_action(phase: Phase, by: str) -> None:
    home = in_phase(phase)
    if phase not in (Phase.NONE, Phase.OFF, Phase.SAFE):
        home.do(night.note_event, by=by, what="Feels faint")
        home.do(night.read, by=by, values={"systolic": "101", "diastolic": "60"})
    home.do(night.stop_now, by=by)
    home.do(comeoff.come_off, by=by)
    assert home.look().phase in (Phase.OFF, Phase.SAFE)
    home.do(night.read, by=by, values={"systolic": "104", "diastolic": "62"})
    home.do(comeoff.person_safe, sure=(comeoff.UNSAID,), by=by)
    assert home.look().phase is Phase.SAFE


def in_phase(phase: Phase) -> Home:
    if phase is Phase.NONE:
        return moved_in()
    home = night_open()
    if phase is Phase.SETTING_UP:
        return home
    home.connected()
    if phase is Phase.PAUSED:
        home.do(night.go_off, words="to the toilet")
    if phase is Phase.STOPPING:
        home.do(night.stop_now)
    if phase in (Phase.OFF, Phase.SAFE):
        home.do(comeoff.come_off)
    if phase is Phase.SAFE:
        home.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert home.look().phase is phase
    return home


@pytest.mark.hazard("H57")
@pytest.mark.source(
    "practice:e", detail="H57: ticked offline, prescription changed, joined again: connect stays shut"
)
def test_a_merged_mark_meets_no_hold_point() -> None:
    home = night_open()
    home.until("S5")
    other = beside(home)

    def offline(desk: Desk) -> None:
        reading = {"value": "0.03", "unit": "mg/L", "typed": "0.03", "method": "meter"}
        desk.add(Measured(quantity="total_chlorine", place="tank1", step="S5", **reading))

    other.do(offline)
    home.house.take_in(other.entries())
    assert home.look().treatment.at_slot("measured", "total_chlorine", "tank1")
    assert home.status("S5") in (Status.OPEN, Status.STALE)
    other.do(offline)
    prescribe(home.house, home.clock, "4", OTHER)
    taken = home.house.take_in(other.entries())
    assert taken.new
    assert not taken.refused
    assert {"S2", "S5"} <= home.bars()
    with pytest.raises(Refused):
        home.do(connect)
    assert home.look().views["S5"].by == ()


@pytest.mark.hazard("H73")
@pytest.mark.source("practice:e", detail="H73: two stores, merged: connect shut; a takeover reopens all")
def test_one_store_holds_a_night_and_a_takeover_reopens_all() -> None:
    home = night_open()
    home.set_up()
    other = beside(home)
    with refused("refuse.not_holder"):
        other.do(connect)
    with refused("refuse.not_holder"):
        other.do(setup.tick, step="S1")
    other.do(people.take_over_here, words="the first computer broke")
    views = other.look().views
    assert [v.step.id for v in views.values() if v.status in (Status.MET, Status.SECOND)] == []
    with refused("refuse.gate"):
        other.do(connect)
    home.house.take_in(other.entries())
    with refused("refuse.not_holder"):
        home.do(connect)
