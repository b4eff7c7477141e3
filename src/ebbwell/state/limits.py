"""Limits that the household set to other figures, within their bounds."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from ebbwell.journal.kinds.house import LimitChanged
from ebbwell.rulebook.model import Limit, Rulebook
from ebbwell.state.facts import Fact, Facts


def changes_of(standing: Facts, limit: str) -> tuple[Fact, ...]:
    """Every change of a limit that stands, oldest first; more than one where two were made apart."""
    return tuple(f for f in standing.of("limit_changed") if getattr(f.body, "limit", "") == limit)


def own_values(standing: Facts, book: Rulebook) -> Mapping[str, Decimal]:
    """Limit to the figure that it was set to. Of two that stand the stricter one holds until they are settled.

    A figure that this rulebook doesn't take (no such limit, fixed, other unit, outside its bounds) is left out.
    """
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


def tightened(book: Rulebook, standing: Facts) -> Rulebook:
    """The rulebook of an open night with the figures that were made stricter since; looser ones wait for the next night.

    Source: design section 5 (pins).
    """
    values = own_values(standing, book)
    now = {id: book.limit(id) for id in values}
    return _changed(book, {id: v for id, v in values.items() if v != now[id].value and not now[id].looser(v)})


def _changed(book: Rulebook, values: Mapping[str, Decimal]) -> Rulebook:
    return _made(book, tuple(sorted(values.items()))) if values else book


@lru_cache(maxsize=8)
def _made(book: Rulebook, values: tuple[tuple[str, Decimal], ...]) -> Rulebook:
    return book.with_limits(dict(values))
