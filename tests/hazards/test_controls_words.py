"""Controls that are words: what the program says on every page, and what it never says."""

from __future__ import annotations

import argparse
import ast
import re
from io import StringIO
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

import ebbwell
from ebbwell.cli.demo import run as run_demo
from ebbwell.cli.main import main
from ebbwell.cli.session import Session
from ebbwell.cli.tonight import tonight_data, tonight_lines
from ebbwell.core import readiness
from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.core.text import LOCALE_DIR, say
from ebbwell.deeds.people import enter_person, found_household
from ebbwell.deeds.setup import open_night
from ebbwell.house import House
from ebbwell.papers.heading import heading
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.sim.household import BRAM, ILKA, ZONE
from ebbwell.state.standing import household
from tests.hazards.home import EVENING, Home, moved_in, night_open

SRC = Path(ebbwell.__file__).parent

PRACTICE = "Practice only: not ready for real treatments."
NOBODY = "Nobody at the clinic sees this tonight."

ALL_CLEAR = re.compile(
    r"\b(all clear|all is well|all (?:good|fine|right|normal)|everything is (?:fine|good|normal|safe|in order)"
    r"|nothing to worry|no problems?\b(?! found)|perfect(?:ly)?|safe to (?:start|connect|go)|you are safe"
    r"|looks (?:good|fine|normal)|is fine|are fine|no risk|no danger|healthy|green"
    r"|all goes (?:well|to plan)|every (?:check|step) (?:(?:is|was) )?met|(?:is|and) safe already|never happens)\b"
    r"|: the person is safe\b|^person safe\b|\bOK\b|\bokay\b",
    re.IGNORECASE,
)

DOSES = re.compile(
    r"\b(?:give|take|inject|draw up|add|infuse)\s+(?:\w+\s+){0,2}\d[\d.,]*\s*(?:units|mL|L|mg|g|kg|%)"
    r"|(?<!don't )\b(?:raise|lower|increase|reduce|cut|halve|double|change|adjust)\s+(?:the\s+|your\s+|their\s+)?"
    r"(?:dose|heparin|target|rate|blood flow|fluid removal|prescription|weight|hours|sodium|bicarbonate"
    r"|cap|alarm limits?)\b"
    r"|\b(?:lengthen|shorten|extend) (?:the |your )?(?:time|treatment|hours|night)\b"
    r"|\bextra (?:night|treatment|session)\b"
    r"|\bset (?:it to )?(?:\{(?:down|up|rate|value|ml)\}|\d)|\bstop (?:the )?(?:fluid )?removal\b"
    r"|\b(?:scale|weight) should\b|\bhours that would\b|\blimits? (?:should )?stands? (?:close|\d)|\bwith a low limit \d"
    r"|(?:\{suggestion\}|\d(?: ?[a-zA-Z/]+)?) would fit\b"
    r"|\bwe (?:recommend|advise|suggest)\b|\bshould be (?:raised|lowered|increased|reduced)\b",
    re.IGNORECASE,
)


def every_key() -> list[str]:
    keys = []
    for path in sorted(LOCALE_DIR.glob("*/*.po")):
        with path.open("rb") as file:
            keys += [message.id for message in read_po(file) if message.id]
    return keys


def every_text() -> dict[str, str]:
    return {key: say(key) for key in every_key()}


@pytest.mark.hazard("H32")
@pytest.mark.source("practice:e", detail="H32: no all-clear words; word list test over all texts")
def test_nothing_says_all_clear() -> None:
    texts = every_text()
    assert len(texts) > 1500
    assert {key: text for key, text in texts.items() if ALL_CLEAR.search(text)} == {}


@pytest.mark.hazard("H32")
@pytest.mark.parametrize(
    "text",
    [
        "All clear",
        "Everything is fine.",
        "Looks good",
        "Safe to connect",
        "OK",
        "If all goes to plan",
        "Connected: first blood, with every check met",
        "The person is off and safe already.",
        "Needles out, bleeding stopped: the person is safe.",
        "person safe, sheet still open",
    ],
)
def test_the_word_list_knows_reassurance(text: str) -> None:
    assert ALL_CLEAR.search(text)


@pytest.mark.hazard("H32")
def test_the_sheet_says_what_was_not_checked() -> None:
    home = night_open()
    home.connected()
    home.come_off()
    sheet = home.sheet()
    assert "open" in sheet
    desk = home.look()
    left = [v.step.id for v in desk.views.values() if v.step.gate == "close" and not v.passed]
    assert left
    assert all(step in sheet for step in left)


@pytest.mark.hazard("H52")
@pytest.mark.source(
    "practice:e", detail="H52: no text gives a dose or tells to change the prescription; phrase scan"
)
def test_nothing_gives_a_dose_or_changes_an_order() -> None:
    assert {key: text for key, text in every_text().items() if DOSES.search(text)} == {}


