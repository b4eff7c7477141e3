"""``ebbwell serve`` and ``ebbwell demo``: one line with the address, pages there, Ctrl-C ends with 0."""

from __future__ import annotations

import io
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from ebbwell.cli.main import main
from ebbwell.cli.serve import DEMO_PORT, PORT, chosen_port
from ebbwell.cli.session import Session
from ebbwell.core.errors import InputError
from ebbwell.web.serve import PortTaken, listening

ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/")


@contextmanager
def served(home: Path, command: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The program as a person starts it. Gives its first line and the process; ended by its own id."""
    environ = {**os.environ, "EBBWELL_HOME": str(home), "EBBWELL_PORT": "0", "PYTHONUNBUFFERED": "1"}
    running = subprocess.Popen(
        [sys.executable, "-m", "ebbwell", command],
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stdout is not None
    assert running.stderr is not None
    try:
        line = running.stdout.readline()
        assert line, running.stderr.read()
        yield line, running
    finally:
        if running.poll() is None:
            running.kill()
            running.wait()
        running.stdout.close()
        running.stderr.close()


def test_serve_prints_one_line_begins_an_empty_record_and_ends_on_ctrl_c(tmp_path: Path) -> None:
    with served(tmp_path, "serve") as (line, running):
        found = ADDRESS.search(line)
        assert found is not None
        answer = httpx.get(found[0], follow_redirects=True)
        assert answer.status_code == 200
        assert "Before the first night" in answer.text
        running.send_signal(signal.SIGINT)
        assert running.wait(20) == 0
        assert running.stdout is not None
        assert running.stderr is not None
        assert (running.stdout.read(), running.stderr.read()) == ("", "")
    assert (tmp_path / "record.ebbwell").exists()
    with served(tmp_path, "serve") as (line, running):
        assert ADDRESS.search(line)
        running.send_signal(signal.SIGINT)
        assert running.wait(20) == 0


def test_the_demo_tells_the_story_and_its_clock_stands_at_the_evening_of_the_29th(tmp_path: Path) -> None:
    with served(tmp_path, "demo") as (line, running):
        found = ADDRESS.search(line)
        assert found is not None
        assert "invented" in line
        page = httpx.get(found[0]).text
        assert "INVENTED" in page
        assert "Tonight, Wednesday 29 April" in page
        assert "17:0" in page
        running.send_signal(signal.SIGINT)
        assert running.wait(20) == 0
    assert not (tmp_path / "record.ebbwell").exists()


def test_the_demo_says_at_once_what_it_does_and_ctrl_c_ends_it_in_mid_story(tmp_path: Path) -> None:
    environ = {**os.environ, "EBBWELL_HOME": str(tmp_path), "EBBWELL_PORT": "0", "PYTHONUNBUFFERED": "1"}
    running = subprocess.Popen(
        [sys.executable, "-m", "ebbwell", "demo"],
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert running.stderr is not None
        assert "18 weeks" in running.stderr.readline()
        before = time.monotonic()
        running.send_signal(signal.SIGINT)
        said = running.communicate(timeout=20)
        assert time.monotonic() - before < 2
        assert (running.returncode, said) == (0, ("", ""))
    finally:
        if running.poll() is None:
            running.kill()
            running.communicate()
    assert not (tmp_path / "demo-story" / "story.json").exists()


def test_a_browser_that_holds_a_line_open_does_not_hold_up_the_end(tmp_path: Path) -> None:
    with served(tmp_path, "serve") as (line, running):
        found = ADDRESS.search(line)
        assert found is not None
        with httpx.stream("GET", f"{found[0]}live", timeout=20) as answer:
            heard = answer.iter_lines()
            assert next(heard).startswith("retry")
            before = time.monotonic()
            running.send_signal(signal.SIGINT)
            assert running.wait(20) == 0
            assert time.monotonic() - before < 2
            assert len(list(heard)) < 10


def test_a_taken_port_is_said_with_its_own_exit_code(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        err = io.StringIO()
        session = Session(
            out=io.StringIO(), err=err, environ={"EBBWELL_HOME": str(tmp_path), "EBBWELL_PORT": str(port)}
        )
        assert main(["serve"], session) == 57
        assert f"Port {port} is taken" in err.getvalue()
    assert not (tmp_path / "record.ebbwell").exists()


def test_a_port_is_held_from_the_moment_it_is_taken() -> None:
    with listening(0) as held:
        port = held.getsockname()[1]
        with pytest.raises(PortTaken):
            listening(port)
        with socket.create_connection(("127.0.0.1", port), timeout=5) as waiting:
            assert waiting.getpeername()[1] == port


@pytest.mark.parametrize("typed", ["eighty", "80", "-1", "65536", "8459.0", "\u0668\u0664\u0665\u0668"])
def test_what_is_no_port_is_said(typed: str) -> None:
    with pytest.raises(InputError):
        chosen_port(Session(environ={"EBBWELL_PORT": typed}), PORT)


def test_the_port_without_a_word_about_it() -> None:
    assert chosen_port(Session(environ={}), PORT) == PORT
    assert chosen_port(Session(environ={"EBBWELL_PORT": " 8460 "}), DEMO_PORT) == 8460
