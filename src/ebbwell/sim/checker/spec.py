"""When a hold is met, said a second time: from the raw entries, without any of the code that judges a night.

Slow and plain on purpose. Only the procedure's data is shared with the program, and the mutants change that too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from ebbwell.core.clock import Moment
from ebbwell.procedure.model import Evidence, Procedure, Step
from ebbwell.sim.checker.raw import Record, Row, Word, number, read

__all__ = ["Record", "Row", "Spec", "Word", "read"]

TWO_MINUTES = 120.0
NEEDLES_TO_CONNECT = timedelta(minutes=20)
CHEMICALS = ("hypochlorite", "peracetic", "other")
CODES = {"acid": "acid_code", "bicarbonate": "bicarbonate_code", "dialyser": "dialyser"}
STANDING = ("prescription", "line_amended", "household", "person", "skill", "lot_recalled")
CHLORINE = Decimal("0.10")
SINGLE = ("measured", "answer", "choice", "plan", "pinned")


@dataclass
class Spec:
    """The rules of the gate, over a record, at a moment, in the store whose chain is ``own``."""

    procedure: Procedure
    record: Record
    now: Moment
    own: str

    def __post_init__(self) -> None:
        self.by_kind: dict[str, list[Word]] = {}
        for word in self.record.live:
            self.by_kind.setdefault(word.kind, []).append(word)
        steps = {step.id for step in self.procedure.steps if step.needles and self.needed(step)}
        needles = [w for w in self.words("choice") if w.says["step"] in steps and self.counts(w)]
        self.needles = min(needles, key=lambda w: w.seq, default=None)
        self._met: dict[str, bool] = {}

    def words(self, kind: str) -> list[Word]:
        """The live words of a kind, oldest first."""
        return self.by_kind.get(kind, [])

    def lines(self) -> tuple[dict[str, str], set[str]] | None:
        """The prescription's lines in force and the ids they rest on; None while there is none to connect by."""
        held = self.words("prescription")
        if len(held) != 1:
            return None
        checks = {of: w.id for w in self.words("second_check") if w.says["agrees"] for of in w.says["of"]}
        if held[0].id not in checks:
            return None
        lines, rests = dict(held[0].says["lines"]), {held[0].id, checks[held[0].id]}
        for word in self.amended():
            if word.says["prescription"] == held[0].id:
                if word.id not in checks:
                    return None
                lines[word.says["line"]] = word.says["value"]
                rests |= {word.id, checks[word.id]}
        return lines, rests

    def amended(self) -> list[Word]:
        """The changed lines that hold tonight: those from now on, then those for this night alone."""
        words = self.words("line_amended")
        lasting = [w for w in words if not w.says.get("tonight_only")]
        return lasting + [w for w in words if w.says.get("tonight_only") and self.tonight(w)]

    def tonight(self, word: Word) -> bool:
        """Whether a change for one night alone is about the newest night: taken down in it, or the day before it."""
        nights = sorted((w.at, w.treatment or "") for w in self.words("pinned") if w.treatment)
        if not nights:
            return False
        if word.says.get("during"):
            return bool(word.says["during"] == nights[-1][1])
        after = [n for n in nights if word.at <= n[0] <= word.at + timedelta(hours=24)]
        return bool(after) and after[0] == nights[-1]

    def counts(self, word: Word) -> bool:
        """Made here, and since this store holds the treatment."""
        taken = [w for w in self.words("handed_over") if w.says["stage"] == "store"]
        if any(w.writer != self.own for w in taken):
            return False
        return {word.writer, word.first_writer} == {self.own} and all(
            min(word.seq, word.first_seq) > w.seq for w in taken
        )

    def open_holds(self) -> list[str]:
        """Every reason why connecting must be shut."""
        reasons = [s.id for s in self.procedure.steps if s.gate == "connect" and not self.passed(s.id)]
        if self.lines() is None:
            reasons.append("no prescription in force")
        if self.record.strange:
            reasons.append("something not understood")
        if self.words("not_tonight"):
            reasons.append("not tonight")
        if self.record.disagree():
            reasons.append("two values disagree")
        if any(w.says["stage"] == "store" and w.writer != self.own for w in self.words("handed_over")):
            reasons.append("held by another store")
        return reasons

    def passed(self, step_id: str) -> bool:
        """Whether a step and everything before it holds."""
        if step_id not in self._met:
            self._met[step_id] = False
            step = self.procedure.step(step_id)
            if not self.needed(step):
                self._met[step_id] = True
            else:
                self._met[step_id] = all(self.passed(before) for before in step.after) and self.own_words(
                    step
                )
        return self._met[step_id]

    def needed(self, step: Step) -> bool:
        """Whether tonight asks for the step; not knowing means yes."""
        held = self.words("prescription")
        lines = self.lines()
        known = lines[0] if lines else (dict(held[0].says["lines"]) if len(held) == 1 else {})
        if lines is None and len(held) == 1:
            checked = {of for w in self.words("second_check") if w.says["agrees"] for of in w.says["of"]}
            for w in self.amended():
                if w.id in checked:
                    known[w.says["line"]] = w.says["value"]
        wanted = {
            "heparin": ("anticoagulant", ("heparin",)),
            "no_heparin": ("anticoagulant", ("none",)),
            "low_molecular": ("anticoagulant", ("low_molecular",)),
            "blood_thinner": ("anticoagulant", ("heparin", "low_molecular")),
            "fistula": ("access", ("fistula", "graft")),
            "catheter": ("access", ("catheter",)),
            "buttonhole": ("needle_method", ("buttonhole",)),
            "dry_bicarbonate": ("bicarbonate_form", ("dry",)),
            "liquid_bicarbonate": ("bicarbonate_form", ("liquid",)),
            "prime_to_drain": ("connection", ("prime_to_drain",)),
            "prime_given": ("connection", ("prime_given",)),
        }.get(step.only_if)
        if step.only_if == "buttonhole" and known.get("access") == "catheter":
            return False
        if wanted is not None:
            return not known.get(wanted[0]) or known[wanted[0]] in wanted[1]
        if step.only_if in ("blood_returned", "blood_kept_out"):
            return self.blood(step.only_if)
        if step.only_if == "two_tanks":
            return all(w.says.get("carbon_tanks", 2) > 1 for w in self.words("household"))
        if step.only_if == "chemical_used":
            if any(w.says["quantity"] == "residual_disinfectant" for w in self.words("measured")):
                return True
            done = self.words("disinfected")
            return not done or any(w.says["agent"] in CHEMICALS for w in done)
        return True

    def blood(self, condition: str) -> bool:
        """Whether blood is still to go back, or stayed out: by how it looked and by what coming off says."""
        looks = [w.says["option"] for w in self.words("choice") if w.says["name"] == "blood_return"]
        look = looks[-1] if looks else ""
        back = {w.says["blood_returned"] for w in self.words("came_off")}
        if condition == "blood_returned":
            return look in ("", "normal") and back != {"none"}
        return look != "normal" or bool(back - {"all"})

    def own_words(self, step: Step) -> bool:
        """Whether a step's own evidence is there, in time, as wanted, and read twice where it must be."""
        groups: list[list[Word]] = []
        for evidence in step.evidence:
            words = [w for w in self.find(step, evidence) if self.counts(w) and not self.reopened(step, w)]
            if not words:
                return self.skipped(step)
            groups.append(words)
        for evidence, words in zip(step.evidence, groups, strict=True):
            word = words[0] if evidence.length is not None else words[-1]
            if not self.in_time(step, evidence, word):
                return False
        every = [word for words in groups for word in words]
        fine = all(
            self.wanted(step, e, w) and self.rested(step, w)
            for e, words in zip(step.evidence, groups, strict=True)
            for w in words
        ) and all(self.bound(text) for text in step.bounds)
        if not fine and not self.unit_allows(step, every):
            return False
        return self.read_twice(step, every)

    def find(self, step: Step, evidence: Evidence) -> list[Word]:
        """The live words that speak for a piece of evidence."""
        form, name, place = evidence.form, evidence.name, evidence.place
        tests: dict[str, Callable[[Row], bool]] = {
            "answer": lambda s: s["question"] == name,
            "measured": lambda s: (s["quantity"], s.get("place", "")) == (name, place),
            "setting": lambda s: (s["quantity"], s.get("place", "")) == (name, "setting"),
            "choice": lambda s: (s["step"], s["name"]) == (step.id, name),
            "lot": lambda s: s["item"] == name and not s.get("new_set"),
            "tick": lambda s: s["step"] == step.id,
            "wait": lambda s: s["step"] == step.id,
            "readback": bool,
            "plan": bool,
        }
        kind = {"setting": "measured", "lot": "lot_used", "wait": "waited"}.get(form, form)
        return [w for w in self.words(kind) if tests[form](w.says)]

    def skipped(self, step: Step) -> bool:
        """Whether it was left out, as it may be."""
        if step.skip == "never":
            return False
        return any(
            w.says["step"] == step.id
            and self.counts(w)
            and (step.skip == "reason" or w.says.get("unit"))
            and not self.reopened(step, w)
            for w in self.words("skipped")
        )

    def reopened(self, step: Step, word: Word) -> bool:
        """Whether anything that reopens the step came after a word."""
        for name in step.reopens_on:
            theme, _, what = name.partition(":")
            if theme == "happened":
                events = [w for w in self.words("happened") if w.says["what"] == what]
            elif theme == "disinfected":
                events = [w for w in self.words("disinfected") if w.says["agent"] in CHEMICALS]
            elif theme == "recalled":
                events = self.words("lot_recalled")
            else:
                amended = self.amended()
                about = [w for w in amended if not step.rests_on or w.says["line"] in step.rests_on]
                events = self.words("prescription") + about
            for event in events:
                if event.writer != word.first_writer:
                    if event.at > word.at - timedelta(minutes=10):
                        return True
                elif event.seq > word.first_seq or word.tells_of_before(event):
                    return True
        return False

    def in_time(self, step: Step, evidence: Evidence, word: Word) -> bool:
        """Whether a timed word still holds, or its wait is over, by a clock that can be trusted."""
        now = (self.now.at, self.now.boot, self.now.mono)
        if evidence.length is not None:
            if not self.clock_runs(word, *now) or word.at + evidence.length > self.now.at:
                return False
        if step.valid is None:
            return True
        if self.needles is not None and self.needles.seq > word.seq:
            now = (self.needles.at, self.needles.boot, self.needles.mono_at)
        return self.clock_runs(word, *now) and word.at + step.valid >= now[0] + NEEDLES_TO_CONNECT

    def clock_runs(self, word: Word, at: datetime, boot: str, mono: int) -> bool:
        """Whether the time from a word to an instant is known."""
        if (word.at - at).total_seconds() > TWO_MINUTES:
            return False
        if word.boot == boot and boot:
            return abs((at - word.written).total_seconds() - (mono - word.mono) / 1000) <= TWO_MINUTES
        return word.written <= at and self.clock_compared(boot, at, mono)

    def clock_compared(self, boot: str, at: datetime, mono: int) -> bool:
        """Whether the clock was compared with another one since this start, and hasn't jumped since."""
        return any(
            w.says["question"] == "clock_right"
            and w.says["answer"] == "yes"
            and self.counts(w)
            and w.boot == boot
            and abs((at - w.written).total_seconds() - (mono - w.mono) / 1000) <= TWO_MINUTES
            for w in self.words("answer")
        )

    def rested(self, step: Step, word: Word) -> bool:
        """Whether a test that failed lies long enough before this one, by both clocks."""
        if step.retest is None:
            return True
        for id_, says, e in self.record.readings:
            same = all(says.get(k, "") == word.says.get(k, "") for k in ("quantity", "place"))
            level = number(says.get("value"))
            if (
                not same
                or id_ in (word.id, word.first_id)
                or says.get("below")
                or not isinstance(level, Decimal)
            ):
                continue
            if level > CHLORINE or (level == CHLORINE and says.get("method") != "meter"):
                gaps = [word.at - e.at]
                if e.boot and e.boot == word.boot:
                    gaps.append(timedelta(milliseconds=word.mono_at - e.mono) + (e.recorded_at - e.at))
                if min(gaps) < step.retest:
                    return False
        return True

    def wanted(self, step: Step, evidence: Evidence, word: Word) -> bool:
        """Whether what a word says lets the step pass."""
        s = word.says
        if word.kind == "answer":
            return evidence.name not in step.wants or s["answer"] in step.wants[evidence.name]
        if word.kind == "choice":
            return evidence.name not in step.wants or s["option"] in step.wants[evidence.name]
        if word.kind == "measured":
            if s.get("not_measured"):
                return False
            if evidence.form == "setting":
                return self.as_set(s)
            return s["quantity"] not in step.wants or s["value"] in step.wants[s["quantity"]]
        if word.kind == "lot_used":
            return self.good_pack(s)
        lines = self.lines()
        if lines is None:
            return False
        if word.kind == "readback":
            held = self.words("prescription")
            return bool(s["prescription"] == held[0].id and s["shown"] == lines[0])
        if word.kind == "plan":
            return lines[1] <= set(s["rests_on"]) and not set(s["rests_on"]) & self.record.dead
        return True

    def as_set(self, s: Row) -> bool:
        """Whether a machine setting is what plan or prescription say."""
        name = s["quantity"]
        plans = self.words("plan")
        lines = self.lines()
        text = plans[-1].says["figures"].get(name) if plans else None
        if text is None:
            text = lines[0].get(name) if lines is not None else None
        if text is None:
            return False
        wanted, typed = Decimal(text.split()[0]), Decimal(s["value"])
        held = lines[0] if lines is not None else {}
        if name in ("removal_rate", "fluid_to_remove") and "removal_cap" in held:
            most = Decimal(held["removal_cap"]) * Decimal(held["target_weight"])
            if name == "fluid_to_remove":
                most = most * Decimal(held["treatment_minutes"]) / 60_000
            if typed > most >= wanted:
                return False
        return (
            abs(wanted - typed) <= Decimal("0.5")
            if name == "removal_rate"
            else abs(wanted - typed) < Decimal("0.05")
        )

    def good_pack(self, s: Row) -> bool:
        """Whether a pack may be used tonight."""
        try:
            expiry = date.fromisoformat(s.get("expiry", ""))
        except ValueError:
            return False
        if not s.get("intact", True) or expiry < self.now.at.astimezone(ZoneInfo(self.now.zone)).date():
            return False
        for recall in self.words("lot_recalled"):
            if (recall.says["item"], recall.says["lot"]) == (s["item"], s.get("lot", "")):
                return False
        lines = self.lines()
        line = CODES.get(s["item"])
        ordered = lines[0].get(line, "") if lines is not None and line is not None else ""
        return not ordered or bool(s.get("code", "").casefold() == ordered.casefold())

    def value(self, quantity: str, place: str = "") -> tuple[Decimal, Row] | None:
        """The newest measured value of a quantity."""
        for w in reversed(self.words("measured")):
            if (w.says["quantity"], w.says.get("place", "")) == (quantity, place) and w.says.get("value"):
                return Decimal(w.says["value"]), w.says
        return None

    def bound(self, text: str) -> bool:
        """Whether a bound holds; no value means no."""
        rule = text.removeprefix("rule:")
        if rule.startswith("chlorine_tank"):
            found = self.value("total_chlorine", rule[9:14])
            if found is None:
                return False
            strip = found[1].get("method") == "strip" and not found[1].get("below")
            if rule.endswith("strip"):
                return not (strip and found[0] >= Decimal("0.1"))
            return found[0] <= Decimal("0.10")
        if rule == "residual_positive":
            return any(
                w.says["quantity"] == "residual_disinfectant" and w.says["value"] == "negative"
                for w in self.words("measured")
            )
        feed, product = self.value("feed_conductivity"), self.value("product_conductivity")
        if rule == "rejection_low":
            return feed is not None and product is not None and (1 - product[0] / feed[0]) * 100 >= 90
        if rule == "product_not_under_feed":
            return feed is not None and product is not None and product[0] < feed[0]
        return self._simple(rule)

    def _simple(self, rule: str) -> bool:
        lines = self.lines()
        ordered = lines[0] if lines is not None else {}
        if rule in ("acid_runs_dry", "bicarbonate_runs_dry"):
            found = self.value("acid_left" if rule.startswith("acid") else "bicarbonate_powder")
            if found is None or not ordered:
                return False
            flow, minutes = Decimal(ordered["dialysate_flow"]), Decimal(ordered["treatment_minutes"])
            if rule.startswith("acid"):
                return found[0] * Decimal(ordered["acid_parts"]) * 1000 / flow >= minutes
            grams_a_minute = Decimal(ordered["bicarbonate_mixed"]) * Decimal("0.084007") * flow / 1000
            return found[0] / grams_a_minute >= minutes
        if rule == "heparin_strength_differs":
            found = self.value("heparin_strength")
            return found is not None and bool(ordered) and found[0] == Decimal(ordered["heparin_strength"])
        if rule == "meters_apart":
            one, two = self.value("fluid_conductivity", "machine"), self.value("fluid_conductivity", "meter")
            return one is not None and two is not None and abs(one[0] - two[0]) <= Decimal("0.3")
        if rule == "needle_tries_over":
            tries = [self.value("needle_tries", place) for place in ("arterial", "venous")]
            return all(t is not None and t[0] <= 2 for t in tries)
        if rule == "conductivity_outside":
            found = self.value("fluid_conductivity", "machine")
            return found is not None and 12 <= found[0] <= 16
        limits: dict[str, tuple[str, Callable[[Decimal], bool]]] = {
            "body_temperature_high": ("body_temperature", lambda v: v < Decimal("37.8")),
            "fluid_too_hot": ("fluid_temperature", lambda v: v < Decimal("38.5")),
            "ph_outside": ("fluid_ph", lambda v: Decimal("6.9") <= v <= Decimal("7.6")),
        }
        quantity, holds = limits[rule]
        found = self.value(quantity)
        return found is not None and holds(found[0])

    def unit_allows(self, step: Step, words: list[Word]) -> bool:
        """Whether the unit's word, said after, lets the step pass."""
        return step.advisable and any(
            w.says.get("allows")
            and step.id in w.says["about"]
            and self.counts(w)
            and all(w.seq > e.seq for e in words)
            for w in self.words("advice")
        )

    def read_twice(self, step: Step, words: list[Word]) -> bool:
        """Whether the second reading that the step wants is there and agrees, and none was made that didn't."""
        if step.second in ("none", "blind"):
            return True
        settled = {of for w in self.words("settled") for of in w.says["of"]}
        for id_, says in self.record.unlike:
            if id_ not in settled and any(w.ids & set(says["of"]) for w in words):
                return False
        if step.second == "scan" and all(w.kind == "lot_used" and w.says.get("scanned") for w in words):
            return True
        ids = {w.id for w in words if w.kind in ("measured", "lot_used", "choice", "tick", "readback")}
        ways = {"person_or_photo": ("person", "photo"), "reread": ("person", "reread")}.get(
            step.second, ("person", "reread", "scan")
        )
        return any(
            w.says["agrees"] and w.says["how"] in ways and self.counts(w) and ids <= set(w.says["of"])
            for w in self.words("second_check")
        )
