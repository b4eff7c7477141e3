"""Labels of concentrates: read, asked about where unusual, read again blind; nothing goes by one reading alone."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from ebbwell.deeds import setup
from ebbwell.deeds.desk import Asked
from ebbwell.deeds.fluid_expected import expected_fluid
from ebbwell.deeds.labels import check_label, read_bicarbonate, read_label
from ebbwell.procedure.holds import Status
from ebbwell.sim.household import BRAM, PRESCRIPTION, TOVE
from ebbwell.state.labels import label_of, liquid_share
from tests.deeds.homes import wrong
from tests.hazards.home import Home, moved_in, refused

D = Decimal

SCENARIO = {"potassium": "2.0", "calcium": "1.50", "magnesium": "0.5", "acetate": "3"}
WHOLE = {**SCENARIO, "sodium": "137", "bicarbonate": "32", "chloride": "108"}


def read(home: Home, **change: str) -> str:
    ions = {**SCENARIO, **change}
    return home.do(read_label, code="A-2K", parts="1 + 34", ions=ions).entries[0]


def test_read_label_waits_for_its_second_reading(home: Home) -> None:
    read(home)
    label = label_of(home.look().standing, "a-2k")
    assert label is not None
    assert (label.goes_by, label.body.parts, label.body.ions["calcium"]) == (False, "35", "1.50")
    assert expected_fluid(home.look()) is None


@pytest.mark.source("arithmetic", detail="fluids 2.1: 137 + 2 + 3 + 1 = 108 + 32 + 3, so charges are even")
def test_read_label_takes_a_whole_label_that_balances(home: Home) -> None:
    home.do(read_label, code="A-2K", parts="35", ions=WHOLE)
    assert label_of(home.look().standing, "A-2K") is not None


def test_check_label_by_another_person_makes_it_go_by(home: Home) -> None:
    entry = read(home)
    home.do(check_label, by=TOVE, of=entry, parts="35", ions={**SCENARIO, "calcium": "1.5"}, how="person")
    label = label_of(home.look().standing, "A-2K")
    assert label is not None
    assert label.goes_by
    found = expected_fluid(home.look())
    assert found is not None
    assert found.conductivity.value is not None
    assert found.apart == ()


def test_check_label_keeps_a_reading_that_differs_and_nothing_goes_by_it(home: Home) -> None:
    entry = read(home)
    done = home.do(
        check_label, by=TOVE, of=entry, parts="35", ions={**SCENARIO, "potassium": "3"}, how="person"
    )
    assert [finding.rule for finding in done.findings] == ["label_differs"]
    label = label_of(home.look().standing, "A-2K")
    assert label is not None
    assert (label.goes_by, label.differs) == (False, True)
    read(home, potassium="3")
    label = label_of(home.look().standing, "A-2K")
    assert label is not None
    assert not label.differs


def test_check_label_refuses_what_is_no_second_reading(home: Home) -> None:
    entry = read(home)
    with refused("refuse.same_person"):
        home.do(check_label, by=BRAM, of=entry, parts="35", ions=SCENARIO, how="person")
    with refused("refuse.too_soon"):
        home.do(check_label, by=BRAM, of=entry, parts="35", ions=SCENARIO, how="reread")
    home.clock.pass_time(timedelta(seconds=30))
    home.do(check_label, by=BRAM, of=entry, parts="35", ions=SCENARIO, how="reread")
    with refused("refuse.nothing_to_check"):
        home.do(check_label, by=TOVE, of="nothing", parts="35", ions=SCENARIO, how="person")


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"potassium": ""}, "enter.label_missing"),
        ({"acetate": ""}, "enter.label_acid"),
        ({"sodium": "13700"}, "enter.label_ion"),
        ({"calcium": "-1"}, "enter.label_ion"),
    ],
)
def test_read_label_refuses_half_a_label_and_what_no_fluid_holds(
    home: Home, change: dict[str, str], key: str
) -> None:
    with wrong(key):
        read(home, **change)


@pytest.mark.parametrize("parts", ["1:34", "1 in 34", "", "3"])
def test_read_label_refuses_a_dilution_that_can_mean_two_things(home: Home, parts: str) -> None:
    """Source: fluids 2.1, the trap of 1:34."""
    from ebbwell.core.errors import EbbwellError

    with pytest.raises(EbbwellError):
        home.do(read_label, code="A-2K", parts=parts, ions=SCENARIO)


def test_read_label_asks_about_the_ions_of_the_can_itself(home: Home) -> None:
    """Potassium 70 is of the concentrate, 35 times the fluid's 2."""
    with pytest.raises(Asked) as caught:
        read(home, potassium="70")
    assert [q.key for q in caught.value.questions] == ["label_usual_potassium"]


