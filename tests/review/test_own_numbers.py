"""What sums about weeks rest on: gathered from the record, each gap by its name, nothing guessed."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from ebbwell.core.clock import Moment
from ebbwell.core.text import say
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.bloods import (
    BloodLine,
    BloodResult,
    BodyFigures,
    DialyserFigures,
    UrineCollected,
)
from ebbwell.journal.kinds.orders import Prescription, SecondCheck
from ebbwell.papers.spoken import said_with_reason
from ebbwell.review.clearance import clearance_l_min, koa_by_leaflet
from ebbwell.review.own_numbers import OwnNumbers, own_numbers
from ebbwell.science.fit import expected
from ebbwell.state.facts import Facts
from ebbwell.state.night_fluid import NightFluid
from ebbwell.state.night_thinner import NightThinner
from ebbwell.state.own_past import NightSummary
from ebbwell.state.standing import Order, order
from tests.state.book import Book, facts_of

D = Decimal
LAST = date(2026, 3, 30)
NOW = Moment(datetime(2026, 4, 1, 10, 0, tzinfo=UTC), "Europe/Dublin", "boot-1", 0)
ORDER = {
    "dialyser": "Invented 17",
    "blood_flow": "230",
    "dialysate_flow": "300",
    "potassium": "2.0",
    "bicarbonate": "32",
}
LEAFLET = DialyserFigures(
    dialyser="invented 17",
    blood_flow="300",
    fluid_flow="500",
    clearances={"urea": "270", "phosphate": "225"},
    stands_in="leaflet, invented",
)


def summary(day: date, **more: object) -> NightSummary:
    at = datetime(day.year, day.month, day.day, 22, 0, tzinfo=UTC)
    given: dict[str, object] = {
        "values": {"weight_before": "66.3", "weight_after": "64.5"},
        "fluid": NightFluid(minutes=450),
        "rows": ((0, {"blood_flow": "230"}), (60, {"blood_flow": "240"}), (400, {"blood_flow": "230"})),
        "first_blood": at,
        "pump_stopped": at + timedelta(hours=7, minutes=30),
    }
    return NightSummary(
        treatment=f"t-{day.isoformat()}",
        night=day.isoformat(),
        phase="closed",
        opened_at=at - timedelta(hours=2),
        first={},
        packs=(),
        unsettled=False,
        **{**given, **more},  # type: ignore[arg-type]
    )


def every_other(count: int = 40) -> dict[str, NightSummary]:
    found = [summary(LAST - timedelta(days=2 * n)) for n in range(count)]
    return {one.treatment: one for one in found}


def result(day: date, drawn: str, urea: str, **more: object) -> BloodResult:
    lines = (BloodLine(substance="urea", value=urea, unit="mmol/L"), *more.pop("lines", ()))  # type: ignore[misc]
    return BloodResult(
        sampled_on=day.isoformat(),
        drawn=drawn,
        lines=lines,
        night=f"t-{day.isoformat()}",
        **more,  # type: ignore[arg-type]
    )


def facts(*bodies: Body, ordered: dict[str, str] | None = None) -> tuple[Facts, Order | None]:
    book = Book()
    paper = Prescription(
        number="3",
        giver="the unit",
        valid_from="2026-01-01",
        lines=ORDER if ordered is None else ordered,
    )
    first = book.add(paper, treatment=None)
    book.add(SecondCheck(of=(first.id,), how="person", values={}, agrees=True), treatment=None)
    for body in bodies:
        book.add(body, treatment=None)
    standing = facts_of(book.entries)
    return standing, order(standing)


def numbers(*bodies: Body, past: dict[str, NightSummary] | None = None) -> OwnNumbers:
    standing, held = facts(*bodies)
    return own_numbers(standing, every_other() if past is None else past, held, NOW)


PAIR = (result(LAST, "before", "18.0"), result(LAST, "after", "6.0"))


def gaps(found: OwnNumbers) -> set[str]:
    return {gap.key for gap in found.gaps}


def test_a_pair_and_a_leaflet_make_a_basis() -> None:
    found = numbers(LEAFLET, *PAIR)
    assert found.gaps == ()
    basis = found.basis
    assert basis is not None
    (month,) = found.months
    assert (month.treatment, month.night, found.used) == ("t-2026-03-30", LAST, (0,))
    bloods = month.bloods
    assert bloods is not None
    assert bloods.before == pytest.approx(18 / 0.93)
    assert bloods.post == pytest.approx(6 / 0.93)
    assert (bloods.starts_min, bloods.cycle_min, bloods.which) == ((0.0,), 2880.0, 0)
    assert (bloods.weight_kg, bloods.minutes) == (64.5, 450.0)
    gained = 1.8 / ((2880 - 450) / 1440)
    assert basis.gain_l_day == pytest.approx(gained)
    assert bloods.gain_l_min == pytest.approx(gained / 1440)
    assert (basis.present.days, basis.present.cycle_days, basis.present.hours) == ((0,), 2, 7.5)
    assert basis.present.blood_flow_ml_min == 230
    assert basis.present.fluid_flow_ml_min == 300, "no reading has it, so it is the ordered one"
    assert basis.bath == {"potassium": 2.0, "bicarbonate": 32.0}
    assert set(basis.koa_ml_min) == {"urea", "phosphate"}
    assert basis.before == {"urea": 18.0}


def test_the_fit_finds_the_numbers_that_made_the_bloods() -> None:
    found = numbers(LEAFLET, *PAIR)
    assert found.basis is not None
    bloods = found.basis.months[0]
    told = expected(bloods, found.basis.fit.water_share.middle, found.basis.fit.clearance_over.middle)
    made = found.basis.fit.generation[0]
    assert made.low < made.middle < made.high
    assert told.before > told.post


def test_a_weekly_pattern_names_the_place_of_the_night() -> None:
    days = [LAST - timedelta(days=n) for n in range(60)]
    past = {
        one.treatment: one
        for one in map(summary, days)
        if date.fromisoformat(one.night).weekday() in (0, 2, 4)
    }
    wednesday = date(2026, 3, 25)
    found = numbers(LEAFLET, result(wednesday, "before", "20"), result(wednesday, "after", "7"), past=past)
    bloods = found.months[0].bloods
    assert bloods is not None
    assert (bloods.starts_min, bloods.cycle_min, bloods.which) == ((0.0, 2880.0, 5760.0), 10080.0, 1)


@pytest.mark.parametrize(
    ("hours", "minute"),
    [(22, 23 * 60), (24.5, 25.5 * 60), (10, 11 * 60), (0.25, 1.25 * 60)],
)
def test_a_start_counts_from_the_midnight_of_its_own_day(hours: float, minute: float) -> None:
    """Also for a treatment of the morning, and for one whose set-up began after midnight. Dublin is an hour ahead."""
    past = {}
    for n in range(1, 20):
        day = date(2026, 8, 30) - timedelta(days=2 * n)
        at = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=hours)
        one = summary(day, first_blood=at, pump_stopped=at + timedelta(hours=7, minutes=30))
        past[one.treatment] = one
    standing, held = facts(
        LEAFLET, *(result(date(2026, 8, 28), *two) for two in (("before", "18"), ("after", "6")))
    )
    now = Moment(datetime(2026, 8, 30, 10, 0, tzinfo=UTC), "Europe/Dublin", "boot-1", 0)
    basis = own_numbers(standing, past, held, now).basis
    assert basis is not None
    assert basis.present.start_min == pytest.approx(minute)


def test_levels_are_the_newest_before_in_one_unit() -> None:
    lines = (
        BloodLine(substance="phosphate", value="5.0", unit="mg/dL"),
        BloodLine(substance="creatinine", value="700", unit="umol/L"),
        BloodLine(substance="beta_2_microglobulin", value="2", unit="mg/L", below=True),
        BloodLine(substance="potassium", value="8", unit="mmol/L", above=True),
    )
    older = result(LAST - timedelta(days=28), "before", "21.0", lines=lines)
    found = numbers(LEAFLET, *PAIR, older)
    assert found.basis is not None
    assert found.basis.before == pytest.approx({"urea": 18.0, "phosphate": 5.0 * 0.3229, "creatinine": 0.7})


@pytest.mark.source(
    "kinetics:A7", detail="Kru = U Vu / (T Pmean); 24 h before dialysis Pmean is about 0.9 of P before"
)
def test_urine_of_a_day_is_held_against_the_level_before() -> None:
    found = numbers(LEAFLET, *PAIR, day_of_urine("24"))
    (month,) = found.months
    assert month.bloods is not None
    assert month.bloods.residual_l_min == pytest.approx(120 * 250 / (1440 * 0.9 * 18) * 0.93 / 1000)
    assert [note.key for note in month.notes] == ["own.urine_taken_as_day"]
    (told,) = numbers(LEAFLET, *PAIR, day_of_urine("24", taken="last_day")).months
    assert told.bloods == month.bloods
    assert [note.key for note in told.notes] == ["own.urine_day"]


@pytest.mark.source("kinetics:A7", detail="Kru = U Vu / (T Pmean), Pmean of after and before")
def test_urine_of_all_the_time_between_goes_by_the_mean_and_of_less_than_that_by_none() -> None:
    (month,) = numbers(LEAFLET, *PAIR, day_of_urine("40", taken="between")).months
    assert month.bloods is not None
    assert month.bloods.residual_l_min == pytest.approx(120 * 250 / (2400 * 12.0) * 0.93 / 1000)
    assert month.notes == ()
    (less,) = numbers(LEAFLET, *PAIR, day_of_urine("24", taken="between")).months
    assert less.bloods is not None
    assert less.bloods.residual_l_min == 0
    assert [dict(note.params)["why"] for note in less.notes] == ["science.urine_part_of_gap"]


def test_urine_of_another_time_counts_for_nothing_and_says_why() -> None:
    (month,) = numbers(LEAFLET, *PAIR, day_of_urine("24", taken="other")).months
    assert month.bloods is not None
    assert month.bloods.residual_l_min == 0
    (note,) = month.notes
    assert (note.key, dict(note.params)["why"]) == ("own.urine_cant_be", "own.urine_other")
    assert say("own.urine_other") != "own.urine_other"


def test_urine_whose_urea_is_a_bound_counts_for_nothing() -> None:
    line = BloodLine(substance="urea", value="120", unit="mmol/L", below=True)
    (month,) = numbers(LEAFLET, *PAIR, replace(day_of_urine("24"), lines=(line,))).months
    assert month.bloods is not None
    assert month.bloods.residual_l_min == 0
    assert [note.key for note in month.notes] == ["own.no_urine"]


@pytest.mark.parametrize(
    ("hours", "of_a_day"), [("19.9", False), ("20", True), ("28", True), ("28.1", False)]
)
def test_urine_of_twenty_to_twenty_eight_hours_is_that_of_a_day(hours: str, of_a_day: bool) -> None:
    (month,) = numbers(LEAFLET, *PAIR, day_of_urine(hours)).months
    assert ("own.urine_taken_as_day" in [note.key for note in month.notes]) == of_a_day


def day_of_urine(hours: str, taken: str = "") -> UrineCollected:
    return UrineCollected(
        ended_on="2026-03-29",
        hours=hours,
        taken=taken,
        volume_ml="250",
        lines=(BloodLine(substance="urea", value="120", unit="mmol/L"),),
    )


@pytest.mark.parametrize(
    ("hours", "why"), [("12", "Urine of 12 h is neither"), ("32", "Urine of 32 h"), ("110", "6600 min")]
)
def test_urine_that_cannot_be_told_counts_as_none_and_says_why(hours: str, why: str) -> None:
    """Every other night of 7.5 h leaves 40.5 h between."""
    (month,) = numbers(LEAFLET, *PAIR, day_of_urine(hours)).months
    assert month.bloods is not None
    assert month.bloods.residual_l_min == 0
    (note,) = month.notes
    assert note.key == "own.urine_cant_be"
    assert why in said_with_reason(note.key, note.params)


@pytest.mark.source("kinetics:A7", detail="Kru = U Vu / (T Pmean), Pmean of after and before")
def test_urine_of_all_the_time_between_counts_by_the_mean() -> None:
    collected = UrineCollected(
        ended_on="2026-03-29",
        hours="40",
        volume_ml="250",
        lines=(BloodLine(substance="urea", value="120", unit="mmol/L"),),
    )
    found = numbers(LEAFLET, *PAIR, collected)
    bloods = found.months[0].bloods
    assert bloods is not None
    of_plasma = 120 * 250 / (2400 * (18 + 6) / 2)
    assert bloods.residual_l_min == pytest.approx(of_plasma * 0.93 / 1000)
    assert found.months[0].notes == ()
    without = numbers(LEAFLET, *PAIR).months[0]
    assert [note.key for note in without.notes] == ["own.no_urine"]


@pytest.mark.source("kinetics:A7", detail="Pmean is that of the interval in which the urine was collected")
def test_urine_is_held_against_the_bloods_of_its_own_days() -> None:
    """Urea rose by half in two months; what the kidneys clear didn't change by that."""
    collected = day_of_urine("40")
    then = LAST - timedelta(days=28)
    older = result(then, "before", "12.0"), result(then, "after", "4.0")
    found = numbers(LEAFLET, *PAIR, *older, collected)
    of_plasma = 120 * 250 / (2400 * (18 + 6) / 2)
    assert [month.night for month in found.months] == [then, LAST]
    for month in found.months:
        assert month.bloods is not None
        assert month.bloods.residual_l_min == pytest.approx(of_plasma * 0.93 / 1000)


