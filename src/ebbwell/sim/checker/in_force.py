"""What a record holds, said a second time from the raw entries: the words that stand, and the order in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from ebbwell.core.clock import Moment
from ebbwell.procedure.model import Procedure
from ebbwell.sim.checker.raw import Record, Word


@dataclass
class InForce:
    """The live words of a record, at a moment, in the store whose chain is ``own``."""

    procedure: Procedure
    record: Record
    now: Moment
    own: str

    def __post_init__(self) -> None:
        self.by_kind: dict[str, list[Word]] = {}
        for word in self.record.live:
            self.by_kind.setdefault(word.kind, []).append(word)

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
