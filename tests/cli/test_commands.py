"""Every command: what it prints, its JSON, its exit code for each cause."""

from __future__ import annotations

import io
import json
import sys
import types
from pathlib import Path
from typing import Any

import pytest

from ebbwell.cli.main import main
from ebbwell.cli.session import Session, system_zone
from ebbwell.core.clock import SetClock
from tests.cli.typist import session, usual_answers


def run(home: str | Path, *argv: str, clock: SetClock | None = None) -> tuple[int, str, str]:
    """Exit code, standard output and errors of one command."""
    out, err = io.StringIO(), io.StringIO()
    made = Session(
        stdin=io.StringIO(""), out=out, err=err, environ={"EBBWELL_HOME": str(home), "HOME": str(home)}
    )
    if clock is not None:
        made.clock = lambda _: clock
    return main(argv, made), out.getvalue(), err.getvalue()


def run_json(home: str | Path, *argv: str) -> tuple[int, Any]:
    """Exit code and the one JSON document of a command."""
    code, out, _ = run(home, *argv, "--json")
    return code, json.loads(out)


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's own folder, after the demo: a home with one invented, closed night in it."""
    home = tmp_path_factory.mktemp("played")
    code, out, err = run(home, "demo", "--played")
    assert (code, err) == (0, "")
    (home / "demo.txt").write_text(out, encoding="utf-8")
    return home / "demo"


def test_the_demo_is_invented_short_and_says_what_comes_next(played: Path) -> None:
    text = (played.parent / "demo.txt").read_text(encoding="utf-8")
    lines = text.splitlines()
    assert lines[0].startswith("INVENTED")
    assert "29 April 2026, 17:00" in text
    assert "NOT YET" in text
    assert "CONNECTED" in text
    assert "Was: weight after: 64.9 kg. Now: weight after: 64.5 kg." in " ".join(text.split())
    assert lines[-1].strip() == ".venv/bin/ebbwell night"
    assert len(lines) < 200
    assert max(map(len, lines)) <= 80
    assert "\x1b" not in text


@pytest.mark.source("arithmetic", detail="66.3 - 64.5 + 0.2 + 0.3 = 2.3 L; over 7.5 h 306.7 mL/h")
def test_the_demo_plans_what_the_sum_gives(played: Path) -> None:
    code, (sheet,) = run_json(played, "sheet")
    assert code == 0
    assert sheet["plan"]["fluid_to_remove"] == "2.30 L"
    assert sheet["plan"]["removal_rate"] == "306.7 mL/h"
    assert sheet["phase"] == "closed"


def test_the_demo_leaves_the_household_alone_and_starts_anew(tmp_path: Path) -> None:
    store = tmp_path / "record.ebbwell"
    store.write_bytes(b"mine")
    first, second = (run_json(tmp_path, "demo") for _ in range(2))
    assert store.read_bytes() == b"mine"
    assert first[0] == second[0] == 0
    assert first[1]["entries"] == second[1]["entries"]
    assert first[1]["invented"] is True
    assert [e["kind"] for e in first[1]["events"]].count("connected") == 1


def test_tonight_in_words_and_json(played: Path) -> None:
    code, out, err = run(played, "tonight")
    assert (code, err) == (0, "")
    assert "INVENTED" in out
    assert "Next:" in out
    code, told = run_json(played, "tonight")
    assert code == 0
    assert told["prescription"]["number"] == "3"
    assert told["phase"] == "none"
    assert told["plan"] is None


def test_tonight_without_a_record(tmp_path: Path) -> None:
    code, out, err = run(tmp_path, "tonight")
    assert code == 20
    assert out == ""
    assert "no record" in err
    code, told = run_json(tmp_path, "tonight")
    assert told == {"error": "store.not_found", "message": told["message"], "exit": 20}


def test_tonight_in_the_middle_of_a_night(clock: SetClock, home: str) -> None:
    from ebbwell.core.text import say

    answers = usual_answers(clock)
    answers[say("choice.skin")] = "leave"
    made, _ = session(clock, answers, home)
    assert main(["night"], made) == 0
    code, out, _ = run(home, "tonight", clock=clock)
    assert code == 0
    assert "Fluid to remove: 2.30 L" in out
    assert "Agreed at" in out
    assert "Next: S30a" in out
    assert "Still open" in out


