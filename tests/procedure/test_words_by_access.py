"""Words for the access: a home with a catheter isn't told of needles, and no home loses words over it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from io import StringIO

import pytest
from babel.messages.pofile import read_po

from ebbwell.cli.session import Session
from ebbwell.cli.walk.prompt import Walk
from ebbwell.core.reader import now_with, read_by, reader
from ebbwell.core.text import LOCALE_DIR, say
from ebbwell.deeds.night import read
from ebbwell.procedure.holds import Status
from ebbwell.procedure.lint import wording_keys
from tests.lantern.site import LanternSite
from tests.procedure.test_conditions import CATHETER, _open
from tests.web.test_links import walk

OF_NEEDLES = re.compile(r"\bneedles?\b|\bthe arm\b|access arm|\bsharps?\b|\bscabs?\b", re.IGNORECASE)
"""What only a home with needles has. Source: practice:b, S29c to S31 against S29d and S30c."""

VARIANT = ".catheter"


def keys() -> Iterator[str]:
    """Every key of the catalogue."""
    for path in sorted(LOCALE_DIR.glob("en/*.po")):
        with path.open("rb") as file:
            yield from (str(message.id) for message in read_po(file) if message.id)


@pytest.mark.source("practice:b", detail="S29d, S30c: a catheter has caps and hubs, no needles")
def test_no_step_of_an_overnight_catheter_home_speaks_of_needles() -> None:
    desk = _open(CATHETER).look()
    assert desk.access == "catheter"
    needed = [view.step for view in desk.views.values() if view.status is not Status.NOT_NEEDED]
    assert {"S31", "S33", "S34", "C4", "C12"} <= {step.id for step in needed}
    with read_by((), access=desk.access):
        said = {key: desk.procedure.say(key) for step in needed for key in wording_keys(step)}
    about = ("condition.", "reopens.", "place.")
    assert {k: t for k, t in said.items() if OF_NEEDLES.search(t) and not k.startswith(about)} == {}


def test_the_words_for_needles_stay_where_there_are_needles() -> None:
    for access in ("", "fistula", "graft"):
        with read_by((), access=access):
            assert say("step.S31.do") == "Tape the needles and lines. Keep the access in view."
            assert say("web.night.arm") == "Look at the arm now"


def test_words_for_a_catheter_stand_beside_words_for_all() -> None:
    """A key with words for an access alone would be missing everywhere else."""
    found = set(keys())
    own = {key for key in found if key.endswith(VARIANT) and f"{key.removesuffix(VARIANT)}" in found}
    assert {"step.S31.do.catheter", "web.night.arm.catheter", "next.look_at_arm.catheter"} <= own
    for key in own:
        fields = [set(re.findall(r"\{\w+\}", say(k))) for k in (key, key.removesuffix(VARIANT))]
        assert fields[0] == fields[1], key
        assert not OF_NEEDLES.search(say(key)), key


def test_a_household_keeps_its_own_words() -> None:
    desk = _open(CATHETER).look()
    own = replace(desk.procedure, words={"step.S31.do": "Tape it our way."})
    with read_by((), access="catheter"):
        assert own.say("step.S31.do") == "Tape it our way."


def test_the_access_can_change_while_somebody_types() -> None:
    before = reader().access
    with read_by((("weight", "lb"),)):
        now_with("catheter")
        assert reader().units == (("weight", "lb"),)
        assert say("web.night.arm") == "Look at the catheter now"
        now_with("")
        assert say("web.night.arm") == "Look at the arm now"
    assert reader().access == before


ANYWHERE = (
    "/needle",
    "/pressures",
    "/limits",
    "/steps",
    "/people",
    "/weights",
    "/prescription",
    "/heparin",
    "/recall",
)
"""Pages that list what there is for every home."""


@pytest.mark.parametrize("phase", ["open_night", "set_up", "connect", "close_sheet"])
def test_no_page_of_an_evening_with_a_catheter_speaks_of_needles(phase: str) -> None:
    site = LanternSite()
    try:
        getattr(site, phase)()
        pages = {a: p for a, p in walk(site).items() if not a.startswith(ANYWHERE) and p.status == 200}
    finally:
        site.close()
    assert len(pages) > 40
    found = {address: m[0] for address, page in pages.items() if (m := OF_NEEDLES.search(page.text))}
    assert found == {}


@pytest.mark.source("practice:d", detail="a fall in venous pressure: look at the access first")
def test_a_fall_in_pressure_sends_to_the_catheter() -> None:
    site = LanternSite()
    try:
        site.connect()
        for venous in ("120", "60"):
            site.clock.pass_time(timedelta(minutes=20))
            site.do(read, values={"blood_flow": "300", "venous_pressure": venous})
        page = site.get("/night")
    finally:
        site.close()
    assert "Look at the catheter now" in page.text
    assert "A joint may be off." in page.text
    assert not OF_NEEDLES.search(page.text)
    assert "/needle" not in page.html


def test_the_command_line_takes_the_access_of_the_order_as_it_stands() -> None:
    out = StringIO()
    walking = Walk(
        Session(stdin=StringIO(), out=out, err=out, environ={}),
        _open(CATHETER).house,
        words={},
        known_words=frozenset(),
    )
    with read_by(()):
        assert say("step.S31.why") == "A needle that slips out bleeds fast."
        walking.desk()
        assert say("step.S31.why") == "A joint that comes off lets blood out fast."
