"""Every link of every page leads to a page, in each phase of the night and for everyone of the house."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

import pytest

from ebbwell.deeds import comeoff, night, person, setup
from ebbwell.deeds.people import enter_person
from ebbwell.sim.household import ILKA
from tests.web.site import Seen, Site
from tests.web.ways_table import NAMED, POSTS

MOST = 400
"""Pages that a walk looks at."""

A_KIND = 3
"""Entries, workings and sheets of which a few stand for all."""


def walk(site: Site) -> dict[str, Seen]:
    """Every page that can be reached from the first one by links."""
    found: dict[str, Seen] = {}
    counted: dict[str, int] = {}
    waiting = ["/"]
    while waiting and len(found) < MOST:
        address = waiting.pop(0)
        if address in found:
            continue
        kind = address.split("/")[1]
        counted[kind] = counted.get(kind, 0) + 1
        if kind in ("entry", "work", "sheet", "setup", "steps") and counted[kind] > A_KIND * (
            8 if kind == "setup" else 1
        ):
            continue
        seen = site.get(address)
        found[address] = seen
        links = [seen.to] if seen.status == 303 else seen.links
        for link in links:
            plain = link.partition("#")[0]
            if plain.startswith("/") and plain not in found:
                waiting.append(plain)
    return found


def stopped(site: Site) -> None:
    """Blood ran, and somebody pressed stop."""
    site.connect()
    site.clock.pass_time(timedelta(hours=3))
    site.do(night.stop_now)


def off(site: Site) -> None:
    """Off the machine, the sheet open."""
    stopped(site)
    site.do(comeoff.come_off, times={"pump_stopped": site.clock.now().at}, blood_returned="all")


def closed(site: Site) -> None:
    """The sheet closed."""
    off(site)
    site.clock.pass_time(timedelta(minutes=20))
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    left = [v.step.id for v in site.desk.views.values() if v.step.gate == "close" and not v.passed]
    site.do(comeoff.close, because=dict.fromkeys(left, "left out in this test"))


def paused(site: Site) -> None:
    """Off for a while."""
    site.connect()
    site.clock.pass_time(timedelta(hours=1))
    site.do(night.go_off, blood="circulating")


def held(site: Site) -> None:
    """The person said not tonight, in a night that is set up."""
    site.open_night()
    site.do(person.not_tonight, by=ILKA)


def unsettled(site: Site) -> None:
    """Two weights that disagree."""
    site.set_up()
    site.do(setup.measure, quantity="weight_before", typed="66.6")


PHASES: dict[str, Callable[[Site], None]] = {
    "no home": lambda site: None,
    "between nights": Site.move_in,
    "set up begun": Site.open_night,
    "ready to connect": Site.set_up,
    "two weights": unsettled,
    "not tonight": held,
    "blood runs": Site.connect,
    "off for a while": paused,
    "stopped": stopped,
    "off": off,
    "closed": closed,
}


@pytest.mark.parametrize("role", sorted(NAMED))
@pytest.mark.parametrize("phase", PHASES)
def test_no_link_leads_nowhere(site: Site, phase: str, role: str) -> None:
    PHASES[phase](site)
    if site.rows:
        site.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    site.who = NAMED[role]
    rows = site.rows
    found = walk(site)
    assert len(found) > (2 if phase == "no home" else 25)
    assert {address: seen.status for address, seen in found.items() if seen.status not in (200, 303)} == {}
    assert shut_forms(found, role if rows else "bedside") == set()
    assert site.rows == rows


def shut_forms(found: dict[str, Seen], role: str) -> set[str]:
    """Forms on these pages that somebody sees and can't send, judged by the table that was written by hand."""
    shapes = {re.compile(re.sub(r"\{\w+\}", "[^/]+", path)): roles for path, roles in POSTS.items()}
    seen = {form.action for page in found.values() for form in page.forms if form.method == "post"}
    plain = {action.partition("?")[0] for action in seen}
    return {
        action
        for action in plain
        if role
        not in (POSTS.get(action) or next(r for shape, r in shapes.items() if shape.fullmatch(action)))
    }


def test_who_only_reads_sees_what_is_asked_for_without_buttons(site: Site) -> None:
    site.open_night()
    site.do(enter_person, person="ann", name="Ann Quill", roles=("clinic",))
    page, theirs = "/setup/packs", "The people of the household fill it in."
    assert theirs not in site.get(page).text
    assert site.get(page).form(page).buttons
    site.who = "ann"
    seen = site.get(page)
    assert theirs in seen.text
    assert "<fieldset disabled>" in seen.html
    assert [form.action for form in seen.forms if form.action == page] == []
    assert "/prescription/new" not in site.get("/prescription").links
    assert site.post(page, {}).status == 403