@pytest.mark.source("arithmetic", detail="2.3 L in 7.5 h; 146.2 lb = 66.3152 kg by the exact pound")
def test_work_shows_the_working() -> None:
    code, out, _ = run(".", "work", "removal_rate", "volume_l=2,3", "hours_h=7.5")
    assert code == 0
    assert "removal_rate = 306.7 mL/h" in out
    assert "Source:" in out
    code, told = run_json(".", "work", "units_per_kg", "dose_units=1500", "weight_kg=146.2lb")
    assert code == 0
    assert told["inputs"][1]["value"].startswith("66.3152")
    assert told["source"]["title"]


def test_bare_work_lists_every_formula() -> None:
    from ebbwell.science.catalogue import names

    code, out, _ = run(".", "work")
    assert code == 0
    assert all(f"\n{name} " in f"\n{out}" for name in names(review=True))
    code, told = run_json(".", "work")
    assert [row["name"] for row in told] == list(names(review=True))


@pytest.mark.parametrize(
    ("argv", "code"),
    [
        (["work", "nonsense"], 14),
        (["work", "removal_rate", "colour=3"], 15),
        (["work", "removal_rate", "volume_l"], 10),
        (["work", "removal_rate", "volume_l=2", "volume_l=3"], 10),
        (["work", "removal_rate", "volume_l=1,500", "hours_h=7"], 11),
        (["work", "removal_rate", "volume_l=2", "hours_h=900"], 12),
        (["work", "removal_rate", "volume_l=2kg", "hours_h=7"], 13),
        (["work", "removal_rate", "volume_l=2"], 54),
        (["work", "removal_rate", "volume_l=😀"], 10),
        (["sheet", "--treatment", "x"], 20),
        (["check-record"], 20),
        (["export", "out"], 20),
        (["import", "nowhere"], 20),
        (["sheet", "--night", "x", "--treatment", "y"], 2),
        (["nonsense"], 2),
        ([], 2),
        (["--help"], 0),
        (["--version"], 0),
    ],
)
def test_each_cause_has_its_code(tmp_path: Path, argv: list[str], code: int) -> None:
    assert run(tmp_path, *argv)[0] == code


@pytest.mark.parametrize(
    "command",
    [
        "demo",
        "serve",
        "night",
        "tonight",
        "work",
        "sheet",
        "export",
        "import",
        "check-record",
        "selfcheck",
        "sim",
    ],
)
def test_every_command_has_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "--help"]) == 0
    text = capsys.readouterr().out
    assert "usage: ebbwell" in text
    assert max(map(len, text.splitlines())) <= 100


