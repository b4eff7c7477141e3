"""A hand at a real screen: takes an evening and a morning through the pages, by touch, mouse or keyboard alone."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlsplit

from playwright.sync_api import Locator, Page

from ebbwell.deeds.coming_up import next_wait
from ebbwell.deeds.readings_due import due_readings
from ebbwell.procedure.model import Evidence, Step
from ebbwell.sim.demo import VALUES
from ebbwell.sim.household import READING
from tests.browser.site import Site
from tests.web.evening import Evening
from tests.web.site import Form, Seen

LAST = ("waking", "before_off")
"""Readings that aren't of the first hour."""

GIVEN = {"heparin_first_dose": "1500", "rinse_back": "0.3"}


class WholeNight(Evening):
    """What a careful hand fills in after connecting as well."""

    def given(self, step: Step, evidence: Evidence, base: str, form: Form) -> dict[str, str]:
        """One field."""
        if evidence.form == "given":
            self.fields += 1
            return {base: GIVEN[evidence.name]}
        if evidence.form == "disinfected":
            self.fields += 1
            self.taps += 1
            return {f"{base}.agent": "heat", f"{base}.minutes": "40"}
        return super().given(step, evidence, base, form)


class Hand:
    """screen: the page. keys: whether only the keyboard is used. evening: knows what to put where, and counts."""

    def __init__(self, site: Site, screen: Page, *, keys: bool = False) -> None:
        self.site = site
        self.screen = screen
        self.keys = keys
        self.evening = WholeNight(site, values={**VALUES, "weight_after": "64.5"})  # type: ignore[arg-type]
        self.went: list[str] = []
        self.taps = self.picks = self.fields = self.scans = 0

    def go(self, address: str) -> str:
        """Open an address; gives the path that it led to."""
        self.screen.goto(self.site.url + address)
        path = urlsplit(self.screen.url).path
        self.went.append(path)
        return path

    def seen(self) -> Seen:
        """The screen as it is, read like a page."""
        return Seen(200, self.screen.content(), {})  # type: ignore[arg-type]

    def press(self, thing: Locator) -> None:
        """Tap it, or reach it by the keyboard and press Enter."""
        self.taps += 1
        if self.keys:
            thing.focus()
            thing.press("Enter")
        else:
            thing.click()

    def send(self, button: Locator) -> None:
        """Press a form's button and wait for the next page, which must not say that something wasn't kept."""
        with self.screen.expect_navigation():
            self.press(button)
        problem = self.screen.locator("#trouble")
        assert problem.count() == 0, problem.inner_text()

    def put(self, sent: dict[str, str]) -> None:
        """Fill in fields: picks by their words, the rest by typing."""
        for name, value in sent.items():
            if self.screen.locator(f'button[name="{name}"][value="{value}"]').count():
                continue
            pick = self.screen.locator(f'input[type=radio][name="{name}"][value="{value}"]')
            if pick.count():
                self.taps += 1
                self.picks += 1
                if self.keys:
                    pick.focus()
                    self.screen.keyboard.press("Space")
                else:
                    self.screen.locator("label", has=pick).click()
                assert pick.is_checked()
                continue
            for parent in self.screen.locator(f'details:not([open]):has([name="{name}"]) > summary').all():
                self.press(parent)
            box = self.screen.locator(f'[name="{name}"]:not([type=hidden])')
            if name.endswith(".scan"):
                self.scans += 1
            else:
                self.fields += 1
            box.focus()
            box.fill("")
            if self.keys:
                self.screen.keyboard.type(value)
            else:
                box.fill(value)

    def form(self, action: str) -> Locator:
        """A form by where it is sent."""
        return self.screen.locator(f'form[action="{action}"]')

    def fill(self, action: str, button: str = "button:not(.out):not([name=as_typed])") -> bool:
        """Whatever a form of steps asks, as on a usual night. Whether there was anything."""
        if not self.form(action).count():
            return False
        sent = self.evening.filled_in(action, self.seen())
        if not sent:
            return False
        self.put(sent)
        self.send(self.form(action).locator(button).last)
        return True

    def begin(self) -> None:
        """Open tonight from the home page."""
        self.go("/")
        self.send(self.form("/").locator("button.go"))

    def set_up(self, most: int = 150) -> None:
        """From wherever the night stands to the page of an open gate."""
        for _ in range(most):
            path = self.go("/setup")
            if path == "/connect":
                return
            self.site.clock.pass_time(timedelta(seconds=25))
            if path == "/setup":
                wait = next_wait(self.site.desk)
                assert wait is not None, self.seen().text
                self.site.clock.pass_time(wait[0] - self.site.desk.now.at + timedelta(seconds=1))
            elif not path.startswith("/setup/") or not self.fill(path):
                self._linked(path)
        raise AssertionError(f"never came to the gate: {self.went[-5:]}")

    def _linked(self, path: str) -> None:
        self.taps += path.startswith("/setup/")
        if path in ("/setup/S2", "/prescription/read"):
            self.go("/prescription/read")
            self.put({"version_read": "3"})
            self.send(self.form("/prescription/read").locator("button.go"))
        elif path in ("/setup/settings", "/plan"):
            self.go("/plan")
            self.put({"drink": "0.2", "saline": "0", "losses": "0"})
            with self.screen.expect_navigation():
                self.press(self.screen.locator("form[method=get] button").first)
            self.send(self.form("/plan").locator("button.go"))
        else:
            raise AssertionError(self.seen().text)

    def connect(self) -> None:
        """Blood runs."""
        assert self.go("/connect") == "/connect"
        self.send(self.form("/connect").locator("button.go"))

    def reading(self, when: str = "") -> None:
        """A row of usual values; one tap leads there."""
        self.taps += 1
        self.go(f"/night/reading?when={when}")
        there = self.seen().form("/night/reading").names
        usual = {"pressure": f"{READING['systolic']}/{READING['diastolic']}", **READING}
        self.put({name: value for name, value in usual.items() if name in there})
        self.send(self.form("/night/reading").locator("button.go"))

    def settle(self) -> None:
        """The first steps after connecting."""
        for _ in range(12):
            self.go("/night")
            self.site.clock.pass_time(timedelta(minutes=5))
            if self.fill("/night/steps"):
                continue
            due = [r for r in due_readings(self.site.desk) if not r.given and r.name not in LAST]
            if not due:
                return
            if due[0].due is not None:
                self.site.clock.pass_time(max(due[0].due - self.site.desk.now.at, timedelta(0)))
            self.reading(due[0].name)

    def morning(self) -> None:
        """Coming off in two stages, to the closed sheet. One tap leads there from the night page."""
        self.taps += 1
        self._moments("/off")
        self.put({"blood": "all"})
        self.send(self.form("/off").locator("button").last)
        self.site.clock.pass_time(timedelta(minutes=12))
        self._moments("/off/steps")
        self.send(self.form("/off/safe").locator("button.go"))
        self._moments("/off/steps")
        for box in self.screen.locator('[name^="because."]').all():
            box.fill("later today")
        self.send(self.form("/off/close").locator("button.go"))

    def _moments(self, action: str) -> None:
        """Each moment's screen until none asks for more; stays on the page."""
        for _ in range(20):
            self.go("/off")
            if not self.fill(action, "button[value=steps]:not(.out)"):
                return
            self.site.clock.pass_time(timedelta(minutes=3))
        raise AssertionError("the morning doesn't end")
