"""The first run: what this is and isn't, the household, its people, the time zone."""

from __future__ import annotations

from ebbwell.cli.errors import PassphrasesDiffer
from ebbwell.cli.session import Session, system_zone
from ebbwell.cli.walk.asides import WORDS
from ebbwell.cli.walk.prompt import Walk
from ebbwell.cli.words import error_lines, wrap
from ebbwell.core.clock import zone_info
from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.deeds import people
from ebbwell.house import House
from ebbwell.papers.heading import practice_words
from ebbwell.state.standing import household
from ebbwell.state.standing import people as known

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
    zone = _zone(session)
    return session.begin_house(zone, _new_passphrase(session) if encrypt else None)


def _zone(session: Session) -> str:
    """The home's time zone: typed, or the computer's own taken by an empty line."""
    offered = system_zone(session.environ)
    key = "first.zone_offered" if offered else "first.zone"
    while True:
        session.print(*wrap(say(key, zone=offered)))
        session.out.write("> ")
        session.out.flush()
        line = session.stdin.readline()
        if not line:
            raise EOFError
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


def move_in(walk: Walk) -> None:
    """Enter what the record doesn't hold yet: the household, the person on dialysis, the carer."""
    walk.words = {k: WORDS[k] for k in ("?", "help", "stop", "stop now", "running")}
    walk.steady = True
    if household(walk.desk().standing) is None:
        zone = walk.desk().now.zone
        while True:
            name = walk.ask(say("first.household"))
            tanks = walk.pick(say("first.tanks"), (("2", say("first.tanks_2")), ("1", say("first.tanks_1"))))
            if walk.do(people.found_household, name=name, zone=zone, carbon_tanks=int(tanks)) is not None:
                break
    here = known(walk.desk().standing)
    if not any("dialysis" in body.roles for body in here.values()):
        enter(walk, say("first.person"), ("dialysis",))
    if not any("carer" in body.roles for body in here.values()):
        walk.by = enter(walk, say("first.carer"), ("carer",))
        _others(walk)
    walk.steady = False


def _others(walk: Walk) -> None:
    while walk.yes(say("first.another")):
        role = walk.pick(
            say("first.role"), (("carer", say("first.role_carer")), ("stand_in", say("first.role_stand_in")))
        )
        enter(walk, say("first.name"), (role,))


def enter(walk: Walk, question: str, roles: tuple[str, ...]) -> str:
    """Enter one person by name. Gives their id."""
    while True:
        name = walk.ask(question)
        person = people.new_id(name, known(walk.desk().standing))
        if walk.do(people.enter_person, person=person, name=name, roles=roles) is not None:
            return person


def who(walk: Walk) -> None:
    """Ask who is here, where more than one could be."""
    found = [(p, b.name) for p, b in known(walk.desk().standing).items() if "dialysis" not in b.roles]
    if len(found) == 1:
        walk.by = found[0][0]
    elif found:
        walk.by = walk.pick(say("walk.who"), found)
