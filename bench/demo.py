"""The demo from the command to its first page, beside a bare interpreter that imports argparse."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from bench.rows import Row, middle, spread, took_ms, under

FRESH_S, STORED_S = 30.0, 3.0
"""Source of the first: the issue of the bedside pages. The second is our own choice."""

_AT = re.compile(r"http://[\d.]+:\d+/")


def _first_page(home: Path) -> float:
    """Seconds until the first page is there. Ends the demo again."""
    began = time.perf_counter()
    env = {**os.environ, "EBBWELL_HOME": str(home), "EBBWELL_PORT": "0"}
    words = [sys.executable, "-m", "ebbwell", "demo"]
    with subprocess.Popen(
        words, env=env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as demo:
        try:
            assert demo.stdout is not None
            found = next((at for line in demo.stdout if (at := _AT.search(line))), None)
            if found is None:
                raise RuntimeError("the demo named no address")
            with urllib.request.urlopen(found[0], timeout=30) as page:
                page.read()
            return time.perf_counter() - began
        finally:
            demo.send_signal(signal.SIGINT)


def run(small: bool) -> list[Row]:
    """Two rows: with the story to be written first, and with it there already."""
    turns = 1 if small else 5
    bare = [
        took_ms(lambda: subprocess.run([sys.executable, "-c", "import argparse"], check=True)) / 1000
        for _ in range(turns)
    ]
    with tempfile.TemporaryDirectory() as name:
        fresh = _first_page(Path(name))
        stored = [_first_page(Path(name)) for _ in range(turns)]
    other = middle(bare)
    return [
        under("demo.fresh", fresh, other, FRESH_S, "the story is written first; one go", "s"),
        under("demo.stored", middle(stored), other, STORED_S, f"the story is there; {spread(stored)}", "s"),
    ]
