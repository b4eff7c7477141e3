"""``ebbwell night``: a night by the user's own typing, from the first questions to the closed sheet."""

from __future__ import annotations

import argparse

from ebbwell.cli.session import Session
from ebbwell.cli.walk.asides import WORDS
from ebbwell.cli.walk.first_run import begin, move_in, who
from ebbwell.cli.walk.prescribe import Draft
from ebbwell.cli.walk.prompt import Leave, Walk
from ebbwell.cli.walk.route import walk_on
from ebbwell.cli.words import wrap
from ebbwell.core.text import say
from ebbwell.house import House
from ebbwell.papers.heading import heading
from ebbwell.state.standing import household


def run(session: Session, args: argparse.Namespace) -> int:
    """Walk the night. Leaving, a closed input and Ctrl-C all keep what was recorded, and give 0."""
    try:
        house = session.open_house() if session.begun else begin(session, encrypt=args.encrypt)
    except (EOFError, KeyboardInterrupt):
        session.print("", *wrap(say("walk.left_early")))
        return 0
    draft = Draft(None if session.locked else session.home / "prescription.draft")
    with house:
        try:
            _walk(session, house, draft)
        except (Leave, KeyboardInterrupt):
            session.print(*wrap(say("walk.left")))
    return 0


def _walk(session: Session, house: House, draft: Draft) -> None:
    walk = Walk(session, house, words=dict(WORDS))
    for note in house.store.notes:
        walk.say(note)
    move_in(walk)
    for line in heading(household(walk.desk().standing)):
        walk.tell(line)
    walk.words = dict(WORDS)
    who(walk)
    walk.say("walk.words_hint")
    walk_on(walk, draft)
