"""Controls that live in the pages: what a screen shows, to whom, and what it never asks."""

from __future__ import annotations

import io
import re
import struct
import wave
from collections.abc import Iterator
from datetime import datetime, timedelta
from html import unescape
from itertools import pairwise

import httpx
import pytest

from ebbwell.core.clock import elapsed
from ebbwell.core.text import say
from ebbwell.deeds import comeoff, night, orders
from ebbwell.deeds.coming_up import next_wait
from ebbwell.deeds.texts import enter_emergency_details, write_first_action
from ebbwell.journal.errors import DiskFull
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.papers.words import clock
from ebbwell.sim import hands
from ebbwell.sim.household import PRESCRIPTION, UNIT, ZONE, prescribe
from tests.web.site import HOST, Seen, Site, waited_for
from tests.web.ways_table import GETS, NAMED

FIRST = "Stop. Clamp. Call, as you were taught."
OWN_PAGES = frozenset({"/card", "/first-action/{situation}", "/stop"})
"""Pages that are first actions themselves."""


@pytest.fixture
def site() -> Iterator[Site]:
    made = Site()
    yield made
    made.close()


def address(site: Site, path: str) -> str:
    """A path with names in it, of entries where there are some."""
    desk = site.desk
    measured = desk.treatment.of("measured")
    some = measured[0].id if measured else "nothing"
    names = {
        "id": some,
        "entry": some,
        "treatment": desk.treatment_id or "nothing",
        "person": "tove",
        "bundle": "packs",
        "step": "S5",
        "form": "report",
        "limit": "chlorine",
        "situation": "bleeding",
        "aside": "on_again",
        "name": "removal_volume" if path.startswith("/working") else "event",
    }
    return re.sub(r"\{(\w+)\}", lambda found: names[found[1]], path)


def every_page(site: Site) -> dict[str, Seen]:
    """Each page that shows something now, by its path."""
    seen = {path: site.get(address(site, path)) for path in GETS if not path.endswith(".pdf")}
    return {path: page for path, page in seen.items() if page.status == 200}


def first_part(page: Seen) -> str:
    """The part of a page that a tap on Something is wrong opens; "" where it has none."""
    _, found, rest = page.html.partition('<section id="wrong"')
    return rest.partition("</section>")[0] if found else ""


# -- no alarm, and first actions with a dead server -------------------------------------------------------------------


@pytest.mark.hazard("H34")
@pytest.mark.source("practice:e", detail="H34: first actions are part of every page from needles to come-off")
@pytest.mark.parametrize("state", ["skin", "needles", "taped", "running", "paused", "stopped", "off"])
def test_first_actions_are_part_of_every_page_from_the_needles_on(site: Site, state: str) -> None:
    if state in ("skin", "needles", "taped"):
        site.until({"skin": "S30a", "needles": "S30", "taped": "S31"}[state])
    else:
        site.connect()
        site.clock.pass_time(timedelta(minutes=20))
    if state == "paused":
        site.do(night.go_off, words="a cramp", blood="circulating")
    if state == "stopped":
        site.do(night.stop_now)
    if state == "off":
        site.do(comeoff.come_off)
    pages = every_page(site)
    assert len(pages) > 25
    for path, page in pages.items():
        part = page.html if path in OWN_PAGES else first_part(page)
        assert FIRST in part, path
        assert path in OWN_PAGES or 'href="#wrong"' in page.html, path


@pytest.mark.hazard("H34")
def test_first_actions_go_from_the_pages_once_all_are_safe(site: Site) -> None:
    site.connect()
    site.do(comeoff.come_off)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    assert FIRST in first_part(site.get("/")), "a needle hole may bleed again"
    site.clock.pass_time(timedelta(hours=2, minutes=1))
    assert first_part(site.get("/")) == ""


@pytest.mark.hazard("H34")
@pytest.mark.source("practice:e", detail="H34: a label at the first run; a card on paper")
def test_the_first_run_and_the_card_say_that_it_hears_no_machine(site: Site) -> None:
    first = site.get("/begin").text
    assert "It is no alarm: it hears no machine." in first
    assert "It calls nobody" in first
    site.set_up()
    card = site.get("/card").text
    assert "Ebbwell hears no machine and calls nobody." in card
    assert "The card works when every screen is dark." in card
    assert FIRST in card


