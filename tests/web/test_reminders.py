"""Reminders: turned on by a heard sound, silence noticed by the server, and nothing in them like an alarm."""

from __future__ import annotations

import io
import math
import struct
import wave
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from tools.sound import TARGET, sound

import ebbwell.web
from ebbwell.deeds import night
from ebbwell.journal.kinds.bedside import Reminders
from ebbwell.papers.words import clock
from ebbwell.sim.household import ZONE
from ebbwell.state.night import first_blood
from ebbwell.state.reminders import reminders
from ebbwell.web.watch import SILENT_AFTER, Watch
from tests.web.site import Seen, Site
from tests.web.test_night import ROW


def _on(site: Site, **typed: str) -> Seen:
    return site.fill(
        site.get("/reminders"), "/reminders", **{"heard": "yes", "device": "tablet by the bed", **typed}
    )


def _states(site: Site) -> dict[str, str]:
    return {r.device: r.state for r in reminders(site.desk.treatment)}


@pytest.mark.hazard("H15")
def test_they_are_turned_on_by_a_sound_that_was_heard(site: Site) -> None:
    site.connect()
    page = site.get("/reminders")
    assert "/static/sounds/reminder.wav" in page.html
    answer = _on(site, wake_lock="yes")
    assert (answer.status, answer.to) == (303, "/reminders?kept=reminders")
    assert "device=tablet%20by%20the%20bed" in answer.headers["set-cookie"]
    assert "samesite=strict" in answer.headers["set-cookie"].lower()
    body = site.desk.treatment.of("reminders")[-1].body
    assert isinstance(body, Reminders)
    assert (body.stage, body.heard, body.wake_lock) == ("on", True, True)
    assert "Reminders on at tablet by the bed" in site.get("/night").text


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"heard": "no"}, "heard", "until somebody hears the sound"),
        ({"heard": ""}, "heard", "pick whether you heard it"),
        ({"device": " "}, "device", "Enter a name for this device"),
    ],
)
def test_without_a_heard_sound_or_a_name_they_stay_off(
    site: Site, typed: dict[str, str], field: str, words: str
) -> None:
    site.connect()
    page = _on(site, **typed)
    assert page.status == 409
    assert words in page.text
    assert f'id="{field}-why"' in page.html
    assert _states(site) == {}


def test_without_a_night_there_are_none(site: Site) -> None:
    site.move_in()
    page = site.get("/reminders")
    assert "There are no reminders now" in page.text
    assert site.post("/reminders", {"heard": "yes", "device": "x"}).status == 409


def test_they_are_turned_off_at_a_screen(site: Site) -> None:
    site.connect()
    _on(site)
    assert site.fill(site.get("/reminders"), "/reminders/off").status == 303
    assert _states(site) == {"tablet by the bed": "off"}
    assert site.post("/reminders/off", {"device": "no such"}).status == 409


@pytest.mark.hazard("H15")
def test_the_page_says_what_it_cannot_do_and_gives_the_times_for_paper(site: Site) -> None:
    site.connect()
    text = site.get("/reminders").text
    assert "It hears no machine and no sensor. It calls nobody." in text
    assert "Set your own clock as well." in text
    started = first_blood(site.desk.treatment)
    assert started is not None
    assert f"Reading at 15 minutes: {clock(started + timedelta(minutes=15), ZONE)}" in text


@pytest.mark.source("practice:e", detail="H16: tied to the treatment; and H15, T19: due readings only")
def test_a_screen_with_reminders_on_carries_what_is_due_and_no_other_does(site: Site) -> None:
    site.connect()
    _on(site)
    site.clock.pass_time(timedelta(minutes=16))
    site.device = "tablet by the bed"
    page = site.get("/night")
    assert 'data-name="min15"' in page.html
    assert 'data-name="waking"' not in page.html, "no clock tells when the person wakes"
    site.do(night.read, values=ROW, when="min15")
    assert 'data-name="min15"' not in site.get("/night").html
    site.device = "phone"
    assert "reminding" not in site.get("/night").html
    site.device = "tablet by the bed"
    site.do(night.stop_now)
    assert "reminding" not in site.get("/night").html


