"""Deeds of water results, and what of them stands open."""

from __future__ import annotations

from typing import Any

import pytest

from ebbwell.core.findings import Grade
from ebbwell.core.text import say
from ebbwell.deeds import water
from ebbwell.deeds.desk import Asked, Refused
from ebbwell.deeds.water_now import water_findings
from ebbwell.deeds.water_typed import Form
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.water import MicrobeResult, ReportLine, WaterNotice, WaterReport, WaterSet
from ebbwell.papers.spoken import finding_words
from ebbwell.papers.warned import call_is_open, warnings
from ebbwell.rulebook.water_lists import load_water_lists
from ebbwell.state.water import microbes, plant, reports
from tests.deeds.homes import wrong
from tests.hazards.home import Home

PAPER = {
    "laboratory": "Invented laboratory",
    "sampled_on": "2026-04-01",
    "port": "after the membrane",
    "list": "international",
    "unit": "mg/L",
}
SAMPLE = {
    "fluid": "fluid_standard",
    "list": "international",
    "drawn_at": "line in",
    "sampled_on": "2026-04-01",
    "read_on": "2026-04-08",
}


def report(home: Home, **typed: str) -> str:
    return home.do(water.enter_report, typed={**PAPER, **typed}).entries[0]


def sample(home: Home, **typed: str) -> str:
    return home.do(water.enter_microbes, typed={**SAMPLE, **typed}).entries[0]


def told(home: Home) -> list[str]:
    desk = home.look()
    return [finding_words(found, desk) for found in water_findings(desk)]


def paper(**lines: str) -> dict[str, str]:
    return {f"line.{item}": typed for item, typed in lines.items()}


@pytest.mark.source("fluids:W1", detail="22-item list: copper 0.1, lead 0.005 mg/L")
def test_enter_report_keeps_one_that_fails_and_names_the_line_and_is_named_first(home: Home) -> None:
    report(home, **paper(copper="0.02", lead="0.006", aluminium="0.02", zinc="<0.01"))
    (words,) = told(home)
    assert words.startswith(
        "Not yet: The water report of 1 April 2026 (after the membrane) fails. aluminium: 0.02 mg/L"
    )
    assert "the international list is 0.01 mg/L" in words
    assert "Over the limit too, or not shown: lead." in words
    assert words.endswith("Call your unit before you use this water.")
    assert call_is_open(home.look())


@pytest.mark.source("fluids:W1", detail="at the highest allowed value a line isn't over it")
def test_a_report_at_its_limits_says_nothing(home: Home) -> None:
    lines = {limit.item: str(limit.most) for limit in load_water_lists().chemical_list("international")}
    report(home, **paper(**lines), **{"form.nitrate": "as nitrogen"})
    assert told(home) == []
    (view,) = reports(home.look().standing)
    assert (len(view.lines), view.missing, view.fails) == (22, (), ())


@pytest.mark.source("fluids:1.1", detail="nitrate 2 as nitrogen is 8.85 as nitrate")
@pytest.mark.parametrize(("form", "fails"), [("as nitrogen", True), ("as nitrate", False)])
def test_nitrate_counts_in_its_form(home: Home, form: str, fails: bool) -> None:
    report(home, **paper(nitrate="8.8"), **{"form.nitrate": form})
    assert bool(told(home)) is fails


def test_nitrate_without_its_form_is_not_kept(home: Home) -> None:
    with wrong("water.wrong"):
        report(home, **paper(nitrate="8.8"))
    assert home.look().standing.of("water_report") == ()


@pytest.mark.parametrize(("typed", "fails"), [("<0.005", False), ("<0.01", True), ("0.005", False)])
def test_less_than_counts_by_its_own_figure(home: Home, typed: str, fails: bool) -> None:
    report(home, **paper(lead=typed))
    assert bool(told(home)) is fails
    if fails:
        assert "That can't show if it is under the most" in told(home)[0]


def test_a_line_keeps_the_unit_typed_behind_it(home: Home) -> None:
    report(home, **paper(lead="4 ug/L", calcium="0.04 mmol/L"))
    (view,) = reports(home.look().standing)
    assert [(line.value, line.unit) for line in view.body.lines] == [("4", "ug/L"), ("0.04", "mmol/L")]
    assert told(home) == []