def test_without_anything_each_lack_has_its_name() -> None:
    assert gaps(numbers(past={})) == {
        "own.no_leaflet_of",
        "own.no_pairs",
        "own.no_pattern",
        "own.no_weights",
    }
    standing, _ = facts()
    assert "own.no_dialyser" in gaps(own_numbers(standing, {}, None, NOW))


Change = Callable[[dict[str, NightSummary]], None]


def _without(past: dict[str, NightSummary], name: str) -> None:
    one = past["t-2026-03-30"]
    values = {key: value for key, value in one.values.items() if key != name}
    past["t-2026-03-30"] = summary(LAST, values=values)


def _shortened(past: dict[str, NightSummary]) -> None:
    past["t-2026-03-30"] = summary(LAST, fluid=NightFluid(minutes=None))


def _missed(past: dict[str, NightSummary]) -> None:
    del past["t-2026-03-26"]


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (lambda past: _without(past, "weight_after"), "own.no_weight_after"),
        (_shortened, "own.no_minutes"),
        (_missed, "own.not_settled"),
    ],
)
def test_a_pair_whose_night_lacks_something_stays_with_its_reason(change: Change, key: str) -> None:
    past = every_other()
    change(past)
    found = numbers(LEAFLET, *PAIR, past=past)
    (month,) = found.months
    assert month.bloods is None
    assert key in {gap.key for gap in month.gaps}
    assert found.basis is None
    assert "own.no_usable_pairs" in gaps(found)


