"""``ebbwell enter``: every form by typing; a slip is told at its own field, and nothing typed is lost by it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pytest

from ebbwell.cli.main import FORMS, main
from ebbwell.cli.session import Session
from ebbwell.cli.walk.form_kinds import KINDS, title_of
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import say
from ebbwell.deeds import setup
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.fluid import ConcentrateLabel
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.journal.kinds.water import (
    CarbonChanged,
    FilterPressure,
    MicrobeResult,
    WaterLineSet,
    WaterNotice,
    WaterReport,
)
from ebbwell.papers.limit_themes import themed
from ebbwell.sim.household import BRAM, TOVE, move_in
from ebbwell.state.units import chosen_units
from ebbwell.state.water import plant

D = Decimal
BRAM_IS_HERE, TOVE_IS_HERE = "Bram", "Tove"


@pytest.fixture
def moved(clock: SetClock, home: str) -> str:
    """The invented household in its folder; no night is open."""
    Path(home).mkdir()
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(1)) as house:
        move_in(house, clock)
    return home


def enter(home: str, clock: SetClock, *lines: str, what: str = "", code: int = 0) -> str:
    """The screen of one ``ebbwell enter`` in which these lines are typed; then no more comes."""
    out, err = io.StringIO(), io.StringIO()
    made = Session(
        stdin=io.StringIO("".join(f"{line}\n" for line in lines)),
        out=out,
        err=err,
        environ={"EBBWELL_HOME": home, "HOME": home},
        clock=lambda _: clock,
        ids=SeededIds(len(lines) + 50, start_ms=round(clock.now().at.timestamp() * 1000)),
    )
    assert main(["enter", *([what] if what else [])], made) == code, err.getvalue()
    assert err.getvalue() == ""
    assert max(len(line) for line in out.getvalue().splitlines() if home not in line) <= 80
    return " ".join(out.getvalue().split())


def now(home: str, clock: SetClock) -> Desk:
    """How things stand, opened afresh."""
    with House.open(Path(home) / "record.ebbwell", clock, SeededIds(99), create=False) as house:
        return house.look()


def in_order(text: str, *words: str) -> bool:
    """Whether the screen says these one after the other."""
    at = 0
    for each in words:
        at = text.find(each, at)
        if at < 0:
            return False
        at += len(each)
    return True


REPORT = (
    BRAM_IS_HERE,
    say("water.list.international"),
    "County laboratory",
    "2026-04-20",
    "",
    "after the membrane",
    "mg/L",
    "<0.001",
)
"""A report up to its first line, aluminium."""


def test_the_command_takes_every_form_and_each_has_a_title() -> None:
    assert tuple(KINDS) == FORMS
    assert len({title_of(name) for name in FORMS}) == len(FORMS)


def test_a_report_is_typed_field_by_field_and_a_slip_is_asked_again_at_its_own_field(
    moved: str, clock: SetClock
) -> None:
    wrong = list(REPORT)
    wrong.insert(3, "20 April")
    text = enter(moved, clock, *wrong, "0,5 x", "0.05", *[""] * 40, what="report")
    assert in_order(
        text, say("water.day_needed", label=say("web.water.field.sampled_on")), "Day of the sample"
    )
    assert say("walk.kept") in text
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert (fact.body.laboratory, fact.body.sampled_on) == ("County laboratory", "2026-04-20")
    lines = {line.item: (line.value, line.below) for line in fact.body.lines}
    assert lines == {"aluminium": ("0.001", True), "total_chlorine": ("0.05", False)}


def test_an_older_report_is_typed_again_in_its_own_place(moved: str, clock: SetClock) -> None:
    assert say("form.nothing_again") in enter(moved, clock, BRAM_IS_HERE, what="again")
    enter(moved, clock, *REPORT, "0.5", *[""] * 40, what="report")
    (first,) = now(moved, clock).standing.of("water_report")
    text = enter(moved, clock, BRAM_IS_HERE, "1", *[""] * 7, "0.05", *[""] * 40, what="again")
    assert say("form.stands_enter", value="County laboratory") in text
    assert say("walk.kept") in text
    (fact,) = now(moved, clock).standing.of("water_report")
    assert fact.id != first.id
    assert isinstance(fact.body, WaterReport)
    assert {line.item: line.value for line in fact.body.lines} == {
        "aluminium": "0.001",
        "total_chlorine": "0.05",
    }


def test_leaving_in_the_middle_keeps_what_was_typed_for_the_next_time(moved: str, clock: SetClock) -> None:
    text = enter(moved, clock, *REPORT, what="report")
    assert say("form.left") in text
    assert not now(moved, clock).standing.of("water_report")
    text = enter(moved, clock, BRAM_IS_HERE, *[""] * 40, what="report")
    assert say("form.resumed", count=7) in text
    assert say("web.water.field.laboratory") not in text
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert [line.item for line in fact.body.lines] == ["aluminium"]
    assert not list(Path(moved).glob("*.draft"))


@pytest.mark.source(
    "fluids:1.1", detail="over 20 times the limit: ug typed as mg is asked about; aluminium 0.01 mg/L"
)
def test_a_slip_of_the_unit_is_asked_and_one_field_can_be_typed_anew(moved: str, clock: SetClock) -> None:
    lines = [*REPORT[:-1], "5", *[""] * 25]
    anew = [say("form.change_one"), "Aluminium", "5 ug/L"]
    text = enter(moved, clock, *lines, *anew, what="report")
    assert in_order(text, say("form.as_typed"), say("form.which"), say("walk.kept"))
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert [(line.value, line.unit) for line in fact.body.lines] == [("5", "ug/L")]


def test_kept_as_typed_a_slip_stays_with_its_question(moved: str, clock: SetClock) -> None:
    enter(moved, clock, *REPORT[:-1], "5", *[""] * 25, say("form.as_typed"), what="report")
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert fact.body.asked == ("water_slip",)


def test_back_asks_the_field_before_with_what_was_typed_in_it(moved: str, clock: SetClock) -> None:
    typed = (*REPORT[:3], "back", "Town laboratory", *REPORT[3:], *[""] * 40)
    text = enter(moved, clock, *typed, what="report")
    assert say("form.stands_enter", value="County laboratory") in text
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert fact.body.laboratory == "Town laboratory"


SHORT: dict[str, tuple[Sequence[str], type[Body]]] = {
    "microbes": (
        ("1", "1", "loop", "2026-04-20", "2026-04-27", "12", "", "<0.03", "", "", ""),
        MicrobeResult,
    ),
    "carbon": (("1", "2026-04-20", "28", "", "", "2027-01-01", "L-1", ""), CarbonChanged),
    "notice": (("1", "2026-04-20", "", "Water office", "", ""), WaterNotice),
    "line": (
        (
            say("water.list.international"),
            say("web.water.another_item"),
            "Boron",
            "mg/L",
            "0.3",
            "0.3",
            "",
            "sheet of May",
            "Ann",
            "in writing",
        ),
        WaterLineSet,
    ),
    "filter": (("1", "1", "3.1", "2.9", "no", "", "", "", "", ""), FilterPressure),
}


@pytest.mark.parametrize("what", SHORT)
def test_the_other_forms_about_the_water(moved: str, clock: SetClock, what: str) -> None:
    lines, kind = SHORT[what]
    assert say("walk.kept") in enter(moved, clock, BRAM_IS_HERE, *lines, what=what)
    (fact,) = now(moved, clock).standing.of(kind.KIND)
    assert isinstance(fact.body, kind)


def test_the_plant_says_what_stands_and_enter_leaves_it(moved: str, clock: SetClock) -> None:
    enter(moved, clock, BRAM_IS_HERE, "0.8", "30", *[""] * 20, what="plant")
    assert dict(plant(now(moved, clock).standing)[1].values) == {"feed_flow": "0.8", "carbon1": "30"}
    text = enter(moved, clock, BRAM_IS_HERE, "", "-", "31", *[""] * 20, what="plant")
    assert say("form.stands_enter", value="0.8") in text
    assert dict(plant(now(moved, clock).standing)[1].values) == {"feed_flow": "0.8", "carbon2": "31"}


@pytest.mark.hazard("H67")
def test_a_limit_is_typed_twice_with_reason_and_the_units_name(moved: str, clock: SetClock) -> None:
    label = f"{say('web.limits.theme.water')}\n{say('limit.chlorine')}"
    lines = ("0.5", "0.05", "0.06", "0.05", "", "on the sheet", "Sister Quill", "in writing")
    text = enter(moved, clock, BRAM_IS_HERE, label, *lines, what="limit")
    assert in_order(text, "0.02 mg/L", say("web.limits.again"), "0.06", say("web.limits.again"))
    assert in_order(text, say("enter.limit_reason"), say("web.limits.reason"), say("walk.kept"))
    assert now(moved, clock).rulebook.limit("chlorine").value == D("0.05")


def test_the_second_typing_of_a_limit_sees_nothing_of_the_first(moved: str, clock: SetClock) -> None:
    first = (say("web.limits.theme.water"), say("limit.chlorine"), "0.05", "0.05")
    text = enter(moved, clock, BRAM_IS_HERE, *first, "back", "", what="limit")
    assert say("form.stands_enter", value="0.05") not in text
    assert text.count(say("web.limits.again")) == 3


@pytest.mark.hazard("H6")
@pytest.mark.source("arithmetic", detail="(100.4 - 32) x 5 / 9 = 38.0 C; 38.5 x 9 / 5 + 32 = 101.3 F")
def test_a_limit_is_asked_and_typed_in_the_unit_of_the_home(moved: str, clock: SetClock) -> None:
    enter(moved, clock, "1", "2", "2", "3", what="measures")
    theme, place = next(
        (str(n), str(m))
        for n, (_, found) in enumerate(themed(now(moved, clock).rulebook), 1)
        for m, one in enumerate([one for one in found if one.owner != "fixed"], 1)
        if one.id == "fluid_temperature_stop"
    )
    answers = ("1", theme, place, "38 mmHg", "100.4", "100.4", "seen on paper", "Sister Quill", "1")
    seen = enter(moved, clock, *answers, what="limit")
    assert "New figure [F]" in seen
    assert "101.3 F (38.5 C)" in seen
    assert "mmHg can't be changed to F" in seen
    assert now(moved, clock).rulebook.limit("fluid_temperature_stop").value == D("38.0")


def test_a_limit_of_the_household_asks_for_no_name(moved: str, clock: SetClock) -> None:
    lines = (say("web.limits.theme.night"), say("limit.expiry_near"), "60", "60", "slow deliveries")
    text = enter(moved, clock, BRAM_IS_HERE, *lines, what="limit")
    assert say("web.limits.allowed_by") not in text
    assert now(moved, clock).rulebook.limit("expiry_near").value == 60


@pytest.mark.parametrize("what", ["limit", "measures"])
def test_a_stand_in_sets_no_limit_and_no_measure(moved: str, clock: SetClock, what: str) -> None:
    assert say("form.carer_only") in enter(moved, clock, TOVE_IS_HERE, what=what)


LABEL = ("1 + 34", "137", "2", "1.5", "0.5", "109", "32", "3", "", "")


def test_a_label_is_read_and_read_again_by_somebody_else(moved: str, clock: SetClock) -> None:
    enter(moved, clock, BRAM_IS_HERE, "A-17", *LABEL, say("form.as_typed"), what="label")
    (fact,) = now(moved, clock).standing.of("concentrate_label")
    assert isinstance(fact.body, ConcentrateLabel)
    assert (fact.body.code, fact.body.ions["calcium"]) == ("A-17", "1.5")
    text = enter(moved, clock, BRAM_IS_HERE, "Tove", *LABEL, what="label-check")
    assert "1.5" not in text
    check = now(moved, clock).standing.of("second_check")[-1]
    assert isinstance(check.body, SecondCheck)
    assert (check.body.of, check.body.how, check.body.agrees, check.by) == ((fact.id,), "person", True, TOVE)
    assert say("web.labels.none_waits") in enter(moved, clock, BRAM_IS_HERE, what="label-check")


def test_what_a_label_lacks_is_asked_at_its_own_field(moved: str, clock: SetClock) -> None:
    lines = ("A-17", "1 + 34", "137", "2", "", "1.5", "300", "0.5", "109", "32", "", "", "back", "3", "", "")
    text = enter(moved, clock, BRAM_IS_HERE, *lines, say("form.as_typed"), what="label")
    assert in_order(text, "calcium", say("enter.label_missing", names="calcium, magnesium"), "calcium")
    assert in_order(text, "300", "magnesium", say("enter.label_acid"), "acetate")
    (fact,) = now(moved, clock).standing.of("concentrate_label")
    assert isinstance(fact.body, ConcentrateLabel)
    assert fact.body.ions["acetate"] == "3"


def test_the_units_of_the_home_are_picked_between_nights(moved: str, clock: SetClock) -> None:
    picked = (say("measure.lb"), say("measure.F"), say("measure.mg_dL"))
    enter(moved, clock, BRAM_IS_HERE, *picked, what="measures")
    assert dict(chosen_units(now(moved, clock).standing)) == {
        "weight": "lb",
        "temperature": "F",
        "glucose": "mg/dL",
    }
    with House.open(Path(moved) / "record.ebbwell", clock, SeededIds(77), create=False) as house:
        house.do(setup.open_night, by=BRAM)
    picked = (say("measure.kg"), say("measure.C"), say("measure.none"))
    assert say("refuse.units_tonight") in enter(moved, clock, BRAM_IS_HERE, *picked, what="measures")


def test_without_a_name_the_form_is_picked_and_without_a_household_nothing_is_asked(
    moved: str, clock: SetClock, tmp_path: Path
) -> None:
    text = enter(moved, clock, BRAM_IS_HERE, say("web.water.form.notice"), *SHORT["notice"][0])
    assert say("walk.kept") in text
    empty = tmp_path / "empty"
    empty.mkdir()
    House.open(empty / "record.ebbwell", clock, SeededIds(2)).close()
    assert say("form.no_household") in enter(str(empty), clock)


def test_help_and_stop_work_in_a_form(moved: str, clock: SetClock) -> None:
    text = enter(moved, clock, BRAM_IS_HERE, "?", "stop", what="carbon")
    assert say("walk.stop_words") in text
    assert say("word.leave") in text


def test_a_line_of_a_report_that_is_no_number_says_what_to_do_at_the_keyboard(
    moved: str, clock: SetClock
) -> None:
    wrong = [*REPORT[:-1], ">0.001", "0.001-0.002", "TNTC", "1 ppb"]
    text = enter(moved, clock, *wrong, *[""] * 40, what="report")
    assert in_order(
        text,
        "more than 0.001 can't be held against the limit. Ask the laboratory for the number.",
        "Of two, enter the higher one. You typed 0.001 and 0.002",
        "Enter the number on the paper, with < before it where the paper says less than. You typed TNTC",
    )
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert [(line.value, line.unit, line.typed) for line in fact.body.lines] == [("1", "ug/L", "1 ppb")]


@pytest.mark.source(
    "fluids:1.2", detail="a count that is too many to count is over any limit; figures are kept as written"
)
def test_slips_of_a_count_are_told_at_its_field_and_too_many_to_count_is_kept(
    moved: str, clock: SetClock
) -> None:
    head = (BRAM_IS_HERE, "1", "1", "loop", "2026-04-20", "2026-04-27")
    text = enter(moved, clock, *head, "12 cfu", "lots", "TNTC", *[""] * 6, what="microbes")
    assert in_order(text, "The figure has to be in CFU/mL.", "Enter just the number", say("walk.kept"))
    (fact,) = now(moved, clock).standing.of("microbe_result")
    assert isinstance(fact.body, MicrobeResult)
    assert fact.body.count == "TNTC"


@pytest.mark.source("fluids:1.1", detail="2 mg/L as nitrogen is 8.85 as nitrate: the form has to be picked")
def test_slips_of_a_report_are_told_at_their_field(moved: str, clock: SetClock) -> None:
    lines = ("0.05 ppm", *[""] * 3, "8.5 as NO3", "8.5", "", "2")
    text = enter(moved, clock, *REPORT, *lines, *[""] * 40, what="report")
    assert "Type the figure with its unit alone, like 8.5 mg/L." in text
    assert say("walk.kept") in text
    (fact,) = now(moved, clock).standing.of("water_report")
    assert isinstance(fact.body, WaterReport)
    assert {(one.item, one.value, one.form) for one in fact.body.lines} >= {("nitrate", "8.5", "as nitrate")}


@pytest.mark.source("fluids:0", detail="refuse, don't guess: hardness without its unit")
def test_a_bare_hardness_of_the_plant_is_told_at_its_field(moved: str, clock: SetClock) -> None:
    text = enter(
        moved, clock, BRAM_IS_HERE, *[""] * 5, "250", "250 ppm", "250 mg/L CaCO3", *[""] * 20, what="plant"
    )
    assert "Type the unit with the number" in text
    assert "250 ppm does not say what is counted." in text
    assert dict(plant(now(moved, clock).standing)[1].values) == {"hardness": "250"}