@pytest.mark.source(
    "fluids:1.1", detail="ug typed as mg is 1,000 times too large; both readings over 20 times the limit"
)
def test_micrograms_typed_as_milligrams_are_asked_about(home: Home) -> None:
    with pytest.raises(Asked) as asked:
        report(home, **paper(copper="5", lead="0.004"))
    (question,) = asked.value.questions
    params = dict(question.params)
    assert params["lines"] == "copper: 5 mg/L, and the most is 0.1 mg/L. As ug it would be 5 ug/L"
    assert say("question.water_slip", "", **params)
    home.do(water.enter_report, typed={**PAPER, **paper(copper="5")}, sure=(question.key,))
    assert "copper: 5 mg/L" in told(home)[0]
    assert reports(home.look().standing)[0].body.asked == ("water_slip",)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("sampled_on", "1st of April"),
        ("sampled_on", "2027-04-01"),
        ("laboratory", " "),
        ("port", ""),
        ("list", "nowhere"),
        ("line.lead", "0,00,5"),
        ("line.lead", "-1"),
        ("line.lead", "<0"),
        ("line.lead", "5 uS/cm"),
        ("line.lead", "5 grains"),
        ("unit", "ppm"),
    ],
)
def test_enter_report_refuses_what_cannot_be_read_and_names_its_field(
    home: Home, field: str, typed: str
) -> None:
    desk = home.look()
    _, form = water.read_report(desk, {**PAPER, **paper(lead="0.001"), field: typed})
    assert field in form.wrong
    words = say(form.wrong[field].key, "", **form.wrong[field].params)
    assert len(words) > 15
    rows = home.house.store.last_row()
    with pytest.raises(type(form.wrong[field])):
        report(home, **{**paper(lead="0.001"), field: typed})
    assert home.house.store.last_row() == rows


def test_a_figure_without_any_unit_is_not_kept(home: Home) -> None:
    _, form = water.read_report(home.look(), {**PAPER, "unit": "", "line.lead": "0.001"})
    assert list(form.wrong) == ["line.lead"]
    assert "Pick the unit of the report" in say("water.wrong", "", **form.wrong["line.lead"].params)


def test_a_later_report_of_the_same_port_answers_a_line(home: Home) -> None:
    report(home, **paper(lead="0.006", copper="0.2"))
    report(home, sampled_on="2026-04-20", port="Tap", **paper(lead="0.001"))
    assert "copper" in told(home)[0]
    report(home, sampled_on="2026-04-20", port="After the membrane ", **paper(lead="0.001"))
    assert "lead" not in told(home)[0]
    report(home, sampled_on="2026-04-25", **paper(copper="0.1"))
    assert told(home) == []


def test_a_report_typed_again_takes_the_place_of_the_first(home: Home) -> None:
    first = report(home, **paper(lead="0.006"))
    home.do(water.enter_report, typed={**PAPER, **paper(lead="0.0006")}, instead_of=(first,))
    assert told(home) == []
    with pytest.raises(Refused):
        home.do(water.enter_report, typed={**PAPER, **paper(lead="0.1")}, instead_of=(first,))


@pytest.mark.source(
    "fluids:W7", detail="dialysis fluid: below 100 CFU/mL, action at 50; below 0.5 EU/mL, action at 0.25"
)
@pytest.mark.parametrize(
    ("typed", "grade", "words"),
    [
        ({"count": "49"}, None, ""),
        ({"count": "50"}, Grade.CARE, "That is not under the action level of 50 CFU/mL."),
        ({"count": "99"}, Grade.CARE, "That is not under the action level of 50 CFU/mL."),
        ({"count": "100"}, Grade.STOP, "It has to be under the limit of 100 CFU/mL"),
        ({"count": "TNTC"}, Grade.STOP, "TNTC. It has to be under the limit"),
        ({"count": ">300"}, Grade.STOP, "It has to be under"),
        ({"count": "<10"}, None, ""),
        ({"endotoxin": "0.24"}, None, ""),
        ({"endotoxin": "0.25"}, Grade.CARE, "action level of 0.25 EU/mL"),
        ({"endotoxin": "0.5"}, Grade.STOP, "under the limit of 0.5 EU/mL"),
        (
            {"fluid": "fluid_ultrapure", "count": "0", "plated_ml": "1"},
            Grade.CARE,
            "A 0 on 1 mL is too little",
        ),
        ({"fluid": "fluid_ultrapure", "count": "0", "plated_ml": "10"}, None, ""),
        ({"fluid": "fluid_ultrapure", "count": "0", "plated_ml": "100"}, None, ""),
        ({"fluid": "water_ultrapure", "endotoxin": "0.03"}, Grade.STOP, "under the limit of 0.03 EU/mL"),
        ({"list": "older_us", "count": "150"}, Grade.CARE, "action level of 50 CFU/mL"),
    ],
)
def test_enter_microbes_keeps_a_count_in_the_words_of_its_level(
    home: Home, typed: dict[str, str], grade: Grade | None, words: str
) -> None:
    sample(home, **typed)
    found = water_findings(home.look())
    assert [f.grade for f in found] == ([] if grade is None else [grade])
    if grade is not None:
        assert words in told(home)[0]