def test_bloods_that_cant_be_a_pair_stay_with_their_reason() -> None:
    swapped = numbers(LEAFLET, result(LAST, "before", "6"), result(LAST, "after", "18"))
    assert [gap.key for gap in swapped.months[0].gaps] == ["own.not_falling"]
    same = numbers(LEAFLET, result(LAST, "before", "18"), result(LAST, "after", "18"))
    assert [gap.key for gap in same.months[0].gaps] == ["own.not_falling"]
    twice = numbers(LEAFLET, *PAIR, result(LAST, "after", "7"))
    assert [gap.key for gap in twice.months[0].gaps] == ["own.two_results"]
    paper = result(LAST, "after", "6")
    other_unit = replace(paper, lines=(BloodLine(substance="urea", value="16.8", unit="mg/dL as nitrogen"),))
    assert numbers(LEAFLET, *PAIR, other_unit).months[0].gaps == ()
    alone = numbers(LEAFLET, result(LAST, "after", "6"))
    assert alone.months == ()
    assert gaps(alone) == {"own.no_pairs"}


def test_of_two_samples_of_a_night_the_one_at_its_end_counts() -> None:
    later = result(LAST, "after", "6.9", minutes_after="30")
    for bodies in ((*PAIR, later), (PAIR[0], later, PAIR[1])):
        (month,) = numbers(LEAFLET, *bodies).months
        assert (month.urea_after.value, month.gaps) == (D("6.0"), ())
        assert month.bloods is not None
        assert month.bloods.drawn_after_min == 0
    (alone,) = numbers(LEAFLET, PAIR[0], later).months
    assert alone.bloods is not None
    assert alone.bloods.drawn_after_min == 30


