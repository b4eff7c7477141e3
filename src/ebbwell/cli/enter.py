"""``ebbwell enter``: water results, limits, labels and measures typed at the keyboard, as on their pages."""

from __future__ import annotations

import argparse

from ebbwell.cli.session import Session
from ebbwell.cli.walk.asides import WORDS
from ebbwell.cli.walk.first_run import who
from ebbwell.cli.walk.form_kinds import CARERS, KINDS, title_of
from ebbwell.cli.walk.forms import walk_form
from ebbwell.cli.walk.prescribe import Draft
from ebbwell.cli.walk.prompt import TURNS, Leave, Walk
from ebbwell.core.reader import read_by
from ebbwell.core.text import say
from ebbwell.papers.heading import heading
from ebbwell.state.standing import household, people

HERE = ("?", "help", "stop", "stop now", "running", "call")
"""Words that work while a form is filled in."""


def run(session: Session, args: argparse.Namespace) -> int:
    """Fill in one form. Leaving keeps what was typed, for the next time, and gives 0."""
    house = session.open_house()
    with house, read_by(house.look().rulebook.units):
        walk = Walk(
            session,
            house,
            words={word: WORDS[word] for word in HERE},
            known_words=frozenset({*WORDS, *TURNS, "leave"}),
            steady=True,
        )
        home = household(walk.desk().standing)
        if home is None:
            walk.tell_command("form.no_household", "night")
            return 0
        for line in heading(home):
            walk.tell(line)
        try:
            _enter(walk, args.what or "", locked=session.locked)
        except (Leave, KeyboardInterrupt):
            walk.tell_command("form.left_locked" if session.locked else "form.left", "enter", args.what or "")
    return 0


def _enter(walk: Walk, what: str, *, locked: bool) -> None:
    who(walk)
    name = what or walk.pick(say("form.which_form"), [(one, title_of(one)) for one in KINDS])
    known = people(walk.desk().standing).get(walk.by)
    if name in CARERS and not {"carer", "dialysis"} & set(known.roles if known is not None else ()):
        walk.say("form.carer_only")
        return
    form = KINDS[name](walk)
    if form is not None:
        walk_form(walk, form, Draft(None if locked else walk.session.home / f"{name}{form.draft}.draft"))
