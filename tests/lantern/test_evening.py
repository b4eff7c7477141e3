"""An evening with bags of fluid, a catheter and no heparin: the second procedure, which is data alone."""

from __future__ import annotations

from decimal import Decimal

import pytest

from ebbwell.core.findings import Grade
from ebbwell.deeds import comeoff, night, orders, setup, steps, upkeep
from ebbwell.deeds.comeoff import call_off
from ebbwell.deeds.connect import connect
from ebbwell.deeds.plan import draught
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.spoken import bar_words
from ebbwell.procedure.holds import Status
from ebbwell.procedure.load import load_procedure, shipped_names
from ebbwell.procedure.model import ProcedureRefused
from ebbwell.procedure.own import choice_of, own_procedure, with_words
from ebbwell.sim import hands, lantern
from ebbwell.state.night import Phase
from tests.hazards.home import Home, moved_in, refused
from tests.lantern import evening

EVENING = load_procedure(lantern.STEPS)


def until(home: Home, step: str) -> None:
    """The right moves up to a step, which is then next."""
    for _ in range(200):
        desk = home.look(lantern.CARER)
        if desk.views[step].status is Status.OPEN and not desk.views[step].waits_for:
            return
        move = next(
            (
                found
                for view in desk.views.values()
                if view.step.id != step and view.step.stage in hands.SET_UP
                for found in [hands.move_for(desk, view, lantern.VALUES)]
                if found is not None
            ),
            None,
        )
        assert move is not None, step
        home.clock.pass_time(move.takes)
        hands.play(home.house, move, by=lantern.CARER)
    raise AssertionError(step)


def test_a_whole_evening_from_the_first_question_to_the_closed_sheet() -> None:
    home = evening.ended()
    desk = home.house.look(by=lantern.CARER)
    assert desk.phase is Phase.NONE
    (treatment,) = desk.past
    looked = home.house.look(treatment=treatment)
    assert looked.procedure.id == lantern.STEPS
    assert looked.procedure.text == EVENING.text
    sheet = home.sheet(treatment)
    assert "bag of fluid F-2K / fluid_bags-lot" in sheet
    assert "Code of the fluid bags F-2K; One fluid bag holds 5.0 L" in sheet
    assert "154.3 lb" in sheet
    for absent in ("chlorine", "acid concentrate", "Sodium 140 mmol/L / -", "bleeding"):
        assert absent not in sheet


@pytest.mark.source(
    "arithmetic",
    detail="120 mL/min x 210 min / 1000 = 25.2 L; 25.2 / 5.0 = 5.04, so 6 bags; 30 x 1000 / (120 x 60) = 4.1666 h, "
    "shown rounded down; 157.0 lb x 0.45359237 = 71.2 kg, 71.2 - 70.0 + 0.3 + 0.2 = 1.7 L; 1.7 / 3.5 h = 485.7 mL/h, "
    "485.7 / 70 = 6.94 mL/kg/h; cap 10 x 70 x 3.5 / 1000 = 2.45 L; 300 x 210 / 1000 = 63.0 L of blood",
)
def test_the_plan_has_its_own_lines_and_none_of_water_or_concentrates() -> None:
    home = evening.set_up()
    body = home.house.look().treatment.of("plan")[-1].body
    assert isinstance(body, Plan)
    figures = dict(body.figures)
    assert figures.pop("finish_at")
    assert figures == {
        "weight_gain": "missing",
        "weight_gain_share": "missing",
        "removal_volume": "1.70 L",
        "cap_volume": "2.45 L",
        "fits_tonight": "1.70 L",
        "fluid_to_remove": "1.70 L",
        "remains_after": "0.00 L",
        "removal_rate": "485.7 mL/h",
        "removal_rate_per_kg": "6.94 mL/kg/h",
        "weight_after_expected": "70.0 kg",
        "heparin": "nothing",
        "blood_processed": "63.0 L",
        "fluid_volume": "25.2 L",
        "bags_needed": "6 bags",
        "bag_fluid_lasts": "4.16 h",
        "treatment_minutes": "210 min",
        "blood_flow": "300 mL/min",
        "dialysate_flow": "120 mL/min",
        "fluid_temperature": "36.5 C",
        "rinse_back": "0.3 L",
    }


