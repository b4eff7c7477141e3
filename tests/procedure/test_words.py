"""The words of the shipped procedure: easy to read, no blame, no reassurance, technique left to the unit."""

from __future__ import annotations

import re

import pytest

from ebbwell.procedure.lint import wording_keys
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import Step

NIGHT = load_procedure()
EVENING = load_procedure("evening_bags")
STEPS = (*NIGHT.steps, *(step for step in EVENING.steps if not NIGHT.has(step.id)))
"""Every step that has words; one that both procedures have has the same."""


def _syllables(word: str) -> int:
    letters = re.sub(r"[^a-z]", "", word.lower())
    count = len(re.findall(r"[aeiouy]+", letters))
    silent = (letters.endswith("e") and not letters.endswith(("le", "ee"))) or (
        letters.endswith("ed") and not letters.endswith(("ted", "ded"))
    )
    return max(1, count - (1 if silent and count > 1 else 0))


def _grade(text: str) -> float:
    sentences = [part for part in re.split(r"[.!?:]+(?:\s|$)", text) if part.strip()]
    words = re.findall(r"[A-Za-z0-9'%-]+", text)
    return 0.39 * len(words) / len(sentences) + 11.8 * sum(map(_syllables, words)) / len(words) - 15.59


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("The cat sat on the mat.", -1.45),
        ("Put the needle in the box. Look at it.", 0.39 * 9 / 2 + 11.8 * 10 / 9 - 15.59),
    ],
)
def test_the_measure_of_reading_age_itself(text: str, grade: float) -> None:
    """Source: arithmetic with the formula of Flesch and Kincaid (1975), from memory; syllables counted by hand."""
    assert _grade(text) == pytest.approx(grade, abs=0.005)


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
def test_words_are_for_a_reader_of_eleven(step: Step) -> None:
    """Source: design section 8 (reading age 11), read as grade 6."""
    text = " ".join(NIGHT.say(f"step.{step.id}.{part}") for part in ("do", "why", "how"))
    assert _grade(text) <= 6
    for sentence in re.split(r"(?<=[.!?])\s", NIGHT.say(f"step.{step.id}.do")):
        assert len(sentence.split()) <= 12


BANNED = re.compile(
    r"\b(please|sorry|oops|invalid|may wish|all clear|ok|okay|safe to|two|three|four|five|ten)\b",
    re.IGNORECASE,
)


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
@pytest.mark.source("practice:e", detail="H32: no words that reassure; digits for numbers")
def test_words_neither_blame_nor_reassure(step: Step) -> None:
    for key in wording_keys(step):
        words = NIGHT.say(key)
        assert not BANNED.search(words.replace("Three quarters", "")), (
            key,
            words,
        )


@pytest.mark.parametrize(
    "step_id",
    [
        "S5",
        "S15",
        "S18d",
        "S19",
        "S20",
        "S28",
        "S30",
        "S30a",
        "S30c",
        "S31",
        "S32",
        "C5",
        "C6",
        "C10",
        "C10b",
    ],
)
def test_technique_is_left_to_the_unit(step_id: str) -> None:
    """Source: design section 1 (the unit's instructions come first)."""
    text = NIGHT.say(f"step.{step_id}.how")
    assert "your unit taught you" in text
