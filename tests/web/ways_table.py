"""Every way into every page, with who may use it and what an empty form does. Written by hand, as a second opinion.

A new way without a line here fails the tests.
"""

from __future__ import annotations

ALL = frozenset({"bedside", "dialysis", "carer", "stand_in", "clinic"})
HOME = ALL - {"clinic"}
CARER = frozenset({"carer"})
WRITERS = frozenset({"carer", "dialysis"})
NAMED = {"bedside": "bedside", "dialysis": "ilka", "carer": "bram", "stand_in": "tove", "clinic": "ann"}
"""Role to somebody of the household who has it."""

GETS: dict[str, frozenset[str]] = {
    "/": ALL,
    "/begin": ALL,
    "/call-off": ALL,
    "/card": ALL,
    "/connect": ALL,
    "/entry/{id}": ALL,
    "/first-action/{situation}": ALL,
    "/hand-over": ALL,
    "/happened": ALL,
    "/happened/again/{aside}": ALL,
    "/happened/kept/{entry}": ALL,
    "/happened/{name}": ALL,
    "/home": ALL,
    "/kit": ALL,
    "/labels": ALL,
    "/labels/{id}": HOME,
    "/limits": ALL,
    "/limits/{limit}": ALL,
    "/mine": ALL,
    "/night": ALL,
    "/night/check/{step}": ALL,
    "/night/reading": ALL,
    "/nights": ALL,
    "/off": ALL,
    "/off/by-hand": ALL,
    "/paper-night": ALL,
    "/people": ALL,
    "/people/{person}": ALL,
    "/plan": ALL,
    "/prescription": ALL,
    "/prescription/amend": HOME,
    "/prescription/check/{id}": HOME,
    "/prescription/new": HOME,
    "/prescription/read": HOME,
    "/prescription/written": HOME,
    "/pressures": ALL,
    "/recall": ALL,
    "/reminders": ALL,
    "/running": ALL,
    "/settle/{id}": ALL,
    "/setup": ALL,
    "/setup/{bundle}": ALL,
    "/sheet/{treatment}": ALL,
    "/sheet/{treatment}.pdf": ALL,
    "/steps": ALL,
    "/steps/text": ALL,
    "/steps/{step}": ALL,
    "/stop": ALL,
    "/texts": ALL,
    "/texts/{situation}": ALL,
    "/unit-said": ALL,
    "/who": ALL,
    "/working": ALL,
    "/working/{name}": ALL,
}
"""Pages, and who sees them."""

POSTS: dict[str, frozenset[str]] = {
    "/": HOME,
    "/begin": HOME,
    "/call-off": HOME,
    "/clock": HOME,
    "/connect": HOME,
    "/entry/{id}": HOME,
    "/entry/{id}/back": HOME,
    "/hand-over": HOME,
    "/hand-over/accept": HOME,
    "/hand-over/here": HOME,
    "/happened/again/{aside}": HOME,
    "/happened/{name}": HOME,
    "/home": CARER,
    "/kit": HOME,
    "/look": ALL,
    "/labels": HOME,
    "/labels/{id}": HOME,
    "/limits/{limit}": WRITERS,
    "/mine/after-all": HOME,
    "/mine/feel": HOME,
    "/mine/not-tonight": HOME,
    "/mine/note": HOME,
    "/night/check/{step}": HOME,
    "/night/reading": HOME,
    "/night/steps": HOME,
    "/off": HOME,
    "/off/by-hand": HOME,
    "/off/close": HOME,
    "/off/safe": HOME,
    "/off/steps": HOME,
    "/people": frozenset({"bedside", "carer"}),
    "/people/{person}": CARER,
    "/people/{person}/signed": CARER,
    "/plan": HOME,
    "/plan/unit": HOME,
    "/prescription/amend": HOME,
    "/prescription/check/{id}": HOME,
    "/prescription/new": HOME,
    "/prescription/read": HOME,
    "/prescription/written": HOME,
    "/recall": HOME,
    "/reminders": HOME,
    "/reminders/off": HOME,
    "/running": ALL,
    "/settle/{id}": HOME,
    "/setup/{bundle}": HOME,
    "/sheet/{treatment}/close": HOME,
    "/steps/names": WRITERS,
    "/steps/order": WRITERS,
    "/steps/text": WRITERS,
    "/steps/{step}": WRITERS,
    "/stop": ALL,
    "/stop/runs-on": HOME,
    "/texts/fields": HOME,
    "/texts/phone": HOME,
    "/texts/{situation}": HOME,
    "/unit-said": HOME,
    "/who": ALL,
}
"""Forms, and who may send them."""

OTHERS = ("/alive", "/live", "/static")
"""What is served beside the pages."""

WRITES_EMPTY = frozenset({"/mine/not-tonight", "/running", "/stop"})
"""Forms that write without a field filled in: what has happened, and what the person says, is never held up."""
