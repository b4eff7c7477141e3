"""The next nights on the page of the plan: said from own nights, shown open where something remains, never to be set."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from urllib.parse import urlencode

import pytest

from ebbwell.deeds import setup
from ebbwell.deeds.another_night import NIGHT_WAS_RUN
from ebbwell.deeds.plan import draught
from ebbwell.sim.household import PRESCRIPTION
from ebbwell.web.pages.plan.ahead import AheadWords, ahead_words
from tests.hazards.home import Home, moved_in
from tests.web.site import Seen, Site

WITHOUT = {name: text for name, text in PRESCRIPTION.items() if name != "spread_nights"}


def plan(site: Site) -> Seen:
    """The plan as worked out, to look at."""
    return site.get("/plan?" + urlencode({"drink": "0.2", "saline": "0", "losses": "0", "start": "22:00"}))


def after_seven_nights(kg: str, lines: dict[str, str]) -> AheadWords:
    """What is said on an evening with this weight, after seven nights two days apart, 66.3 kg before and 64.5 after."""
    home: Home = moved_in(lines)
    for _ in range(7):
        home.whole_night()
        home.clock.pass_time(timedelta(hours=36))
    home.do(setup.open_night, sure=(NIGHT_WAS_RUN,))
    home.until("S29")
    home.do(setup.measure, quantity="weight_before", typed=kg, sure=("digits", "near"))
    desk = home.look()
    return ahead_words(desk, draught(desk, drink=Decimal("0.2"), start_at=home.clock.now().at))


def test_without_own_nights_it_says_so(site: Site) -> None:
    site.until("S26")
    text = plan(site).text
    assert "Not known yet. There are 0 gains on record" in text
    assert "The order does not say" not in text, "all of it fits tonight"


@pytest.mark.source("fluids:U6", detail="3 W + 500 and 3 W + 630 mL/h at 64.5 kg: 693.5 and 823.5")
def test_the_rate_stands_beside_the_lines_by_weight(site: Site) -> None:
    site.until("S26")
    text = plan(site).text
    assert (
        "Tonight's rate is 306.7 mL/h. One study by weight saw 20 % more risk at 694 mL/h and 40 % more at 824 mL/h, "
        "for 64.5 kg. They are not limits of your unit. The study: Mermelstein et al., CJASN 2023;18:767, PMC10278805."
        in text
    )


@pytest.mark.source(
    "arithmetic", detail="(3.9 + 1.8) / 2 + 0.5 = 3.35 L; 3350 / 7.5 = 446.7 mL/h; fluids 4.3 for the cap"
)
def test_a_heavy_evening_says_what_stays_and_what_the_units_rule_makes_of_it() -> None:
    words = after_seven_nights("68.4", PRESCRIPTION)
    assert words.open
    assert "gains over 2 days: 1.8 kg each." in words.lead
    assert words.nights[0] == "Tonight: starts 3.9 kg over the target. 3.38 L fits. 1.0 kg stays."
    assert words.nights[1] == "The next night: starts 2.8 kg over the target. 3.31 L fits. 0.0 kg stays."
    said = " ".join(words.after)
    assert (
        "over at most 2 nights. In equal parts that is 3.35 L a night, 446.7 mL/h, with 1.8 kg gained" in said
    )
    assert "It is a sum. Only the unit says what to set." in said


def test_without_the_units_rule_nothing_is_spread() -> None:
    words = after_seven_nights("68.4", WITHOUT)
    said = " ".join(words.after)
    assert (
        "The order does not say over how many nights the rest may be spread. Call the unit about it." in said
    )
    assert "equal parts" not in said