@pytest.mark.hazard("H52")
@pytest.mark.parametrize(
    "text",
    [
        "Give 1500 units",
        "Reduce the heparin by half.",
        "Raise the target to 65",
        "We suggest 2 L.",
        "If the machine shows fewer digits, set {down} L.",
        "They can change the cap or lengthen the time.",
        "What the scale should show after",
        "Hours that would just keep to the cap",
        "Upper blood pressure: stop removal",
        "The low limit stands close under the pressure.",
        "Ask for an extra night.",
        "Did two digits change places? 64.5 kg would fit.",
    ],
)
def test_the_phrase_scan_knows_an_order(text: str) -> None:
    assert DOSES.search(text)


BLAMES = re.compile(
    r"\b(?:you|your carer) (?:forgot|missed|failed|neglected|overlooked|should have)\b|\byour (?:fault|mistake|error)\b"
    r"|\bwhy (?:did|didn't) you\b|\b(?:careless|wrongly|oops|sorry|please)\b",
    re.IGNORECASE,
)
"""How a text would blame or beg."""

TWO_LINES = re.compile(
    r"\bline (?:is (?:\{(?:limit|low|high|value|other)\}|-?\d)|for (?:calling|ordering)\b)", re.IGNORECASE
)
"""A limit that is called a line, as the blood lines are: at night it can be taken for one."""


@pytest.mark.hazard("H32")
@pytest.mark.parametrize("words", [BLAMES, TWO_LINES], ids=["blames", "calls a limit a line"])
def test_no_text_blames_or_calls_a_limit_a_line(words: re.Pattern[str]) -> None:
    assert {key: text for key, text in every_text().items() if words.search(text)} == {}


def test_those_word_lists_find_what_they_are_for() -> None:
    assert BLAMES.search("If you missed a look, say why.")
    assert TWO_LINES.search("Body temperature is 38 C. The line for calling is 37.8 C.")
    assert TWO_LINES.search("Pulse is 130. The line is 50 to 120.")
    assert not TWO_LINES.search("A line out of its clamp. The venous line was bent.")


CURVE = re.compile(
    r"half-?li(?:fe|ves)|relative.effect|heparin (?:that is |may be )?left\b|how much (?:of the )?heparin (?:is|was|may)"
    r"|heparin (?:still works|fades|wears off)|still in the blood|heparin .*curve",
    re.IGNORECASE,
)
"""How a text would speak of what heparin still does."""

LOOKING_BACK = ("web.heparin.curve.", "formula.review_heparin_", "input.", "warning.", "science.", "symbol.")
"""Keys of the page for past nights, and of ``work``: only there the curve may be spoken of."""


@pytest.mark.hazard("H70")
@pytest.mark.source("practice:e", detail="H70: the curve never at the bedside; page scan")
def test_no_text_of_the_bedside_speaks_of_what_heparin_still_does() -> None:
    said = {key: text for key, text in every_text().items() if CURVE.search(text)}
    assert [key for key in said if not key.startswith(LOOKING_BACK)] == []
    assert any(key.startswith("web.heparin.curve.") for key in said), "the list of words knows the page"


@pytest.mark.hazard("H70")
@pytest.mark.parametrize(
    "text",
    [
        "Half-life 54 min",
        "How much heparin is left",
        "By now the heparin still works",
        "Heparin left by sums",
    ],
)
def test_the_word_list_knows_the_curve(text: str) -> None:
    assert CURVE.search(text)


