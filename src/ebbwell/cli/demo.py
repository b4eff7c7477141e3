"""``ebbwell demo``: the invented household, served with its story; or one night of it, played as text."""

from __future__ import annotations

import argparse
import os
import signal
import time
from collections.abc import Callable

from ebbwell.cli.serve import DEMO_PORT, serve_until_stopped
from ebbwell.cli.session import DEMO, Session
from ebbwell.cli.words import wrap
from ebbwell.core.clock import ShiftedClock
from ebbwell.core.text import say
from ebbwell.house import House
from ebbwell.papers.sheet import build_sheet
from ebbwell.papers.sheet_text import sheet_text
from ebbwell.papers.words import clock
from ebbwell.sim.demo import Demo
from ebbwell.sim.household import ZONE

STORY = "demo-story"
"""Folder, inside the data folder, that the story has for itself."""


def run(session: Session, args: argparse.Namespace) -> int:
    """The story in the browser; with ``--played`` or ``--json`` the played night."""
    if args.played or args.json:
        return play(session, args)
    return serve_story(session, anew=args.anew)


def serve_story(session: Session, *, anew: bool) -> int:
    """Tell the story where it doesn't lie yet, and serve it with its clock running on from where it stands.

    What was written in an earlier go is kept, and the clock goes on from there. The household's record isn't touched.
    While the story is written Ctrl-C ends the program on the spot: an exception could be lost in a callback, and a story
    in the making is told anew the next time anyway.
    """
    from ebbwell.sim.story import tell

    def begins() -> None:
        signal.signal(signal.SIGINT, lambda *_: os._exit(0))
        session.warn(say("serve.story_begins"))

    def open_house() -> Callable[[], House]:
        before = signal.getsignal(signal.SIGINT)
        try:
            story = tell(session.home / STORY, anew=anew, first=begins)
        finally:
            signal.signal(signal.SIGINT, before)
        clock = ShiftedClock(story.at, session.clock(story.zone))
        return lambda: House.open(story.path, clock, session.make_ids(), create=False)

    return serve_until_stopped(session, open_house, "serve.demo_at", DEMO_PORT)


def play(session: Session, args: argparse.Namespace) -> int:
    """Play the night from an empty store in the demo's own folder. The household's record isn't touched."""
    began = time.perf_counter()
    folder = session.home / DEMO
    demo = Demo(folder)
    try:
        told = []
        if not args.json:
            session.print(*wrap(say("demo.first")), *wrap(say("demo.clock")), "")
        for one in demo.play():
            told.append(one)
            if not args.json:
                session.print(*wrap(one.words, first=f"{clock(one.at, ZONE)}  ", rest="       "))
        newest = max(demo.house.look().past.values(), key=lambda s: s.opened_at)
        sheet = build_sheet(demo.house.look(treatment=newest.treatment), demo.house.store.heads())
        entries = demo.house.store.count()
    finally:
        demo.close()
    if args.json:
        session.print_json(
            {
                "invented": True,
                "store": str(demo.path),
                "entries": entries,
                "events": [{"at": t.at.isoformat(), "kind": t.kind, "words": t.words} for t in told],
                "sheet": {"title": sheet.title, **sheet.data},
            }
        )
        return 0
    seconds = f"{time.perf_counter() - began:.1f}"
    session.print("", *sheet_text(sheet).rstrip("\n").split("\n"), "")
    session.print(*wrap(say("demo.stored", path=demo.path, entries=entries, seconds=seconds)))
    session.print(*wrap(say("demo.next")), "", "    .venv/bin/ebbwell night")
    return 0
