"""Deeds about what the clinic ordered."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from ebbwell.deeds import orders, record, setup
from ebbwell.deeds.plan import advised
from ebbwell.journal.kinds.orders import Advice, LineAmended, Prescription, Readback
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.typed import say_question
from ebbwell.sim.household import BRAM, ILKA, PRESCRIPTION, UNIT
from tests.deeds.homes import wrong
from tests.hazards.home import Home, asked, moved_in, refused, rules

PAPER = {"number": "4", "giver": UNIT, "valid_from": "2026-04-29", "lines": PRESCRIPTION}


def test_transcribe_keeps_all_lines_plain_and_waits_for_its_second_check(home: Home) -> None:
    done = home.do(orders.transcribe, **PAPER)
    fact = home.look().standing.fact(done.entries[0])
    assert fact is not None
    assert isinstance(fact.body, Prescription)
    assert fact.body.lines["target_weight"] == "64.5"
    assert fact.body.lines["acid_parts"] == "35"
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == done.entries


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"giver": " "}, "enter.giver"),
        ({"valid_from": "29.4.2026"}, "enter.valid_from"),
        ({"lines": {"target_weight": "64.5"}}, "enter.lines"),
        ({"lines": {**PRESCRIPTION, "target_weight": "645"}}, "line.outside"),
        ({"lines": {**PRESCRIPTION, "heparin_first_dose": "1,500"}}, "number.ambiguous"),
    ],
)
def test_transcribe_names_what_is_missing_or_unreadable(home: Home, change: dict[str, Any], key: str) -> None:
    before = len(home.entries())
    with wrong(key):
        home.do(orders.transcribe, **{**PAPER, **change})
    assert len(home.entries()) == before


def _amend(home: Home, **change: str) -> str:
    given = {"line": "target_weight", "value": "64.8", "giver": UNIT, "read_back": "64.8", **change}
    return home.do(orders.amend_line, **given).entries[0]


def test_amend_line_is_in_force_after_its_second_check(home: Home) -> None:
    entry = _amend(home)
    order = home.look().scene.order
    assert order is not None
    assert (order.lines["target_weight"], order.waiting) == ("64.5", (entry,))
    home.do(orders.check_order, by=ILKA, of=entry, values={"target_weight": "64.80"}, how="person")
    order = home.look().scene.order
    assert order is not None
    assert (order.lines["target_weight"], order.waiting) == ("64.8", ())
    assert order.unconfirmed == ("target_weight",)


def test_amend_line_takes_the_place_of_the_word_before(home: Home) -> None:
    first = _amend(home)
    second = _amend(home, value="65", read_back="65")
    held = home.look().standing.of("line_amended")
    assert [fact.id for fact in held] == [second]
    assert isinstance(held[0].body, LineAmended)
    assert home.look().standing.replaced[first] == {second}


def test_amend_line_refuses_what_was_read_back_otherwise(home: Home) -> None:
    with refused("refuse.read_back"):
        _amend(home, read_back="68.4")
    with wrong("enter.giver"):
        _amend(home, giver="")
    assert home.look().standing.of("line_amended") == ()


def test_amend_line_refuses_while_two_prescriptions_stand(home: Home) -> None:
    paper = home.look().standing.of("prescription")[0]
    home.do(record.withdraw, of=paper.id, reason="another person's paper")
    with refused("refuse.no_prescription"):
        _amend(home)


def test_check_order_brings_a_prescription_into_force(home: Home) -> None:
    entry = home.do(orders.transcribe, **PAPER).entries[0]
    done = home.do(orders.check_order, by=ILKA, of=entry, values=PRESCRIPTION, how="person")
    order = home.look().scene.order
    assert order is not None
    assert (order.body.number, order.waiting) == ("4", ())
    assert done.findings == ()


@pytest.mark.source("practice:e", detail="H3")
def test_check_order_keeps_a_reading_that_differs_and_says_so(home: Home) -> None:
    entry = home.do(orders.transcribe, **PAPER).entries[0]
    other = {**PRESCRIPTION, "removal_cap": "8", "heparin_rate": "90"}
    done = home.do(orders.check_order, by=ILKA, of=entry, values=other, how="person")
    assert rules(done.findings) == ["second_check_differs"]
    assert dict(done.findings[0].params)["lines"] == "heparin_rate, removal_cap"
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == (entry,)


@pytest.mark.hazard("H3")
def test_check_order_refuses_a_second_reading_that_passes_over_a_line(home: Home) -> None:
    lines = {line: value for line, value in PRESCRIPTION.items() if line != "venous_limit"}
    entry = home.do(orders.transcribe, **{**PAPER, "lines": lines}).entries[0]
    before = len(home.entries())
    with wrong("enter.lines_again"):
        home.do(orders.check_order, by=ILKA, of=entry, values=lines, how="person")
    assert len(home.entries()) == before
    home.do(orders.check_order, by=ILKA, of=entry, values={**lines, "venous_limit": " "}, how="person")
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == ()
    assert "venous_limit" not in order.lines


@pytest.mark.hazard("H3")
def test_check_order_finds_a_line_that_the_first_reading_left_empty(home: Home) -> None:
    lines = {line: value for line, value in PRESCRIPTION.items() if line != "venous_limit"}
    entry = home.do(orders.transcribe, **{**PAPER, "lines": lines}).entries[0]
    done = home.do(orders.check_order, by=ILKA, of=entry, values=PRESCRIPTION, how="person")
    assert rules(done.findings) == ["second_check_differs"]
    assert dict(done.findings[0].params)["lines"] == "venous_limit"
    home.do(record.correct, of=entry, changes={"lines.venous_limit": "200"}, reason="passed over")
    put_right = home.look().standing.of("prescription")[0].id
    home.do(orders.check_order, by=ILKA, of=put_right, values=PRESCRIPTION, how="person")
    order = home.look().scene.order
    assert order is not None
    assert (order.waiting, order.lines["venous_limit"]) == ((), "200")


def test_a_line_that_is_not_on_the_paper_is_put_right_to_nothing(home: Home) -> None:
    entry = home.do(orders.transcribe, **PAPER).entries[0]
    home.do(record.correct, of=entry, changes={"lines.venous_limit": ""}, reason="another line of the paper")
    order = home.look().scene.order
    assert order is not None
    assert "venous_limit" not in order.lines
    with wrong("line.empty"):
        home.do(record.correct, of=order.prescription.id, changes={"lines.blood_flow": ""}, reason="no")


@pytest.mark.parametrize(
    ("line", "again", "differs"),
    [
        ("potassium", "2", False),
        ("potassium", "2.1", True),
        ("acid_code", "a-2k", False),
        ("acid_code", "A2K", True),
    ],
)
def test_check_order_compares_numbers_as_numbers_and_codes_as_text(
    home: Home, line: str, again: str, differs: bool
) -> None:
    entry = home.do(orders.transcribe, **PAPER).entries[0]
    read = {**PRESCRIPTION, line: again}
    done = home.do(orders.check_order, by=ILKA, of=entry, values=read, how="person")
    assert rules(done.findings) == (["second_check_differs"] if differs else [])


def test_check_order_refuses_the_same_person_and_a_quick_look(home: Home) -> None:
    entry = home.do(orders.transcribe, **PAPER).entries[0]
    given = {"of": entry, "values": PRESCRIPTION}
    with refused("refuse.same_person"):
        home.do(orders.check_order, by=BRAM, how="person", **given)
    with refused("refuse.too_soon"):
        home.do(orders.check_order, how="reread", **given)
    with wrong("enter.how"):
        home.do(orders.check_order, how="by heart", **given)
    home.clock.pass_time(timedelta(seconds=5))
    home.do(orders.check_order, how="reread", **given)


def test_check_order_refuses_what_no_longer_holds(home: Home) -> None:
    old = home.look().standing.of("prescription")[0].id
    home.do(orders.transcribe, **PAPER)
    with refused("refuse.nothing_to_check"):
        home.do(orders.check_order, by=ILKA, of=old, values=PRESCRIPTION, how="person")


def test_read_back_names_the_order_and_its_lines(night: Home) -> None:
    night.until("S2")
    done = night.do(orders.read_back, version_read=" 3 ")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert isinstance(fact.body, Readback)
    assert fact.body.shown["target_weight"] == "64.5"
    assert night.status("S2") is Status.MET


def test_read_back_refuses_another_paper(night: Home) -> None:
    night.until("S2")
    with refused("refuse.other_paper"):
        night.do(orders.read_back, version_read="2")
    assert night.status("S2") is Status.OPEN


def test_read_back_refuses_before_the_first_questions(night: Home) -> None:
    with refused("refuse.shut"):
        night.do(orders.read_back, version_read="3")


def test_read_back_refuses_while_a_line_waits(night: Home) -> None:
    night.until("S2")
    _amend(night)
    with refused("refuse.second_check_waits"):
        night.do(orders.read_back, version_read="3")


def test_advise_keeps_the_words_of_the_unit(night: Home) -> None:
    done = night.do(orders.advise, who=" Nurse on call ", words="Go on.", about=("S29",), allows=True)
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Advice(who="Nurse on call", words="Go on.", about=("S29",), allows=True)


@pytest.mark.parametrize("outcome", ["no_answer", "not_called"])
def test_advise_keeps_that_nobody_spoke_without_a_name_or_words(night: Home, outcome: str) -> None:
    done = night.do(orders.advise, outcome=outcome, words=" rang 10 minutes ")
    fact = night.look().treatment.fact(done.entries[0])
    assert fact is not None
    assert fact.body == Advice(who="", words="rang 10 minutes", outcome=outcome)
    with wrong("enter.nobody_allows"):
        night.do(orders.advise, outcome=outcome, about=("S29",), allows=True)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"outcome": "perhaps"}, "enter.outcome"),
        ({"outcome": ""}, "enter.outcome"),
        ({"who": " "}, "enter.who_advised"),
        ({"words": ""}, "enter.words"),
        ({"about": ("S99",)}, "enter.about"),
    ],
)
def test_advise_refuses_what_nobody_said(night: Home, change: dict[str, Any], key: str) -> None:
    with wrong(key):
        night.do(orders.advise, **{"who": "Nurse on call", "words": "Go on.", **change})


@pytest.mark.hazard("H3")
@pytest.mark.parametrize("by", ["bedside", "a visitor", BRAM])
def test_a_second_person_is_someone_else_who_is_entered(home: Home, by: str) -> None:
    entry = _amend(home)
    with refused("refuse.same_person"):
        home.do(orders.check_order, by=by, of=entry, values={"target_weight": "64.8"}, how="person")
    order = home.look().scene.order
    assert order is not None
    assert order.waiting == (entry,)


def _by_phone(home: Home) -> str:
    entry = _amend(home)
    home.do(orders.check_order, by=ILKA, of=entry, values={"target_weight": "64.8"}, how="person")
    return entry


def test_confirm_written_takes_the_mark_away_and_leaves_the_line_in_force(home: Home) -> None:
    phoned = _by_phone(home)
    home.do(orders.confirm_written, line="target_weight", value="64.80", giver=UNIT)
    order = home.look().scene.order
    assert order is not None
    assert (order.lines["target_weight"], order.waiting, order.unconfirmed) == ("64.8", (), ())
    assert phoned in home.look().standing.replaced


def test_confirm_written_refuses_a_paper_that_says_something_else(home: Home) -> None:
    _by_phone(home)
    before = len(home.entries())
    with refused("refuse.paper_differs"):
        home.do(orders.confirm_written, line="target_weight", value="64.3", giver=UNIT)
    with wrong("enter.giver"):
        home.do(orders.confirm_written, line="target_weight", value="64.8", giver=" ")
    assert len(home.entries()) == before


def test_confirm_written_refuses_a_line_that_waits_for_no_paper(home: Home) -> None:
    with refused("refuse.no_paper_awaited"):
        home.do(orders.confirm_written, line="target_weight", value="64.5", giver=UNIT)
    _amend(home)
    with refused("refuse.no_paper_awaited"):
        home.do(orders.confirm_written, line="target_weight", value="64.8", giver=UNIT)


@pytest.mark.source(
    "practice:a0", detail="target weight: ask at a change over 1.0 kg or 2 % from the last version"
)
@pytest.mark.parametrize(
    ("typed", "asked"), [("65.5", False), ("65.6", True), ("63.4", True), ("46.5", True)]
)
def test_odd_lines_asks_about_a_target_weight_that_moves_far(home: Home, typed: str, asked: bool) -> None:
    found = orders.odd_lines(home.look(), {**PRESCRIPTION, "target_weight": typed, "acid_parts": "35"})
    assert [line for line, _ in found] == (["target_weight"] if asked else [])


@pytest.mark.source("practice:a0", detail="hours prescribed: ask outside 5:00 to 10:00")
def test_odd_lines_asks_about_an_unusual_length(home: Home) -> None:
    found = orders.odd_lines(home.look(), {"treatment_minutes": "270"})
    assert [(line, q.key) for line, q in found] == [("treatment_minutes", "outside_asked")]


@pytest.mark.source("practice:a0", detail="heparin rate 0 to 3,000 units/h; as mL/h 0 to 5")
@pytest.mark.hazard("H29")
@pytest.mark.parametrize(
    ("line", "typed", "asked"),
    [
        ("heparin_rate", "0.9", True),
        ("heparin_rate", "5", True),
        ("heparin_rate", "900", False),
        ("heparin_rate", "0", False),
        ("heparin_first_dose", "1.5", True),
        ("heparin_first_dose", "1500", False),
        ("heparin_stop_before_end", "5", False),
    ],
)
def test_odd_lines_asks_about_units_that_are_likely_millilitres(
    home: Home, line: str, typed: str, asked: bool
) -> None:
    found = [question.key for name, question in orders.odd_lines(home.look(), {line: typed}) if name == line]
    assert ("as_ml" in found) is asked


@pytest.mark.source(
    "fluids:3.1", detail="stop before the end 30 to 60 min; fluids:3.4, a ready dose is in IU or mg"
)
@pytest.mark.parametrize(
    ("line", "typed", "keys"),
    [
        ("heparin_stop_before_end", "1", ["as_hours"]),
        ("heparin_stop_before_end", "4", ["as_hours"]),
        ("heparin_stop_before_end", "60", []),
        ("heparin_stop_before_end", "0", []),
        ("low_molecular_dose", "0.4 mL at the start", ["ready_dose_in_ml"]),
        ("low_molecular_dose", "0.4ml", ["ready_dose_in_ml"]),
        ("low_molecular_dose", "as on the paper", ["ready_dose_no_amount"]),
        ("low_molecular_dose", "4000", ["ready_dose_no_amount"]),
        ("low_molecular_dose", "4000 IU/mL", ["ready_dose_no_amount"]),
        ("low_molecular_dose", "4000 IU or 5000 IU", ["ready_dose_no_amount"]),
        ("low_molecular_dose", "4 000 IU at the start", []),
        ("low_molecular_dose", "4,000 IU at the start", ["ready_dose_no_amount"]),
        ("low_molecular_dose", "4000 IU in 0.4 mL", []),
        ("low_molecular_dose", "40 mg (0.4 mL)", []),
    ],
)
def test_odd_lines_asks_about_hours_for_minutes_and_a_ready_dose_in_ml(
    home: Home, line: str, typed: str, keys: list[str]
) -> None:
    found = [question for name, question in orders.odd_lines(home.look(), {line: typed}) if name == line]
    assert [question.key for question in found] == keys
    for question in found:
        assert f"You typed {typed}" in say_question(question)


@pytest.mark.source("practice:a0", detail="target weight: change over 1.0 kg or 2 % from last version")
@pytest.mark.source("practice:a0", detail="heparin rate 0 to 3,000 units/h; as mL/h 0 to 5")
@pytest.mark.hazard("H29")
@pytest.mark.parametrize(
    ("line", "typed", "question"),
    [("target_weight", "66.5", "outside_near"), ("heparin_rate", "0.9", "as_ml")],
)
def test_a_corrected_line_is_asked_about_like_a_fresh_one(
    home: Home, line: str, typed: str, question: str
) -> None:
    order = home.look().scene.order
    assert order is not None
    changes = {f"lines.{line}": typed}
    with asked(question):
        home.do(record.correct, of=order.prescription.id, changes=changes, reason="read again")
    done = home.do(
        record.correct, of=order.prescription.id, changes=changes, reason="read again", sure=(question,)
    )
    assert done.entries


@pytest.mark.source(
    "common practice", detail="no source: the unit's last word about a step is the one that holds"
)
def test_advise_later_without_allowing_takes_back_what_was_allowed(night: Home) -> None:
    step = night.look().procedure.step("S0")
    for question in step.options:
        answer = "yes" if question == "ill" else step.wants[question][0]
        night.do(setup.answer, question=question, answer=answer)
    said = {"who": UNIT, "about": ("S0", "S26")}
    night.do(orders.advise, words="go on", allows=True, **said)
    assert night.look().views["S0"].passed
    assert advised(night.look(), "S26")
    night.do(orders.advise, words="we spoke to the doctor: not tonight", allows=False, **said)
    assert not night.look().views["S0"].passed
    assert not advised(night.look(), "S26")
    night.do(orders.advise, who="", words="", about=("S0",), allows=False, outcome="no_answer")
    night.do(orders.advise, words="now you may", allows=True, **said)
    assert night.look().views["S0"].passed


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "fluids:3.3", detail="1,000, 5,000 and 25,000 units/mL are all sold; a 5 or 25-fold error"
)
@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("1000", ""),
        ("5000", "5000 units/mL for heparin strength. The order in force says 1000 units/mL."),
        ("25000", "would hold 25 times the heparin. Look at the paper. Is 25\u00a0000 units/mL right?"),
        ("500", "would hold 0.5 times the heparin."),
    ],
)
def test_odd_lines_asks_about_a_strength_that_is_not_the_one_in_force(
    home: Home, typed: str, told: str
) -> None:
    found = orders.odd_lines(home.look(), {"heparin_strength": typed})
    assert [(line, question.key) for line, question in found] == (
        [("heparin_strength", "strength_apart")] if told else []
    )
    assert all(told in say_question(question) for _, question in found)


@pytest.mark.hazard("H29")
def test_a_strength_put_right_in_the_order_is_asked_about_like_a_fresh_one(home: Home) -> None:
    order = home.look().scene.order
    assert order is not None
    changes = {"lines.heparin_strength": "5000"}
    with asked("strength_apart"):
        home.do(record.correct, of=order.prescription.id, changes=changes, reason="read again")


def test_without_an_order_in_force_a_strength_is_held_against_none() -> None:
    home = moved_in()
    (order,) = home.look().standing.of("prescription")
    home.do(record.withdraw, of=order.id, reason="of another person")
    assert orders.odd_lines(home.look(), {"heparin_strength": "5000"}) == ()
