"""Controls of set-up: hold points that can't be walked round, that go stale, and that only a fresh act meets."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta
from io import StringIO

import pytest

from ebbwell.cli.session import Session
from ebbwell.cli.walk.asides import WORDS
from ebbwell.cli.walk.give import GIVERS, give
from ebbwell.cli.walk.prompt import Leave, Walk
from ebbwell.core.errors import InputError
from ebbwell.deeds import orders, plan, setup, upkeep
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Refused
from ebbwell.journal.kinds.orders import Plan
from ebbwell.procedure.holds import Status, StepView
from ebbwell.procedure.lint import lint, weakened
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import Evidence
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, PRESCRIPTION, TOVE, UNIT
from tests.hazards.home import MINUTE, Home, moved_in, night_open, refused, rules


@pytest.mark.hazard("H9")
@pytest.mark.source(
    "practice:e", detail="H9: past its hours, after a carbon change, or of another night it reopens"
)
@pytest.mark.parametrize("step", ["S5", "S5b"])
def test_a_chlorine_result_goes_stale(step: str) -> None:
    home = night_open()
    home.until(step)
    home.pass_step(step)
    assert home.status(step) is Status.MET
    valid = home.look().procedure.step(step).valid
    assert valid is not None
    assert valid <= timedelta(hours=4)
    home.clock.pass_time(valid + MINUTE)
    assert home.status(step) is Status.STALE
    home.pass_step(step)
    assert home.status(step) is Status.MET
    home.do(setup.happened, what="carbon_changed")
    assert home.status(step) is Status.STALE


@pytest.mark.hazard("H9")
@pytest.mark.hazard("H60")
def test_nothing_of_the_last_night_meets_a_hold_point() -> None:
    home = moved_in()
    home.whole_night()
    home.clock.pass_time(timedelta(hours=36))
    home.do(setup.open_night)
    views = home.look().views
    met = [view.step.id for view in views.values() if view.status in (Status.MET, Status.SECOND)]
    assert met == []
    with refused("refuse.gate"):
        home.do(connect)


@pytest.mark.hazard("H10")
@pytest.mark.source("practice:e", detail="H10: a chemical since the last negative shuts the hold point")
def test_a_chemical_asks_for_a_residual_test() -> None:
    home = moved_in()
    ended = home.clock.now().at
    times = {"started_at": ended - timedelta(minutes=40), "ended_at": ended}
    home.do(upkeep.disinfect, what="machine", agent="peracetic", **times)
    home.clock.pass_time(timedelta(hours=1))
    ended = home.clock.now().at
    times = {"started_at": ended - timedelta(minutes=40), "ended_at": ended}
    home.do(upkeep.disinfect, what="machine", agent="heat", **times)
    home.do(setup.open_night)
    assert home.status("S8") is not Status.NOT_NEEDED
    assert {"S8", "S8a"} <= home.bars()
    home.until("S8a")
    old = {"code": "RS-1", "lot": "RS0901", "expiry": "2026-03-31", "intact": True}
    strip = home.do(setup.use_lot, item="residual_strip", **old)
    home.do(setup.choose, step="S8a", name="strip_agent", option="same_as_used")
    assert (home.status("S8a"), home.why("S8a")) == (Status.BARRED, "hold.lot.expired")
    good = {**old, "expiry": "2027-03-31"}
    home.do(setup.use_lot, item="residual_strip", instead_of=strip.entries, **good)
    home.pass_step("S8a")
    home.until("S8")
    home.do(setup.measure, quantity="residual_disinfectant", typed="positive")
    assert home.status("S8") is Status.BARRED
    seen = tuple(f.id for f in home.look().treatment.at_slot("measured", "residual_disinfectant", ""))
    home.do(setup.measure, quantity="residual_disinfectant", typed="negative", instead_of=seen)
    home.pass_step("S8")
    assert home.status("S8") is Status.MET
    ended = home.clock.now().at
    times = {"started_at": ended - timedelta(minutes=10), "ended_at": ended}
    home.do(upkeep.disinfect, what="machine", agent="hypochlorite", **times)
    assert {"S7", "S8", "S8a"} <= home.bars()


@pytest.mark.hazard("H11")
@pytest.mark.source("practice:e", detail="H11: the deed of a step further on is refused everywhere")
def test_no_deed_walks_round_a_hold_point() -> None:
    home = night_open()
    desk = home.look()
    before = len(home.entries())
    tried = 0
    for view in desk.views.values():
        if view.status is not Status.SHUT or view.step.stage not in hands.SET_UP:
            continue
        for evidence in view.step.evidence:
            if evidence.form == "answer":
                continue
            deed, inputs = setup.set_machine, {"line": evidence.name, "typed": "230"}
            if evidence.form != "setting":
                move = hands.for_evidence(desk, view.step, evidence)
                deed, inputs = move.deed, dict(move.inputs)
            with pytest.raises(Refused) as caught:
                home.do(deed, **inputs)
            assert caught.value.key == "refuse.shut", (view.step.id, str(evidence))
            tried += 1
    assert tried > 50
    with refused("refuse.gate"):
        home.do(connect)
    assert len(home.entries()) == before


@pytest.mark.hazard("H12")
@pytest.mark.source("practice:e", detail="H12: no critical hold point has a sole yes-button as its content")
def test_no_hold_point_is_met_by_a_bare_tick() -> None:
    shipped = load_procedure()
    holds = [step for step in shipped.steps if step.kind == "hold" and step.gate == "connect"]
    assert len(holds) > 30
    for step in holds:
        assert {evidence.form for evidence in step.evidence} != {"tick"}, step.id
    home = night_open()
    home.until("S7")
    with refused("refuse.not_a_tick"):
        home.do(setup.tick, step="S7")
    home.until("S17")
    with refused("refuse.not_a_tick"):
        home.do(setup.tick, step="S17")


@pytest.mark.hazard("H12")
def test_the_lint_refuses_a_hold_point_of_a_tick() -> None:
    shipped = load_procedure()
    only_tick = next(step.evidence for step in shipped.steps if step.id == "S1")
    ticked = tuple(replace(s, evidence=only_tick) if s.id == "S7" else s for s in shipped.steps)
    assert ("problem.sole_tick", "S7") in {(p.key, p.step) for p in lint(replace(shipped, steps=ticked))}


@pytest.mark.hazard("H24")
@pytest.mark.source("practice:e", detail="H24: a lot recalled while set-up is open reopens its hold point")
def test_an_expired_or_recalled_pack_shuts() -> None:
    home = night_open()
    home.until("S12")
    pack = {"code": PRESCRIPTION["dialyser"], "lot": "D4410", "intact": True, "scanned": True}
    done = home.do(setup.use_lot, item="dialyser", expiry="2026-04-28", **pack)
    assert rules(done.findings) == ["pack_not_for_tonight"]
    assert (home.status("S12"), home.why("S12")) == (Status.BARRED, "hold.lot.expired")
    home.do(setup.use_lot, item="dialyser", expiry="2027-04-28", instead_of=done.entries, **pack)
    assert home.status("S12") is Status.MET
    home.do(upkeep.recall_lot, item="dialyser", lot="D4410", told_by=UNIT)
    assert home.status("S12") is not Status.MET
    assert "S12" in home.bars()


QUESTIONS = ("bleeding", "fall", "operation", "new_medicine")


@pytest.mark.hazard("H30")
@pytest.mark.source("practice:e", detail="H30: any yes shuts S18; the call is shown")
@pytest.mark.parametrize("question", QUESTIONS)
def test_any_yes_shuts_heparin(question: str) -> None:
    home = night_open()
    home.until("S18")
    seen = tuple(f.id for f in home.look().treatment.at_slot("answer", question))
    home.do(setup.answer, question=question, answer="yes", step="S18a", instead_of=seen)
    assert (home.status("S0"), home.why("S18a")) == (Status.BARRED, "hold.answer")
    with refused("refuse.shut"):
        home.do(setup.measure, quantity="heparin_strength", typed="1000")
    assert "answer_yes" in home.findings()
    home.do(orders.advise, who=UNIT, words="Come in at eight tomorrow.", about=("S0", "S18a"))
    with refused("refuse.shut"):
        home.do(setup.measure, quantity="heparin_strength", typed="1000")


@pytest.mark.hazard("H44")
@pytest.mark.source("practice:e", detail="H44: the needling step by a stand-in is refused")
def test_a_stand_in_does_what_she_is_signed_off_for() -> None:
    home = night_open()
    home.until("S30")
    pack = {"code": "N-15", "lot": "N2290", "expiry": "2027-06-30"}
    with refused("refuse.skill.needle"):
        home.do(setup.use_lot, by=TOVE, item="needles", **pack)
    with refused("refuse.skill.needle"):
        home.do(setup.choose, by=TOVE, step="S30", name="flashback", option="both_needles")
    home.set_up()
    with refused("refuse.skill.connect"):
        home.do(connect, by=TOVE)
    home.do(connect, by=BRAM)


@pytest.mark.hazard("H67")
@pytest.mark.source("practice:e", detail="H67: evidence, bounds and validity are fixed by id")
def test_a_households_steps_and_limits_gut_no_hold_point() -> None:
    shipped = load_procedure()
    soft = tuple(replace(s, valid=None, bounds=()) if s.id == "S5" else s for s in shipped.steps)
    found = {(p.key, p.step) for p in weakened(replace(shipped, steps=soft), shipped)}
    assert {("problem.weaker.valid", "S5"), ("problem.weaker.bounds", "S5")} <= found
    short = tuple(s for s in shipped.steps if s.id != "S5b")
    assert ("problem.weaker.dropped", "S5b") in {
        (p.key, p.step) for p in weakened(replace(shipped, steps=short), shipped)
    }
    assert weakened(shipped, shipped) == ()


@pytest.mark.hazard("H26")
@pytest.mark.source("practice:e", detail="H26: a gain of 6.1 kg at 60 kg in 8 h is a stop")
def test_a_plan_over_the_cap_cannot_be_agreed() -> None:
    home = night_open({**PRESCRIPTION, "target_weight": "60", "treatment_minutes": "480", "rinse_back": "0"})
    home.until("S29")
    keys = ("outside_near_high", "outside_near", "decimal", "digits")
    home.do(setup.measure, quantity="weight_before", typed="66.1", sure=keys)
    with pytest.raises(Refused) as caught:
        home.do(plan.agree_plan, drink="0")
    assert caught.value.key == "refuse.plan_stop"
    assert "removal_over_cap" in str(caught.value.params["rules"])
    assert (caught.value.params["fits"], caught.value.params["remains"]) == ("3.36 L", "2.74 L")
    assert not home.look().treatment.of("plan")


@pytest.mark.hazard("H61")
@pytest.mark.source("practice:e", detail="H61: no output goes beyond prescribed hours, nights or cap")
def test_a_plan_the_unit_allows_still_holds_no_more_than_fits() -> None:
    home = night_open({**PRESCRIPTION, "target_weight": "60", "treatment_minutes": "480", "rinse_back": "0"})
    home.until("S29")
    keys = ("outside_near_high", "outside_near", "decimal", "digits")
    home.do(setup.measure, quantity="weight_before", typed="66.1", sure=keys)
    home.do(orders.advise, who=UNIT, words="Take what fits.", about=("S26",), allows=True)
    home.do(plan.agree_plan, drink="0")
    fact = home.look().treatment.last("plan")
    assert fact is not None
    assert isinstance(fact.body, Plan)
    figures = fact.body.figures
    assert figures["fluid_to_remove"].startswith("3.36")
    assert figures["removal_rate"].startswith("420")


@pytest.mark.hazard("H77")
@pytest.mark.source("practice:e", detail="H77: leaving the cleaning out needs a reason and is on the sheet")
def test_a_cleaning_step_left_out_needs_a_reason_on_the_sheet() -> None:
    home = night_open()
    home.until("S30b")
    for reason in ("", "   "):
        with pytest.raises(InputError, match=r"enter\.reason"):
            home.do(setup.skip, step="S30b", reason=reason)
    with refused("refuse.shut"):
        home.do(setup.choose, step="S30", name="flashback", option="both_needles")
    home.do(setup.skip, step="S30b", reason="the fresh tools were used up")
    assert home.status("S30b") is Status.SKIPPED
    assert "the fresh tools were used up" in home.sheet()


@pytest.mark.hazard("H77")
def test_a_catheters_exit_site_is_asked_about_every_night() -> None:
    lines = {k: v for k, v in PRESCRIPTION.items() if k not in ("needle_gauge", "needle_method")}
    home = night_open({**lines, "access": "catheter"})
    home.until("S29d")
    home.do(setup.choose, step="S29d", name="exit_site", option="red")
    home.do(setup.choose, step="S29d", name="catheter_caps", option="closed_no_leak")
    assert home.status("S29d") is Status.BARRED
    assert "S29d" in home.bars()


KEYS = ("\n", " \n", "\t\n", "\x1b[A\n", "\x1b[B\n", "y\n", "x\n", "\x00\n", "+\n", "  \n", "zz\n")
"""What a pedal, a sleeve or a tap anywhere sends: nothing that names an option or a value."""


def sequences(count: int) -> Iterable[str]:
    rng = random.Random(60)
    for _ in range(count):
        yield "".join(rng.choices(KEYS, k=rng.randint(1, 12)))


def asking(home: Home) -> Iterable[tuple[str, str]]:
    """One step for every form of evidence that set-up asks for, as it comes open."""
    seen: set[str] = set()
    for step in home.look().procedure.steps:
        if step.stage not in hands.SET_UP or step.gate != "connect":
            continue
        for evidence in step.evidence:
            if evidence.form not in seen:
                seen.add(evidence.form)
                yield step.id, str(evidence)


def _on_and_on(walk: Walk, view: StepView, evidence: Evidence) -> None:
    while True:
        give(walk, view, evidence)


@pytest.mark.hazard("H60")
@pytest.mark.source("practice:e", detail="H60: 1,000 random key sequences satisfy no hold point")
def test_keys_without_meaning_meet_no_hold_point() -> None:
    tried: set[str] = set()
    for step, wanted in asking(night_open()):
        home = night_open()
        if home.look().views[step].status is Status.NOT_NEEDED:
            continue
        home.until(step)
        view = home.look().views[step]
        evidence = next(e for e in view.step.evidence if str(e) == wanted)
        assert evidence.form in GIVERS
        row, statuses = home.house.state.row, [v.status for v in home.look().views.values()]
        for keys in sequences(120):
            session = Session(stdin=StringIO(keys), out=StringIO(), err=StringIO(), environ={})
            walk = Walk(session, home.house, by=BRAM, words=dict(WORDS), view=view)
            with pytest.raises(Leave):
                _on_and_on(walk, view, evidence)
        assert home.house.state.row == row, evidence.form
        assert [v.status for v in home.look().views.values()] == statuses
        tried.add(evidence.form)
    assert tried >= {"answer", "readback", "tick", "wait", "choice", "lot", "measured", "plan", "setting"}