def test_help_loads_nothing_of_the_record() -> None:
    import subprocess

    code = (
        "import sys; from ebbwell.cli.main import main; main(['--help']);"
        "print(*sorted(m for m in sys.modules if m.startswith('ebbwell.')), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {"ebbwell.cli", "ebbwell.cli.main", "ebbwell.core", "ebbwell.core.errors"}
    loaded |= {"ebbwell.core.reader", "ebbwell.core.text"}
    assert set(done.stderr.split()) == loaded


def test_a_sheet_by_night_and_by_number(played: Path) -> None:
    code, (told,) = run_json(played, "sheet", "--night", "2026-04-29")
    assert code == 0
    assert run(played, "sheet", "--treatment", told["treatment"])[0] == 0
    assert run(played, "sheet", "--night", "2026-04-30")[0] == 52
    assert run(played, "sheet", "--night", "29.4.")[0] == 10
    assert run(played, "sheet", "--treatment", "unknown")[0] == 52


def test_export_import_and_take_in(played: Path, tmp_path: Path) -> None:
    copy, restored = tmp_path / "copy", tmp_path / "restored"
    code, told = run_json(played, "export", str(copy))
    assert code == 0
    assert told["same"] is True
    assert told["entries"] == told["compared"]
    code, back = run_json(restored, "import", str(copy))
    assert code == 0
    assert back["entries"] == told["entries"]
    assert run(restored, "import", str(copy))[0] == 37
    code, again = run_json(restored, "import", str(copy), "--take-in")
    assert (code, again["new"], again["held"]) == (0, 0, told["entries"])
    first, second = (run(home, "sheet", "--json")[1] for home in (played, restored))
    assert json.loads(first)[0]["facts"] == json.loads(second)[0]["facts"]


def test_a_copy_of_another_household_is_not_taken_in(played: Path, clock: SetClock, tmp_path: Path) -> None:
    from ebbwell.core.text import say

    answers = usual_answers(clock)
    answers[say("walk.order_number")] = "leave"
    made, _ = session(clock, answers, str(tmp_path / "mine"))
    assert main(["night"], made) == 0
    assert run(played, "export", str(tmp_path / "copy"))[0] == 0
    code, told = run_json(tmp_path / "mine", "import", str(tmp_path / "copy"), "--take-in")
    assert code == 53
    assert told["new"] == 0
    assert set(told["refused"].values()) == {"entry.other_household"}


def test_a_damaged_copy_is_refused(played: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    assert run(played, "export", str(copy))[0] == 0
    segment = next((copy / "segments").iterdir())
    data = segment.read_bytes()
    segment.write_bytes(data.replace(b"66.3", b"66.9", 1))
    assert run(tmp_path / "restored", "import", str(copy))[0] == 35
    segment.write_bytes(data[: len(data) // 2])
    assert run(tmp_path / "again", "import", str(copy))[0] == 34


def test_check_record_proves_and_finds(played: Path, tmp_path: Path) -> None:
    code, told = run_json(played, "check-record")
    assert (code, told["holds"], told["flaws"]) == (0, True, [])
    code, out, _ = run(played, "check-record")
    assert code == 0
    assert f"{told['entries']} of {told['entries']} proven" in " ".join(out.split())
    home = tmp_path / "flawed"
    home.mkdir()
    data = (played / "record.ebbwell").read_bytes()
    place = data.index(b'"value":"66.3"')
    (home / "record.ebbwell").write_bytes(data[:place] + b'"value":"66.9"' + data[place + 14 :])
    (home / "record.ebbwell.head").write_bytes((played / "record.ebbwell.head").read_bytes())
    code, told = run_json(home, "check-record")
    assert code == 50
    assert [flaw["error"] for flaw in told["flaws"]] == ["flaw.changed"]
    assert run(home, "check-record")[0] == 50
    assert run(home, "tonight")[0] == 25


def test_a_store_that_is_gone_says_so(played: Path, tmp_path: Path) -> None:
    (tmp_path / "record.ebbwell.head").write_bytes((played / "record.ebbwell.head").read_bytes())
    code, _, err = run(tmp_path, "tonight")
    assert code == 24
    assert "Don't start a new one there" in " ".join(err.split())
    assert run(tmp_path, "night")[0] == 24


def test_selfcheck_says_what_it_looked_at_and_what_not(tmp_path: Path) -> None:
    code, told = run_json(tmp_path, "selfcheck")
    assert code == 0
    states = {item["name"]: item["state"] for item in told["items"]}
    assert states["procedure"] == states["rulebook"] == states["sqlite"] == "ok"
    assert states["record"] == "not_known"
    code, out, _ = run(tmp_path, "selfcheck")
    assert "Not looked at" in out


def test_selfcheck_speaks_up_about_a_full_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shutil.disk_usage", lambda _: types.SimpleNamespace(free=5_000_000))
    code, out, _ = run(tmp_path, "selfcheck")
    assert code == 51
    assert "NOT FIT    Free disk: 5 MB free" in out


def test_sim_replay_hands_the_seed_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []
    fake = types.ModuleType("ebbwell.sim.nights")
    fake.replay = lambda seed: (seen.append(seed), print("a step"))[0]  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "ebbwell.sim.nights", fake)
    code, out, _ = run(tmp_path, "sim", "replay", "41")
    assert (code, out, seen) == (0, "a step\n", [41])


def test_ctrl_c_in_a_command_gives_its_own_code(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("ebbwell.cli.work.run", stopped)
    code, _, err = run(tmp_path, "work")
    assert code == 130
    assert err


def test_the_data_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    assert Session(environ={"HOME": "/h"}).home == Path("/h/.local/share/ebbwell")
    assert Session(environ={"HOME": "/h", "XDG_DATA_HOME": "/d"}).home == Path("/d/ebbwell")
    assert Session(environ={"EBBWELL_HOME": "/e"}).store == Path("/e/record.ebbwell")


def test_a_zone_is_offered_only_where_the_computer_knows_one() -> None:
    assert system_zone({"TZ": ":Europe/Dublin"}) == "Europe/Dublin"
    assert not system_zone({"TZ": "Etc/UTC"}).startswith("Etc/")