@pytest.mark.source("design", detail="section 6: reminders on, heard 12 s ago, instead of armed")
def test_the_night_page_says_when_a_screen_with_reminders_was_last_heard(site: Site) -> None:
    site.connect()
    _on(site)
    page = site.get("/night")
    assert "That screen was not heard since this computer was started. Go and look at it." in page.text
    site.device = "tablet by the bed"
    at = clock(site.clock.now().at, site.clock.now().zone)
    assert site.get("/alive?reminders").status == 200
    own = site.get("/night")
    assert f"That screen was last heard at {at}." in own.text
    assert 'data-heard="0"' in own.html
    site.clock.pass_time(timedelta(seconds=12))
    site.device = "phone"
    other = site.get("/night")
    assert 'data-heard="12000"' in other.html
    assert "data-own" not in other.html
    assert f"That screen was last heard at {at}." in other.text
    site.clock.restart("boot-2")
    assert "That screen was not heard since this computer was started." in site.get("/night").text


@pytest.mark.source("practice:e", detail="H15: silence is noticed; the length is an own choice")
@pytest.mark.hazard("H15")
def test_a_screen_that_falls_silent_is_written_down_once(site: Site) -> None:
    site.connect()
    _on(site)
    watch = Watch()
    start = site.clock.now().at
    assert site.act(watch.look) == ()
    for _ in range(6):
        site.clock.pass_time(timedelta(seconds=30))
        site.act(lambda house: watch.sign(house, "tablet by the bed"))
        assert site.act(watch.look) == ()
    last = site.clock.now().at
    site.clock.pass_time(SILENT_AFTER + timedelta(seconds=1))
    assert site.act(watch.look) == ("tablet by the bed",)
    assert site.act(watch.look) == ()
    body = site.desk.treatment.of("reminders")[-1].body
    assert isinstance(body, Reminders)
    assert (body.stage, body.since) == ("silent", last.isoformat())
    assert start < last
    assert "Reminders silent at tablet by the bed" in site.get("/night").text


def test_a_clock_set_forward_makes_no_screen_silent(site: Site) -> None:
    site.connect()
    _on(site)
    watch = Watch()
    site.act(watch.look)
    site.clock.step_wall(timedelta(hours=3))
    assert site.act(watch.look) == ()


def test_a_night_that_is_over_has_no_silent_screens(site: Site) -> None:
    site.connect()
    _on(site)
    watch = Watch()
    site.act(watch.look)
    site.do(night.stop_now)
    site.clock.pass_time(timedelta(hours=1))
    assert site.act(watch.look) == ()


def test_the_sound_is_what_the_tool_makes() -> None:
    assert TARGET.read_bytes() == sound()


@pytest.mark.source("practice:e", detail="H59: unlike the bursts of an alarm; the figures are own choices")
def test_the_sound_swells_once_slowly_and_low(site: Site) -> None:
    with wave.open(io.BytesIO(TARGET.read_bytes())) as file:
        rate, raw = file.getframerate(), file.readframes(file.getnframes())
    samples = [b - 128 for b in struct.unpack(f"{len(raw)}B", raw)]
    tenth = rate // 10
    loud = [max(abs(s) for s in samples[n : n + tenth]) for n in range(0, len(samples) - tenth, tenth)]
    top = loud.index(max(loud))
    assert top >= 2, "it rises over at least 200 ms"
    assert all(a <= b + 6 for a, b in pairwise(loud[: top + 1]))
    assert all(a >= b - 6 for a, b in pairwise(loud[top:])), "no second pulse"
    crossings = sum(a < 0 <= b for a, b in pairwise(samples))
    assert crossings / (len(samples) / rate) < 600
    assert math.isclose(len(samples) / rate, 2.4, abs_tol=0.01)


def test_nothing_here_is_called_an_alarm() -> None:
    web = Path(ebbwell.web.__file__).parent
    texts = [web / "static/reminders.js", *(web / "pages/reminders").glob("*.html")]
    texts.append(web.parent / "core/locale/en/web_reminders.po")
    assert all("alarm" not in path.read_text().casefold() for path in texts)