@pytest.mark.hazard("H35")
@pytest.mark.source("practice:e", detail="H35: no login")
@pytest.mark.parametrize("who", [*sorted(NAMED.values()), "nobody-known", ""])
def test_first_actions_open_for_whoever_stands_there(site: Site, who: str) -> None:
    site.connect()
    site.who = who
    for path in ("/stop", "/first-action/bleeding", "/card"):
        page = site.get(path)
        assert page.status == 200, path
        assert FIRST in page.text, path
    assert FIRST in first_part(site.get("/"))
    assert site.post("/stop", {}).status == 303


@pytest.mark.hazard("H35")
def test_first_actions_are_in_the_page_itself_and_fetch_nothing(site: Site) -> None:
    site.connect()
    part = first_part(site.get("/night"))
    assert FIRST in part
    assert not re.search(r"<(?:img|iframe|script|link|object|video|audio)\b", part)
    assert set(re.findall(r'href="([^"]*)"', part)) <= {"#main"}


# -- whose words they are, and until when -----------------------------------------------------------------------------


def sign(site: Site, situation: str, words: str, until: str = "") -> None:
    site.do(
        write_first_action,
        situation=situation,
        words=words,
        signed_by="Home team, Northmere",
        signed_on="2026-01-10",
        valid_until=until,
    )


@pytest.mark.hazard("H58")
@pytest.mark.source("practice:e", detail="H58: an unsigned household: no further instruction on any page")
def test_an_unsigned_household_reads_three_verbs_and_no_more(site: Site) -> None:
    site.connect()
    bare = {path: first_part(page) for path, page in every_page(site).items() if path not in OWN_PAGES}
    assert len({re.sub(r'value="[^"]*"', "", part) for part in bare.values()}) == 1
    part = next(iter(bare.values()))
    said = [" ".join(unescape(t).split()) for t in re.findall(r">([^<]+)<", part) if t.strip()]
    assert said == [
        "Hands first",
        FIRST,
        "Your training unit's own words come first. Type nothing now. It can all be written down later.",
        "call",
        "Number to call: not filled in. Address: not filled in.",
        "Write down the time",
        "It only writes down the time. The machine is stopped by hand.",
        "Back to the page",
    ]


@pytest.mark.hazard("H58")
@pytest.mark.source("practice:e", detail="H58: the unit's own words with signer and date; void ones are gone")
def test_the_units_words_stand_with_signer_and_day_until_their_last_day(site: Site) -> None:
    site.connect()
    sign(site, "bleeding", "Press on the hole.", "2026-04-29")
    for part in (
        first_part(site.get("/night")),
        site.get("/first-action/bleeding").html,
        site.get("/card").html,
    ):
        assert "Press on the hole." in part
        assert "Signed: Home team, Northmere, 10 January 2026" in part
    site.clock.pass_time(timedelta(hours=6))
    for part in (
        first_part(site.get("/night")),
        site.get("/first-action/bleeding").html,
        site.get("/card").html,
    ):
        assert FIRST in part
        assert "Press on the hole." not in part


@pytest.mark.hazard("H58")
@pytest.mark.source("practice:e", detail="H58: the card is seen before connecting")
def test_before_connecting_the_page_shows_what_the_card_has_and_lacks(site: Site) -> None:
    site.set_up()
    page = site.get("/connect")
    before, button, _ = page.html.partition('<form method="post" action="/connect">')
    assert button
    for words in (FIRST, "not filled in", "Your unit signed no words here. What it taught you counts."):
        assert words in before
    assert 'href="/card"' in before
    sign(site, "bleeding", "Press on the hole.")
    sign(site, "air", "Left side down.", "2026-02-01")
    site.do(enter_emergency_details, number="000 0000", address="1 Saltmarsh Row")
    before = site.get("/connect").html.partition('<form method="post" action="/connect">')[0]
    signed, _, void = before.partition("These words are not shown any more")
    assert "000 0000" in before
    assert "bleeding" in signed.partition("Your unit signed words for:")[2]
    assert "air" in void.partition("</div>")[0]


@pytest.mark.hazard("H75")
@pytest.mark.source("practice:e", detail="H75: that it can't call anyone is said before the night")
def test_before_connecting_the_page_says_that_nobody_is_called_or_woken(site: Site) -> None:
    site.set_up()
    before, button, _ = site.get("/connect").html.partition('<form method="post" action="/connect">')
    assert button
    assert "Ebbwell calls nobody, and it may not wake you." in before
    assert "set a clock that wakes you" in before


