"""Sample nights: what is due, what was drawn, and what the sheet says of the rest."""

from __future__ import annotations

import pytest

from ebbwell.core.text import say
from ebbwell.deeds import comeoff, samples
from ebbwell.state.samples import samples as samples_of
from tests.deeds.homes import wrong
from tests.hazards.home import MINUTE, Home, refused, rules


def test_ask_for_samples_lists_each_before_the_treatment_first(night: Home) -> None:
    night.do(samples.ask_for_samples, samples=("urea",), when="after", ordered_by="unit")
    night.do(samples.ask_for_samples, samples=("urea", "potassium"), when="before")
    views = samples_of(night.look().treatment)
    assert [(v.sample, v.when, v.taken) for v in views] == [
        ("urea", "before", None),
        ("potassium", "before", None),
        ("urea", "after", None),
    ]


def test_ask_for_samples_refuses_what_is_no_list(home: Home, night: Home) -> None:
    for names in ((), (" ",), ("urea", "urea ")):
        with wrong("enter.samples"):
            night.do(samples.ask_for_samples, samples=names, when="before")
    with wrong("enter.option"):
        night.do(samples.ask_for_samples, samples=("urea",), when="during")
    with refused("refuse.no_night"):
        home.do(samples.ask_for_samples, samples=("urea",), when="before")


def test_take_sample_answers_the_one_that_was_asked_for(night: Home) -> None:
    due = night.do(samples.ask_for_samples, samples=("urea", "potassium"), when="before").entries[0]
    drawn = {"sample": "urea", "when": "before", "of": due, "label": "12-7", "how": "as_taught"}
    done = night.do(samples.take_sample, **drawn)
    assert done.findings == ()
    views = {v.sample: v.taken for v in samples_of(night.look().treatment)}
    assert views["urea"] is not None
    assert views["urea"].id == done.entries[0]
    assert views["potassium"] is None
    text = night.sheet()
    assert "Sample drawn, before the treatment: urea. Label: 12-7. Drawn as the unit taught" in text
    assert "Sample due and not drawn, before the treatment: potassium" in text


@pytest.mark.source(
    "practice:b", detail="sample before saline or heparin touches the line; tubes labelled at the bed"
)
def test_take_sample_finds_a_late_one_and_one_without_a_label(running: Home) -> None:
    running.clock.pass_time(MINUTE)
    done = running.do(samples.take_sample, sample="urea", when="before")
    assert rules(done.findings) == ["sample_after_start", "sample_no_label"]
    early = running.clock.now().at - 5 * MINUTE
    done = running.do(samples.take_sample, sample="iron", when="before", label="a", at=early)
    assert rules(done.findings) == []
    assert [v.due for v in samples_of(running.look().treatment)] == [None, None]


def test_take_sample_refuses_one_that_nobody_asked_for_in_that_entry(home: Home, night: Home) -> None:
    due = night.do(samples.ask_for_samples, samples=("urea",), when="before").entries[0]
    for inputs in ({"sample": "iron", "when": "before"}, {"sample": "urea", "when": "after"}):
        with refused("refuse.no_such_sample"):
            night.do(samples.take_sample, of=due, **inputs)
    with wrong("enter.option"):
        night.do(samples.take_sample, sample="urea", when="before", how="by guess")
    with wrong("enter.samples"):
        night.do(samples.take_sample, sample=" ", when="before")
    with refused("refuse.no_night"):
        home.do(samples.take_sample, sample="urea", when="before")


def test_a_sample_not_drawn_gates_nothing(running: Home) -> None:
    running.do(samples.ask_for_samples, samples=("urea",), when="after")
    running.do(comeoff.come_off)
    running.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert "Sample due and not drawn, at the end: urea" in running.sheet()


@pytest.mark.parametrize("when", ["before", "after"])
def test_how_is_only_as_the_unit_taught(when: str) -> None:
    words = say(f"sample.how.{when}")
    assert words.endswith("as your unit taught you.")
    assert not any(char.isdigit() for char in words)