def test_read_label_asks_where_the_charges_are_apart(home: Home) -> None:
    """Bicarbonate as mixed, 35, beside a chloride for the final 32: 3 too many of 143, over 2 %."""
    ions = {**WHOLE, "bicarbonate": "35"}
    with pytest.raises(Asked) as caught:
        home.do(read_label, code="A-2K", parts="35", ions=ions)
    assert [q.key for q in caught.value.questions] == ["label_balance"]
    home.do(read_label, code="A-2K", parts="35", ions=ions, sure=("label_balance",))


def test_a_code_that_was_typed_otherwise_is_the_same_label(home: Home) -> None:
    read(home)
    home.do(read_label, code=" a-2k ", parts="35", ions=SCENARIO)
    assert len(home.look().standing.of("concentrate_label")) == 1


def test_read_label_refuses_no_code(home: Home) -> None:
    with wrong("enter.label_code"):
        home.do(read_label, code=" ", parts="35", ions=SCENARIO)


LIQUID_LINES = {
    **{line: text for line, text in PRESCRIPTION.items() if line != "bicarbonate_mixed"},
    "bicarbonate_form": "liquid",
}


@pytest.mark.source(
    "fluids:F2",
    detail="36.83x family: 1 : 1.83 : 34; 1 : 1.725 : 32.275 is 35 too, and not the family's usual 1.225",
)
def test_the_share_of_liquid_bicarbonate_is_the_families_until_its_label_was_read_twice() -> None:
    home = moved_in(LIQUID_LINES)
    order, code = home.look().scene.order, LIQUID_LINES["bicarbonate_code"]
    assert order is not None
    assert liquid_share(home.look().standing, order.lines) == (D("1.225"), "")
    label = {"code": code, "form": "liquid", "parts": "1 : 1.725 : 32.275"}
    entry = home.do(read_bicarbonate, **label).entries[0]
    assert liquid_share(home.look().standing, order.lines) == (D("1.225"), "")
    home.do(check_label, by=TOVE, of=entry, parts="1 : 1.725 : 32.275", how="person")
    assert liquid_share(home.look().standing, order.lines) == (D("1.725"), entry)
    assert liquid_share(
        home.look().standing, {**order.lines, "acid_parts": "36.83", "bicarbonate_code": ""}
    ) == (
        D("1.83"),
        "",
    )
    odd = {**order.lines, "acid_parts": "40", "bicarbonate_code": ""}
    assert liquid_share(home.look().standing, odd) is None
    assert liquid_share(home.look().standing, {**order.lines, "bicarbonate_form": "dry"}) is None


def test_two_readings_of_a_share_that_differ_hold_the_label() -> None:
    home = moved_in(LIQUID_LINES)
    label = {"code": LIQUID_LINES["bicarbonate_code"], "form": "liquid", "parts": "1 : 1.225 : 32.775"}
    entry = home.do(read_bicarbonate, **label).entries[0]
    done = home.do(check_label, by=TOVE, of=entry, parts="1 : 1.725 : 32.275", how="person")
    assert [one.rule for one in done.findings] == ["label_differs"]
    assert "bicarbonate for each part of acid" in str(done.findings[0].params)


@pytest.mark.hazard("H12")
@pytest.mark.source(
    "arithmetic",
    detail="fluids 2.2: (135 L / 35 + 0.8 L start-up) x 1.225 = 5.705 L for the night",
)
@pytest.mark.parametrize(("typed", "status"), [("5.7", Status.BARRED), ("5.8", Status.MET)])
def test_liquid_bicarbonate_that_runs_dry_before_the_end_holds_its_step(typed: str, status: Status) -> None:
    home = moved_in(LIQUID_LINES)
    home.do(setup.open_night)
    home.until("S10b")
    for name in ("bicarbonate_mixed", "bicarbonate_left"):
        options = next(s for s in home.look().procedure.steps if s.id == "S10b").wants[name]
        home.do(setup.choose, step="S10b", name=name, option=options[0])
    home.do(setup.measure, quantity="bicarbonate_liquid", typed=typed)
    assert home.status("S10b") is status
