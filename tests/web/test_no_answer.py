"""A call to the unit that nobody answered, or that nobody made: on record, and never taken for the unit's word."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from ebbwell.cli.tonight import tonight_lines
from ebbwell.deeds import comeoff, night, orders, person, setup
from ebbwell.deeds.open_calls import open_calls
from ebbwell.journal.kinds import decode_body
from ebbwell.journal.kinds.orders import Advice
from ebbwell.papers.exceptions import exceptions
from ebbwell.papers.words import clock
from ebbwell.sim.household import ILKA
from ebbwell.state.calls import advice_of, tried_of
from tests.web.site import Seen, Site

NOBODY = ("no_answer", "not_called")
FORM = "/happened/unit"


def _send(site: Site, **typed: str) -> Seen:
    return site.fill(site.get(FORM), FORM, **typed)


def _now(site: Site) -> str:
    return clock(site.clock.now().at, site.clock.now().zone)


def _picked(page: Seen) -> list[str]:
    return page.form(FORM).fields.get("outcome", [])


def test_an_entry_written_before_is_the_units_word() -> None:
    body = decode_body("advice", 1, b'{"who": "Nurse Ro", "words": "go on"}')
    assert isinstance(body, Advice)
    assert body.spoken


def test_nothing_is_picked_beforehand_while_a_call_is_open(site: Site) -> None:
    site.connect()
    assert _picked(site.get(FORM)) == ["said"]
    site.do(night.note_event, what="chest_pain", symptom="chest_pain")
    page = site.get(FORM)
    for words in ("They said:", "They were called and did not answer", "They were not called yet"):
        assert words in page.text
    assert _picked(page) == []
    rows = site.rows
    refused = _send(site, who="nobody", words="not called")
    assert refused.status == 409
    assert "Pick what came of the call to the unit." in refused.text
    assert site.rows == rows


@pytest.mark.source("practice:d2", detail="chest pain: emergency call always")
@pytest.mark.parametrize("outcome", NOBODY)
def test_a_symptom_of_tonight_stays_until_the_unit_has_spoken(site: Site, outcome: str) -> None:
    site.connect()
    site.do(night.note_event, what="chest_pain", symptom="chest_pain")
    site.clock.pass_time(timedelta(minutes=5))
    kept = site.get(_send(site, outcome=outcome, who="nobody", words="not called").to)
    assert "Nobody at the unit has spoken." in kept.text
    told = f"The unit was called at {_now(site)}, no answer."
    site.clock.pass_time(timedelta(minutes=5))
    for text in (
        site.get("/").text,
        site.get("/night").text,
        " ".join(" ".join(tonight_lines(site.desk)).split()),
    ):
        assert "Call now: pain or pressure in the chest" in text
        assert (told in text) is (outcome == "no_answer")
    assert _send(site, outcome="said", who="Nurse Ro", words="the ambulance is coming").status == 303
    assert "pain or pressure in the chest" not in site.get("/night").text


def test_a_call_in_vain_before_the_symptom_says_nothing_of_it(site: Site) -> None:
    site.connect()
    site.do(orders.advise, outcome="no_answer")
    site.clock.pass_time(timedelta(minutes=5))
    site.do(night.note_event, what="chest_pain", symptom="chest_pain")
    text = site.get("/night").text
    assert "Call now: pain or pressure in the chest" in text
    assert (
        "no answer" not in text.partition("Call now: pain")[2].partition("Write down what the unit said")[0]
    )


@pytest.mark.source("practice:T12", detail="37.8 C and over: unit before connecting")
@pytest.mark.parametrize("outcome", NOBODY)
def test_a_call_of_an_earlier_night_stays_open_with_when_it_was_tried(site: Site, outcome: str) -> None:
    site.until("S29")
    treatment = site.desk.treatment_id or ""
    sure = ("outside_asked", "outside_asked_high", "outside_own", "outside_own_high")
    site.do(setup.measure, quantity="body_temperature", typed="38.2", unit="C", sure=sure)
    site.do(comeoff.call_off, words="not with this")
    site.clock.pass_time(timedelta(hours=20))
    tried = _now(site)
    sheet = _send(site, night=treatment, outcome=outcome, who="the ward")
    assert sheet.status == 303
    (call,) = open_calls(site.desk)
    assert (call.name, len(call.tried)) == ("body_temperature", outcome == "no_answer")
    home = site.get("/").text
    assert "body temperature: 38.2 C" in home
    if outcome == "no_answer":
        assert f"The unit was called at 30 April 2026 {tried}, no answer." in home
        assert "Was the unit called again?" in home
        assert "the ward was called and did not answer" in site.get(f"/sheet/{treatment}").text
    else:
        assert "no answer" not in home
        assert "the ward was not called yet" in site.get(f"/sheet/{treatment}").text
    assert (
        _send(site, night=treatment, outcome="said", who="Nurse Ro", words="seen by a doctor").status == 303
    )
    assert not open_calls(site.desk)


@pytest.mark.source("practice:b", detail="S0: ill, fever: the unit is called before the night")
@pytest.mark.parametrize("outcome", NOBODY)
def test_an_answer_stays_open_where_the_call_about_its_step_was_in_vain(site: Site, outcome: str) -> None:
    site.open_night()
    site.do(setup.answer, question="ill", answer="yes")
    site.do(orders.advise, outcome=outcome, about=("S0",))
    site.do(comeoff.call_off, words="not with this")
    site.clock.pass_time(timedelta(hours=20))
    (call,) = open_calls(site.desk)
    assert (call.kind, call.name, len(call.tried)) == ("answer", "ill", outcome == "no_answer")


@pytest.mark.parametrize("outcome", NOBODY)
def test_what_was_felt_without_a_night_stays_open(site: Site, outcome: str) -> None:
    site.move_in()
    site.do(person.say_symptom, by=ILKA, symptom="chest_pain")
    site.do(orders.advise, outcome=outcome, who="the ward")
    assert "Call now: pain or pressure in the chest" in site.get("/").text
    site.clock.pass_time(timedelta(hours=20))
    (call,) = open_calls(site.desk)
    assert (call.name, len(call.tried)) == ("chest_pain", outcome == "no_answer")
    site.do(orders.advise, who="Nurse Ro", words="come in")
    assert not open_calls(site.desk)


@pytest.mark.parametrize("outcome", NOBODY)
def test_nobody_at_the_unit_agreed_where_nobody_spoke(site: Site, outcome: str) -> None:
    site.do(orders.advise, outcome=outcome)
    assert advice_of(site.desk.standing) == ()
    assert len(tried_of(site.desk.standing)) == (outcome == "no_answer")
    assert 'value="unit"' in site.get("/begin").html
    site.do(orders.advise, who="Nurse Ro", words="agreed")
    assert 'value="unit"' not in site.get("/begin").html


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        ("no_answer", "The unit was called and did not answer. rang"),
        ("not_called", "The unit was not called yet. rang"),
    ],
)
def test_it_stands_on_the_sheet_of_its_night(site: Site, outcome: str, words: str) -> None:
    site.connect()
    treatment = site.desk.treatment_id
    site.do(orders.advise, outcome=outcome, words="rang")
    text = site.get(f"/sheet/{treatment}").text
    assert words in text
    assert not re.search(r'said: "rang"', text)


@pytest.mark.parametrize(
    ("outcome", "allowed"), [("said", True), ("no_answer", False), ("not_called", False)]
)
def test_the_sheet_says_that_the_unit_allowed_a_step_only_where_it_spoke(
    site: Site, outcome: str, allowed: bool
) -> None:
    site.connect()
    entry = Advice(who="Nurse Ro", words="go on", about=("S29",), allows=True, outcome=outcome)
    site.do(lambda desk: desk.add(entry))
    assert any("Allowed by Nurse Ro" in words for words in exceptions(site.desk, {})) is allowed
