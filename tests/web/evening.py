"""An evening by the pages alone: what a screen asks is filled in by a careful hand, and counted."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from urllib.parse import urlencode

from ebbwell.deeds.coming_up import next_wait
from ebbwell.procedure.evidence import planned
from ebbwell.procedure.model import Evidence, Step
from ebbwell.sim.hands import pack
from ebbwell.sim.household import READING, USUAL
from ebbwell.web.marks import field_name
from tests.web.site import Form, Seen, Site


@dataclass
class Evening:
    """taps: picks and buttons; saves: those that save a screen, which the end of a scan does too. fields: typed.

    scans: of labels. screens: addresses in the order they came.
    """

    site: Site
    scanner: bool = True
    values: dict[str, str] = field(default_factory=lambda: dict(USUAL))
    taps: int = 0
    fields: int = 0
    scans: int = 0
    saves: int = 0
    screens: list[str] = field(default_factory=list)

    def follow(self, address: str) -> tuple[str, Seen]:
        """The page that an address leads to in the end."""
        for _ in range(6):
            page = self.site.get(address)
            if page.status != 303:
                return address, page
            address = page.to
        raise RuntimeError(f"led round in circles: {address}")

    def set_up(self, most: int = 120) -> Seen:
        """From wherever the night stands to the page of an open gate."""
        for _ in range(most):
            address, page = self.follow("/setup")
            assert page.status == 200, page.text
            name = address.partition("?")[0]
            self.screens.append(name)
            if name == "/connect":
                return page
            self.one(name, page)
        raise RuntimeError(f"never came to the gate: {self.screens[-5:]}")

    def one(self, name: str, page: Seen) -> None:
        """Whatever one screen of the set-up asks."""
        self.site.clock.pass_time(timedelta(seconds=25))
        if name == "/setup":
            wait = next_wait(self.site.desk)
            assert wait is not None, page.text
            self.site.clock.pass_time(wait[0] - self.site.desk.now.at + timedelta(seconds=1))
            return
        if not name.startswith("/setup/"):
            self.linked(name, page)
            return
        scans = self.scans
        sent = self.filled_in(name, page)
        if not sent:
            self.linked(name, page)
            return
        if self.scans == scans:
            self.taps += 1
            self.saves += 1
        answer = self.site.post(name, {**page.form(name).fields, **sent})
        assert answer.status == 303, answer.text

    def linked(self, name: str, page: Seen) -> None:
        """A step with a page of its own, reached by a tap where the set-up doesn't lead there by itself."""
        self.taps += name.startswith("/setup/")
        if name in ("/setup/S2", "/prescription/read"):
            self.fields += 1
            self.taps += 1
            read = self.site.get("/prescription/read")
            answer = self.site.fill(read, "/prescription/read", version_read="3")
            assert answer.status == 303, answer.text
        elif name in ("/setup/settings", "/plan"):
            self.fields += 3
            self.taps += 2
            worked = self.site.get(
                "/plan?" + urlencode({"drink": "0.2", "saline": "0", "losses": "0", "start": ""})
            )
            answer = self.site.fill(worked, "/plan")
            assert answer.status == 303, answer.text
        else:
            raise RuntimeError(page.text)

    def filled_in(self, name: str, page: Seen) -> dict[str, str]:
        """What a hand puts into the form of a screen."""
        form = page.form(name)
        desk = self.site.desk
        sent: dict[str, str] = {}
        for step in desk.procedure.steps:
            if f"{step.id}.second.key" in form.names:
                sent |= self.second(step, form)
                continue
            for evidence in step.evidence:
                if evidence.form == "reading" and f"row.{evidence.name}.key" in form.names:
                    sent |= self.row(f"row.{evidence.name}.", form)
                    continue
                base = field_name(step.id, evidence)
                if f"{base}.key" in form.names:
                    sent |= self.given(step, evidence, base, form)
        return sent

    def row(self, prefix: str, form: Form) -> dict[str, str]:
        """A row of usual values; both blood pressures in one field."""
        usual = {"pressure": f"{READING['systolic']}/{READING['diastolic']}", **READING}
        sent = {prefix + name: value for name, value in usual.items() if prefix + name in form.names}
        self.fields += len(sent)
        return sent

    def given(self, step: Step, evidence: Evidence, base: str, form: Form) -> dict[str, str]:
        """One field."""
        name = evidence.name
        if evidence.form in ("answer", "choice"):
            self.taps += 1
            return {base: (step.wants.get(name) or step.options[name])[0]}
        if evidence.form == "measured":
            value = self.values[f"{name}@{evidence.place}" if evidence.place else name]
            method = {}
            if f"{base}.method" in form.names and not form.fields.get(f"{base}.method"):
                self.taps += 1
                method = {f"{base}.method": "meter"}
            if self.site.desk.rulebook.quantity(name).words:
                self.taps += 1
            else:
                self.fields += 1
            return {base: value, **method}
        if evidence.form == "setting":
            self.fields += 1
            return {base: str(planned(self.site.desk.scene, name))}
        if evidence.form == "lot":
            return self.pack(base, name, form)
        if evidence.form == "wait" and (base, "yes") in form.buttons:
            return {base: "yes"}
        if evidence.form == "wait" and base not in form.names:
            return {}
        self.taps += 1
        return {base: "yes"}

    def pack(self, base: str, item: str, form: Form) -> dict[str, str]:
        """A label: scanned, or typed where it isn't offered from the last time."""
        self.taps += 1
        read = pack(self.site.desk, item)
        if self.scanner:
            self.scans += 1
            day = read["expiry"].replace("-", "")[2:]
            return {f"{base}.scan": f"(240){read['code']}(10){read['lot']}(17){day}", f"{base}.intact": "yes"}
        parts = {f"{base}.{part}": read[part] for part in ("code", "lot", "expiry")}
        fresh = {k: v for k, v in parts.items() if form.fields.get(k) != [v]}
        self.fields += len(fresh)
        return {**fresh, f"{base}.intact": "yes"}

    def second(self, step: Step, form: Form) -> dict[str, str]:
        """The second reading, half a minute later."""
        self.site.clock.pass_time(timedelta(seconds=25))
        sent = {}
        for evidence in step.evidence:
            base = f"{step.id}.second.{evidence.name}" + (f".{evidence.place}" if evidence.place else "")
            if base not in form.names:
                continue
            key = f"{evidence.name}@{evidence.place}" if evidence.place else evidence.name
            self.fields += 1
            if evidence.form == "lot":
                sent[base] = pack(self.site.desk, evidence.name)["code"]
            elif evidence.form == "choice":
                sent[base] = step.wants[evidence.name][0]
            else:
                sent[base] = self.values[key]
        photo = step.second == "person_or_photo"
        self.taps += 1
        sent[f"{step.id}.second.how"] = "person:ilka" if photo else "reread"
        return sent
