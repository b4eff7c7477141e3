"""When a hold is met, said a second time: from the raw entries, without any of the code that judges a night.

Slow and plain on purpose. Only the procedure's data is shared with the program, and the mutants change that too.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

from ebbwell.procedure.model import Evidence, Step
from ebbwell.sim.checker.raw import Record, Row, Word, number, read
from ebbwell.sim.checker.wanted import Wanted

__all__ = ["Record", "Row", "Spec", "Word", "read"]

TWO_MINUTES = 120.0
NEEDLES_TO_CONNECT = timedelta(minutes=20)
CHEMICALS = ("hypochlorite", "peracetic", "other")
CHLORINE = Decimal("0.10")


class Spec(Wanted):
    """The rules of the gate, over a record, at a moment, in the store whose chain is ``own``."""

    def __post_init__(self) -> None:
        super().__post_init__()
        steps = {step.id for step in self.procedure.steps if step.needles and self.needed(step)}
        needles = [w for w in self.words("choice") if w.says["step"] in steps and self.counts(w)]
        self.needles = min(needles, key=lambda w: w.seq, default=None)
        self._met: dict[str, bool] = {}

    def open_holds(self) -> list[str]:
        """Every reason why connecting must be shut."""
        reasons = [s.id for s in self.procedure.steps if s.gate == "connect" and not self.passed(s.id)]
        lines = self.lines()
        if lines is None:
            reasons.append("no prescription in force")
        else:
            fits = self.procedure.fits.items()
            reasons += [f"steps for another {name}" for name, w in fits if lines[0].get(name, "") not in w]
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
            "no_heparin_pump": ("anticoagulant", ("none", "low_molecular")),
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
        if step.unit_after_fail and not self.word_after_failure(step, every):
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
            if self._failed(word, id_, says):
                gaps = [word.at - e.at]
                if e.boot and e.boot == word.boot:
                    gaps.append(timedelta(milliseconds=word.mono_at - e.mono) + (e.recorded_at - e.at))
                if min(gaps) < step.retest:
                    return False
        return True

    def word_after_failure(self, step: Step, words: list[Word]) -> bool:
        """Whether no other test of this failed within a day, or the unit allowed the step since the last one."""
        fails = [
            e.at for word in words for id_, says, e in self.record.readings if self._failed(word, id_, says)
        ]
        fails = [at for at in fails if all(w.at - at < timedelta(hours=24) for w in words)]
        said = [w for w in self.words("advice") if w.says.get("outcome", "said") == "said"]
        said = [w for w in said if step.id in w.says.get("about", ())]
        return not fails or any(
            w.says.get("allows")
            and w.at >= max(fails)
            and not any(no.seq > w.seq for no in said if not no.says.get("allows"))
            for w in said
        )

    def _failed(self, word: Word, id_: str, says: Row) -> bool:
        """Whether a reading beside this word was over the limit, or at it by a method that can't tell."""
        level = number(says.get("value"))
        if any(says.get(k, "") != word.says.get(k, "") for k in ("quantity", "place")):
            return False
        if id_ in (word.id, word.first_id) or says.get("below") or not isinstance(level, Decimal):
            return False
        return level > CHLORINE or (level == CHLORINE and says.get("method") != "meter")

    def unit_allows(self, step: Step, words: list[Word]) -> bool:
        """Whether the unit's word, said after, lets the step pass."""
        said = [
            w
            for w in self.words("advice")
            if w.says.get("outcome", "said") == "said" and step.id in w.says.get("about", ())
        ]
        return step.advisable and any(
            w.says.get("allows")
            and self.counts(w)
            and all(w.seq > e.seq for e in words)
            and not any(no.seq > w.seq for no in said if not no.says.get("allows"))
            for w in said
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
