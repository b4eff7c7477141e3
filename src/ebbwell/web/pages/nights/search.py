"""Nights found by words: what is looked through of each night, and the lines that match."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.house import House
from ebbwell.journal.kinds.marks import Measured
from ebbwell.papers.describe import describe
from ebbwell.papers.words import clock, day, item_words, measured_words, place_words, unit_words
from ebbwell.procedure.retest import fails
from ebbwell.state.own_past import NightSummary, Tested

ONE_NIGHT = timedelta(hours=18)
"""How long after its opening a time needs no date. Own choice: evening, night and the day after."""

WIDE = 160
"""Characters of a line that matched, round the word; the sheet has it whole. Own choice."""


@dataclass(frozen=True)
class Texts:
    """What is looked through of one night. summary: as it was then; another one means that it was touched since.

    lines: as a person reads them. folded: the same for comparing, all in one. lots: codes and lots of the packs.
    """

    summary: NightSummary
    lines: tuple[str, ...]
    folded: str
    lots: str


_texts: WeakKeyDictionary[House, dict[str, Texts]] = WeakKeyDictionary()
"""What was made already, by house and treatment."""


def words_of(typed: str) -> tuple[str, ...]:
    """What was typed, word by word, for comparing."""
    return tuple(typed.casefold().split())


def match(line: str, words: tuple[str, ...]) -> bool:
    """Whether a line has every word in it, in any order, also as part of a longer one."""
    folded = line.casefold()
    return all(word in folded for word in words)


def matches(house: House, desk: Desk, summary: NightSummary, words: tuple[str, ...]) -> list[str]:
    """The lines of a night that have every word, all of them without words.

    Of packs only those whose code or lot has one of the words.
    """
    texts = _of(house, desk, summary)
    found = []
    if all(word in texts.folded for word in words):
        found += [line for line in texts.lines if match(line, words)]
    if any(word in texts.lots for word in words):
        found += _packs(summary, words)
    return [_short(line, words[0] if words else "") for line in found]


def _of(house: House, desk: Desk, summary: NightSummary) -> Texts:
    held = _texts.setdefault(house, {})
    known = held.get(summary.treatment)
    if known is not None and known.summary is summary:
        return known
    lines = (*_noted(desk, summary), *_failed(desk, summary))
    lots = [text for _, code, lot, _ in _lots(summary) for text in (code, lot)]
    made = Texts(summary, lines, "\n".join(lines).casefold(), "\n".join(lots).casefold())
    held[summary.treatment] = made
    return made


def _noted(desk: Desk, summary: NightSummary) -> list[str]:
    zone = desk.now.zone
    found = []
    for one in summary.noted:
        at = clock(one.at, zone)
        if not timedelta() <= one.at - summary.opened_at + timedelta(minutes=1) <= ONE_NIGHT:
            at = f"{day(one.at.astimezone(ZoneInfo(zone)).date().isoformat())} {at}"
        found.append(f"{at} {describe(one.body())}")
    return found


def _failed(desk: Desk, summary: NightSummary) -> list[str]:
    """The water tests over the limit, also those that were replaced."""
    return [
        f"{clock(test.at, desk.now.zone)} {_test(desk, test)}"
        for test in summary.tests
        if fails(desk.rulebook, test)
    ]


def _test(desk: Desk, test: Tested) -> str:
    unit = unit_words(test.quantity, desk.rulebook)
    value = measured_words(Measured(quantity=test.quantity, place=test.place, value=test.value, unit=unit))
    return f"{place_words(test.quantity, test.place)}: {say('web.nights.failed', value=value)}"


def _lots(summary: NightSummary) -> list[tuple[str, str, str, str]]:
    """Name key, code, lot and expiry of packs and of what was tested with."""
    return [
        *summary.packs,
        *((f"{name}@{place}", "", lot, expiry) for name, place, lot, expiry in summary.strips),
    ]


def _packs(summary: NightSummary, words: tuple[str, ...]) -> list[str]:
    found: dict[str, None] = {}
    for name, code, lot, expiry in _lots(summary):
        if not any(word in f"{code}\n{lot}".casefold() for word in words):
            continue
        item = place_words(*name.split("@", 1)) if "@" in name else item_words(name)
        line = say("web.nights.lot", item=item, code=code or "-", lot=lot or "-", expiry=expiry or "-")
        if match(line, words):
            found[line] = None
    return list(found)


def _short(line: str, word: str) -> str:
    """A long line cut down to what stands round a word."""
    if len(line) <= WIDE:
        return line
    at = max(line.casefold().find(word) - WIDE // 2, 0)
    cut = line[at : at + WIDE].strip()
    return f"{'... ' if at else ''}{cut}{' ...' if at + WIDE < len(line) else ''}"
