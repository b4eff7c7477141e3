"""Opening a store: copied, shortened, vanished, headless, locked, newer."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from ebbwell.core.ids import check_id
from ebbwell.journal.errors import (
    NeedsPassphrase,
    NewerFormat,
    RecordNotFound,
    StoreDamaged,
    StoreShortened,
    StoreVanished,
    WrongPassphrase,
)
from ebbwell.journal.kinds.marks import Tick
from ebbwell.journal.store import connect
from ebbwell.journal.store.base import Store
from ebbwell.journal.store.sqlite import head_path, open_store, wal_path
from tests.journal.making import PASSPHRASE, draft, erasing, everything, fill, opened, seeded


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.db"


def copy_live(source: Path, folder: Path) -> Path:
    """A copy of a store that is open, as a power cut would leave it: file, write-ahead log, head."""
    folder.mkdir(exist_ok=True)
    for part in (source, wal_path(source), head_path(source)):
        if part.exists():
            shutil.copyfile(part, folder / part.name)
    return folder / source.name


def made(path: Path, count: int, **named: str) -> list[str]:
    with opened(open_store(path, seeded(3), **named)) as store:  # type: ignore[arg-type]
        return [entry.id for entry in fill(store, seeded(4), count)]


def ids_of(store: Store) -> list[str]:
    return [entry.id for entry in everything(store)]


def test_a_store_opened_again_goes_on_where_it_was(path: Path) -> None:
    first = made(path, 3)
    with opened(open_store(path, seeded(5))) as store:
        assert store.notes == ()
        entry = fill(store, seeded(6), 1)[0]
        assert (entry.writer, entry.seq) == (store.writer, 4)
        assert ids_of(store) == [*first, entry.id]
        check_id(store.writer)


def test_files_are_for_the_owner_only(path: Path) -> None:
    with opened(open_store(path, seeded())) as store:
        fill(store, seeded(2), 1)
        for part in (path, head_path(path), wal_path(path)):
            assert part.stat().st_mode & 0o077 == 0


def test_any_sqlite_tool_opens_a_plain_store_and_can_change_nothing(path: Path) -> None:
    first = made(path, 3)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        assert [row[0] for row in db.execute("SELECT id FROM entry ORDER BY row")] == first
        for attempt in (
            "UPDATE entry SET body = x'7b7d' WHERE row = 1",
            "UPDATE entry SET kind = 'stop' WHERE row = 1",
            "UPDATE entry SET salt = NULL, body = NULL, seq = 9 WHERE row = 1",
            "UPDATE entry SET salt = NULL WHERE row = 1",
            "DELETE FROM entry WHERE row = 2",
            "DELETE FROM entry",
            "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE row = 1",
            "INSERT OR REPLACE INTO entry SELECT 9, id, kind, treatment, at, writer, 9, envelope, salt, body,"
            f" digest, prev, hash FROM entry WHERE id = '{first[0]}'",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="never"):
                db.execute(attempt)
    with opened(open_store(path, seeded(5))) as store:
        assert ids_of(store) == first
        assert store.verify().holds


def test_a_locked_store_opens_only_with_its_passphrase(path: Path) -> None:
    first = made(path, 2, passphrase=PASSPHRASE)
    with pytest.raises(NeedsPassphrase):
        open_store(path, seeded())
    with pytest.raises(WrongPassphrase):
        open_store(path, seeded(), passphrase=PASSPHRASE + "s")
    with closing(sqlite3.connect(path)) as db, pytest.raises(sqlite3.DatabaseError, match="not a database"):
        db.execute("SELECT count(*) FROM entry").fetchall()
    content = path.read_bytes()
    assert b"minute" not in content
    assert b"SQLite format" not in content
    with opened(open_store(path, seeded(), passphrase=PASSPHRASE)) as store:
        assert store.locked
        assert ids_of(store) == first
        assert store.verify().holds


def test_a_passphrase_is_the_same_however_its_letters_are_composed(path: Path) -> None:
    first = made(path, 1, passphrase="gr\u00fcn 'q' x")
    with opened(open_store(path, seeded(), passphrase="gru\u0308n 'q' x")) as store:
        assert ids_of(store) == first


@pytest.mark.parametrize("empty", ["", "  ", "a\x00b"])
def test_an_empty_passphrase_is_refused_before_a_file_is_made(path: Path, empty: str) -> None:
    with pytest.raises(NeedsPassphrase):
        open_store(path, seeded(), passphrase=empty)
    assert not path.exists()


def test_a_passphrase_for_a_plain_store_is_named_as_that(path: Path) -> None:
    made(path, 1)
    with pytest.raises(WrongPassphrase) as caught:
        open_store(path, seeded(), passphrase=PASSPHRASE)
    assert caught.value.key == "store.not_locked"


def test_a_copied_store_starts_a_chain_of_its_own(path: Path, tmp_path: Path) -> None:
    first = made(path, 3)
    (tmp_path / "copy").mkdir()
    copy = copy_live(path, tmp_path / "copy")
    with opened(open_store(path, seeded(5))) as old, opened(open_store(copy, seeded(6))) as new:
        assert new.notes == ("store.new_chain",)
        assert new.writer != old.writer
        assert ids_of(new) == first
        entry = fill(new, seeded(7), 1)[0]
        assert entry.seq == 1
        with old.write() as tx:
            assert tx.take_in(everything(new)).new == 1
        assert old.verify().holds
        assert old.verify().forks == ()
    with opened(open_store(copy, seeded(8))) as again:
        assert again.notes == ()


def test_a_moved_store_stays_the_same(path: Path, tmp_path: Path) -> None:
    made(path, 1)
    (tmp_path / "new").mkdir()
    for part in (path, head_path(path)):
        part.rename(tmp_path / "new" / part.name)
    with opened(open_store(tmp_path / "new" / path.name, seeded())) as store:
        assert store.notes == ()


def test_a_vanished_store_is_never_begun_anew(path: Path) -> None:
    made(path, 3)
    path.unlink()
    for create in (True, False):
        with pytest.raises(StoreVanished) as caught:
            open_store(path, seeded(), create=create)
        assert caught.value.params["count"] == 3
        assert not path.exists()


def test_an_emptied_store_is_never_begun_anew(path: Path) -> None:
    made(path, 3)
    path.write_bytes(b"")
    with pytest.raises(StoreVanished):
        open_store(path, seeded())
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE other (x)")
        db.execute("DROP TABLE other")
    with pytest.raises(StoreVanished):
        open_store(path, seeded())


def test_an_interrupted_first_start_is_gone_on_with(path: Path) -> None:
    open_store(path, seeded()).close()
    path.unlink()
    with opened(open_store(path, seeded())) as store:
        assert store.count() == 0


def test_a_file_with_other_tables_is_left_alone(path: Path) -> None:
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE recipes (x)")
    with pytest.raises(StoreDamaged):
        open_store(path, seeded())


def test_no_store_no_folder(path: Path, tmp_path: Path) -> None:
    with pytest.raises(RecordNotFound):
        open_store(path, seeded(), create=False)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(RecordNotFound) as caught:
        open_store(tmp_path / "none" / "record.db", seeded())
    assert caught.value.key == "store.no_folder"


def test_an_older_file_put_back_is_noticed(path: Path, tmp_path: Path) -> None:
    first = made(path, 2)
    shutil.copyfile(path, tmp_path / "older")
    with opened(open_store(path, seeded(5))) as store:
        fill(store, seeded(6), 3)
    path.write_bytes((tmp_path / "older").read_bytes())
    with pytest.raises(StoreShortened) as caught:
        open_store(path, seeded())
    assert caught.value.params["missing"] == 3
    with opened(open_store(path, seeded(7), accept_shortened=True)) as store:
        assert set(store.notes) == {"store.shortened_accepted", "store.new_chain"}
        assert ids_of(store) == first
        assert fill(store, seeded(8), 1)[0].seq == 1
    with opened(open_store(path, seeded())) as store:
        assert store.notes == ()
        assert store.verify().holds


def test_another_store_in_its_place_is_noticed(path: Path, tmp_path: Path) -> None:
    made(path, 3)
    with opened(open_store(tmp_path / "other.db", seeded(15))) as store:
        fill(store, seeded(16), 4)
    path.write_bytes((tmp_path / "other.db").read_bytes())
    with pytest.raises(StoreShortened) as caught:
        open_store(path, seeded())
    assert caught.value.key == "store.replaced"


def test_a_damaged_log_that_shortens_a_store_is_left_as_it_is(path: Path, tmp_path: Path) -> None:
    with opened(open_store(path, seeded())) as store:
        made_ids = [entry.id for entry in fill(store, seeded(2), 8)]
        copy = copy_live(path, tmp_path / "cut")
    log = wal_path(copy)
    whole = log.read_bytes()
    damaged = whole[: len(whole) * 2 // 3]
    log.write_bytes(damaged)
    with pytest.raises(StoreShortened) as caught:
        open_store(copy, seeded())
    missing = caught.value.params["missing"]
    assert isinstance(missing, int)
    assert missing > 0
    assert log.read_bytes() == damaged
    log.write_bytes(whole)
    with opened(open_store(copy, seeded(9))) as store:
        assert ids_of(store) == made_ids


def test_the_damaged_log_is_set_aside_before_going_on(path: Path, tmp_path: Path) -> None:
    with opened(open_store(path, seeded())) as store:
        fill(store, seeded(2), 8)
        copy = copy_live(path, tmp_path / "cut")
    log = wal_path(copy)
    damaged = log.read_bytes()[: log.stat().st_size * 2 // 3]
    log.write_bytes(damaged)
    with opened(open_store(copy, seeded(9), accept_shortened=True)) as store:
        assert 0 < store.count() < 8
        assert "store.shortened_accepted" in store.notes
    assert (copy.parent / (copy.name + ".wal-kept-1")).read_bytes() == damaged


def test_a_missing_head_is_written_anew_after_a_full_proof(path: Path) -> None:
    first = made(path, 3)
    for blank in (False, True):
        head_path(path).write_bytes(b" " * 8192) if blank else head_path(path).unlink()
        with opened(open_store(path, seeded())) as store:
            assert store.notes == ("store.head_written",)
            assert ids_of(store) == first
        with opened(open_store(path, seeded())) as store:
            assert store.notes == ()


def test_a_missing_head_and_a_changed_entry_stop(path: Path) -> None:
    made(path, 3)
    head_path(path).unlink()
    data = path.read_bytes()
    assert data.count(b'"note":"minute 1"') == 1
    path.write_bytes(data.replace(b'"note":"minute 1"', b'"note":"minute 7"'))
    with pytest.raises(StoreDamaged) as caught:
        open_store(path, seeded())
    assert caught.value.key == "store.headless_flawed"


def test_a_changed_entry_is_never_read_as_good(path: Path) -> None:
    first = made(path, 3)
    path.write_bytes(path.read_bytes().replace(b'"note":"minute 1"', b'"note":"minute 7"'))
    with opened(open_store(path, seeded())) as store:
        for read in (
            lambda: everything(store),
            lambda: store.held(first[1]),
            lambda: store.of_treatment("T1"),
        ):
            with pytest.raises(StoreDamaged) as caught:
                read()
            assert caught.value.params["row"] == 2
        assert store.held(first[2]) is not None
        assert [(flaw.key, flaw.row) for flaw in store.verify().flaws] == [("flaw.changed", 2)]


def test_a_newer_store_is_left_to_the_newer_program(path: Path) -> None:
    made(path, 1)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("UPDATE meta SET value = '2' WHERE name = 'schema'")
    before = path.read_bytes()
    with pytest.raises(NewerFormat):
        open_store(path, seeded())
    assert path.read_bytes() == before


def test_a_head_that_went_ahead_stops_writing_in_a_running_store(path: Path) -> None:
    with opened(open_store(path, seeded())) as store:
        fill(store, seeded(2), 1)
        path.rename(path.with_name("moved.db"))
        with pytest.raises(StoreVanished), store.write():
            pass
        path.with_name("moved.db").rename(path)
        fill(store, seeded(4), 1)
        assert store.count() == 2


@pytest.mark.parametrize("length", [1, 2000])
def test_erased_words_are_nowhere_in_the_files(path: Path, length: int) -> None:
    """Short ones lie among others in a page, long ones in pages of their own."""
    words, ids = "walked the dog;", seeded(2)
    with opened(open_store(path, seeded())) as store:
        fill(store, ids, 10)
        with store.write() as tx:
            target = tx.append(draft(ids, Tick(step="S1", note=words * length)))
        fill(store, ids, 10)
        assert any(words.encode() in part.read_bytes() for part in path.parent.iterdir())
        with store.write() as tx:
            tx.erase(target.id, erasing(ids, target.id))
        assert not any(words.encode() in part.read_bytes() for part in path.parent.iterdir())
        assert store.verify().holds


@pytest.mark.source("from memory", detail="SQLite release notes: the log's reset fault is mended in 3.51.3")
def test_an_older_sqlite_gets_no_write_ahead_log(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert connect.wal_trusted((3, 51, 3))
    assert not connect.wal_trusted((3, 51, 2))
    assert not connect.wal_trusted((3, 40, 1))
    first = made(path, 2)
    monkeypatch.setattr(connect, "WAL_SINCE", (99, 0, 0))
    with opened(open_store(path, seeded(5))) as store:
        entry = fill(store, seeded(6), 1)[0]
        assert not wal_path(path).exists()
        assert ids_of(store) == [*first, entry.id]


def test_two_open_stores_on_one_file_see_each_other(path: Path) -> None:
    with opened(open_store(path, seeded(3))) as one, opened(open_store(path, seeded(4))) as two:
        assert one.writer == two.writer
        for minute in range(6):
            with (one, two)[minute % 2].write() as tx:
                tx.append(draft(seeded(50 + minute), minute=minute))
        assert ids_of(one) == ids_of(two)
        assert [e.seq for e in everything(one)] == [1, 2, 3, 4, 5, 6]
        assert one.verify().holds


@pytest.mark.parametrize(
    ("change", "flaw"),
    [
        ("UPDATE entry SET kind = 'stop' WHERE row = 2", "flaw.unreadable"),
        ("UPDATE entry SET treatment = 'T9' WHERE row = 2", "flaw.unreadable"),
        ("UPDATE entry SET at = '2031-01-01T00:00:00+00:00' WHERE row = 2", "flaw.unreadable"),
        ("UPDATE entry SET body = CAST(body AS TEXT) WHERE row = 2", "flaw.unreadable"),
        ("UPDATE entry SET seq = 7 WHERE row = 2", "flaw.not_joined"),
        ("UPDATE entry SET salt = NULL, body = NULL WHERE row = 2", "flaw.body_gone"),
        ("DELETE FROM entry WHERE row = 2", "flaw.rows_gone"),
        ("DROP INDEX entry_treatment", "flaw.tables"),
    ],
)
def test_changes_made_behind_the_triggers_are_named(path: Path, change: str, flaw: str) -> None:
    made(path, 4)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        triggers = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            db.execute(f"DROP TRIGGER {name}")
        db.execute(change)
        for _, sql in triggers:
            db.execute(sql)
    with opened(open_store(path, seeded())) as store:
        found = {named.key for named in store.verify().flaws}
        assert flaw in found
        assert ("flaw.tables" in found) == (flaw == "flaw.tables")
        if flaw == "flaw.unreadable":
            with pytest.raises(StoreDamaged):
                everything(store)


def test_a_missing_trigger_is_named(path: Path) -> None:
    made(path, 1)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TRIGGER entry_never_changed")
    with opened(open_store(path, seeded())) as store:
        assert [flaw.key for flaw in store.verify().flaws] == ["flaw.tables"]


@pytest.mark.parametrize(
    ("writer", "with_head"),
    [("018bcfe5-6801-7226-b63c-5ab791b7584a", True), ("nobody", False), ("nobody", True)],
)
def test_a_writer_that_can_not_be_right_is_not_gone_on_with(path: Path, writer: str, with_head: bool) -> None:
    made(path, 2)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("UPDATE meta SET value = ? WHERE name = 'writer'", (writer,))
    if not with_head:
        head_path(path).unlink()
    with opened(open_store(path, seeded(5))) as store:
        assert "store.new_chain" in store.notes
        assert store.writer != writer
        check_id(store.writer)
        assert fill(store, seeded(6), 1)[0].seq == 1


def test_a_schema_version_that_is_no_number_stops(path: Path) -> None:
    made(path, 1)
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("UPDATE meta SET value = 'one' WHERE name = 'schema'")
    with pytest.raises(StoreDamaged):
        open_store(path, seeded())


def test_a_damaged_start_of_a_plain_store_does_not_ask_for_a_passphrase(path: Path) -> None:
    made(path, 1)
    data = bytearray(path.read_bytes())
    data[3] ^= 1
    path.write_bytes(data)
    with pytest.raises(StoreDamaged):
        open_store(path, seeded())
    with pytest.raises(StoreDamaged):
        open_store(path, seeded(), passphrase=PASSPHRASE)
