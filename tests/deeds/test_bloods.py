"""Deeds of bloods: what is kept as the paper has it, what is asked, what is refused, and what stands open."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

import pytest

from ebbwell.core.errors import EbbwellError
from ebbwell.core.findings import Grade
from ebbwell.deeds import bloods, water
from ebbwell.deeds.bloods_now import blood_findings, short
from ebbwell.deeds.bloods_odd import pair_notes
from ebbwell.deeds.bloods_typed import read_dialyser_figures, read_result, units_of
from ebbwell.deeds.desk import Asked, Refused
from ebbwell.journal.kinds.bloods import BloodLine, BloodResult, BloodTarget
from ebbwell.papers.described_bloods import line_words
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.warned import call_is_open, warnings
from ebbwell.rulebook.substances import load_substances
from ebbwell.rulebook.typed import say_question
from ebbwell.state.bloods import blood_results, body_figures, dialyser_figures, targets, urine
from tests.deeds.homes import wrong
from tests.hazards.home import Home

D = Decimal
PAPER = {"sampled_on": "2026-04-27", "drawn": "before", "laboratory": "Invented laboratory"}
TARGET = {
    "substance": "phosphate",
    "unit": "mmol/L",
    "low": "1.1",
    "high": "1.8",
    "giver": "home team",
    "given_on": "2026-01-05",
}
LEAFLET = {
    "dialyser": "D-18",
    "blood_flow": "300",
    "fluid_flow": "500",
    "clearance.urea": "266",
    "clearance.phosphate": "218",
    "stands_in": "leaflet, page 2",
}
URINE = {"ended_on": "2026-04-27", "hours": "24", "volume_ml": "250"}
BODY = {"height_cm": "168", "born": "1964", "water_by": "woman"}


def figures(**typed: str) -> dict[str, str]:
    """Substance to figure with its unit behind it."""
    return {f"value.{name}": figure for name, figure in typed.items()}


def enter(home: Home, typed: Mapping[str, str] = {}, /, sure: tuple[str, ...] = (), **of: str) -> str:
    typed = {**PAPER, **typed, **figures(**of)}
    return home.do(bloods.enter_bloods, typed=typed, sure=sure).entries[0]


def asked(home: Home, typed: Mapping[str, str] = {}, /, **of: str) -> list[str]:
    """Keys of the questions about a result; all of them have words."""
    with pytest.raises(Asked) as why:
        enter(home, typed, **of)
    assert all(say_question(question) for question in why.value.questions)
    return [question.key for question in why.value.questions]


def wrongs(home: Home, typed: Mapping[str, str] = {}, /, **of: str) -> dict[str, str]:
    """Field to what is wrong with it."""
    _, form = read_result(home.look(), {**PAPER, **typed, **figures(**of)})
    return {name: str(why.params.get("why", why.key)) for name, why in form.wrong.items()}


def held(home: Home) -> BloodResult:
    return blood_results(home.look().standing)[0].body


def told(home: Home) -> list[str]:
    desk = home.look()
    return [finding_words(found, desk) for found in blood_findings(desk)]


def test_enter_bloods_keeps_each_figure_as_the_paper_has_it(home: Home) -> None:
    enter(
        home,
        {"unit.potassium": "mmol/L", "low.potassium": "3,5", "high.potassium": "5,1"},
        potassium="5,1",
        c_reactive_protein="<0.3 mg/dL",
        creatinine="712 \N{MICRO SIGN}mol/l",
        urea="61 mg/dL urea nitrogen (BUN)",
    )
    assert held(home).lines == (
        BloodLine(
            substance="urea", value="61", unit="mg/dL as nitrogen", typed="61 mg/dL urea nitrogen (BUN)"
        ),
        BloodLine(substance="creatinine", value="712", unit="umol/L", typed="712 \N{MICRO SIGN}mol/l"),
        BloodLine(substance="potassium", value="5.1", unit="mmol/L", low="3.5", high="5.1", typed="5,1"),
        BloodLine(substance="c_reactive_protein", value="0.3", unit="mg/dL", below=True, typed="<0.3 mg/dL"),
    )
    assert told(home) == []


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"value.urea": "20"}, "unit.urea"),
        ({"value.urea": "20 mg/dL"}, "value.urea"),
        ({"value.urea": "20 pints"}, "value.urea"),
        ({"value.urea": "20", "unit.urea": "g/L"}, "value.urea"),
        ({"value.urea": "20 mmol/L", "unit.urea": "mg/dL as nitrogen"}, "unit.urea"),
        ({"value.urea": "nan mmol/L"}, "value.urea"),
        ({"value.urea": "inf", "unit.urea": "mmol/L"}, "value.urea"),
        ({"value.urea": "-3 mmol/L"}, "value.urea"),
        ({"value.urea": "<0 mmol/L"}, "value.urea"),
        ({"value.urea": "20-22 mmol/L"}, "value.urea"),
        ({"value.urea": "9999999 mmol/L"}, "value.urea"),
        ({"value.creatinine": "1,050 umol/L"}, "value.creatinine"),
        ({"value.lung_water": "3 L"}, "value.lung_water"),
        ({"low.urea": "2"}, "low.urea"),
        ({"value.urea": "20 mmol/L", "low.urea": "8", "high.urea": "2"}, "high.urea"),
        ({"value.urea": "20 mmol/L", "high.urea": "high"}, "high.urea"),
        ({"sampled_on": "2027-01-01"}, "sampled_on"),
        ({"sampled_on": "yesterday"}, "sampled_on"),
        ({"reported_on": "2026-04-01"}, "reported_on"),
        ({"drawn": "during"}, "drawn"),
        ({"minutes_after": "5"}, "minutes_after"),
        ({"slowed": "slowed"}, "slowed"),
        ({"slowed": "perhaps"}, "slowed"),
        ({"night": "another"}, "night"),
    ],
)
def test_enter_bloods_refuses_what_can_t_be_read_at_its_own_field(
    home: Home, typed: dict[str, str], field: str
) -> None:
    full = {**PAPER, "value.phosphate": "1.7 mmol/L", **typed}
    assert set(read_result(home.look(), full)[1].wrong) == {field}
    with pytest.raises(EbbwellError) as why:
        home.do(bloods.enter_bloods, typed=full)
    assert not isinstance(why.value, Asked)
    assert home.look().standing.of("blood_result") == ()


@pytest.mark.hazard("H28")
def test_urea_in_milligrams_alone_is_refused_and_both_of_its_units_are_named(home: Home) -> None:
    (said,) = wrongs(home, urea="60 mg/dL").values()
    assert "mg/dL urea nitrogen (BUN)" in said
    assert "mg/dL urea." in said


def test_enter_bloods_refuses_an_empty_paper(home: Home) -> None:
    with wrong("bloods.no_lines"):
        enter(home)


def test_three_places_are_a_decimal_mark_where_thousands_can_t_be(home: Home) -> None:
    enter(home, calcium="2,345 mmol/L")
    assert held(home).lines[0].value == "2.345"


def test_a_range_with_one_end_is_kept(home: Home) -> None:
    enter(home, {"high.c_reactive_protein": "<5"}, c_reactive_protein="<1 mg/L")
    assert (held(home).lines[0].low, held(home).lines[0].high) == ("", "5")


@pytest.mark.parametrize("name", load_substances())
def test_the_middle_of_each_range_is_asked_nothing(home: Home, name: str) -> None:
    known = load_substances()[name]
    enter(home, **{name: f"{short((known.ask_low + known.ask_high) / 2)} {known.unit}"})
    assert held(home).asked == ()


@pytest.mark.parametrize("name", load_substances())
def test_past_the_range_is_asked_once_and_far_past_it_again_in_other_words(home: Home, name: str) -> None:
    known = load_substances()[name]
    past = f"{short(known.ask_high * D('1.02'))} {known.unit}"
    if known.last_high > known.ask_high:
        (key,) = asked(home, **{name: past})
        assert key in ("blood_outside", "blood_unit_by_usual")
    far = asked(home, **{name: f"{short(known.last_high * D('1.1'))} {known.unit}"})
    assert far[-1] == "blood_far"
    assert len(far) == 2
    enter(home, sure=tuple(far), **{name: f"{short(known.last_high * D('1.1'))} {known.unit}"})
    assert held(home).asked == tuple(far)


def test_a_figure_with_a_sign_is_kept_with_it_and_shown_so(home: Home) -> None:
    enter(home, {"low.ferritin": ">60"}, ferritin="> 1 500 ug/L", sure=("blood_outside",))
    (line,) = (line for line in held(home).lines if line.substance == "ferritin")
    assert (line.value, line.sign, line.low) == ("1500", ">", "60")
    assert line_words(line) == "> 1500 ug/L"


def test_less_than_a_low_figure_is_not_asked_about(home: Home) -> None:
    enter(home, ferritin="<15 ug/L", creatinine="<20 umol/L")
    assert [line.below for line in held(home).lines] == [True, True]


@pytest.mark.source("kinetics:A1", detail="1 mmol/L of urea is 2.8 mg/dL of its nitrogen")
@pytest.mark.parametrize(
    ("own", "typed", "keys"),
    [
        ((), "60 mmol/L", ["blood_unit_by_usual"]),
        (("21 mmol/L", "22 mmol/L"), "60 mmol/L", ["blood_unit_by_own"]),
        (("14 mmol/L", "15 mmol/L"), "40 mmol/L", ["blood_unit_by_own"]),
        (("40 mg/dL as nitrogen", "42 mg/dL as nitrogen"), "15 mg/dL as nitrogen", ["blood_unit_by_own"]),
        (("14 mmol/L", "15 mmol/L"), "1.45 mmol/L", ["blood_tenfold"]),
    ],
)
@pytest.mark.hazard("H28")
def test_a_unit_or_a_mark_that_slipped_is_asked_about_and_kept_as_typed(
    home: Home, own: tuple[str, ...], typed: str, keys: list[str]
) -> None:
    for month, before in enumerate(own, start=1):
        enter(home, {"sampled_on": f"2026-0{month}-02"}, urea=before)
    assert asked(home, urea=typed) == keys
    enter(home, sure=tuple(keys), urea=typed)
    assert held(home).lines[0].value == typed.split()[0]
    assert held(home).asked == tuple(keys)


def test_a_figure_that_swings_tenfold_by_itself_is_no_slip_of_the_mark(home: Home) -> None:
    for month in (1, 2):
        enter(home, {"sampled_on": f"2026-0{month}-02"}, c_reactive_protein="4 mg/L")
    enter(home, c_reactive_protein="41 mg/L")
    assert held(home).asked == ()


@pytest.mark.hazard("H28")
def test_urea_that_doesn_t_go_with_creatinine_is_asked_about(home: Home) -> None:
    for month, urea in ((1, "14"), (2, "14.5")):
        enter(home, {"sampled_on": f"2026-0{month}-02"}, urea=f"{urea} mmol/L", creatinine="500 umol/L")
    assert asked(home, urea="30 mmol/L", creatinine="500 umol/L")[0].startswith("blood_unit")
    assert asked(home, urea="21 mmol/L", creatinine="345 umol/L") == ["blood_ratio_own"]


def test_a_sample_that_stands_already_is_asked_about_but_not_when_it_is_typed_again(home: Home) -> None:
    first = enter(home, urea="20 mmol/L")
    assert asked(home, urea="21 mmol/L") == ["blood_twice"]
    again = {**PAPER, **figures(urea="21 mmol/L")}
    home.do(bloods.enter_bloods, typed=again, instead_of=(first,))
    (view,) = blood_results(home.look().standing)
    assert view.body.lines[0].value == "21"


def test_enter_bloods_refuses_to_take_the_place_of_what_isn_t_there(home: Home) -> None:
    with pytest.raises(Refused):
        home.do(bloods.enter_bloods, typed={**PAPER, **figures(urea="21 mmol/L")}, instead_of=("x",))


def after(home: Home, **more: str) -> dict[str, str]:
    """The head of a sample at the end of the night of this home."""
    (night,) = home.look().past
    head = {"drawn": "after", "sampled_on": "2026-04-30", "night": night, "minutes_after": "0"}
    return {**head, "slowed": "slowed", **more}


def before(home: Home) -> dict[str, str]:
    (night,) = home.look().past
    return {"drawn": "before", "sampled_on": "2026-04-29", "night": night}


def notes(home: Home) -> list[str]:
    view = blood_results(home.look().standing)[0]
    return [key for key, _ in pair_notes(home.look(), view.fact, view.body)]


@pytest.mark.source("kinetics:A1", detail="after 8 h a tenth to a quarter of urea is left")
@pytest.mark.parametrize(
    ("urea", "keys"),
    [
        ("4.1", []),
        ("24", ["blood_pair_swapped"]),
        ("20", ["blood_pair_same"]),
        ("12", ["blood_pair_little"]),
        ("0.9", ["blood_pair_much"]),
    ],
)
def test_the_two_samples_of_a_night_are_held_against_each_other(
    off: Home, urea: str, keys: list[str]
) -> None:
    enter(off, before(off), urea="20 mmol/L")
    if not keys:
        enter(off, after(off), urea=f"{urea} mmol/L")
        assert notes(off) == []
        return
    assert asked(off, after(off), urea=f"{urea} mmol/L") == keys
    enter(off, after(off), sure=tuple(keys), urea=f"{urea} mmol/L")
    assert notes(off) == [keys[0].removeprefix("blood_")]


def test_the_first_sample_typed_last_is_held_against_the_other_as_well(off: Home) -> None:
    enter(off, after(off), urea="4 mmol/L")
    assert notes(off) == ["no_before"]
    assert asked(off, before(off), urea="3.9 mmol/L") == ["blood_pair_swapped"]


def test_how_the_sample_at_the_end_was_drawn_stands_beside_it(off: Home) -> None:
    enter(off, before(off), urea="20 mmol/L")
    enter(off, after(off, minutes_after="30", slowed=""), urea="4 mmol/L")
    assert notes(off) == ["drawn_late", "slowed_unknown"]
    first = blood_results(off.look().standing)[0].fact.id
    early = {**PAPER, **after(off, minutes_after="-10", slowed="not_slowed"), **figures(urea="4 mmol/L")}
    off.do(bloods.enter_bloods, typed=early, instead_of=(first,))
    assert notes(off) == ["drawn_early", "not_slowed"]


@pytest.mark.parametrize("which", [before, after])
def test_a_sample_without_its_night_is_asked_about_where_one_ran(
    off: Home, which: Callable[[Home], dict[str, str]]
) -> None:
    typed = {**which(off), "night": ""}
    assert asked(off, typed, urea="20 mmol/L") == ["blood_no_night"]
    enter(off, typed, sure=("blood_no_night",), urea="20 mmol/L")
    assert "no_night" in notes(off)
    enter(off, {**typed, "sampled_on": "2026-04-27"}, urea="19 mmol/L")
    enter(off, typed, potassium="5 mmol/L")


def test_a_sample_of_half_an_hour_later_is_another_sample(off: Home) -> None:
    enter(off, before(off), urea="20 mmol/L")
    enter(off, after(off), urea="4 mmol/L")
    enter(off, after(off, minutes_after="30"), urea="4.6 mmol/L")
    look = off.look()
    keys = {key for v in blood_results(look.standing) for key, _ in pair_notes(look, v.fact, v.body)}
    assert "two_differ" not in keys
    assert asked(off, after(off, minutes_after="30"), urea="4.7 mmol/L") == ["blood_twice"]


def test_two_results_of_one_moment_that_differ_say_so_beside_each(off: Home) -> None:
    enter(off, before(off), urea="20 mmol/L")
    enter(off, before(off), sure=("blood_twice",), urea="21 mmol/L")
    look = off.look()
    told = [pair_notes(look, view.fact, view.body) for view in blood_results(look.standing)]
    assert told == [
        [("two_differ", {"one": "21 mmol/L", "other": "20 mmol/L"})],
        [("two_differ", {"one": "20 mmol/L", "other": "21 mmol/L"})],
    ]


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ({"sampled_on": "2026-04-27"}, "bloods.night_apart"),
        ({"drawn": "between", "minutes_after": "", "slowed": ""}, "bloods.night_between"),
        ({"night": "no such night"}, "bloods.no_such_night"),
    ],
)
def test_enter_bloods_refuses_a_night_that_the_sample_can_t_be_of(
    off: Home, more: dict[str, str], key: str
) -> None:
    with wrong(key):
        enter(off, {**after(off), **more}, urea="4 mmol/L")


def test_a_night_that_was_only_opened_has_no_sample(night: Home) -> None:
    with wrong("bloods.no_such_night"):
        enter(night, {**before(night)}, urea="20 mmol/L")


@pytest.mark.source(
    "practice:h2", detail="potassium before: call under 3.0 or over 6.5; phosphate under 0.8 mmol/L"
)
@pytest.mark.parametrize(
    ("name", "figure", "words"),
    [
        (
            "potassium",
            "6.6 mmol/L",
            "Potassium was 6.6 mmol/L on 27 April 2026. Units ask for a call over 6.5 mmol/L",
        ),
        ("potassium", "2.9 mmol/L", "Units ask for a call under 3 mmol/L"),
        ("phosphate", "2.4 mg/dL", "Phosphate was 2.4 mg/dL (0.775 mmol/L) on 27 April 2026."),
        ("phosphate", "<0.8 mmol/L", "Phosphate was < 0.8 mmol/L"),
        ("potassium", ">6.5 mmol/L", "Potassium was > 6.5 mmol/L"),
    ],
)
def test_a_figure_past_a_line_asks_for_a_call_with_its_range(
    home: Home, name: str, figure: str, words: str
) -> None:
    typed = {**PAPER, f"value.{name}": figure, f"low.{name}": "3.5", f"high.{name}": "5.1"}
    keys = ("blood_outside", "blood_unit_by_usual")
    (found,) = home.do(bloods.enter_bloods, typed=typed, sure=keys).findings
    assert found.grade is Grade.STOP
    (said,) = told(home)
    assert words in said
    assert "The range on the paper of Invented laboratory is 3.5 to 5.1" in said
    assert said.endswith("Call your unit and read it to them.")
    assert found in warnings(home.look())
    assert call_is_open(home.look())


@pytest.mark.parametrize("figure", ["3.0", "6.5", "5", ">2.5", "<7"])
def test_a_figure_at_a_line_asks_for_no_call(home: Home, figure: str) -> None:
    enter(home, sure=("blood_outside",), potassium=f"{figure} mmol/L")
    assert told(home) == []


def test_a_low_figure_at_the_end_of_a_night_asks_for_no_call(off: Home) -> None:
    enter(off, after(off), potassium="2.8 mmol/L", phosphate="0.6 mmol/L")
    assert blood_findings(off.look()) == ()


@pytest.mark.source("practice:h2", detail="platelets fall by half on heparin: stop, call")
def test_platelets_fallen_by_half_ask_for_a_call_before_heparin(home: Home) -> None:
    enter(home, {"sampled_on": "2026-03-30"}, platelets="240 10*9/L")
    typed = {**PAPER, **figures(platelets="118 10*3/uL")}
    (found,) = home.do(bloods.enter_bloods, typed=typed).findings
    assert found.rule == "blood_call_half"
    (said,) = told(home)
    assert "The paper gives no range." in said
    assert "(240 x 10\N{SUPERSCRIPT THREE}/uL" in said
    assert said.endswith("Call your unit before you give heparin again.")


def test_a_call_stays_until_the_unit_s_word_which_stays_beside_the_result(home: Home) -> None:
    entry = enter(home, sure=("blood_outside",), potassium="6.8 mmol/L")
    enter(home, {"sampled_on": "2026-03-30"}, potassium="5 mmol/L")
    assert len(told(home)) == 1
    home.do(water.unit_said, of=entry, who="home team", words="Less fruit. Again on Friday.")
    assert told(home) == []
    assert not call_is_open(home.look())


def test_a_later_sample_past_no_line_answers_the_call(home: Home) -> None:
    enter(home, {"sampled_on": "2026-04-20"}, sure=("blood_outside",), potassium="6.8 mmol/L")
    enter(home, potassium="5 mmol/L")
    assert told(home) == []


@pytest.mark.parametrize("figure", [">5", "<3.1"])
def test_a_later_bound_that_may_lie_past_a_line_leaves_the_call_open(home: Home, figure: str) -> None:
    enter(home, {"sampled_on": "2026-04-20"}, sure=("blood_outside",), potassium="6.8 mmol/L")
    enter(home, potassium=f"{figure} mmol/L")
    (said,) = told(home)
    assert "6.8 mmol/L" in said


@pytest.mark.parametrize(
    ("before", "now", "falls"),
    [(">240", "118", True), ("<240", "118", False), ("240", ">118", False), ("240", "<118", True)],
)
def test_a_bound_tells_of_a_fall_by_half_only_where_it_is_sure(
    home: Home, before: str, now: str, falls: bool
) -> None:
    enter(home, {"sampled_on": "2026-03-30"}, platelets=f"{before} 10*9/L")
    enter(home, platelets=f"{now} 10*9/L")
    assert bool(told(home)) is falls


def test_set_target_keeps_what_the_clinic_wants_in_the_place_of_what_stood(home: Home) -> None:
    home.do(bloods.set_target, typed=TARGET)
    home.do(bloods.set_target, typed={**TARGET, "unit": "mg/dL", "low": "", "high": "5.5"})
    (one,) = targets(home.look().standing)["phosphate"]
    assert one.high == D("5.5") * D("0.3229")
    home.do(bloods.set_target, typed={**TARGET, "low": "", "high": "", "take_off": "yes"})
    assert targets(home.look().standing) == {}
    assert isinstance(home.look().standing.of("blood_target")[0].body, BloodTarget)


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ({"low": "", "high": ""}, "bloods.target_empty"),
        ({"take_off": "yes"}, "bloods.target_off_or"),
        ({"low": "", "high": "", "take_off": "yes"}, "bloods.no_target"),
        ({"low": "2"}, "bloods.range_crossed"),
        ({"unit": "g/L"}, "bloods.target_unit"),
        ({"low": "<1"}, "water.wrong"),
        ({"giver": ""}, "water.words_needed"),
        ({"given_on": "2027-01-01"}, "water.day_to_come"),
        ({"substance": "lung_water"}, "water.pick_needed"),
    ],
)
def test_set_target_refuses_what_can_t_be_one(home: Home, typed: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(bloods.set_target, typed={**TARGET, **typed})
    assert home.look().standing.of("blood_target") == ()


def test_set_target_refuses_the_same_again_and_asks_about_another_unit(home: Home) -> None:
    home.do(bloods.set_target, typed=TARGET)
    with wrong("bloods.same"):
        home.do(bloods.set_target, typed=TARGET)
    with pytest.raises(Asked) as why:
        home.do(bloods.set_target, typed={**TARGET, "low": "", "high": "5.5"})
    assert "5.5 mmol/L" in say_question(why.value.questions[0])


def test_enter_urine_keeps_a_collection(home: Home) -> None:
    home.do(bloods.enter_urine, typed={**URINE, "value.urea": "90 mmol/L", "value.creatinine": "4.1 mmol/L"})
    ((_, body),) = urine(home.look().standing)
    assert [(line.substance, line.value) for line in body.lines] == [("urea", "90"), ("creatinine", "4.1")]
    assert "mmol/L" not in units_of("creatinine")


@pytest.mark.parametrize(
    ("typed", "key"),
    [({"hours": "2"}, "urine_hours"), ({"volume_ml": "3100"}, "urine_much")],
)
def test_enter_urine_asks_about_what_is_far_from_usual(home: Home, typed: dict[str, str], key: str) -> None:
    with pytest.raises(Asked) as why:
        home.do(bloods.enter_urine, typed={**URINE, **typed})
    assert [question.key for question in why.value.questions] == [key]
    assert say_question(why.value.questions[0])


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ({"hours": ""}, "water.number_needed"),
        ({"volume_ml": "a lot"}, "water.wrong"),
        ({"ended_on": "2027-01-01"}, "water.day_to_come"),
        ({"value.potassium": "30 mmol/L"}, "bloods.unknown_substance"),
    ],
)
def test_enter_urine_refuses_what_can_t_be_read(home: Home, typed: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(bloods.enter_urine, typed={**URINE, **typed})


def test_set_dialyser_figures_keeps_one_set_a_dialyser(home: Home) -> None:
    home.do(bloods.set_dialyser_figures, typed=LEAFLET)
    home.do(bloods.set_dialyser_figures, typed={**LEAFLET, "dialyser": "d-18", "removal": "10"})
    home.do(bloods.set_dialyser_figures, typed={**LEAFLET, "dialyser": "D-21"})
    ((_, body),) = dialyser_figures(home.look().standing, "D-18")
    assert (body.removal, body.clearances) == ("10", {"urea": "266", "phosphate": "218"})
    assert len(home.look().standing.of("dialyser_figures")) == 2


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ({"clearance.urea": "310"}, "bloods.over_flow"),
        ({"clearance.urea": "", "clearance.phosphate": ""}, "bloods.no_clearance"),
        ({"blood_flow": ""}, "water.number_needed"),
        ({"stands_in": ""}, "water.words_needed"),
        ({"dialyser": ""}, "water.words_needed"),
    ],
)
def test_set_dialyser_figures_refuses_what_no_leaflet_can_say(
    home: Home, typed: dict[str, str], key: str
) -> None:
    with wrong(key):
        home.do(bloods.set_dialyser_figures, typed={**LEAFLET, **typed})
    assert read_dialyser_figures(home.look(), {**LEAFLET, **typed})[1].wrong


def test_set_dialyser_figures_asks_where_the_larger_is_cleared_better_and_refuses_the_same(
    home: Home,
) -> None:
    with pytest.raises(Asked) as why:
        home.do(bloods.set_dialyser_figures, typed={**LEAFLET, "clearance.phosphate": "270"})
    assert "phosphate" in say_question(why.value.questions[0])
    home.do(bloods.set_dialyser_figures, typed=LEAFLET)
    with wrong("bloods.same"):
        home.do(bloods.set_dialyser_figures, typed=LEAFLET)


def test_set_body_figures_keeps_one_set(home: Home) -> None:
    home.do(bloods.set_body_figures, typed=BODY)
    home.do(bloods.set_body_figures, typed={**BODY, "water_by": ""})
    ((_, body),) = body_figures(home.look().standing)
    assert (body.height_cm, body.born, body.water_by) == ("168", "1964", "")


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ({"height_cm": "16.8"}, "water.outside"),
        ({"height_cm": ""}, "water.number_needed"),
        ({"born": "64"}, "bloods.year_needed"),
        ({"born": "2030"}, "bloods.year_needed"),
        ({"water_by": "child"}, "water.pick_needed"),
    ],
)
def test_set_body_figures_refuses_what_can_t_be_so(home: Home, typed: dict[str, str], key: str) -> None:
    with wrong(key):
        home.do(bloods.set_body_figures, typed={**BODY, **typed})


def test_a_height_may_have_its_unit_behind_it(home: Home) -> None:
    home.do(bloods.set_body_figures, typed={**BODY, "height_cm": "168 cm"})
    assert body_figures(home.look().standing)[0][1].height_cm == "168"


@pytest.mark.parametrize(
    ("value", "words"),
    [("0", "0"), ("1234.5", "1234"), ("21.42", "21.4"), ("0.7750", "0.775"), ("2.000", "2"), ("100", "100")],
)
def test_a_converted_figure_is_shown_short(value: str, words: str) -> None:
    assert short(D(value)) == words
