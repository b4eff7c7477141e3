"""If nothing changes: levels before and after the coming nights. None is shown after a night that went amiss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.core.errors import EbbwellError
from ebbwell.core.text import say
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Band, Chart, Line
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import day
from ebbwell.review.basis import DAY_MIN, Basis, Pattern
from ebbwell.review.outlook import WEEKS, Ahead, Level, outlook
from ebbwell.review.outlook_hidden import night_begins, why_hidden
from ebbwell.review.own_numbers import OwnNumbers
from ebbwell.state.own_past import NightSummary, latest
from ebbwell.web.pages.compare.page import numbers_of
from ebbwell.web.pages.compare.words import band_words, ends, gap_words, pattern_words, source_words
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Trouble, Visit, Way

LOOKED_AT = 40
"""Past nights that are looked at for one that went amiss. Own choice: more than a week of any pattern."""


@dataclass(frozen=True)
class Part:
    """One substance as it is shown. why_not: why there is nothing to show, else "". drawn: the chart for both widths.

    rows: night, before, after in words. limits: what the model is good for and what not; rests: what it rests on.
    """

    name: str
    why_not: str
    drawn: list[tuple[str, Markup]] = field(default_factory=list)
    rows: list[tuple[str, str, str]] = field(default_factory=list)
    limits: list[str] = field(default_factory=list)
    rests: list[str] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)


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
        gaps=gap_words(own.gaps),
        hidden=say(hidden) if hidden else "",
        parts=parts,
        weeks=WEEKS,
        now_words="" if own.basis is None else pattern_words(own.basis.present),
        drawn_on="" if not own.used else day(own.months[own.used[-1]].night.isoformat()),
    )


def _hidden(visit: Visit, basis: Basis, nights: Sequence[NightSummary]) -> str:
    return why_hidden(nights, basis.present, visit.desk.now.at, visit.desk.now.zone)


def _parts(visit: Visit, own: OwnNumbers, basis: Basis, nights: Sequence[NightSummary]) -> list[Part]:
    """From the newest pair of bloods on, told from now; the first treatment of the course is that pair's."""
    pair, now = own.months[own.used[-1]].night, visit.desk.now
    begun = night_begins(pair, 0, basis.present, now.zone)
    since = max((now.at - begun) / timedelta(minutes=1), 0.0)
    try:
        place = _place(pair, basis.present, nights)
        found = outlook(basis, first=place, since_min=since)
    except EbbwellError as why:
        visit.troubles.append(Trouble(error_words(why)))
        return []
    return [_part(visit, one, pair, basis.present) for one in found]


def _place(pair: date, present: Pattern, nights: Sequence[NightSummary]) -> int:
    """Which treatment of the present pattern a night is; one too many where it is none of them."""
    none = len(present.days)
    if present.cycle_days == 7:
        return present.days.index(pair.weekday()) if pair.weekday() in present.days else none
    newest = next((date.fromisoformat(one.night) for one in nights if one.first_blood is not None), pair)
    return 0 if (newest - pair).days % present.cycle_days == 0 else none


def _part(visit: Visit, ahead: Ahead, pair: date, present: Pattern) -> Part:
    name = say(f"web.outlook.substance.{ahead.key}")
    if ahead.why_not:
        return Part(name, say(ahead.why_not))
    rows = [
        (
            day((pair + timedelta(days=round(one.at_min / DAY_MIN))).isoformat()),
            band_words(one.before, ahead.key),
            band_words(one.after, ahead.key),
        )
        for one in ahead.levels
    ]
    return Part(
        name,
        "",
        _drawn(visit, ahead, pair, present),
        rows,
        [say(ahead.good), say(ahead.limits)],
        [say(key) for key in ahead.rests],
        source_words(ahead.sources),
    )


def _drawn(visit: Visit, ahead: Ahead, pair: date, present: Pattern) -> list[tuple[str, Markup]]:
    """Levels before nights with their band, and after them; none for a single night."""
    if len(ahead.levels) < 2:
        return []
    zone = visit.desk.now.zone

    def begins(one: Level) -> datetime:
        return night_begins(pair, round(one.at_min / DAY_MIN), present, zone)

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
