"""``ebbwell sim replay``: one seeded fault night again, step by step."""

from __future__ import annotations

import argparse
import contextlib
import importlib

from ebbwell.cli.session import Session


def run(session: Session, args: argparse.Namespace) -> int:
    """Replay a seed; what happens is printed as it comes."""
    nights = importlib.import_module("ebbwell.sim.nights")
    with contextlib.redirect_stdout(session.out):
        done = nights.replay(args.seed)
    return done if isinstance(done, int) else 0