@pytest.mark.hazard("H75")
@pytest.mark.source("practice:e", detail="H75: a paper plan")
def test_before_connecting_a_paper_of_the_night_is_one_tap_away(site: Site) -> None:
    site.set_up()
    site.do(enter_emergency_details, number="000 0000", address="1 Saltmarsh Row")
    before = site.get("/connect").html.partition('<form method="post" action="/connect">')[0]
    assert 'href="/paper-night"' in before
    paper = site.get("/paper-night")
    assert "When to take readings" in paper.text
    for part in PRESCRIPTION["reading_schedule"], "000 0000", "1 Saltmarsh Row", FIRST:
        assert part in paper.text
    assert paper.html.count("<tr><td>&nbsp;</td>") >= 4


@pytest.mark.hazard("H45")
@pytest.mark.source("practice:e", detail="H45: a full disk: message, reading still possible, paper offered")
def test_a_full_disk_is_told_and_offers_a_night_on_paper_and_everything_can_still_be_read(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    site.connect()
    page = site.get("/night/reading")

    def full(*_: object, **__: object) -> None:
        raise DiskFull("store.full", path="/data/record")

    monkeypatch.setattr(site.keeper.house, "do", full)
    sent = site.fill(page, "/night/reading", pulse="72")
    told = sent.html.partition('id="trouble"')[2].partition("</div>")[0]
    assert sent.status == 503
    assert "is full" in told
    assert 'href="/paper-night"' in told
    assert sent.form("/night/reading").fields["pulse"] == ["72"], "what was typed isn't lost"
    for open_still in ("/", "/night", "/first-action/bleeding", "/stop", "/paper-night"):
        assert site.get(open_still).status == 200, open_still


@pytest.mark.hazard("H45")
@pytest.mark.source("practice:e", detail="H45: a disk test at the start")
@pytest.mark.parametrize("note", ["store.disk_refuses", "store.little_room"])
def test_what_the_try_of_the_disk_found_stands_on_the_first_page_with_the_paper(
    note: str, site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    site.move_in()
    assert 'href="/paper-night"' not in site.get("/").html.partition("<h2")[0]
    monkeypatch.setattr(MemoryStore, "notes", property(lambda _: (note,)))
    found = site.get("/").html.partition('class="finding stop"')[2].partition("</div>")[0]
    assert unescape(found).count(say(note)) == 1
    assert 'href="/paper-night"' in found


@pytest.mark.hazard("H74")
@pytest.mark.source("practice:e", detail="H74: the card says on which day it is void")
def test_the_card_says_after_which_day_to_throw_it_away(site: Site) -> None:
    site.set_up()
    assert "Throw it away after" not in site.get("/card").text
    sign(site, "bleeding", "Press on the hole.", "2026-12-31")
    sign(site, "air", "Left side down.", "2026-06-30")
    card = site.get("/card").text
    assert "As it stood on 29 April 2026." in card
    assert "Throw it away after 30 June 2026." in card


@pytest.mark.hazard("H74")
@pytest.mark.source("practice:e", detail="H74: change the target: the papers to destroy are listed")
def test_a_changed_prescription_lists_the_papers_to_throw_away(site: Site) -> None:
    site.move_in()
    assert "Throw away the papers" not in site.get("/prescription").text
    site.clock.pass_time(timedelta(hours=1))
    done = site.do(orders.amend_line, line="target_weight", value="64.0", giver=UNIT, read_back="64.0")
    at = clock(site.clock.now().at, ZONE)
    site.clock.pass_time(timedelta(seconds=30))
    site.do(orders.check_order, of=done.entries[0], values={"target_weight": "64.0"}, how="reread")
    text = site.get("/prescription").text
    assert f"It changed on 29 April 2026 at {at}." in text
    assert "Target weight: from 64.5 kg to 64.0 kg. Keep the prescription on paper" in text
    assert "Throw away the papers from before that:" in text
    for paper in (
        "a plan or settings",
        "a print of the sheet",
        "a card of first actions",
    ):
        assert paper in text
    site.act(lambda house: prescribe(house, site.clock, "4", PRESCRIPTION))
    assert "the old prescription, and each copy of it" in site.get("/prescription").text


# -- while hands are needed -------------------------------------------------------------------------------------------


@pytest.mark.hazard("H64")
@pytest.mark.source("practice:e", detail="H64: no inputs, no sound on the pages of first actions")
def test_pages_of_first_actions_have_nothing_to_type_choose_or_hear(site: Site) -> None:
    site.connect()
    site.fill(site.get("/reminders"), "/reminders", heard="yes", device="tablet by the bed")
    site.device = "tablet by the bed"
    assert "<audio" in site.get("/night").html
    pages = {
        path: site.get(path) for path in ("/first-action/bleeding", "/first-action/air", "/stop", "/card")
    }
    parts = {path: page.html for path, page in pages.items()}
    parts["/night#wrong"] = first_part(site.get("/night"))
    for path, html in parts.items():
        assert FIRST in html, path
        for tag in re.findall(r"<input[^>]*>", html):
            assert 'type="hidden"' in tag, path
        assert not re.search(r"<(?:select|textarea|audio|details|dialog)\b", html), path
        assert "reminders.js" not in html, path
        assert html.count("<button") == html.count('action="/stop"'), f"{path}: every button notes the time"


# -- a reminder is no alarm -------------------------------------------------------------------------------------------


def fetched(site: Site, path: str) -> bytes:
    """A file as it is served."""

    async def get() -> bytes:
        transport = httpx.ASGITransport(site.app)
        async with httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}") as client:
            return (await client.get(path)).content

    return waited_for(get)


@pytest.mark.hazard("H59")
@pytest.mark.source("practice:e", detail="H59: no alarm-like bursts; the figures are own choices")
def test_the_sound_that_is_served_is_one_slow_low_swell(site: Site) -> None:
    with wave.open(io.BytesIO(fetched(site, "/static/sounds/reminder.wav"))) as file:
        rate, raw = file.getframerate(), file.readframes(file.getnframes())
    samples = [b - 128 for b in struct.unpack(f"{len(raw)}B", raw)]
    tenth = rate // 10
    loud = [max(abs(s) for s in samples[n : n + tenth]) for n in range(0, len(samples) - tenth, tenth)]
    top = loud.index(max(loud))
    assert top >= 2, "no sudden start"
    assert all(a <= b + 6 for a, b in pairwise(loud[: top + 1])), "one rise"
    assert all(a >= b - 6 for a, b in pairwise(loud[top:])), "one fall, no second pulse"
    assert sum(a < 0 <= b for a, b in pairwise(samples)) / (len(samples) / rate) < 600


@pytest.mark.hazard("H59")
@pytest.mark.source("practice:e", detail='H59: "this listens to nothing", before it is turned on; no green')
def test_before_reminders_are_on_the_page_says_that_they_hear_nothing(site: Site) -> None:
    site.connect()
    page = site.get("/reminders")
    before = page.html.partition('action="/reminders"')[0]
    assert "It hears no machine and no sensor. It calls nobody." in before
    assert "It may not wake you. Set your own clock as well." in before
    assert "alarm" not in page.text.partition("Reminders")[2].casefold()
    look = site.get("/static/ledger.css").html
    colours = set(re.findall(r"#([0-9A-Fa-f]{6})\b", look))
    assert len(colours) > 10
    for colour in colours:
        red, green, blue = (int(colour[n : n + 2], 16) for n in (0, 2, 4))
        assert green <= max(red, blue) + 8, f"#{colour} is green"


@pytest.mark.hazard("H15")
@pytest.mark.source("practice:e", detail="H15: a missed reminder is shown at once, with its minutes")
def test_a_reading_that_was_missed_is_told_with_how_late_it_is(site: Site) -> None:
    site.connect()
    start = site.clock.now().at
    site.clock.pass_time(timedelta(minutes=52))
    page = site.get("/night")
    assert "Due, and not recorded yet." in page.text
    due = start + timedelta(minutes=15)
    late = round(elapsed(due, site.clock.now().at).total_seconds() / 60)
    assert late == 37
    assert f"due at {clock(due, ZONE)}, {late} min ago" in page.text.replace("\N{NO-BREAK SPACE}", " ")


# -- figures, waits, looks --------------------------------------------------------------------------------------------


@pytest.mark.hazard("H14")
@pytest.mark.source("practice:e", detail="H14: each number carries its age, and what makes it grey")
def test_each_figure_of_the_night_has_its_age_and_can_grey(site: Site) -> None:
    site.connect()
    site.do(night.read, values={"venous_pressure": "124", "arterial_pressure": "-92"})
    site.clock.pass_time(timedelta(minutes=12))
    page = site.get("/night")
    values = re.findall(r'<span class="v([^"]*)">([^<]*)', page.html)
    figures = [(look, text) for look, text in values if any(char.isdigit() for char in text)]
    assert len(figures) >= 2
    assert {look.strip() for look, _ in figures} == {"stale"}
    ages = page.html.count(" old</span>")
    assert ages == len(figures)
    assert "As it stood at" in page.text
    assert '<h1><span class="stale">' in page.html


@pytest.mark.hazard("H14")
@pytest.mark.parametrize("state", ["set_up", "connect"])
def test_every_page_can_say_that_it_lost_its_computer(site: Site, state: str) -> None:
    getattr(site, state)()
    for path, page in every_page(site).items():
        assert '<div class="away" role="status" hidden' in page.html, path
        assert "not fresh: this screen has lost its computer" in page.text, path
        assert re.search(r'<script src="/static/ledger\.js\?v=\w+" defer></script>', page.html), path


COUNTS = re.compile(
    r"\b\d+\s*(?:h|min|minutes?|s|sec|seconds?)\s+(?:left|to go|remain)|\bremaining\b", re.IGNORECASE
)


def until_a_long_wait(site: Site) -> datetime:
    """The usual moves until a step waits for 3 minutes or longer. When its wait is over."""
    for _ in range(400):
        desk = site.desk
        wait = next_wait(desk)
        if wait is not None and wait[0] - desk.now.at > timedelta(minutes=3):
            return wait[0]
        move = hands.next_move(desk, hands.SET_UP)
        assert move is not None
        site.clock.pass_time(move.takes)
        site.act(lambda house, move=move: hands.play(house, move))  # type: ignore[misc]
    raise AssertionError("no long wait")


def waits(page: Seen) -> list[str]:
    """What a page says of a wait."""
    return re.findall(r"Wait until[^.]*\.", page.text.partition("Go on with something else")[2])


@pytest.mark.hazard("H72")
@pytest.mark.source("practice:e", detail="H72: no countdown on a hold point; page scan")
def test_no_page_of_the_set_up_counts_down(site: Site) -> None:
    site.open_night()
    over = until_a_long_wait(site)
    pages = every_page(site)
    for path, page in pages.items():
        assert not COUNTS.search(page.text), path
        assert not re.search(r"<(?:progress|meter|time)\b", page.html), path
    said = waits(site.get("/setup/first_questions"))
    assert len(said) == 1
    assert clock(over, ZONE) in said[0]
    site.clock.pass_time(timedelta(minutes=1))
    assert waits(site.get("/setup/first_questions")) == said


LOOKS = re.compile(r"(:root|\.night)\{([^}]*)\}")


def luminance(colour: str) -> float:
    parts = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.hazard("H47")
@pytest.mark.source("practice:e", detail="H47: 7:1 in both looks; formula of WCAG 2.2, which knows no hue")
def test_words_stand_out_by_light_alone(site: Site) -> None:
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21)
    looks = dict(LOOKS.findall(site.get("/static/ledger.css").html)[:2])
    assert set(looks) == {":root", ".night"}
    for name, held in looks.items():
        colour = dict(re.findall(r"--(\S+?):(#[0-9A-Fa-f]{6})", held))
        for words in ("ink", "soft", "art", "ven", "frame"):
            assert contrast(colour[words], colour["paper"]) >= 7, (name, words)
        assert contrast(colour["go-ink"], colour["go"]) >= 7, name


@pytest.mark.hazard("H47")
@pytest.mark.source("practice:e", detail="H47: word and shape beside every colour")
def test_marks_findings_and_picks_differ_in_shape_and_have_words(site: Site) -> None:
    site.until("S20")
    look = site.get("/static/ledger.css").html
    shapes = {g: re.search(rf"\.finding\.{g}\{{([^}}]*)\}}", look) for g in ("stop", "care", "note")}
    borders = {g: re.sub(r"var\(--\w+\)", "", found[1]) for g, found in shapes.items() if found}
    assert len(set(borders.values())) == 3
    picked = re.search(r"\.picks label:has\(input:checked\)\{([^}]*)\}", look)
    assert picked
    assert "font-weight:700" in picked[1]
    for path, page in every_page(site).items():
        for mark in re.findall(r'<span class="mark[^>]*>', page.html):
            assert re.search(r'aria-label="[^"]+"', mark), path
        for found in re.findall(r'<div class="finding[^>]*>(.*?)</div>', page.html, re.DOTALL):
            assert re.search(r"[a-z]{3}", re.sub(r"<[^>]*>", "", found)), path