@pytest.mark.source("fluids:1.2", detail="ask for the volume plated before a 0 is accepted as ultrapure")
def test_a_nought_without_its_volume_is_asked_about(home: Home) -> None:
    typed = {**SAMPLE, "fluid": "water_ultrapure", "count": "0"}
    with pytest.raises(Asked):
        home.do(water.enter_microbes, typed=typed)
    home.do(water.enter_microbes, typed=typed, sure=("water_plated",))
    assert "A 0 says little without the volume. It takes a plate of 10 mL or more." in told(home)[0]


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("count", "many"),
        ("count", "5 EU/mL"),
        ("count", "5 CFU/mL"),
        ("count", "<0"),
        ("endotoxin", "0.1 mg/L"),
        ("read_on", "2026-03-20"),
        ("plated_ml", "<10"),
        ("plated_ml", "0"),
        ("fluid", "tea"),
        ("list", "older_us|fluid_ultrapure"),
    ],
)
def test_enter_microbes_refuses_a_count_that_cannot_be_read(home: Home, field: str, typed: str) -> None:
    form = {**SAMPLE, "count": "5", field: typed}
    if "|" in typed:
        form["list"], form["fluid"] = typed.split("|")
        field = "count"
    _, read = water.read_microbe_result(home.look(), form)
    assert field in read.wrong
    assert say(read.wrong[field].key, "", **read.wrong[field].params)
    rows = home.house.store.last_row()
    with pytest.raises(type(read.wrong[field])):
        home.do(water.enter_microbes, typed=form)
    assert home.house.store.last_row() == rows


def test_no_count_at_all_is_not_kept(home: Home) -> None:
    _, form = water.read_microbe_result(home.look(), SAMPLE)
    assert list(form.wrong) == ["count"]


def test_a_clear_repeat_of_the_same_fluid_answers_it(home: Home) -> None:
    sample(home, count="60", endotoxin="0.1")
    sample(home, fluid="water_standard", sampled_on="2026-04-11", read_on="2026-04-18", count="2")
    assert len(told(home)) == 1
    sample(home, sampled_on="2026-04-11", read_on="2026-04-18", endotoxin="0.05")
    assert len(told(home)) == 1
    sample(home, sampled_on="2026-04-11", read_on="2026-04-18", count="8")
    assert told(home) == []
    assert [view.body.sampled_on for view in microbes(home.look().standing)][-1] == "2026-04-01"


def test_unit_said_stands_beside_it_and_the_call_is_no_longer_asked(home: Home) -> None:
    of = report(home, **paper(lead="0.006"))
    home.do(
        water.unit_said, of=of, who="Northmere Kidney Unit", words="Nights may go on. New sample on Monday."
    )
    (found,) = water_findings(home.look())
    assert found.grade is Grade.CARE
    (words,) = told(home)
    assert "Northmere Kidney Unit said: Nights may go on. New sample on Monday." in words
    assert "Call your unit" not in words
    assert not call_is_open(home.look())


@pytest.mark.parametrize("said", [{"who": " ", "words": "go on"}, {"who": "unit", "words": ""}])
def test_unit_said_refuses_a_word_that_nobody_said(home: Home, said: dict[str, str]) -> None:
    of = report(home, **paper(lead="0.006"))
    with pytest.raises(Exception, match="enter"):
        home.do(water.unit_said, of=of, **said)
    with pytest.raises(Refused):
        home.do(water.unit_said, of="nothing", who="unit", words="go on")


def test_what_stands_open_is_told_on_a_night_too_and_holds_no_step_shut(ready: Home) -> None:
    report(ready, **paper(lead="0.006"))
    desk = ready.look()
    assert "water_report_over" in {found.rule for found in warnings(desk)}
    assert desk.gate_open


def test_a_form_reads_each_field_by_its_label() -> None:
    from datetime import date

    form = Form({"plated_ml": "0.5 ft3"}, date(2026, 4, 29))
    assert form.number("plated_ml", "mL", "0.01", "100000") == "14158.423"
    typed: dict[str, Any] = {"words": "x" * 501}
    form = Form(typed, date(2026, 4, 29))
    assert form.text("words") == ""
    assert form.wrong["words"].key == "water.too_long"


@pytest.mark.parametrize(
    "body",
    [
        WaterReport(
            laboratory="x",
            sampled_on="2026-04-01",
            port="tap",
            list="moon",
            lines=(ReportLine(item="lead", value="1", unit="mg/L"),),
        ),
        WaterReport(
            laboratory="x",
            sampled_on="2026-04-01",
            port="tap",
            list="international",
            lines=(ReportLine(item="lead", value="?", unit="mg/L"),),
        ),
        MicrobeResult(
            fluid="fluid_sterile",
            drawn_at="x",
            sampled_on="2026-04-01",
            read_on="2026-04-08",
            list="international",
            count="1",
        ),
    ],
)
def test_a_result_of_a_newer_program_is_told_and_not_judged(home: Home, body: Body) -> None:
    written_elsewhere(home, body)
    (words,) = told(home)
    assert "A water result of 1 April 2026 can't be held against its list here." in words


def test_a_notice_of_a_newer_program_is_told_with_its_bare_word(home: Home) -> None:
    written_elsewhere(home, WaterNotice(what="meteor", from_on="2026-04-01", told_by="card"))
    assert "meteor" in told(home)[0]


def test_of_two_plants_that_differ_only_what_they_agree_in_is_known(home: Home) -> None:
    for feed in ("0.6", "0.7"):
        written_elsewhere(home, WaterSet(values={"feed_flow": feed, "recovery": "50"}, list="international"))
    assert plant(home.look().standing)[1] == WaterSet(values={"recovery": "50"}, list="international")


def written_elsewhere(home: Home, body: Body) -> None:
    """An entry as another program may have written it, put in past every deed."""
    home.do(lambda desk: desk.add(body, standing=True) and None)
