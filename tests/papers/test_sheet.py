"""The sheet says what the record says: all of it, the exceptions first, and the same next year."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.clock import SetClock
from ebbwell.core.errors import InputError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, connect, night, orders, record, rereading, setup
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.person import annotate
from ebbwell.house import House
from ebbwell.journal.kinds.house import HandedOver
from ebbwell.journal.kinds.marks import LotUsed, Measured
from ebbwell.journal.kinds.night import CameOff, Disinfected, Event, Given, Reading
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.sheet import Sheet, build_sheet, run_time
from ebbwell.papers.sheet_text import sheet_text, table
from ebbwell.papers.words import clock as clock_words
from ebbwell.papers.words import day, span
from ebbwell.sim import hands
from ebbwell.sim.elsewhere import START_OF_CHAIN, written_elsewhere
from ebbwell.sim.household import BRAM, PRESCRIPTION, READING, TOVE, UNIT, ZONE, move_in, prescribe
from tests.web.site import up_to


@pytest.fixture
def clock() -> SetClock:
    """29 April 2026, 20:00 in Dublin."""
    return SetClock(datetime(2026, 4, 29, 19, 0, tzinfo=UTC), ZONE, boot="test")


@pytest.fixture
def house(clock: SetClock) -> Iterator[House]:
    """The invented household with a night open."""
    ids = SeededIds(3)
    with House(MemoryStore(ids), clock, ids) as made:
        move_in(made, clock)
        made.do(setup.open_night, by=BRAM)
        yield made


def sheet(house: House) -> Sheet:
    """The newest treatment's sheet."""
    newest = max(house.look().past.values(), key=lambda s: s.opened_at)
    return build_sheet(house.look(treatment=newest.treatment), house.store.heads())


def flat(house: House) -> str:
    """The sheet's text in one line, so that where lines break doesn't matter."""
    return " ".join(sheet_text(sheet(house)).split())


def odd(house: House) -> list[str]:
    """The exceptions."""
    part = sheet(house).section("exceptions")
    assert part is not None
    return list(part.rows)


def do(house: House, deed: Callable[..., None], **inputs: Any) -> str:
    """Do a deed as Bram, sure of what is typed. Gives the id of its first entry."""
    return hands.play(house, hands.Move(deed, inputs)).entries[0]


def run_until_off(house: House, clock: SetClock) -> None:
    """Set up, connect, a reading, coming off and the person safe."""
    hands.set_up(house, clock)
    do(house, connect.connect)
    clock.pass_time(timedelta(minutes=3))
    do(house, night.read, values=READING, when="start")
    clock.pass_time(timedelta(hours=7, minutes=27))
    do(house, comeoff.come_off)
    do(house, comeoff.person_safe, sure=(comeoff.UNSAID,))


def still_open(house: House) -> dict[str, str]:
    """A reason for each step that closing the sheet asks for."""
    views = house.look().views.values()
    return {v.step.id: "left in this test" for v in views if v.step.gate == "close" and not v.passed}


def test_everything_recorded_is_on_the_sheet(house: House, clock: SetClock) -> None:
    run_until_off(house, clock)
    do(house, night.note_event, what="a noise", words="from the pump", done="looked")
    do(house, night.give, what="saline", typed="150", unit="mL")
    text = flat(house)
    for fact in (f for facts in house.look().treatment.live.values() for f in facts):
        body = fact.body
        if isinstance(body, Measured):
            assert body.value in text
        if isinstance(body, LotUsed):
            assert f"{body.code} / {body.lot} / {body.expiry}" in text
        if isinstance(body, Reading):
            assert all(value in text for value in body.values.values())
        if isinstance(body, Event):
            assert f"{body.what}. {body.words}. {body.done}" in text
        if isinstance(body, Given):
            assert f"{body.amount} {body.unit}" in text


def test_the_text_keeps_to_80_columns_and_says_invented(house: House, clock: SetClock) -> None:
    run_until_off(house, clock)
    lines = sheet_text(sheet(house)).splitlines()
    assert lines[0].startswith("INVENTED")
    assert max(map(len, lines)) <= 80
    assert lines[3].startswith("  The night was held by Bram Venn.")
    assert next(line for line in lines if line.startswith("--")).startswith("-- Not as planned")