def test_the_machine_is_set_to_no_more_than_it_can_be_set_to() -> None:
    assert EVENING.settings == {
        "treatment_minutes",
        "fluid_to_remove",
        "removal_rate",
        "blood_flow",
        "dialysate_flow",
        "fluid_temperature",
    }


@pytest.mark.source(
    "arithmetic", detail="25 L last 25 x 1000 / 120 = 208.3 min, under the 210; 25.2 L last 210 min"
)
@pytest.mark.parametrize(("hung", "enough"), [("25", False), ("25.2", True)])
def test_too_little_fluid_in_the_bags_keeps_connecting_shut(hung: str, enough: bool) -> None:
    home = evening.opened()
    until(home, "B3")
    home.do(setup.measure, by=lantern.CARER, quantity="bag_fluid", typed=hung)
    view = home.look().views["B3"]
    assert view.passed is enough
    if enough:
        return
    assert view.status is Status.BARRED
    assert [f.rule for f in view.findings] == ["bag_fluid_runs_out"]
    assert view.findings[0].grade is Grade.STOP
    assert "B3" in home.bars()
    (words,) = [bar_words(bar, home.look()) for bar in home.look().bars if bar.step == "B3"]
    assert "The bags that hang last 3 h 28 min. The treatment takes 3 h 30 min." in words
    with refused("refuse.gate"):
        home.do(connect, by=lantern.CARER)


@pytest.mark.source("arithmetic", detail="150 mL/min x 210 min = 31.5 L, more than the 30 L that hang")
def test_a_faster_fluid_flow_by_phone_opens_the_sum_of_the_bags_again() -> None:
    home = evening.set_up()
    heard = {"line": "dialysate_flow", "value": "150", "giver": lantern.UNIT, "read_back": "150"}
    done = home.do(orders.amend_line, by=lantern.CARER, **heard)
    home.clock.pass_time(evening.HALF_A_MINUTE)
    home.do(
        orders.check_order,
        by=lantern.CARER,
        of=done.entries[0],
        values={"dialysate_flow": "150"},
        how="reread",
    )
    home.do(orders.read_back, by=lantern.CARER, version_read="1")
    views = home.look().views
    assert views["B1"].passed
    assert views["B3"].status is Status.STALE
    home.do(
        setup.measure, by=lantern.CARER, quantity="bag_fluid", typed="30", instead_of=views["B3"].by or ()
    )
    assert home.look().views["B3"].status is Status.BARRED


def test_a_bag_with_another_code_or_called_back_does_not_pass() -> None:
    home = evening.opened()
    until(home, "B1")
    pack = {"item": "fluid_bags", "lot": "F7730", "expiry": "2027-06-30", "intact": True, "scanned": True}
    done = home.do(setup.use_lot, by=lantern.CARER, code="F-3K", **pack)
    assert home.why("B1") == "hold.lot.code"
    home.do(setup.use_lot, by=lantern.CARER, code="F-2K", **pack, instead_of=done.entries)
    assert home.look().views["B1"].passed
    home.do(upkeep.recall_lot, by=lantern.CARER, item="fluid_bags", lot="F7730", told_by=lantern.UNIT)
    assert not home.look().views["B1"].passed


@pytest.mark.hazard("H67")
@pytest.mark.parametrize(
    ("line", "word", "said"),
    [
        ("fluid_from", "made", "The machine makes it"),
        ("access", "fistula", "Fistula"),
        ("anticoagulant", "low_molecular", "Low molecular heparin"),
    ],
)
def test_an_order_that_the_steps_are_not_written_for_keeps_connecting_shut(
    line: str, word: str, said: str
) -> None:
    home = evening.set_up()
    heard = {"line": line, "value": word, "giver": lantern.UNIT, "read_back": word}
    done = home.do(orders.amend_line, by=lantern.CARER, **heard)
    home.clock.pass_time(evening.HALF_A_MINUTE)
    home.do(orders.check_order, by=lantern.CARER, of=done.entries[0], values={line: word}, how="reread")
    desk = home.look(lantern.CARER)
    (bar,) = [bar for bar in desk.bars if bar.key == "bar.other_steps"]
    assert bar.about == line
    words = bar_words(bar, desk)
    assert f"the order says {said}" in words
    assert "Call your unit." in words


