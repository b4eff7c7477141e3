"""Every key that the record's code can raise or report has words, and those words can be filled."""

from __future__ import annotations

import re
import string
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

import ebbwell.journal
from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import LOCALE_DIR
from ebbwell.journal import errors

SOURCES = sorted(Path(ebbwell.journal.__file__).parent.rglob("*.py"))
KEY = re.compile(r'"((?:store|bundle|entry|flaw)\.[a-z_]+)"')
RAISED = re.compile(r'\b(\w+)\(\s*"((?:store|bundle|entry|flaw)\.[a-z_]+)"((?:[^()]|\([^()]*\))*)\)')
FLAW_GIVES = {"entry", "row"}


def worded() -> dict[str, str]:
    with (LOCALE_DIR / "en/journal.po").open("rb") as file:
        return {str(m.id): str(m.string) for m in read_po(file) if m.id}


def code_keys() -> set[str]:
    return {key for path in SOURCES for key in KEY.findall(path.read_text())}


def test_keys_in_code_and_catalogue_are_the_same() -> None:
    assert code_keys() == set(worded())


def test_each_place_that_raises_gives_what_the_words_need() -> None:
    words = worded()
    seen = 0
    for path in SOURCES:
        for made, key, rest in RAISED.findall(path.read_text()):
            needed = {name for _, name, _, _ in string.Formatter().parse(words[key]) if name}
            given = set(re.findall(r"(\w+)=", rest)) | set(re.findall(r'\("(\w+)", ', rest))
            if made == "Flaw":
                given |= FLAW_GIVES | ({"said"} if "said" in rest else set())
            assert needed <= given, (path.name, key, needed - given)
            seen += 1
    assert seen >= 40


@pytest.mark.parametrize("word", ["sorry", "please", "oops", "invalid", "error", "failed", "fault"])
def test_words_blame_nobody(word: str) -> None:
    assert not [key for key, text in worded().items() if word in text.lower()]


def test_every_cause_has_an_exit_code_of_its_own() -> None:
    causes = [
        cls
        for cls in vars(errors).values()
        if isinstance(cls, type)
        and issubclass(cls, EbbwellError)
        and cls not in (EbbwellError, errors.RecordError)
    ]
    codes = sorted(cls.exit_code for cls in causes)
    assert codes == list(range(20, 20 + len(causes)))
    assert codes[-1] <= 39
