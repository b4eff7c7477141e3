"""If nothing changes: levels before and after the coming nights. None is shown after a night that went amiss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Band, Chart, Line
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.words import day
from ebbwell.review.basis import DAY_MIN, Basis, Pattern
from ebbwell.review.outlook import WEEKS, Ahead, Level
from ebbwell.review.outlook_hidden import night_begins, why_hidden
from ebbwell.review.own_numbers import OwnNumbers
from ebbwell.state.own_past import NightSummary, latest
from ebbwell.web.pages.adequacy.figures import gap_words
from ebbwell.web.pages.compare.page import drawn_words, numbers_of
from ebbwell.web.pages.compare.words import band_words, ends, pattern_words, source_words
from ebbwell.web.pages.outlook.gathered import Told, told
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Visit, Way

LOOKED_AT = 40
"""Past nights that are looked at for one that went amiss. Own choice: more than a week of any pattern."""


@dataclass(frozen=True)
class Part:
    """One substance as it is shown. why_not: why there is nothing to show, else "". drawn: the chart for both widths.

    rows: night, before, after in words. limits: what the model is good for and what not; rests: what it rests on.
    since: the blood result that it begins with, and how old that is.
    """

    name: str
    why_not: str
    drawn: list[tuple[str, Markup]] = field(default_factory=list)
    rows: list[tuple[str, str, str]] = field(default_factory=list)
    limits: list[str] = field(default_factory=list)
    rests: list[str] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    since: str = ""


def show(visit: Visit) -> Response:
    """Charts and tables; what is lacking, or why there is no projection, in their place."""
    own = numbers_of(visit)
    nights = latest(visit.desk.past, before=visit.desk.now.at + timedelta(seconds=1), nights=LOOKED_AT)
    hidden = "" if own.basis is None else _hidden(visit, own.basis, nights)
    parts: list[Part] = []
    if own.basis is not None and not hidden:
        parts = _parts(visit, own, own.basis, nights)
    return visit.show(
        "pages/outlook/page.html",
        gaps=[gap_words(gap) for gap in own.gaps],
        hidden=say(hidden) if hidden else "",
        parts=parts,
        weeks=WEEKS,
        now_words="" if own.basis is None else pattern_words(own.basis.present),
    )


def _hidden(visit: Visit, basis: Basis, nights: Sequence[NightSummary]) -> str:
    return why_hidden(nights, basis.present, visit.desk.now.at, visit.desk.now.zone)


def _parts(visit: Visit, own: OwnNumbers, basis: Basis, nights: Sequence[NightSummary]) -> list[Part]:
    """Each substance from its newest result on, told from now."""
    desk = visit.desk
    days = {name: one.night for name, one in own.levels.items()}
    pair = own.months[own.used[-1]].night
    found = told(basis, days, pair, nights, desk.now.at, desk.now.zone)
    return [_part(visit, one, basis.present) for one in found]


def _part(visit: Visit, one: Told, present: Pattern) -> Part:
    name, ahead, begins = say(f"web.outlook.substance.{one.key}"), one.ahead, one.begins_on
    if ahead is None or ahead.why_not:
        return Part(name, one.why if ahead is None else say(ahead.why_not))
    rests = [say(key) for key in ahead.rests]
    drawn_on = one.drawn_on
    since = "" if drawn_on is None else say("web.outlook.from", **drawn_words(visit, drawn_on))
    rows = [
        (
            day((begins + timedelta(days=round(level.at_min / DAY_MIN))).isoformat()),
            band_words(level.before, one.key),
            band_words(level.after, one.key),
        )
        for level in ahead.levels
    ]
    return Part(
        name,
        "",
        _drawn(visit, ahead, begins, present),
        rows,
        [say(ahead.good), say(ahead.limits)],
        rests,
        source_words(ahead.sources),
        since,
    )


def _drawn(visit: Visit, ahead: Ahead, first: date, present: Pattern) -> list[tuple[str, Markup]]:
    """Levels before nights with their band, and after them; none for a single night."""
    if len(ahead.levels) < 2:
        return []
    zone = visit.desk.now.zone

    def begins(one: Level) -> datetime:
        return night_begins(first, round(one.at_min / DAY_MIN), present, zone)

    length = timedelta(hours=present.hours)
    before = [(begins(one), ends(one.before, ahead.key)) for one in ahead.levels]
    after = [(begins(one) + length, ends(one.after, ahead.key)) for one in ahead.levels]
    marks = (
        Band(say("web.outlook.band"), tuple((at, low, high) for at, (low, _, high) in before)),
        Band(say("web.outlook.band_after"), tuple((at, low, high) for at, (low, _, high) in after)),
        Line(say("web.outlook.before"), tuple((at, middle) for at, (_, middle, _) in before)),
        Line(say("web.outlook.after"), tuple((at, middle) for at, (_, middle, _) in after)),
    )
    title = say("web.outlook.chart", what=say(f"web.outlook.substance.{ahead.key}"))
    chart = Chart(title, ahead.unit, before[0][0], after[-1][0], zone, marks, low=Decimal(0))
    name = ahead.key.replace("_", "-")
    return [
        (shown, Markup(svg_of(chart, PALETTES[visit.look], **{**sizes, "name": f"{name}-{sizes['name']}"})))
        for shown, sizes in SIZES.items()
    ]


WAYS = (Way("GET", "/review/outlook", show, ALL),)
