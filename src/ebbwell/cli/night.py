"""``ebbwell night``: a night by the user's own typing, from the first questions to the closed sheet."""

from __future__ import annotations

import argparse

from ebbwell.cli.session import Session
from ebbwell.cli.walk.asides import WORDS
from ebbwell.cli.walk.first_run import begin, move_in, who
from ebbwell.cli.walk.prescribe import Draft
from ebbwell.cli.walk.prompt import TURNS, Leave, Walk
from ebbwell.cli.walk.route import walk_on
from ebbwell.cli.words import wrap
from ebbwell.core.reader import read_by
from ebbwell.core.text import say
from ebbwell.papers.heading import heading
from ebbwell.papers.words import clock
from ebbwell.state.standing import household


def run(session: Session, args: argparse.Namespace) -> int:
    """Walk the night. Leaving, a closed input and Ctrl-C keep what was written down, and give 0."""
    fresh = not session.begun
    try:
        house = begin(session, encrypt=args.encrypt) if fresh else session.open_house()
    except (EOFError, KeyboardInterrupt):
        session.print("", *wrap(say("walk.left_early")), f"  {session.command('night')}")
        return 0
    draft = Draft(None if session.locked else session.home / "prescription.draft")
    with house, read_by(house.look().rulebook.units):
        walk = Walk(session, house, words=dict(WORDS), known_words=frozenset({*WORDS, *TURNS, "leave"}))
        try:
            _walk(walk, draft, house.look().now.zone if fresh else "")
        except (Leave, KeyboardInterrupt):
            _left(walk)
    return 0


def _left(walk: Walk) -> None:
    """What leaving kept and what it didn't, and how to go on."""
    lost = walk.unkept()
    if lost:
        walk.say("walk.not_kept", what="; ".join(lost))
    walk.tell_command("walk.left_in_part" if lost else "walk.left", "night")


def _walk(walk: Walk, draft: Draft, zone: str) -> None:
    for note in walk.house.store.notes:
        walk.say(note)
    move_in(walk, zone=zone)
    for line in heading(household(walk.desk().standing)):
        walk.tell(line)
    now = walk.desk().now
    walk.say("walk.clock_now", at=clock(now.at, now.zone), zone=now.zone)
    walk.words = dict(WORDS)
    who(walk)
    walk.say("walk.words_hint")
    walk_on(walk, draft)
