"""The paper sheet of the two nights on which the clocks change, as an outside tool reads it, against times by hand.

tzdata, Europe/London: UTC+0 until 01:00 UTC on 29 March 2026, UTC+1 until 01:00 UTC on 25 October 2026, then UTC+0.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import httpx
import pytest

from ebbwell.deeds import comeoff, night
from ebbwell.deeds.connect import connect
from ebbwell.sim.household import READING
from tests.browser.site import Site
from tests.needs import need


class Night(NamedTuple):
    """Instants in UTC, and each as the clock on the wall of that home shows it, worked out by hand."""

    opens: datetime
    blood: tuple[datetime, str]
    readings: tuple[tuple[datetime, str], ...]
    off: tuple[datetime, str]


def _utc(month: int, day: int, hour: int, minute: int) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


NIGHTS = {
    "forward": Night(
        _utc(3, 28, 19, 0),
        (_utc(3, 28, 20, 45), "20:45"),
        (
            (_utc(3, 29, 0, 40), "00:40"),
            (_utc(3, 29, 1, 10), "02:10 UTC+01:00"),
            (_utc(3, 29, 2, 0), "03:00 UTC+01:00"),
        ),
        (_utc(3, 29, 4, 15), "05:15 UTC+01:00"),
    ),
    "back": Night(
        _utc(10, 24, 18, 0),
        (_utc(10, 24, 19, 45), "20:45"),
        (
            (_utc(10, 25, 0, 40), "01:40"),
            (_utc(10, 25, 1, 10), "01:10 UTC+00:00"),
            (_utc(10, 25, 2, 0), "02:00 UTC+00:00"),
        ),
        (_utc(10, 25, 3, 15), "03:15 UTC+00:00"),
    ),
}
"""Each runs from 20:45 on the wall for 450 min that really pass: 3 h 15 min of the first day in UTC terms and 4 h 15 min
of the next (forward), 4 h 15 min and 3 h 15 min (back)."""


@pytest.fixture(params=NIGHTS)
def told(request: pytest.FixtureRequest) -> Night:
    return NIGHTS[request.param]


@pytest.fixture
def site(told: Night, tmp_path: Path) -> Iterator[Site]:
    """Served on that evening, at a home in London."""
    made = Site(tmp_path, told.opens, "Europe/London")
    yield made
    made.close()


def _to(site: Site, at: datetime) -> None:
    site.clock.pass_time(at - site.clock.now().at)


def _paper(site: Site) -> str:
    """The words of the sheet on paper, blanks folded."""
    need("pdftotext")
    address = f"{site.url}/sheet/{site.desk.treatment_id}.pdf"
    with httpx.Client(cookies={"who": "bram"}, trust_env=False) as client:
        made = client.get(address).content
    read = subprocess.run(["pdftotext", "-raw", "-", "-"], input=made, capture_output=True, check=True)
    return " ".join(read.stdout.decode().split())


@pytest.mark.hazard("H17")
@pytest.mark.source("arithmetic", detail="wall clock = UTC + offset, offsets of Europe/London from tzdata")
def test_the_paper_of_a_night_through_the_change_tells_true_hours_in_true_order(
    site: Site, told: Night
) -> None:
    site.set_up()
    _to(site, told.blood[0])
    site.do(connect)
    for number, (at, _) in enumerate(told.readings):
        _to(site, at)
        site.do(night.read, values={**READING, "venous_pressure": str(121 + number)})
    _to(site, told.off[0])
    site.do(comeoff.come_off)
    text = _paper(site)

    assert f"first blood {told.blood[1]}, pump stopped {told.off[1]}." in text
    assert "Blood ran 7 h 30 min from first blood to pump stop" in text
    assert "clocks change" in text
    wanted = [
        f"{clock} 130 72 70 230 300 -90 {121 + number} 13.8"
        for number, (_, clock) in enumerate(told.readings)
    ]
    table = text[text.index("Readings Time") : text.index("Measured before and after")]
    assert re.findall(r"\d\d:\d\d(?: UTC[+-]\d\d:\d\d)? 130 72 70 230 300 -90 \d{3} 13\.8", table) == wanted


@pytest.mark.source("arithmetic", detail="450 min between first blood and pump stop, in UTC")
def test_the_nights_worked_out_by_hand_are_of_450_minutes(told: Night) -> None:
    assert (told.off[0] - told.blood[0]).total_seconds() / 60 == 450