def test_a_sample_from_while_dialysis_ran_is_taken_as_that() -> None:
    early = numbers(LEAFLET, PAIR[0], result(LAST, "after", "6.0", minutes_after="-30")).months[0]
    assert early.bloods is not None
    assert early.bloods.drawn_after_min == -30.0
    before = numbers(LEAFLET, PAIR[0], result(LAST, "after", "6.0", minutes_after="-450")).months[0]
    assert (before.bloods, [gap.key for gap in before.gaps]) == (None, ["own.drawn_before"])


def test_a_leaflet_that_is_lacking_or_doubled_is_named() -> None:
    assert gaps(numbers(*PAIR)) == {"own.no_leaflet_of", "own.no_usable_pairs"}
    other = DialyserFigures(
        dialyser="Invented 17",
        blood_flow="300",
        fluid_flow="500",
        clearances={"urea": "260"},
        stands_in="another leaflet",
    )
    assert "own.two_leaflets" in gaps(numbers(*PAIR, LEAFLET, other))
    wrong = DialyserFigures(
        dialyser="Invented 17",
        blood_flow="200",
        fluid_flow="500",
        clearances={"urea": "260"},
        stands_in="x",
    )
    assert "own.leaflet_cant_be" in gaps(numbers(*PAIR, wrong))


