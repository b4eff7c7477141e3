"""Controls about what is typed: slips, units, signs, swaps, and what was not measured."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.core.errors import InputError
from ebbwell.core.numbers import AmbiguousNumber
from ebbwell.deeds import night, plan, record, setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.spoken import apart_words
from ebbwell.procedure.holds import Status
from ebbwell.rulebook.typed import say_question
from ebbwell.sim.household import READING
from tests.hazards.home import Home, asked, moved_in, night_open, refused, rules


@pytest.mark.hazard("H5")
@pytest.mark.source(
    "practice:e", detail="H5: 46.8 typed with a history of 64 to 67 is asked; both values are kept"
)
def test_a_slip_of_the_weight_is_asked_and_both_are_kept() -> None:
    home = night_open()
    home.until("S29")
    before = len(home.entries())
    with asked("digits") as caught:
        home.do(setup.measure, quantity="weight_before", typed="46.8")
    assert caught.value.questions[0].suggestion == Decimal("64.8")
    assert len(home.entries()) == before
    kept = home.do(setup.measure, quantity="weight_before", typed="46.8", sure=("digits",))
    home.do(record.correct, of=kept.entries[0], changes={"value": "64.8"}, reason="digits turned round")
    sheet = home.sheet()
    assert "46.8 kg" in sheet
    assert "64.8 kg" in sheet


@pytest.mark.hazard("H5")
@pytest.mark.source(
    "practice:e", detail="H5: asked once, kept as typed; never a reason to lose a true reading"
)
def test_a_true_weight_that_looks_turned_round_is_kept_after_one_question() -> None:
    home = moved_in()
    home.whole_night()
    home.clock.pass_time(timedelta(hours=36))
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.until("S29")
    with asked("digits") as caught:
        home.do(setup.measure, quantity="weight_before", typed="68.4")
    assert "64.8" not in " ".join(say_question(question) for question in caught.value.questions)
    home.do(setup.measure, quantity="weight_before", typed="68.4", sure=("digits",))
    (fact,) = home.look().treatment.at_slot("measured", "weight_before", "")
    assert isinstance(fact.body, Measured)
    assert (fact.body.value, fact.body.asked) == ("68.4", ("digits",))
    assert "gain_high" in home.findings(), "what was kept is judged by its limit"


@pytest.mark.hazard("H6")
@pytest.mark.source("practice:e", detail="H6: 143 typed where 64.9 is awaited suggests 64.9 kg and waits")
def test_pounds_are_asked_about() -> None:
    home = night_open()
    home.until("S29")
    before = len(home.entries())
    with asked("pounds") as caught:
        home.do(setup.measure, quantity="weight_before", typed="143")
    assert caught.value.questions[0].suggestion == Decimal("64.9")
    assert len(home.entries()) == before


@pytest.mark.hazard("H7")
@pytest.mark.source("practice:e", detail="H7: 0,1 is 0.1; 1,500 is refused with both readings shown")
def test_one_parser_for_every_field() -> None:
    home = night_open()
    home.until("S5")
    home.do(setup.measure, quantity="total_chlorine", place="tank1", typed="0,03", method="meter")
    assert "0.03 mg/L" in home.sheet()
    with pytest.raises(AmbiguousNumber) as caught:
        home.do(night.give, what="saline", typed="1,500", unit="mL")
    assert (caught.value.params["first"], caught.value.params["second"]) == ("1.5", "1500")


CHLORINE = {"quantity": "total_chlorine", "place": "tank1", "control": "coloured"}
TWICE = ("outside_asked", "outside_asked_high", "outside_own", "outside_last", "decimal", "digits")


@pytest.mark.hazard("H8")
@pytest.mark.source(
    "practice:e", detail="H8: 0.15, blank and a strip's 0.1 shut; a meter's 0.10 and <0.02 pass"
)
@pytest.mark.parametrize(
    ("typed", "method", "status"),
    [
        ("0.15", "meter", Status.BARRED),
        ("0.1", "strip", Status.BARRED),
        ("0.10", "meter", Status.SECOND),
        ("<0.02", "strip", Status.SECOND),
        ("<0.1", "strip", Status.SECOND),
    ],
)
def test_chlorine_at_the_limit(typed: str, method: str, status: Status) -> None:
    home = night_open()
    home.until("S5")
    home.do(setup.measure, typed=typed, method=method, sure=TWICE, **CHLORINE)
    assert home.status("S5") is status
    assert f"{typed} mg/L" in home.sheet()


@pytest.mark.hazard("H8")
def test_chlorine_left_blank_or_not_measured_is_no_chlorine_test() -> None:
    home = night_open()
    home.until("S5")
    with pytest.raises(InputError):
        home.do(setup.measure, typed="", method="meter", **CHLORINE)
    home.do(setup.measure, not_measured="the kit is empty", **CHLORINE)
    assert home.status("S5") is Status.BARRED


@pytest.mark.hazard("H38")
@pytest.mark.source("practice:e", detail="H38: venous blank: no value made up; the sheet says not measured")
def test_what_was_not_measured_stays_so() -> None:
    home = night_open()
    home.until("S29")
    home.do(setup.measure, quantity="weight_before", not_measured="the scale is broken")
    assert (home.status("S29"), home.why("S29")) == (Status.BARRED, "hold.not_measured")
    with refused("refuse.shut"):
        home.do(plan.agree_plan, drink="0.2")
    assert home.look().scene.facts["weight_before"] is None
    assert "the scale is broken" in home.sheet()


@pytest.mark.hazard("H38")
def test_a_field_left_out_of_a_row_is_printed_with_its_reason() -> None:
    home = night_open()
    home.connected()
    row = {name: value for name, value in READING.items() if name != "venous_pressure"}
    home.do(night.read, values=row, missing={"venous_pressure": "the screen was dark"})
    (fact,) = home.look().treatment.of("reading")
    assert isinstance(fact.body, Reading)
    assert "venous_pressure" not in fact.body.values
    assert "the screen was dark" in home.sheet()


def reading(home: Home, **values: str) -> None:
    home.do(night.read, values={**READING, **values})


@pytest.mark.hazard("H39")
@pytest.mark.source("practice:e", detail="H39: 150 typed for the arterial pressure asks")
def test_an_arterial_pressure_without_minus_is_asked() -> None:
    home = night_open()
    home.connected()
    with asked("minus"):
        reading(home, arterial_pressure="150")
    assert not home.look().treatment.of("reading")
    reading(home, arterial_pressure="-90")


@pytest.mark.hazard("H40")
@pytest.mark.source("practice:e", detail="H40: 70/130 asks whether they are swapped; after above before asks")
def test_swapped_fields_are_asked() -> None:
    home = night_open()
    home.connected()
    with asked("swapped"):
        reading(home, systolic="70", diastolic="130")
    home.come_off()
    with asked("too_near"):
        home.do(setup.measure, quantity="weight_after", typed="66.9")


@pytest.mark.hazard("H41")
@pytest.mark.source("practice:e", detail="H41: 98.6 is asked as 37.0")
def test_fahrenheit_is_asked() -> None:
    home = night_open()
    home.until("S29b")
    with asked("fahrenheit") as caught:
        home.do(setup.measure, quantity="body_temperature", typed="98.6")
    assert caught.value.questions[0].suggestion == Decimal("37.0")


@pytest.mark.hazard("H29")
@pytest.mark.source(
    "practice:e", detail="H29: 5,000 units in a mL for 1,000; the rate at that strength is a stop"
)
def test_another_heparin_strength_shuts() -> None:
    home = night_open()
    home.until("S18")
    done = home.do(setup.measure, quantity="heparin_strength", typed="5000")
    assert "heparin_strength_differs" in rules(done.findings)
    assert home.status("S18") is Status.BARRED
    assert "S18" in home.bars()


@pytest.mark.hazard("H29")
@pytest.mark.source("fluids:3.3", detail="a strength or units typed for mL/h; 0.9 mL/h is the plan")
@pytest.mark.parametrize("typed", ["1000", "5000", "25000", "900"])
def test_a_strength_typed_for_the_rate_of_the_pump_shuts(typed: str) -> None:
    home = night_open()
    home.until("S26b")
    home.pass_step("S26")
    home.do(setup.set_machine, line="heparin_rate_ml", typed=typed)
    home.do(setup.set_machine, line="heparin_stop_before_end", typed="60")
    assert home.why("S26b") == "hold.setting_differs"
    (words,) = apart_words(home.look(), "S26b")
    read = f"{int(typed):,}".replace(",", "\u00a0") if len(typed) > 4 else typed
    assert words == f"Heparin rate: machine {read} mL/h, plan 0.9 mL/h."


@pytest.mark.hazard("H29")
def test_another_heparin_rate_on_the_machine_shuts() -> None:
    home = night_open()
    home.until("S26b")
    home.pass_step("S26")
    for typed, why in (("0.8", "hold.setting_differs"), ("4.5", "hold.setting_differs"), ("0.9", "")):
        seen = tuple(f.id for f in home.look().treatment.at_slot("measured", "heparin_rate_ml", "setting"))
        home.do(setup.set_machine, line="heparin_rate_ml", typed=typed, instead_of=seen)
        home.do(
            setup.set_machine,
            line="heparin_stop_before_end",
            typed="60",
            instead_of=tuple(
                f.id for f in home.look().treatment.at_slot("measured", "heparin_stop_before_end", "setting")
            ),
        )
        assert home.why("S26b") == why
    assert home.status("S26b") is Status.MET
