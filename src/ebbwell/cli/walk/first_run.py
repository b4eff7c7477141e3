"""The first run: what this is and isn't, the household, its people, the time zone."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from ebbwell.cli.errors import PassphrasesDiffer
from ebbwell.cli.session import Session, system_zone
from ebbwell.cli.walk.asides import WORDS
from ebbwell.cli.walk.prompt import Back, Later, Leave, NotMeasured, Skip, Walk, in_a_row, plain_word
from ebbwell.cli.walk.righting import ask_name
from ebbwell.cli.words import error_lines, wrap
from ebbwell.core.clock import zone_info
from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds import people
from ebbwell.house import House
from ebbwell.papers.heading import practice_words
from ebbwell.state.standing import household
from ebbwell.state.standing import people as known

T = TypeVar("T")

HERE = ("?", "help", "stop", "stop now", "running", "names")
"""Words that work while the home and its people are entered."""

HONEST = tuple(f"first.honest_{n}" for n in range(1, 7))
"""What this is and isn't. Source: design section 1."""


def tell_honest(session: Session) -> None:
    """The honesty lines."""
    for key in HONEST:
        session.print(*wrap(say(key), first="  "))
    for line in practice_words(invented=False):
        session.print(*wrap(line, first="  "))


def begin(session: Session, *, encrypt: bool) -> House:
    """Ask for the zone, and the passphrase where one is wanted; then make the record."""
    session.print(*wrap(say("first.welcome")))
    tell_honest(session)
    session.print(*wrap(say("first.place", path=session.store)))
    zone = ask_zone(session)
    return session.begin_house(zone, _new_passphrase(session) if encrypt else None)


def ask_zone(session: Session) -> str:
    """The home's time zone: typed, or the computer's own taken by an empty line. EOFError when the person leaves."""
    offered = system_zone(session.environ)
    key = "first.zone_offered" if offered else "first.zone"
    while True:
        session.print(*wrap(say(key, zone=offered)))
        session.out.write("> ")
        session.out.flush()
        line = session.stdin.readline()
        if not line:
            raise EOFError
        word = plain_word(line)
        if word == "leave":
            raise EOFError
        if word in ("?", "help"):
            session.print(*wrap(say("why.zone"), first=f"{say('walk.why')} "))
            session.print(*wrap(say("word.leave"), first="  ", rest="      "))
            continue
        if word in ("stop", "stop now"):
            session.print(*wrap(say("walk.stop_words"), first="## ", rest="## "))
            session.print(*wrap(say("first.stop_unkept"), first="## ", rest="## "))
            continue
        if word == "back":
            session.print(*wrap(say("first.no_back")))
            continue
        typed = line.strip() or offered
        try:
            return zone_info(typed).key
        except InputError as why:
            session.print(*error_lines(why))


def _new_passphrase(session: Session) -> str:
    session.print(*wrap(say("first.passphrase")))
    named = session.environ.get("EBBWELL_PASSPHRASE")
    if named:
        return named
    first = session.ask_secret(say("first.passphrase_new") + " ")
    if session.ask_secret(say("first.passphrase_again") + " ") != first:
        raise PassphrasesDiffer("first.passphrases_differ")
    return first


def move_in(walk: Walk, *, zone: str = "") -> None:
    """Enter what the record doesn't hold yet: the household, the person on dialysis, the carer.

    zone: typed just now. A record that was left before its household was entered asks for it again.
    """
    walk.words = {k: WORDS[k] for k in HERE}
    walk.steady = True
    if household(walk.desk().standing) is None:
        if not zone:
            zone = _zone_again(walk)
        _found(walk, zone)
    here = known(walk.desk().standing)
    if not any("dialysis" in body.roles for body in here.values()):
        enter(walk, say("first.person"), ("dialysis",), about="why.person")
    if not any("carer" in body.roles for body in here.values()):
        walk.by = enter(walk, say("first.carer"), ("carer",), about="why.carer")
        _others(walk)
    walk.steady = False


def _zone_again(walk: Walk) -> str:
    try:
        zone = ask_zone(walk.session)
    except EOFError as why:
        raise Leave from why
    walk.house.clock = walk.session.clock(zone)
    return zone


@in_a_row("walk.row.household")
def _found(walk: Walk, zone: str) -> None:
    while True:
        name = _answered(walk, lambda: ask_name(walk, say("first.household")), about="why.household")
        walk.turns = ("back",)
        try:
            options = (("2", say("first.tanks_2")), ("1", say("first.tanks_1")))
            tanks = walk.pick(say("first.tanks"), options, about="why.tanks")
        except Back:
            continue
        except (Later, Skip, NotMeasured):
            walk.say("walk.answer_here")
            continue
        finally:
            walk.turns = ()
        if walk.do(people.found_household, name=name, zone=zone, carbon_tanks=int(tanks)) is not None:
            return


def _answered(walk: Walk, ask: Callable[[], T], *, about: str) -> T:
    """A question of the first run. What was entered before it is put right by ``names``, not by going back."""
    before, walk.about = walk.about, about
    try:
        while True:
            try:
                return ask()
            except Back:
                walk.say("first.no_back")
            except (Later, Skip, NotMeasured):
                walk.say("walk.answer_here")
    finally:
        walk.about = before


def _others(walk: Walk) -> None:
    roles = (("carer", say("first.role_carer")), ("stand_in", say("first.role_stand_in")))
    while _answered(walk, lambda: walk.yes(say("first.another")), about="why.another"):
        role = _answered(walk, lambda: walk.pick(say("first.role"), roles), about="why.role")
        enter(walk, say("first.name"), (role,), about="why.another")


def enter(walk: Walk, question: str, roles: tuple[str, ...], *, about: str) -> str:
    """Enter one person by name. Gives their id. about: wording key of why it is asked."""
    while True:
        name = _answered(walk, lambda: ask_name(walk, question), about=about)
        person = people.new_id(name, known(walk.desk().standing))
        if walk.do(people.enter_person, person=person, name=name, roles=roles) is not None:
            return person


def who(walk: Walk) -> None:
    """Ask who is here, where more than one could be."""
    found = [(p, b.name) for p, b in known(walk.desk().standing).items() if "dialysis" not in b.roles]
    if len(found) == 1:
        walk.by = found[0][0]
    elif found:
        walk.by = _answered(walk, lambda: walk.pick(say("walk.who"), found), about="why.who")