def test_head_and_count_of_the_chain_stand_on_it(house: House, clock: SetClock) -> None:
    run_until_off(house, clock)
    ((writer, (count, head)),) = house.store.heads().items()
    text = flat(house)
    assert f"Record of computer ...{writer[-12:]}: {count} entries, newest {head.hex()[:16]}" in text
    data = sheet(house).data
    assert data["chains"] == {writer: {"entries": count, "head": head.hex()}}
    assert data["procedure_digest"][:16] in text
    assert data["rulebook_digest"][:16] in text


@pytest.mark.source("arithmetic", detail="7 h 30 min from start to stop, less 25 min off")
def test_hours_leave_pauses_out(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    do(house, connect.connect)
    clock.pass_time(timedelta(hours=3))
    do(house, night.go_off, words="toilet")
    clock.pass_time(timedelta(minutes=25))
    do(house, night.go_on)
    clock.pass_time(timedelta(hours=4, minutes=5))
    do(house, comeoff.come_off)
    assert run_time(house.look().treatment) == timedelta(hours=7, minutes=5)
    assert "Blood ran 7 h 05 min" in flat(house)
    assert len(sheet(house).data["pauses"]) == 1


@pytest.mark.source(
    "arithmetic", detail="450 minutes that really pass, over the change of clocks at 01:00 UTC"
)
@pytest.mark.hazard("H17")
def test_hours_over_a_change_of_clocks_are_real_hours() -> None:
    clock = SetClock(datetime(2026, 3, 28, 20, 0, tzinfo=UTC), ZONE, boot="test")
    ids = SeededIds(4)
    with House(MemoryStore(ids), clock, ids) as house:
        move_in(house, clock)
        house.do(setup.open_night, by=BRAM)
        hands.set_up(house, clock)
        do(house, connect.connect)
        started = clock.now().at
        clock.pass_time(timedelta(minutes=450))
        do(house, comeoff.come_off)
        assert run_time(house.look().treatment) == timedelta(minutes=450)
        text = flat(house)
        assert "Blood ran 7 h 30 min" in text
        assert f"first blood {clock_words(started, ZONE)}" in text
        ends = (started + timedelta(minutes=450)).replace(tzinfo=UTC) + timedelta(hours=1)
        assert f"pump stopped {ends:%H:%M}" in text


def test_a_night_without_pump_stop_says_that_the_hours_are_not_known(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    do(house, connect.connect)
    assert run_time(house.look().treatment) is None
    assert "How long blood ran is not known" in flat(house)


@pytest.mark.hazard("H5")
def test_a_correction_shows_both_values(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    old = house.look().treatment.at_slot("measured", "weight_before", "")[0].id
    do(house, record.correct, of=old, changes={"value": "66.4"}, reason="typed the wrong digit")
    (row,) = [r for r in odd(house) if "corrected" in r]
    assert "Was: weight before: 66.3 kg. Now: weight before: 66.4 kg" in row
    assert "typed the wrong digit" in row


def test_a_value_taken_back_and_one_measured_again_stay_visible(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    facts = house.look().treatment
    pulse = facts.at_slot("measured", "pulse", "")[0].id
    tick = facts.of("tick")[0].id
    do(house, setup.measure, quantity="pulse", typed="75", instead_of=(pulse,))
    do(house, record.withdraw, of=tick, reason="it was not done")
    rows = odd(house)
    assert any("Was: pulse: 72 /min. Now: pulse: 75 /min" in r for r in rows)
    assert any("took back: S1 done. Reason: it was not done" in r for r in rows)


@pytest.mark.hazard("H22")
def test_two_values_that_stand_and_how_they_were_settled(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    do(house, setup.measure, quantity="weight_before", typed="66.9")
    assert any("not settled" in r and "66.3" in r and "66.9" in r for r in odd(house))
    held = house.look().treatment.at_slot("measured", "weight_before", "")
    do(house, record.settle, of=tuple(f.id for f in held), holds=held[0].id, reason="weighed once more")
    rows = odd(house)
    assert not any("not settled" in r for r in rows)
    assert any(
        "settled. Taken away: weight before: 66.9 kg. Holds: weight before: 66.3 kg" in r for r in rows
    )


@pytest.mark.hazard("H42")
def test_a_late_entry_says_when_it_was_written(house: House, clock: SetClock) -> None:
    run_until_off(house, clock)
    then = clock.now().at - timedelta(hours=3)
    do(house, night.note_event, what="a cramp", said_by="person", at=then)
    assert any("written down late" in r and "(180 min): a cramp" in r for r in odd(house))
    assert "a cramp (said by the person on dialysis)" in flat(house)


def test_found_running_names_every_hold_that_was_open(house: House) -> None:
    do(house, connect.already_running, words="the grandson started it")
    (row,) = [r for r in odd(house) if "found running" in r]
    assert "S5 Test the water after tank 1" in row
    assert "the grandson started it" in row


def test_changed_after_connecting(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    do(house, connect.connect)
    clock.pass_time(timedelta(minutes=5))
    old = house.look().treatment.at_slot("measured", "weight_before", "")[0].id
    do(house, record.correct, of=old, changes={"value": "66.8"}, reason="slip")
    assert any("Changed after connecting" in r and "S29" in r for r in odd(house))


def test_left_out_not_measured_stopped_and_still_open(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    do(house, connect.connect)
    do(house, setup.skip, step="C17", reason="Tove does it")
    do(house, setup.measure, quantity="weight_after", not_measured="scale broken")
    do(house, night.read, values={"pulse": "70"}, missing={"systolic": "cuff slipped"})
    do(house, night.stop_now, words="feels sick")
    rows = odd(house)
    assert any(r.startswith("Left out, since Tove does it: C17 ") for r in rows)
    assert any("weight after: not measured, because scale broken" in r for r in rows)
    assert any("upper blood pressure. Reason: cuff slipped" in r for r in rows)
    assert any("A stop was noted. feels sick" in r for r in rows)
    assert any(r.startswith("Still open:") and "C8" in r for r in rows)


@pytest.mark.hazard("H13")
def test_a_second_reading_that_differs(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    clock.pass_time(timedelta(minutes=1))
    do(
        house,
        rereading.second_check,
        step="S5",
        how="photo",
        photo="p",
        values={"total_chlorine@tank1": "0.08"},
    )
    assert any("the second reading differs" in r and "0.03" in r and "0.08" in r for r in odd(house))


def test_an_asked_value_says_so(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    do(house, connect.connect)
    with pytest.raises(Asked):
        house.do(night.read, by=BRAM, values={"pulse": "140"})
    do(house, night.read, values={"pulse": "140"})
    assert any("asked about and kept as typed: pulse 140 /min" in r for r in odd(house))


@pytest.mark.hazard("H5")
def test_a_value_asked_about_and_put_right_later_is_told_as_it_was_typed(
    house: House, clock: SetClock
) -> None:
    hands.set_up(house, clock)
    old = house.look().treatment.at_slot("measured", "weight_before", "")[0].id
    do(house, setup.measure, quantity="weight_before", typed="56.3", instead_of=(old,))
    typed = house.look().treatment.at_slot("measured", "weight_before", "")[0].id
    do(house, record.correct, of=typed, changes={"value": "66.3"}, reason="digits swapped")
    (row,) = [r for r in odd(house) if "asked about and kept" in r]
    assert row.endswith("weight before: 56.3 kg")


def test_the_weights_stand_together_with_the_target_that_was_ordered(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    plan = house.look().treatment.last("plan")
    assert plan is not None
    part = sheet(house).section("plan")
    assert part is not None
    rows = {row[0]: row[1:] for row in part.table}
    assert rows["Weight before"] == ("", "66.3 kg")
    after = rows[f"Weight after, target {PRESCRIPTION['target_weight']} kg"]
    assert after == (plan.body.figures["weight_after_expected"], "Not known")


def test_the_same_answer_given_anew_is_no_exception(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    pulse = house.look().treatment.at_slot("measured", "pulse", "")[0].id
    before = odd(house)
    do(house, setup.measure, quantity="pulse", typed="72", instead_of=(pulse,))
    assert odd(house) == before


def test_a_reason_that_nobody_typed_is_not_told_as_one(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    pulse = house.look().treatment.at_slot("measured", "pulse", "")[0].id
    do(house, setup.measure, quantity="pulse", typed="75", instead_of=(pulse,))
    assert not any("measured again" in r for r in odd(house))


def test_reasons_given_at_closing_stand_beside_their_steps_and_nothing_is_told_twice(
    house: House, clock: SetClock
) -> None:
    do(house, connect.already_running)
    clock.pass_time(timedelta(hours=7))
    do(house, comeoff.come_off)
    left = [v.step.id for v in house.look().views.values() if v.step.gate == "close" and not v.passed]
    do(house, comeoff.close, because={step: f"reason {step}" for step in left})
    rows = odd(house)
    for step in left:
        assert len([r for r in rows if f"since reason {step}: {step} " in r]) == 1
    (still,) = [r for r in rows if r.startswith("Still open:")]
    assert not any(f"{step} " in still for step in left)
    assert any(r.startswith("Open when the sheet was closed, since reason C11: C11 ") for r in rows)


def test_steps_with_one_reason_stand_in_one_line_in_their_order(house: House, clock: SetClock) -> None:
    do(house, connect.already_running)
    clock.pass_time(timedelta(hours=7))
    do(house, comeoff.come_off)
    left = [v.step.id for v in house.look().views.values() if v.step.gate == "close" and not v.passed]
    do(house, comeoff.close, because=dict.fromkeys(left, "bled"))
    (line,) = [r for r in odd(house) if r.startswith("Open when the sheet was closed, since bled: ")]
    assert line.index("C2 ") < line.index("C3 ") < line.index("C11 ")


@pytest.mark.source("fluids:1.3", detail="over the limit: run 10 minutes, draw again with fresh reagent")
def test_a_water_test_that_failed_and_was_made_again_is_told_as_that(house: House, clock: SetClock) -> None:
    up_to(house, clock, "S5")
    inputs = {"quantity": "total_chlorine", "place": "tank1", "method": "meter"}
    do(house, setup.measure, typed="0.15", sure=("outside_usual",), **inputs)
    failed = house.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].id
    clock.pass_time(timedelta(minutes=11))
    do(house, setup.measure, typed="0.02", instead_of=(failed,), **inputs)
    (line,) = [r for r in odd(house) if "tested again, after a test that failed" in r]
    assert "tank 1: 0.15 mg/L" in line
    assert "tank 1: 0.02 mg/L" in line


def test_an_uneventful_night_says_that_nothing_is_recorded(house: House) -> None:
    assert odd(house) == ["Nothing of this kind is recorded."]


@pytest.mark.hazard("H2")
def test_a_later_prescription_changes_no_old_sheet(house: House, clock: SetClock) -> None:
    run_until_off(house, clock)
    left = [v.step.id for v in house.look().views.values() if v.step.gate == "close" and not v.passed]
    do(house, comeoff.close, because=dict.fromkeys(left, "a test"))
    before = sheet(house)
    clock.pass_time(timedelta(days=400))
    prescribe(house, clock, "4", {**PRESCRIPTION, "target_weight": "60.0", "removal_cap": "4"})
    after = sheet(house)
    keep = ("exceptions", "times", "plan", "facts", "open_steps")
    assert {k: before.data[k] for k in keep} == {k: after.data[k] for k in keep}
    old, new = before.sections[:-1], after.sections[:-1]
    assert old == new


def test_advice_and_an_awaited_confirmation(house: House, clock: SetClock) -> None:
    do(house, setup.answer, question="fall", answer="yes")
    do(house, orders.advise, who="the nurse on call", words="go on, no heparin", about=("S0",), allows=True)
    do(house, orders.amend_line, line="removal_cap", value="6", giver="the nurse", read_back="6")
    clock.pass_time(timedelta(seconds=40))
    held = house.look().standing.of("line_amended")[0].id
    house.do(orders.check_order, by=TOVE, of=held, values={"removal_cap": "6"}, how="person")
    rows = odd(house)
    assert any('Allowed by the nurse on call: "go on, no heparin"' in r and "S0" in r for r in rows)
    clock.pass_time(timedelta(seconds=1))
    do(house, night.note_event, what="tea")
    assert any("Written confirmation is awaited: Cap on fluid removal" in r for r in odd(house))


def test_no_treatment_no_sheet(clock: SetClock) -> None:
    ids = SeededIds(5)
    with House(MemoryStore(ids), clock, ids) as empty, pytest.raises(InputError, match="no_treatment"):
        build_sheet(empty.look(), empty.store.heads())


def test_a_table_too_wide_is_written_out_in_words() -> None:
    columns = tuple(f"column{n}" for n in range(12))
    lines = table(columns, [tuple(f"value{n}" for n in range(12))])
    assert max(map(len, lines)) <= 78
    assert "column11 value11" in " ".join(" ".join(lines).split())


@pytest.mark.source("arithmetic")
def test_lengths_and_dates_in_words() -> None:
    assert span(timedelta(minutes=450)) == "7 h 30 min"
    assert span(timedelta(minutes=59)) == "59 min"
    assert day("2026-04-29") == "29 April 2026"
    assert day("soon") == "soon"


def test_names_that_only_a_newer_program_knows_are_shown_as_they_are(house: House) -> None:
    bodies = (
        Measured(quantity="lung_water", value="7", unit="lines"),
        Measured(quantity="feed_gas", place="setting", value="3"),
        Measured(quantity="pulse", place="left_wrist", value="70", unit="/min"),
        Reading(values={"lung_water": "8", "pulse": "71"}, missing={"feed_gas": "no gauge"}, when="half_way"),
        Given(what="rare_drug", amount="2", unit="drops"),
        Event(what="hiccups", words="since nine"),
        LotUsed(item="gas_filter", code="G1", lot="77", expiry="2027-01-31", intact=True),
        Disinfected(what="machine", agent="steam", started_at="2026-04-29T17:00:00Z", ended_at=""),
        HandedOver(stage="shared", six_lines=("both hold it",)),
        CameOff(times={"last_word": "2026-04-29T20:00:00+00:00"}, blood_returned="most"),
    )
    after = START_OF_CHAIN
    for body in bodies:
        entry = written_elsewhere(house, house.look().treatment_id, body, after)
        after = (entry.seq, entry.hash)
        assert house.take_in([entry]).new == 1
    text = flat(house)
    for name in (
        "lung_water",
        "feed_gas",
        "rare_drug",
        "hiccups",
        "gas_filter",
        "most",
        "half_way",
    ):
        assert name in text


@pytest.mark.source("arithmetic", detail="what the invented prescription says beside what was read off")
def test_what_was_ordered_stands_beside_what_was_set_opened_and_given(house: House, clock: SetClock) -> None:
    run_until_off(house, clock)
    do(house, night.give, what="heparin_first_dose", typed="1500", unit="units")
    text = flat(house)
    for words in (
        f"Prescription 3 from {UNIT}, valid from",
        "Blood flow 230 / 230 mL/min",
        "Heparin rate 900 units/h / 0.9 mL/h",
        "Fluid to remove (planned)",
        "dialyser (ordered D-18) D-18 /",
        "acid concentrate (ordered A-2K) A-2K /",
        "heparin strength: 1000 units/mL (ordered 1000)",
        "first heparin dose: 1500 units (ordered 1500)",
        "Calcium 1.50 mmol/L",
        "after tank 2: 0.02 mg/L",
    ):
        assert words in text, words


def test_who_held_the_night_wrote_and_read_again_stands_on_top_without_step_codes(
    house: House, clock: SetClock
) -> None:
    run_until_off(house, clock)
    (who,) = sheet(house).who
    assert who.startswith("The night was held by Bram Venn. Written by Bram Venn. Second readings by")
    part = sheet(house).section("steps")
    assert part is not None
    (checks,) = [row for row in part.rows if row.startswith("Second checks")]
    assert "heparin strength" in checks
    assert "total chlorine, after tank 1" in checks
    assert not re.search(r"\bS\d", checks)


def test_a_note_of_another_day_carries_its_date_and_makes_nobody_a_writer(
    house: House, clock: SetClock
) -> None:
    run_until_off(house, clock)
    do(house, comeoff.close, because=still_open(house))
    clock.pass_time(timedelta(days=2))
    treatment = max(house.look().past.values(), key=lambda s: s.opened_at).treatment
    house.do(annotate, by="ilka", treatment=treatment, words="The tape itched")
    (row,) = [r for s in sheet(house).sections for r in s.rows if "The tape itched" in r]
    local = clock.now().at.astimezone(ZoneInfo(ZONE))
    assert row.startswith(f"{local.day} May 2026 {local:%H:%M} Note")
    assert sheet(house).who[0].endswith("Notes by Ilka Venn.")
    assert "Written by Bram Venn." in sheet(house).who[0]


def test_what_another_computer_wrote_is_named_with_its_time(house: House, clock: SetClock) -> None:
    hands.set_up(house, clock)
    body = Event(what="a new smell", words="by the pump")
    house.take_in([written_elsewhere(house, house.look().treatment_id, body, START_OF_CHAIN)])
    (row,) = [r for r in odd(house) if "another computer" in r]
    assert re.search(r"\d\d:\d\d a new smell\. by the pump", row)