def test_the_overnight_steps_are_not_for_an_order_of_bags() -> None:
    home = moved_in()
    home.do(setup.open_night)
    home.set_up()
    heard = {"line": "fluid_from", "value": "bags", "giver": lantern.UNIT, "read_back": "bags"}
    done = home.do(orders.amend_line, **heard)
    home.clock.pass_time(evening.HALF_A_MINUTE)
    home.do(orders.check_order, of=done.entries[0], values={"fluid_from": "bags"}, how="reread")
    assert "bar.other_steps" in home.bars()


def test_blood_that_runs_can_be_read_and_come_off_whatever_the_order_says_now() -> None:
    home = evening.set_up()
    home.do(connect, by=lantern.CARER)
    heard = {"line": "access", "value": "fistula", "giver": lantern.UNIT, "read_back": "fistula"}
    home.do(orders.amend_line, by=lantern.CARER, **heard)
    home.do(night.read, by=lantern.CARER, values={"venous_pressure": "120"})
    home.do(comeoff.come_off, by=lantern.CARER)
    assert home.look().phase is Phase.OFF


def test_choose_is_for_the_next_night_and_its_newest_steps_hold() -> None:
    home = moved_in()
    home.do(setup.open_night)
    home.do(steps.choose_steps, name=lantern.STEPS)
    assert home.look().procedure.id == "overnight_fistula"
    home.do(call_off, words="another day")
    home.do(setup.open_night)
    procedure = home.look().procedure
    assert procedure.text == EVENING.text
    assert own_procedure(choice_of(lantern.STEPS)) == EVENING


@pytest.mark.hazard("H67")
def test_own_text_of_the_evening_may_ask_for_more_and_never_for_less() -> None:
    mine = with_words(EVENING.text, {"step.B3.do": "Count the bags on the hooks."})
    assert own_procedure(mine).say("step.B3.do") == "Count the bags on the hooks."
    for less, key in (
        (EVENING.text.replace('bounds = ["rule:bag_fluid_runs_out"]\n', ""), "problem.weaker.bounds"),
        (EVENING.text.replace('access = ["catheter"]\n', ""), "problem.weaker.fits"),
        (
            EVENING.text.replace('fluid_from = ["bags"]', 'fluid_from = ["bags", "made"]'),
            "problem.weaker.fits",
        ),
        (EVENING.text.replace('plan_parts = ["heparin"]', "plan_parts = []"), "problem.weaker.plan"),
        (_without_a_sum(), "problem.weaker.plan"),
        (EVENING.text.replace('id = "evening_bags"', 'id = "my_own_way"'), "problem.other_id"),
    ):
        assert less != EVENING.text
        with pytest.raises(ProcedureRefused) as caught:
            own_procedure(less)
        assert key in {problem.key for problem in caught.value.problems}


def _without_a_sum() -> str:
    before, _, rest = EVENING.text.partition('[[sum]]\nname = "bag_fluid_lasts"\n')
    return before + rest.partition("}\n")[2]


def test_words_of_the_home_go_on_top_of_the_steps_it_chose() -> None:
    home = evening.moved_in()
    home.do(steps.reword_steps, by=lantern.CARER, words={"bundle.bags": "The hooks"})
    home.do(setup.open_night, by=lantern.CARER)
    procedure = home.look().procedure
    assert procedure.id == lantern.STEPS
    assert procedure.say("bundle.bags") == "The hooks"


def test_a_plan_before_the_bags_are_counted_says_what_is_missing() -> None:
    home = evening.opened()
    plan = draught(home.look(), drink=Decimal("0.2"))
    assert plan.figures["bags_needed"] == "6 bags"
    assert plan.figures["bag_fluid_lasts"] == "missing"


def test_both_procedures_come_with_the_program_the_usual_one_first() -> None:
    assert shipped_names() == ("overnight_fistula", "evening_bags")
