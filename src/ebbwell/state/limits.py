"""Limits that the household set to other figures, within their bounds."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from msgspec.structs import replace

from ebbwell.journal.kinds.house import LimitChanged
from ebbwell.rulebook.model import Limit, Rulebook
from ebbwell.state.facts import Fact, Facts

SAYS_A_LIMIT = frozenset({"limit_changed", "corrected"})
"""Kinds of entry that may say what a limit was set to."""


def changes_of(standing: Facts, limit: str) -> tuple[Fact, ...]:
    """Every change of a limit that stands, oldest first; more than one where two were made apart."""
    return tuple(f for f in standing.of("limit_changed") if getattr(f.body, "limit", "") == limit)


def own_values(standing: Facts, book: Rulebook) -> Mapping[str, Decimal]:
    """Limit to the figure that it was set to. Of two that stand the stricter one holds until they are settled.

    A figure that this rulebook doesn't take (no such limit, fixed, other unit, outside its bounds) is left out.
    """
    if not standing.of("limit_changed"):
        return {}
    known = {limit.id: limit for limit in book.limits()}
    found: dict[str, Decimal] = {}
    for fact in standing.of("limit_changed"):
        body = fact.body
        limit = known.get(body.limit) if isinstance(body, LimitChanged) else None
        value = _taken(limit, body) if limit is not None and isinstance(body, LimitChanged) else None
        if limit is None or value is None:
            continue
        before = found.get(limit.id)
        found[limit.id] = value if before is None else _stricter(limit, before, value)
    return found


def _taken(limit: Limit, body: LimitChanged) -> Decimal | None:
    try:
        value = Decimal(body.value)
    except InvalidOperation:
        return None
    fits = body.unit == limit.unit and limit.owner != "fixed" and value.is_finite()
    return value if fits and limit.lowest <= value <= limit.highest else None


def _stricter(limit: Limit, one: Decimal, other: Decimal) -> Decimal:
    return min(one, other) if limit.tighten == "down" else max(one, other)


def with_own_limits(book: Rulebook, standing: Facts) -> Rulebook:
    """The rulebook with the household's own figures: what a night opened now goes by."""
    values = own_values(standing, book)
    return _changed(book, {id: v for id, v in values.items() if v != book.limit(id).value})


def tightened(book: Rulebook, shipped: Rulebook, standing: Facts, opened: Fact | None) -> Rulebook:
    """The rulebook of an open night with the figures that were made stricter since; looser ones wait for the next night.

    shipped: the program's own rulebook, whose figure stands again where a change was taken back. opened: what opened
    the night. Of several figures since then the strictest holds to the end of the night: setting it anew less strict, or
    taking it back, is a loosening too.

    Source: design section 5 (pins).
    """
    if not _every_change(standing):
        return book
    known = {limit.id: limit for limit in book.limits()}
    values = dict(own_values(standing, book))
    for fact in _every_change(standing):
        body = fact.body
        limit = known.get(body.limit) if isinstance(body, LimitChanged) else None
        if limit is None or not isinstance(body, LimitChanged):
            continue
        value = _taken(limit, body) if opened is not None and _after(fact, opened) else None
        if limit.id not in values:
            values[limit.id] = shipped.limit(limit.id).value if _same_limit(shipped, limit) else limit.value
        if value is not None:
            values[limit.id] = _stricter(limit, values[limit.id], value)
    return _changed(
        book, {id: v for id, v in values.items() if v != known[id].value and not known[id].looser(v)}
    )


def _every_change(standing: Facts) -> tuple[Fact, ...]:
    """Every change of a limit on record, those taken back or set anew among them."""
    return standing.worked_out(_changes_made)


def _changes_made(standing: Facts) -> tuple[Fact, ...]:
    said = (standing.entries.get(id) for id in sorted(standing.replaced))
    gone = (standing.fact(e.id) for e in said if e is not None and e.envelope.kind in SAYS_A_LIMIT)
    return (*(f for f in gone if f is not None and f.kind == "limit_changed"), *standing.of("limit_changed"))


def _after(fact: Fact, opened: Fact) -> bool:
    """Whether a change was written after the night was opened: by place in one chain, else by time."""
    if fact.first.writer == opened.first.writer:
        return fact.entry.seq > opened.first.seq
    return fact.entry.envelope.recorded.at > opened.first.envelope.recorded.at


def _same_limit(shipped: Rulebook, limit: Limit) -> bool:
    """Whether the program's own rulebook has this limit, in the same unit and with a figure that fits its bounds."""
    ours = next((one for one in shipped.limits() if one.id == limit.id), None)
    return ours is not None and ours.unit == limit.unit and limit.lowest <= ours.value <= limit.highest


def loosens(standing: Facts, shipped: Rulebook, entry_id: str) -> str:
    """The limit that would be less strict once a change of it is taken back; "" where none would.

    shipped: the program's own rulebook, whose figure stands again where no change is left.
    """
    fact = standing.fact(entry_id)
    body = fact.body if fact is not None else None
    now = own_values(standing, shipped).get(body.limit) if isinstance(body, LimitChanged) else None
    if not isinstance(body, LimitChanged) or now is None:
        return ""
    limit = shipped.limit(body.limit)
    left = [
        v for f in changes_of(standing, limit.id) if f.id != entry_id if (v := _value(limit, f)) is not None
    ]
    then = limit.value if not left else min(left) if limit.tighten == "down" else max(left)
    return limit.id if replace(limit, value=now).looser(then) else ""


def _value(limit: Limit, fact: Fact) -> Decimal | None:
    return _taken(limit, fact.body) if isinstance(fact.body, LimitChanged) else None


def _changed(book: Rulebook, values: Mapping[str, Decimal]) -> Rulebook:
    return _made(book, tuple(sorted(values.items()))) if values else book


@lru_cache(maxsize=8)
def _made(book: Rulebook, values: tuple[tuple[str, Decimal], ...]) -> Rulebook:
    return book.with_limits(dict(values))
