"""Words of the pages: nothing that reassures or advises, plain to read, and every one by key."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from ebbwell.core.text import LEFT, PSEUDO, RIGHT, pseudo, say, speak
from ebbwell.deeds.people import enter_person
from ebbwell.procedure.load import load_procedure
from tests.web.site import VOID, Seen, Site
from tests.web.test_every_way import address
from tests.web.ways_table import GETS

SRC = Path(__file__).parents[2] / "src/ebbwell"
TEMPLATES = sorted((SRC / "web").rglob("*.html"))
UNITS = frozenset(
    (
        "mL",
        "bags",
        "mmol",
        "mEq",
        "pmol",
        "umol",
        "mOsm",
        "mmHg",
        "bar",
        "psi",
        "kPa",
        "mg",
        "kg",
        "uS",
        "CFU",
        "mS",
        "cm",
        "CaCO",
        "gal",
        "grain",
        "grains",
        "units",
        "min",
        "day",
        "days",
        "times",
    )
)
"""Units, which are the same in each language."""

ROOMS = sorted((SRC / "core/locale/en").glob("web*.po"))

REASSURES = re.compile(
    r"\b(ok(ay)?|all clear|all good|fine|normal(ly)?|safe to|perfectly safe|no problem|nothing to worry|don'?t worry|"
    r"never mind|looks good|well done|great|perfect|relax|reassur\w*|healthy|no danger|harmless|all is in order)\b",
    re.IGNORECASE,
)
"""Words that would tell a tired person that nothing is wrong. Source: design rule 6."""

ADVISES = re.compile(
    r"\b(we (recommend|advise|suggest)|recommended|advisable|you should|should (take|give|set|be raised|be lowered)|"
    r"(increase|raise|lower|reduce|double|halve) (the|your) (dose|rate|weight|heparin|flow|removal|target)|"
    r"(give|take) (more|less|another)|the right dose|enough heparin)\b",
    re.IGNORECASE,
)
"""Words that would order a dose, a rate or a weight. Source: design section 1."""

SCOLDS = re.compile(
    r"\b(please|sorry|oops|invalid|may wish|you (forgot|failed)|your fault|wrongly|illegal|error)\b",
    re.IGNORECASE,
)
"""Words that beg or blame. Source: design section 8."""


def wordings() -> Iterator[tuple[str, str]]:
    """Key and words of everything the pages say."""
    for path in ROOMS:
        with path.open("rb") as file:
            for message in read_po(file, locale="en"):
                if message.id:
                    yield str(message.id), str(message.string)


def literal(template: Path) -> str:
    """What a template says without a key."""
    text = re.sub(
        r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", " ", template.read_text(encoding="utf-8"), flags=re.DOTALL
    )
    return re.sub(r"<[^>]*>", " ", text)


@pytest.mark.parametrize(
    "words", [REASSURES, ADVISES, SCOLDS], ids=["reassures", "advises", "begs or blames"]
)
def test_no_page_says_such_a_thing(words: re.Pattern[str]) -> None:
    found = [(key, match[0]) for key, text in wordings() if (match := words.search(text))]
    found += [(path.name, match[0]) for path in TEMPLATES if (match := words.search(literal(path)))]
    assert found == []


def test_the_word_lists_find_what_they_are_for() -> None:
    assert REASSURES.search("All clear: you are safe to go on")
    assert ADVISES.search("You should give the second dose")
    assert SCOLDS.search("Please enter a valid time")
    assert len(list(wordings())) > 200
    assert len(TEMPLATES) > 15


def test_no_template_says_anything_without_a_key() -> None:
    found = {
        path.name: re.findall(r"[A-Za-z]{2,}", re.sub(r"&\w+;", " ", literal(path))) for path in TEMPLATES
    }
    assert {name: words for name, words in found.items() if set(words) - UNITS} == {}


# -- how plain it is to read ---------------------------------------------------------------------------------------

BLOCKS = frozenset(
    (
        "p",
        "h1",
        "h2",
        "h3",
        "li",
        "label",
        "legend",
        "button",
        "dt",
        "dd",
        "th",
        "td",
        "summary",
        "title",
        "div",
        "a",
    )
) | {"option", "strong", "b", "span", "small"}


class _Blocks(HTMLParser):
    """The text of each block of a page, those that show a record's own words among them."""

    def __init__(self) -> None:
        super().__init__()
        self.blocks: list[str] = [""]
        self._stack: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            self._stack.append(tag)
        if tag in BLOCKS and tag != "a":
            self.blocks.append("")

    def handle_endtag(self, tag: str) -> None:
        while self._stack and tag in self._stack:
            if self._stack.pop() == tag:
                break
        if tag in BLOCKS and tag != "a":
            self.blocks.append("")

    def handle_data(self, data: str) -> None:
        if not {"svg", "script", "style"} & set(self._stack):
            self.blocks[-1] += data


def blocks(html: str) -> list[str]:
    """Texts of a page, blank ones left out."""
    reader = _Blocks()
    reader.feed(html)
    return [" ".join(text.split()) for text in reader.blocks if text.strip()]


def syllables(word: str) -> int:
    """A word's syllables, counted by its groups of vowels; a mute e at the end isn't one, "ia" and the like are two."""
    groups = len(re.findall(r"[aeiouy]+", word.lower())) + len(
        re.findall(r"(?<![cstg])i[ao]|eo", word.lower())
    )
    mute = re.search(r"[^aeiouyl]e$|[^aeiouytd]ed$|[^aeiouysxzcg]es$", word.lower())
    return max(1, groups - bool(mute and groups > 1))