def test_a_pair_goes_by_the_dialyser_and_the_flows_ordered_for_its_own_night() -> None:
    """Two months ago another dialyser and other flows stood on the order, and nobody read the flows that night."""
    then = LAST - timedelta(days=28)
    past = every_other()
    shown = {"dialyser": "Invented 13", "blood_flow": "200 mL/min", "dialysate_flow": "500 mL/min"}
    past[f"t-{then.isoformat()}"] = summary(then, rows=(), thinner=NightThinner(shown=shown))
    other = DialyserFigures(
        dialyser="Invented 13", blood_flow="200", fluid_flow="500", clearances={"urea": "150"}, stands_in="x"
    )
    older = result(then, "before", "20.0"), result(then, "after", "8.0")
    found = numbers(LEAFLET, other, *PAIR, *older, past=past)
    first, last = (month.bloods for month in found.months)
    assert first is not None
    assert last is not None
    koa = koa_by_leaflet({"urea": D(150)}, D(200), D(500), D(0))["urea"]
    assert first.clearance_l_min == pytest.approx(clearance_l_min(koa, 200, 500))
    assert last.clearance_l_min > 1.2 * first.clearance_l_min
    lacking = numbers(LEAFLET, *PAIR, *older, past=past).months[0]
    assert [gap.key for gap in lacking.gaps] == ["own.no_leaflet"]


def test_figures_of_the_body_are_taken_unless_two_disagree() -> None:
    body = BodyFigures(height_cm="168", born="1964", water_by="woman")
    basis = numbers(LEAFLET, *PAIR, body).basis
    assert basis is not None
    assert (basis.height_cm, basis.age, basis.water_by) == (168.0, 62.0, "woman")
    basis = numbers(LEAFLET, *PAIR, body, BodyFigures(height_cm="186", born="1964")).basis
    assert basis is not None
    assert (basis.height_cm, basis.age) == (None, None)


def test_every_gap_has_words() -> None:
    fill = {"dialyser": "Invented 17", "days": "120", "hours": "24", "day": "1 March", "why": "that"}
    source = Path(own_numbers.__code__.co_filename).read_text("utf-8")
    keys = set(re.findall(r'"(own\.[a-z_]+)"', source))
    assert len(keys) >= 22
    for key in keys:
        assert say(key, "", **fill) != key


def test_bloods_that_contradict_the_leaflet_give_no_figure() -> None:
    found = numbers(LEAFLET, result(LAST, "before", "18"), result(LAST, "after", "16"))
    assert found.basis is None
    assert gaps(found) == {"fit.cannot_apart"}
    assert found.used == (0,)
