"""The house: a store, a clock, ids, the rulebook and the procedure, put together in one place.

Everything outside (command line, pages, tests) acts through ``House.do`` and looks through ``House.look``.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from ebbwell.core.clock import Clock
from ebbwell.core.errors import InputError
from ebbwell.core.ids import Ids, check_id
from ebbwell.deeds.desk import Desk, Done
from ebbwell.journal.chain import Verdict
from ebbwell.journal.envelope import Entry
from ebbwell.journal.kinds.orders import Pinned
from ebbwell.journal.store.base import Store, Taken
from ebbwell.journal.store.connect import engine
from ebbwell.journal.store.place import MOUNTS, NETWORK_TYPES, file_system_of
from ebbwell.journal.store.sqlite import open_store
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import Procedure, ProcedureRefused
from ebbwell.procedure.own import known_procedure, own_procedure, shipped_for
from ebbwell.rulebook.load import load_rulebook, parse_rulebook
from ebbwell.rulebook.model import Rulebook
from ebbwell.rulebook.own_units import in_units
from ebbwell.state import checkpoint
from ebbwell.state.facts import Facts
from ebbwell.state.fold import State, fold
from ebbwell.state.limits import tightened, with_own_limits
from ebbwell.state.standing import adopted_steps
from ebbwell.state.units import chosen_units

CHECKPOINT_EVERY = 200
"""Entries after which the checkpoint is written anew."""


JUDGED = ("scene", "views", "bars", "gate_open")
"""What of a desk depends only on entries and moment, not on who acts."""


class House:
    """One household's record, open. Made by ``House.open``; tests and the model checker may hand in a store."""

    def __init__(
        self,
        store: Store,
        clock: Clock,
        ids: Ids,
        *,
        rulebook: Rulebook | None = None,
        procedure: Procedure | None = None,
        checkpoint_path: Path | None = None,
        state: State | None = None,
        household: str | None = None,
    ) -> None:
        self.store = store
        self.clock = clock
        self.ids = ids
        self.rulebook = rulebook if rulebook is not None else load_rulebook()
        self.procedure = procedure if procedure is not None else load_procedure()
        self._checkpoint = checkpoint_path
        self._saved_row = 0
        self.looked: tuple[tuple[object, ...], Desk] | None = None
        self.state = state if state is not None else self._first_state()
        self.household = household if household is not None else self._household()

    @classmethod
    def open(
        cls,
        path: Path,
        clock: Clock,
        ids: Ids,
        faults: Any = None,
        *,
        passphrase: str | None = None,
        create: bool = True,
        accept_shortened: bool = False,
    ) -> House:
        """Open a household's store, or begin one. The only place where the parts are put together.

        faults: the seam of the fault tests, see journal/store/faults.py. Raises the store's own errors, each with
        what to do. An encrypted store has no checkpoint file, since that would lie about in plain text.
        """
        store = open_store(
            path, ids, passphrase=passphrase, create=create, faults=faults, accept_shortened=accept_shortened
        )
        beside = None if passphrase is not None else path.with_name(path.name + ".state")
        try:
            return cls(store, clock, ids, checkpoint_path=beside)
        except BaseException:
            store.close()
            raise

    @staticmethod
    def prove(path: Path, ids: Ids, *, passphrase: str | None = None) -> tuple[Verdict, tuple[str, ...]]:
        """Prove every entry of a store without making state of it, so that a damaged one can be told apart.

        Gives what was found, and the notes of opening it. Raises the store's errors.
        """
        store = open_store(path, ids, passphrase=passphrase, create=False)
        try:
            return store.verify(), store.notes
        finally:
            store.close()

    @staticmethod
    def sqlite() -> tuple[str, bool]:
        """The SQLite that stores use, and whether its write-ahead log is trusted."""
        return engine()

    @staticmethod
    def file_system(folder: Path) -> tuple[str, bool]:
        """Type of the file system that a folder lies on ("" = not known), and whether it is a network's."""
        if not MOUNTS.exists():
            return "", False
        text = MOUNTS.read_text(errors="surrogateescape")
        kind = file_system_of(str(folder.resolve()), text)
        return kind, kind.lower() in NETWORK_TYPES

    def _first_state(self) -> State:
        if self._checkpoint is not None:
            kept = checkpoint.load(self._checkpoint)
            if kept is not None:
                state, newest = kept
                at_row = next(iter(self.store.after(state.row - 1)), None) if state.row else None
                if at_row is not None and at_row.row == state.row and at_row.hash == newest:
                    self._saved_row = state.row
                    self._catch_up(state, self.store.after(state.row), self.store.of_treatment)
                    return state
        with self.store.reading():
            return fold(self.store.after(0), self.store.of_treatment)

    def _household(self) -> str:
        for entry in self.store.after(0):
            return entry.envelope.household
        return self.ids.new()

    @staticmethod
    def _catch_up(state: State, entries: Iterable[Entry], load: Callable[[str], Iterable[Entry]]) -> None:
        for entry in entries:
            state.step(entry)
        state.settle(load)

    def look(self, *, by: str = "bedside", treatment: str | None = None) -> Desk:
        """The desk as it is now, for showing: brought up to date, nothing written.

        treatment: an earlier one; without it the open one.
        """
        with self.store.reading():
            self._catch_up(self.state, self.store.after(self.state.row), self.store.of_treatment)
            return self._desk(by, None, treatment, self.store.of_treatment)

    def do(
        self,
        deed: Callable[..., None],
        /,
        *,
        by: str = "bedside",
        key: str | None = None,
        treatment: str | None = None,
        **inputs: Any,
    ) -> Done:
        """Do a deed: look, decide and write as one.

        by: opaque id of who acts. key: one-time key (UUIDv7); the second use of it changes nothing and gives the
        entries of the first. treatment: an ended one, for corrections; without it the open one.
        Raises Refused and Asked with nothing written, InputError for what can't be read, and the store's errors.
        Returns only after the entries are on the disk.
        """
        if key is not None:
            key = check_id(key)
        with self.store.write() as transaction:
            if key is not None and transaction.held(key) is not None:
                return Done((key,), repeated=True)
            self._catch_up(self.state, transaction.after(self.state.row), transaction.of_treatment)
            desk = self._desk(by, key, treatment, transaction.of_treatment)
            deed(desk, **inputs)
            entries = [transaction.append(draft) for draft in desk.drafts]
        self._catch_up(self.state, entries, self.store.of_treatment)
        self._save_now_and_then()
        return Done(tuple(entry.id for entry in entries), tuple(desk.findings))

    def _desk(
        self, by: str, key: str | None, treatment: str | None, load: Callable[[str], Iterable[Entry]]
    ) -> Desk:
        open_ones = self.state.open_treatments()
        chosen = treatment if treatment is not None else (open_ones[-1] if open_ones else None)
        if treatment is not None and treatment not in self.state.past:
            raise InputError("enter.treatment", treatment=treatment)
        facts = Facts() if chosen is None else self.state.facts(chosen, load)
        procedure, rulebook = self._pinned(facts)
        if chosen is None:
            rulebook = with_own_limits(rulebook, self.state.standing)
        elif chosen in open_ones:
            opened = next(iter(facts.of("pinned")), None)
            rulebook = tightened(rulebook, self.rulebook, self.state.standing, opened)
        units = chosen_units(self.state.standing)
        rulebook = in_units(rulebook, units)
        present = in_units(with_own_limits(self.rulebook, self.state.standing), units)
        now = self.clock.now()
        desk = Desk(
            household=self.household,
            treatment_id=chosen,
            treatment=facts,
            standing=self.state.standing,
            past=self.state.past,
            procedure=procedure,
            rulebook=rulebook,
            now=now,
            by=by,
            writer=self.store.writer,
            ids=self.ids,
            key=key,
            present=(self._present_steps(), present),
        )
        self._reuse(desk, (self.state.row, chosen, now, procedure.digest, rulebook.digest))
        return desk

    def _reuse(self, desk: Desk, seen: tuple[object, ...]) -> None:
        """What was judged at the same moment of the same entries needn't be judged again."""
        if self.looked is not None and self.looked[0] == seen:
            judged = self.looked[1].__dict__
            desk.__dict__.update({name: judged[name] for name in JUDGED if name in judged})
        self.looked = (seen, desk)

    def _pinned(self, facts: Facts) -> tuple[Procedure, Rulebook]:
        """The procedure and rulebook that a treatment was opened with; the present ones where it has none.

        Where such a text is lost the present ones stand in for it, so that readings, stopping and coming off stay
        open; the gate to connecting sees that they aren't the ones pinned and stays shut.
        """
        procedure, rulebook = self._present_steps(), self.rulebook
        pinned = facts.of("pinned")
        if not pinned or not isinstance(pinned[0].body, Pinned):
            return procedure, rulebook
        body = pinned[0].body
        held = {digest for f in self.state.standing.of("pinned") for digest in getattr(f.body, "texts", {})}
        wanted = {body.procedure_digest, body.rulebook_digest} - {procedure.digest, rulebook.digest}
        if not wanted <= held:
            return procedure, rulebook
        if body.procedure_digest != procedure.digest:
            procedure = known_procedure(self._text(body.procedure_digest))
        if body.rulebook_digest != rulebook.digest:
            rulebook = parse_rulebook(self._text(body.rulebook_digest))
        return procedure, rulebook

    def _present_steps(self) -> Procedure:
        """The steps that a night opened now goes by: the household's own, unless they ask for less than the shipped.

        They can after a newer program came to ask for more; opening a night then says so.
        """
        text = adopted_steps(self.state.standing)
        if not text:
            return self.procedure
        try:
            return own_procedure(text)
        except ProcedureRefused:
            return shipped_for(text)

    def _text(self, digest: str) -> str:
        for fact in self.state.standing.of("pinned"):
            if isinstance(fact.body, Pinned) and digest in fact.body.texts:
                return fact.body.texts[digest]
        raise InputError("enter.pinned_text", digest=digest[:12])

    def erase(self, of: str, *, ground: str, authority: str, by: str = "bedside") -> Done:
        """Lawful erasure of one entry's body (names, free text): it goes from the file, a marker stays.

        ground: the law or request; authority: who decided. The chain stays provable, and the checkpoint is made anew so
        that no copy of the body lies about. Raises InputError without ground or authority and
        for the rules that a night is pinned to, which hold nothing about a person; EntryUnknown.
        """
        if not ground.strip() or not authority.strip():
            raise InputError("enter.erasure")
        held = self.store.held(of)
        if held is not None and held.envelope.kind == Pinned.KIND:
            raise InputError("enter.not_erased")
        with self.store.write() as transaction:
            self._catch_up(self.state, transaction.after(self.state.row), transaction.of_treatment)
            desk = self._desk(by, None, None, transaction.of_treatment)
            entry = transaction.erase(of, desk.marker(of, ground.strip(), authority.strip()))
        self.looked = None
        self.state = fold(self.store.after(0), self.store.of_treatment)
        self.save()
        return Done((entry.id,))

    def take_in(self, entries: Iterable[Entry]) -> Taken:
        """Take in entries that came from another store of this household, as facts.

        Nothing is refused for what it says; a mark made elsewhere meets no hold point here. Refused are entries of
        another household, entries whose hash doesn't prove them, and an id held here with other bytes.
        """
        mine: list[Entry] = []
        strange: list[Entry] = []
        for entry in entries:
            (mine if entry.envelope.household == self.household else strange).append(entry)
        with self.store.write() as transaction:
            taken = transaction.take_in(mine)
        self._catch_up(self.state, self.store.after(self.state.row), self.store.of_treatment)
        self._save_now_and_then()
        refused = taken.refused + tuple((entry.id, "entry.other_household") for entry in strange)
        return Taken(taken.new, taken.held, refused)

    def _save_now_and_then(self) -> None:
        if self._checkpoint is not None and self.state.row - self._saved_row >= CHECKPOINT_EVERY:
            self.save()

    def save(self) -> None:
        """Write the checkpoint now. A disk that can't take it loses nothing but time at the next start."""
        if self._checkpoint is None or self.state.row == 0:
            return
        newest = next(iter(self.store.after(self.state.row - 1)), None)
        if newest is None:
            return
        with contextlib.suppress(OSError):
            checkpoint.save(self._checkpoint, self.state, newest.hash)
            self._saved_row = self.state.row

    def close(self) -> None:
        """Let go of the store. Everything acknowledged is on the disk already."""
        if self.state.row > self._saved_row:
            self.save()
        self.store.close()

    def __enter__(self) -> House:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