def grade(texts: list[str]) -> float:
    """Flesch-Kincaid grade level of the running text: labels and headings, which end without a mark, are left out."""
    sentences = [
        s
        for text in texts
        for s in re.split(r"(?<=[.!?])\s+", text)
        if s.endswith((".", "!", "?")) and len(re.findall(r"[A-Za-z]{2,}", s)) > 2
    ]
    words = [w for s in sentences for w in re.findall(r"[A-Za-z][A-Za-z']*", s)]
    if not words:
        return 0.0
    return 0.39 * len(words) / len(sentences) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


@pytest.mark.source(
    "from memory", detail="grade = 0.39 words/sentence + 11.8 syllables/word - 15.59 (Kincaid 1975)"
)
def test_the_counter_counts() -> None:
    assert grade(["The cat sat on the mat."]) == pytest.approx(0.39 * 6 + 11.8 - 15.59)
    assert (
        grade(["Considerable administrative responsibilities necessitate organisational flexibility."]) > 25
    )
    counts = {
        "treatment": 2,
        "water": 2,
        "made": 1,
        "table": 2,
        "needle": 2,
        "stopped": 1,
        "needed": 2,
        "dialysis": 4,
    }
    assert {word: syllables(word) for word in counts} == counts


@pytest.fixture(scope="module")
def house() -> Iterator[Site]:
    """A night set up, with somebody of each role entered."""
    made = Site()
    made.set_up()
    made.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    yield made
    made.close()


READ = sorted(path for path in GETS if not path.endswith(".pdf"))


NOT_NOW = frozenset({"/prescription/check/{id}", "/prescription/written", "/settle/{id}", "/labels/{id}"})
"""Pages that lead elsewhere while nothing waits for them."""


def page_of(site: Site, path: str) -> Seen:
    """A page as it stands, or the one that it leads to."""
    seen = site.get(address(site, path))
    if seen.status == 303:
        seen = site.get(seen.to)
    assert seen.status == (404 if path in NOT_NOW and seen.status == 404 else 200), path
    return seen


@pytest.mark.parametrize("path", READ)
def test_a_page_reads_at_age_eleven(house: Site, path: str) -> None:
    assert grade(blocks(page_of(house, path).html)) <= 6


@pytest.mark.parametrize("room", sorted((SRC / "core/locale/en").glob("*.po")), ids=lambda path: path.stem)
def test_a_rooms_words_read_at_age_eleven(room: Path) -> None:
    with room.open("rb") as file:
        texts = [re.sub(r"\{\w+\}", "it", str(m.string)) for m in read_po(file, locale="en") if m.id]
    assert grade(texts) <= 6


# -- every word by key ---------------------------------------------------------------------------------------------


def test_the_made_up_language_keeps_fields_and_brackets_the_rest() -> None:
    assert pseudo("Keep {what} now").startswith(LEFT)
    assert "{what}" in pseudo("Keep {what} now")
    with speak(PSEUDO):
        assert "Tôñîght" in say("web.tonight.title")
        assert say("web.begin.keep_home") != say("web.begin.keep_home", "en")
    assert say("web.tonight.title") == "Tonight"


@pytest.fixture(scope="module")
def abroad() -> Iterator[Site]:
    """The same house with the made-up language spoken in its thread."""
    made = Site()
    made.set_up()
    language = speak(PSEUDO)
    made.act(lambda _: language.__enter__())
    yield made
    made.act(lambda _: language.__exit__(None, None, None))
    made.close()


def outside_brackets(text: str) -> str:
    """What of a text doesn't come from the catalogue."""
    out, depth = [], 0
    for letter in text:
        depth += (letter == LEFT) - (letter == RIGHT)
        if depth == 0 and letter != RIGHT:
            out.append(letter)
    return "".join(out)


def own_words(site: Site) -> frozenset[str]:
    """Words that need no key: what the record says, titles of sources, units."""
    entries = site.act(lambda house: list(house.store.after(0)))
    texts = [bytes(e.body_bytes or b"").decode() for e in entries if e.envelope.kind != "pinned"]
    texts += [(SRC / "rulebook/sources.toml").read_text(encoding="utf-8"), "Europe/Dublin UTC PDF GS1"]
    return frozenset(word for text in texts for word in re.findall(r"[A-Za-z]{2,}", text)) | UNITS


@pytest.mark.parametrize("path", READ)
def test_no_page_says_a_word_that_has_no_key(abroad: Site, path: str) -> None:
    left = [outside_brackets(text) for text in blocks(page_of(abroad, path).html)]
    words = {word for text in left for word in re.findall(r"[A-Za-z]{3,}", text)}
    data = load_procedure().text if path == "/steps/text" else ""
    assert sorted(words - own_words(abroad) - set(re.findall(r"[A-Za-z]{3,}", data))) == []


def test_a_field_that_may_stay_empty_says_what_is_kept_then(site: Site) -> None:
    site.open_night()
    page = site.get("/running")
    assert "Since when? Left empty, the time now is kept." in page.text
    kept = site.fill(page, "/running", at="", words="")
    assert kept.status == 303
    assert site.desk.treatment.of("already_running")[0].at == site.clock.now().at