@pytest.mark.hazard("H70")
@pytest.mark.source("practice:e", detail="H70: the curve never at the bedside")
def test_only_the_page_of_past_nights_takes_the_curve_in() -> None:
    """No plan, step, deed, sheet, page of tonight or word of the keyboard can show it."""
    takers: dict[str, set[str]] = {"ebbwell.science.review_heparin": set(), "ebbwell.review.heparin": set()}
    for path in sorted(SRC.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = []
            if isinstance(node, ast.ImportFrom) and node.module:
                names = [node.module, *(f"{node.module}.{one.name}" for one in node.names)]
            elif isinstance(node, ast.Import):
                names = [one.name for one in node.names]
            for name in takers.keys() & set(names):
                takers[name].add(path.relative_to(SRC).as_posix())
    assert takers == {
        "ebbwell.science.review_heparin": {"science/catalogue.py", "review/heparin.py"},
        "ebbwell.review.heparin": {"web/pages/heparin/page.py"},
    }
    named = [
        path.relative_to(SRC).as_posix()
        for path in sorted(SRC.rglob("*"))
        if path.suffix in (".py", ".toml", ".html") and "review_heparin" in path.read_text("utf-8")
    ]
    assert set(named) <= {"science/catalogue.py", "science/review_heparin.py", "review/heparin.py"}


def real() -> Home:
    """A home that isn't marked as invented, with a night open."""
    home = moved_in()
    home.do(found_household, name="Hill Street 9", zone=ZONE)
    home.do(open_night)
    return home


def pages(home: Home) -> dict[str, str]:
    """Every page as one line of text."""
    desk = home.look()
    sheet = sheet_text(build_sheet(desk, home.house.store.heads()))
    found = {
        "heading": heading(household(desk.standing)),
        "tonight": tonight_lines(desk),
        "sheet": [sheet],
    }
    return {name: " ".join(" ".join(lines).split()) for name, lines in found.items()}


def typed(tmp_path: Path, *lines: str) -> str:
    """What ``ebbwell night`` shows to somebody who types these lines and leaves."""
    out = StringIO()
    session = Session(
        stdin=StringIO("".join(f"{line}\n" for line in lines)),
        out=out,
        err=out,
        environ={"EBBWELL_HOME": str(tmp_path), "HOME": str(tmp_path)},
        clock=lambda zone: SetClock(EVENING, zone),
        ids=SeededIds(5),
    )
    assert main(["night"], session) == 0
    return " ".join(out.getvalue().split())


FIRST = (ZONE, "Hill Street 9", "2", "Ana Reed", "Joe Reed", "no")


@pytest.mark.hazard("H65")
@pytest.mark.source(
    "practice:e", detail="H65: an uncontrolled hazard of severity 5: the words appear on every page"
)
def test_practice_only_is_on_every_page_of_a_real_household(tmp_path: Path) -> None:
    assert readiness.UNCONTROLLED_5
    shown = pages(real())
    assert [name for name, text in shown.items() if PRACTICE not in text] == []
    assert tonight_data(real().look())["practice_only"] is True
    first = typed(tmp_path, *FIRST, "leave")
    assert PRACTICE in first
    assert PRACTICE in typed(tmp_path, "leave")


@pytest.mark.hazard("H65")
def test_practice_only_goes_with_the_last_uncontrolled_hazard(monkeypatch: pytest.MonkeyPatch) -> None:
    home = real()
    monkeypatch.setattr(readiness, "UNCONTROLLED_5", ())
    assert [name for name, text in pages(home).items() if PRACTICE in text] == []
    monkeypatch.setattr(readiness, "UNCONTROLLED_5", ("H35",))
    assert [name for name, text in pages(home).items() if PRACTICE not in text] == []


@pytest.mark.hazard("H65")
@pytest.mark.hazard("H68")
def test_an_invented_household_says_invented_instead() -> None:
    shown = pages(night_open())
    assert [name for name, text in shown.items() if PRACTICE in text] == []
    assert [name for name, text in shown.items() if "INVENTED" not in text] == []


@pytest.mark.hazard("H69")
@pytest.mark.source("practice:e", detail='H69: "nobody at the clinic sees this tonight" is on the night page')
def test_the_night_says_that_nobody_looks_on(tmp_path: Path) -> None:
    assert NOBODY in pages(real())["tonight"]
    assert NOBODY in typed(tmp_path, *FIRST, "leave")
    again = typed(tmp_path, "leave")
    assert NOBODY in again
    assert "Hill Street 9" in again


@pytest.mark.hazard("H68")
@pytest.mark.source("practice:e", detail="H68: separate store and look; both started at once")
def test_the_demo_leaves_a_real_night_alone(tmp_path: Path) -> None:
    clock = SetClock(EVENING, ZONE)
    store = tmp_path / "record.ebbwell"
    with House.open(store, clock, SeededIds(6)) as house:
        house.do(found_household, by=BRAM, name="Hill Street 9", zone=ZONE)
        house.do(enter_person, by=BRAM, person=ILKA, name="Ana Reed", roles=("dialysis",))
        house.do(open_night, by=BRAM)
        before = [(entry.id, entry.hash) for entry in house.store.after(0)]
        out = StringIO()
        session = Session(stdin=StringIO(), out=out, err=out, environ={"EBBWELL_HOME": str(tmp_path)})
        assert run_demo(session, argparse.Namespace(json=False, played=True)) == 0
        assert [(entry.id, entry.hash) for entry in house.store.after(0)] == before
        house.do(found_household, by=BRAM, name="Hill Street 9", zone=ZONE)
        demo = tmp_path / "demo" / "record.ebbwell"
        with House.open(demo, clock, SeededIds(7), create=False) as other:
            taken = house.take_in(other.store.after(0))
            assert not taken.new
            home = household(other.look().standing)
            assert home is not None
            assert home.invented
    said = out.getvalue().splitlines()
    assert said[0].startswith("INVENTED")
    assert any("INVENTED" in line for line in said[10:])
