"""What this program doesn't know is kept byte for byte; what is older is brought up to date."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import msgspec
import pytest

from ebbwell.journal import upcasts
from ebbwell.journal.bundle import export_bundle, import_bundle
from ebbwell.journal.envelope import Entry, body_digest, chain_hash, decode_envelope, first_prev
from ebbwell.journal.kinds import Unknown, known_kinds
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store.base import Store
from tests.journal.making import Made, draft, everything, locked, memory, opened, plain, seeded

NEWER = (
    b'{"id":"018f0000-0000-7000-8000-00000000aa01","kind":"moon_phase","version":3,"household":"h",'
    b'"at":"2027-01-01T00:00:00Z","zone":"Europe/Dublin","offset":0,"recorded_at":"2027-01-01T00:00:00Z",'
    b'"boot":"b","mono":5,"by":"p1","must_understand":true, "mood" : ["\\u00fc", 1.50, {"b":1,"a":2}]}'
)
BODY = '{"phase":"waning","share":0.250, "näher":[ ]}'.encode()


def handmade(envelope: bytes, body: bytes) -> Entry:
    writer = "018f0000-0000-7000-8000-00000000bb01"
    salt = bytes(range(16))
    digest = body_digest(salt, body)
    prev = first_prev(writer)
    return Entry(
        decode_envelope(envelope),
        envelope,
        body,
        salt,
        digest,
        writer,
        1,
        prev,
        chain_hash(prev, envelope, digest),
    )


@pytest.mark.parametrize("made", [memory, plain, locked])
def test_a_newer_entry_is_kept_to_the_byte(made: Made, tmp_path: Path) -> None:
    entry = handmade(NEWER, BODY)
    with opened(made(tmp_path, seeded())) as store:
        with store.write() as tx:
            assert tx.take_in([entry]).new == 1
        check_newer(store)
        export_bundle(store, tmp_path / "copy")
    (tmp_path / "two").mkdir()
    with opened(made(tmp_path / "two", seeded(3))) as store:
        import_bundle(tmp_path / "copy", store)
        check_newer(store)


def check_newer(store: Store) -> None:
    (kept,) = everything(store)
    assert (kept.envelope_bytes, kept.body_bytes) == (NEWER, BODY)
    assert kept.body == Unknown(raw=BODY)
    assert kept.envelope.must_understand
    assert store.verify().holds


def test_a_body_that_is_not_text_survives_a_bundle(tmp_path: Path) -> None:
    raw = bytes(range(256))
    with opened(memory(tmp_path, seeded())) as store:
        with store.write() as tx:
            tx.take_in([handmade(NEWER, raw)])
        export_bundle(store, tmp_path / "copy")
    with opened(plain(tmp_path, seeded(2))) as store:
        import_bundle(tmp_path / "copy", store)
        assert everything(store)[0].body_bytes == raw


def test_unknown_fields_of_a_known_kind_stay_in_the_bytes(tmp_path: Path) -> None:
    made = draft(seeded())
    body = b'{"step":"S4","note":"","glow":7}'
    data = msgspec.json.encode(made.envelope)
    with opened(plain(tmp_path, seeded())) as store:
        with store.write() as tx:
            tx.take_in([handmade(data, body)])
        (kept,) = everything(store)
        assert kept.body_bytes == body
        assert kept.body == Tick(step="S4")


def test_a_newer_version_of_a_known_kind_is_not_guessed_at() -> None:
    data = msgspec.json.encode(msgspec.structs.replace(draft(seeded()).envelope, version=2))
    assert handmade(data, b'{"step":"S4"}').body == Unknown(raw=b'{"step":"S4"}')


def test_upcasters_run_one_after_the_other() -> None:
    table: dict[tuple[str, int], upcasts.Upcaster] = {
        ("lamp", 1): lambda old: {"state": "lit" if old["on"] else "dark"},
        ("lamp", 2): lambda old: {**old, "room": ""},
    }
    old: dict[str, Any] = {"on": True}
    assert upcasts.upcast("lamp", 1, 3, old, table) == {"state": "lit", "room": ""}
    assert upcasts.upcast("lamp", 2, 3, {"state": "dark"}, table) == {"state": "dark", "room": ""}
    assert upcasts.upcast("lamp", 3, 3, {"state": "dark"}, table) == {"state": "dark"}
    assert old == {"on": True}
    with pytest.raises(KeyError):
        upcasts.upcast("lamp", 1, 4, old, table)


def test_an_older_body_is_read_through_its_upcaster(monkeypatch: pytest.MonkeyPatch) -> None:
    old = msgspec.json.encode(draft(seeded()).envelope)
    monkeypatch.setattr(Tick, "VERSION", 2)
    monkeypatch.setitem(upcasts.UPCASTS, ("tick", 1), lambda old: {"step": old["step"], "note": "was old"})
    entry = handmade(old, b'{"step":"S4"}')
    assert entry.envelope.version == 1
    assert entry.body == Tick(step="S4", note="was old")
    assert entry.body_bytes == b'{"step":"S4"}'


def test_every_kind_is_known_whatever_was_imported_first() -> None:
    said = subprocess.run(
        [
            sys.executable,
            "-c",
            "import ebbwell.journal.kinds.house; from ebbwell.journal.kinds import known_kinds;"
            "print(len(known_kinds()))",
        ],
        capture_output=True,
        check=True,
        text=True,
    ).stdout
    assert int(said) == len(known_kinds()) >= 30


def test_every_older_version_of_every_kind_has_its_upcaster() -> None:
    kinds = known_kinds()
    wanted = {(name, version) for name, cls in kinds.items() for version in range(1, cls.VERSION)}
    assert set(upcasts.UPCASTS) == wanted
