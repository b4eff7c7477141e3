"""A household's own wording and order of the steps: it may ask for more, never for less."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import setup, steps
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.comeoff import call_off
from ebbwell.journal.kinds.house import StepsAdopted
from ebbwell.procedure import own
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import ProcedureRefused
from ebbwell.procedure.own import own_procedure, with_order, with_words
from ebbwell.sim.elsewhere import START_OF_CHAIN, written_elsewhere
from tests.deeds.homes import wrong
from tests.hazards.home import Home, refused, rules

SHIPPED = load_procedure()
OWN = {"step.S5.do": 'Grüner Schrank: "chlorine" nach Tank 1', "bundle.packs": "The blue box"}


def test_reword_steps_is_for_the_next_night_and_the_open_one_keeps_its_words(night: Home) -> None:
    before = night.look().procedure.say("step.S5.do")
    done = night.do(steps.reword_steps, words=OWN)
    assert rules(done.findings) == ["steps_from_next_night"]
    assert night.look().procedure.say("step.S5.do") == before == say("step.S5.do")
    night.clock.pass_time(timedelta(minutes=1))
    night.do(call_off, words="another day")
    done = night.do(setup.open_night)
    assert "rules_changed" in rules(done.findings)
    procedure = night.look().procedure
    assert procedure.say("step.S5.do") == OWN["step.S5.do"]
    assert procedure.say("bundle.packs") == "The blue box"
    assert procedure.steps == SHIPPED.steps


def test_a_night_opened_while_the_last_sheet_is_open_goes_by_the_new_words(off: Home) -> None:
    off.pass_step("C16")
    off.do(steps.reword_steps, words=OWN)
    off.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    assert off.look().procedure.say("step.S5.do") == OWN["step.S5.do"]


def test_reword_steps_goes_back_word_by_word(home: Home) -> None:
    home.do(steps.reword_steps, words=OWN)
    home.do(steps.reword_steps, words={"step.S5.do": ""})
    home.do(setup.open_night)
    procedure = home.look().procedure
    assert procedure.say("step.S5.do") == say("step.S5.do")
    assert procedure.say("bundle.packs") == "The blue box"


@pytest.mark.hazard("H67")
@pytest.mark.parametrize(
    "key",
    [
        "ask.bleeding",
        "option.bleeding.no",
        "choice.air_seen",
        "place.tank1",
        "step.S99.do",
        "step.S5.if",
        "x",
    ],
)
def test_reword_steps_refuses_questions_answers_and_places(home: Home, key: str) -> None:
    with wrong("enter.words_of_steps"):
        home.do(steps.reword_steps, words={key: "Not bleeding?"})
    with pytest.raises(ProcedureRefused):
        home.do(steps.adopt_steps, text=with_words(SHIPPED.text, {key: "Not bleeding?"}))
    with wrong("enter.no_braces"):
        home.do(steps.reword_steps, words={"step.S5.do": "test {this}"})


@pytest.mark.hazard("H67")
@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ('valid = "PT4H" # fluids:1.3', 'valid = "PT9H" # fluids:1.3'),
        ('second = "person_or_photo"\n', ""),
        (
            'bounds = ["rule:chlorine_tank1_over", "rule:chlorine_tank1_strip", "rule:chlorine_control_blank"]\n',
            "",
        ),
        ('reopens_on = ["happened:water_restart", "happened:carbon_changed"]\n', ""),
        ('wants.bleeding = ["no"]\n', ""),
    ],
)
def test_adopt_steps_refuses_a_text_that_asks_for_less(home: Home, was: str, becomes: str) -> None:
    text = SHIPPED.text.replace(was, becomes, 1)
    assert text != SHIPPED.text
    with pytest.raises(ProcedureRefused):
        home.do(steps.adopt_steps, text=text)
    assert home.look().standing.of("steps_adopted") == ()


def test_adopt_steps_takes_more_steps_and_back_again(home: Home) -> None:
    more = SHIPPED.text + (
        '\n[[step]]\nid = "S50"\nkind = "confirm"\nstage = "setup"\ngate = "connect"\nblock = "room"\n'
        'after = ["S2"]\nevidence = ["tick"]\nskip = "reason"\n'
    )
    words = {f"step.S50.{part}": "Dog into the kitchen" for part in ("do", "why", "how")}
    home.do(steps.adopt_steps, text=with_words(more, words))
    home.do(setup.open_night)
    assert home.look().procedure.has("S50")
    assert "S50" in home.bars()
    home.do(call_off, words="only tried")
    home.do(steps.adopt_steps, text=" ")
    home.do(setup.open_night)
    assert home.look().procedure.digest == SHIPPED.digest


def test_adopt_steps_refuses_to_go_back_where_there_are_none(home: Home) -> None:
    with refused("refuse.no_own_steps"):
        home.do(steps.adopt_steps, text="")
    with pytest.raises(ProcedureRefused):
        home.do(steps.adopt_steps, text="id = ")


def test_order_bundles_brings_one_before_the_other(home: Home) -> None:
    home.do(steps.order_bundles, bundles=("packs", "concentrates"))
    home.do(setup.open_night)
    procedure = home.look().procedure
    assert {s.id: s for s in procedure.steps} == {s.id: s for s in SHIPPED.steps}
    ids = procedure.ids
    assert max(ids.index(i) for i in ("S12", "S13", "S14")) < min(ids.index(i) for i in ("S9", "S10", "S11"))


def test_order_bundles_keeps_the_words_and_can_be_turned_round_again() -> None:
    text = with_words(SHIPPED.text, OWN)
    turned = with_order(text, ("packs", "concentrates"))
    assert own_procedure(turned).words == OWN
    assert own_procedure(with_order(turned, ("concentrates", "packs"))).ids == SHIPPED.ids


def test_order_bundles_refuses_a_bundle_that_is_none(home: Home) -> None:
    for bundles in (("packs",), ("packs", "moon"), ("packs", "packs")):
        with wrong("enter.option"):
            home.do(steps.order_bundles, bundles=bundles)


@pytest.mark.hazard("H67")
def test_a_text_that_asks_for_less_is_passed_over_and_said(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    less = SHIPPED.text.replace('valid = "PT4H" # fluids:1.3', 'valid = "PT9H" # fluids:1.3', 1)
    said = written_elsewhere(home.house, None, StepsAdopted(text=less), START_OF_CHAIN)
    home.house.take_in([said])
    done = home.do(setup.open_night)
    assert "own_steps_left_out" in rules(done.findings)
    assert home.look().procedure.digest == SHIPPED.digest
    monkeypatch.setattr(own, "weakened", lambda theirs, ours: ())
    own.own_procedure.cache_clear()
    assert own_procedure(less).step("S5").valid == timedelta(hours=9)
    own.own_procedure.cache_clear()


def test_choose_steps_takes_another_procedure_from_the_next_night(night: Home) -> None:
    done = night.do(steps.choose_steps, name="evening_bags")
    assert rules(done.findings) == ["steps_from_next_night"]
    assert night.look().procedure.id == "overnight_fistula"
    night.do(steps.choose_steps, name="overnight_fistula")
    night.do(call_off, words="another day")
    night.do(setup.open_night)
    assert night.look().procedure.text == SHIPPED.text


def test_choose_steps_refuses_an_unknown_name_and_the_one_in_use(home: Home) -> None:
    with wrong("enter.steps_name"):
        home.do(steps.choose_steps, name="morning_walk")
    with refused("refuse.same_steps"):
        home.do(steps.choose_steps, name="overnight_fistula")
    home.do(steps.choose_steps, name="evening_bags")
    with refused("refuse.same_steps"):
        home.do(steps.choose_steps, name="evening_bags")
