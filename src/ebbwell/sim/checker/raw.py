"""The raw entries as plain data, for the second opinion: what is live, what is dead, what isn't understood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

import msgspec

from ebbwell.journal.envelope import Entry, Envelope

Row = Mapping[str, Any]


@dataclass
class Word:
    """One live entry, as plain data.

    writer, seq: of the entry that says it last; first_writer, first_seq: of the one that said it first. boot, mono,
    written: the clocks when its time was written down. ids: of everything that says it, the corrected included.
    """

    id: str
    kind: str
    says: Row
    at: datetime
    writer: str
    seq: int
    boot: str
    mono: int
    written: datetime
    first_writer: str
    first_seq: int
    first_id: str
    ids: frozenset[str]
    treatment: str | None = None

    @property
    def mono_at(self) -> int:
        """The boot clock [ms] when it was so."""
        return self.mono - round((self.written - self.at).total_seconds() * 1000)

    def tells_of_before(self, event: Word) -> bool:
        """Whether it was written down late and tells of something older than an event."""
        if self.written <= self.at:
            return False
        if not self.boot or self.boot != event.boot:
            return self.at < event.at
        return self.mono_at < event.mono_at


@dataclass
class Record:
    """What the raw entries say. live: nothing replaces them. readings: every measured
    entry, also the replaced; unlike: every second reading that wasn't the same, likewise; failed: every machine test
    that failed, likewise, by id and night. strange: kinds that have to be understood and aren't."""

    live: list[Word] = field(default_factory=list)
    dead: set[str] = field(default_factory=set)
    strange: bool = False
    readings: list[tuple[str, Row, Envelope]] = field(default_factory=list)
    unlike: list[tuple[str, Row]] = field(default_factory=list)
    failed: list[tuple[str, str | None]] = field(default_factory=list)

    def disagree(self) -> bool:
        """Whether two live words say different things about one thing."""
        said: dict[tuple[Any, ...], set[str]] = {}
        for word in self.live:
            s = word.says
            about: tuple[Any, ...] | None = None
            if word.kind == "measured":
                about = ("m", s["quantity"], s.get("place", ""))
                what = repr(
                    (
                        number(s.get("value")),
                        *map(s.get, ("below", "not_measured", "method", "unit", "control")),
                    )
                )
            elif word.kind == "answer":
                about, what = ("a", s["question"]), s["answer"]
            elif word.kind == "choice":
                about, what = ("c", s["step"], s["name"]), s["option"]
            elif word.kind == "lot_used" and s["item"] not in ("saline", "needles"):
                about, what = (
                    ("l", s["item"], s.get("new_set", "")),
                    repr((s.get("code"), s.get("lot"), s.get("expiry"), s.get("intact"))),
                )
            if about is not None:
                said.setdefault(about, set()).add(what)
        return any(len(values) > 1 for values in said.values())


def number(text: str | None) -> Decimal | str | None:
    """A value as the number it is: 1000.000 says what 1000 says."""
    try:
        return None if text is None else Decimal(text).normalize()
    except InvalidOperation:
        return text


def read(entries: Sequence[Entry], known: frozenset[str]) -> Record:
    """Read raw entries. known: the kinds this program knows."""
    record = Record()
    rows: dict[str, tuple[Entry, Row]] = {}
    for entry in entries:
        record.dead |= set(entry.envelope.replaces)
        if entry.envelope.kind not in known:
            record.strange = record.strange or entry.envelope.must_understand
            continue
        rows[entry.id] = (entry, _plain(entry))
        if entry.envelope.kind == "measured":
            record.readings.append((entry.id, _plain(entry), entry.envelope))
        said = _plain(entry) if entry.envelope.kind == "choice" else {}
        if (said.get("name"), said.get("option")) == ("machine_tests", "failed"):
            record.failed.append((entry.id, entry.envelope.treatment))
        if entry.envelope.kind == "second_check" and not _plain(entry)["agrees"]:
            record.unlike.append((entry.id, _plain(entry)))
    for entry, says in rows.values():
        if entry.id in record.dead:
            continue
        first, steps, timed, at = entry, [], entry, None
        ids = {entry.id}
        while first.envelope.kind == "corrected":
            if says["of"] not in rows:
                record.strange = True
                break
            if "at" in says["changes"] and at is None:
                timed, at = first, datetime.fromisoformat(says["changes"]["at"])
            steps.append(says["changes"])
            first, says = rows[says["of"]]
            ids.add(first.id)
        for changes in reversed(steps):
            says = changed(says, changes)
        if at is None:
            timed, at = first, first.envelope.at
        e = timed.envelope
        record.live.append(
            Word(
                entry.id,
                first.envelope.kind,
                says,
                at,
                entry.writer,
                entry.seq,
                e.boot,
                e.mono,
                e.recorded_at,
                first.writer,
                first.seq,
                first.id,
                frozenset(ids),
                first.envelope.treatment,
            )
        )
    return record


def changed(base: Row, changes: Mapping[str, str]) -> Row:
    """A body with some of its fields, or of the things named in them, as corrected."""
    says = {name: dict(value) if isinstance(value, dict) else value for name, value in base.items()}
    for name, value in changes.items():
        outer, dot, inner = name.partition(".")
        if dot:
            says[outer][inner] = value
        else:
            says[name] = value == "true" if value in ("true", "false") else value
    return says


_rows: dict[bytes, Row] = {}


def _plain(entry: Entry) -> Row:
    row = _rows.get(entry.hash)
    if row is None:
        row = _rows[entry.hash] = msgspec.json.decode(entry.body_bytes or b"{}")
    return row
