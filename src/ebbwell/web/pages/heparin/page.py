"""Heparin and clotting over past nights, for the talk with the unit: a table, two charts, and one night's curve."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Band, Chart, Line, Mark, Points, Role
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.words import clock, day, given_words
from ebbwell.review.heparin import ThinnerNight, curve, thinner_nights
from ebbwell.state.own_past import latest
from ebbwell.state.standing import people
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Visit, Way

NIGHTS = 40
"""Nights that are shown. Own choice: about three months of every other night."""

JOINED = timedelta(days=15)
"""Nights further apart aren't joined. Own choice."""

COLUMNS = (
    "night",
    "drug",
    "first",
    "pump",
    "total",
    "per_kg",
    "score",
    "stop",
    "shown",
    "clots",
    "bleeding",
)
SITES: dict[str, Role] = {"arterial": "arterial", "venous": "venous"}
Drawn = list[tuple[str, Markup]]


def show(visit: Visit) -> Response:
    """The table, newest night first; the charts; the curve of the newest night that has all it takes."""
    nights = thinner_nights(latest(visit.desk.past, before=visit.desk.now.at, nights=NIGHTS))
    curved = next(((one, found) for one in nights if (found := _curve(visit, one))), None)
    return visit.show(
        "pages/heparin/page.html",
        nights=len(nights),
        drawn=[_drawn(visit, chart, f"past{n}") for n, chart in enumerate(_charts(visit, nights))],
        heads=[say(f"web.heparin.head.{name}") for name in COLUMNS],
        rows=[(one.treatment, _cells(visit, one)) for one in nights],
        curve=curved[1] if curved else [],
        curve_night=day(curved[0].night) if curved else "",
    )


def _charts(visit: Visit, newest_first: Sequence[ThinnerNight]) -> list[Chart]:
    """Units of each night, and minutes to stop bleeding below it over the same nights; none before two nights."""
    nights = list(reversed(newest_first))
    if len(nights) < 2:
        return []

    def over(name: str, unit: str, marks: tuple[Mark, ...]) -> Chart:
        title = say(f"web.heparin.chart.{name}", nights=len(nights))
        return Chart(title, unit, nights[0].at, nights[-1].at, visit.desk.now.zone, marks, low=Decimal(0))

    made = []
    if any(one.total is not None for one in nights):
        line = Line(say("web.heparin.line.total"), tuple((n.at, n.total) for n in nights), join_within=JOINED)
        seen = tuple((one.at, one.total) for one in nights if one.total is not None and _clotted(one))
        marked = (Points(say("web.heparin.line.clots"), seen),) if seen else ()
        made.append(over("total", say("web.heparin.unit"), (line, *marked)))
    sites = tuple(
        Line(say(f"place.{site}"), tuple((n.at, n.bleeding.get(site)) for n in nights), role, JOINED)
        for site, role in SITES.items()
        if any(site in one.bleeding for one in nights)
    )
    return [*made, over("bleeding", "min", sites)] if sites else made


def _curve(visit: Visit, one: ThinnerNight) -> Drawn:
    """The curve of one night for both widths, always with its band; [] where the sum lacks a part."""
    points = curve(one)
    if len(points) < 2:
        return []
    tenth = Decimal("0.1")

    def rounded(value: Decimal) -> Decimal:
        return value.quantize(tenth, ROUND_HALF_UP)

    times = [(one.at + timedelta(hours=float(point.at_h)), point) for point in points]
    band = Band(
        say("web.heparin.curve.band"),
        tuple((at, *sorted((rounded(p.least), rounded(p.most)))) for at, p in times),  # type: ignore[misc]
    )
    studied = Line(say("web.heparin.curve.studied"), tuple((at, rounded(p.studied)) for at, p in times))
    title = say("web.heparin.curve.title", night=day(one.night))
    chart = Chart(title, "%", times[0][0], times[-1][0], visit.desk.now.zone, (band, studied), low=Decimal(0))
    return _drawn(visit, chart, "curve")


def _drawn(visit: Visit, chart: Chart, name: str) -> Drawn:
    palette = PALETTES[visit.look]
    return [
        (shown, Markup(svg_of(chart, palette, **{**sizes, "name": f"{name}-{sizes['name']}"})))
        for shown, sizes in SIZES.items()
    ]


def _clotted(one: ThinnerNight) -> bool:
    """Whether anything of the night speaks of clots."""
    return bool(one.clots or one.clotted_sets or "clotted" in one.looks.values())


def _cells(visit: Visit, one: ThinnerNight) -> list[str]:
    unknown = say("web.heparin.unknown")
    heparin = one.kind == "heparin"
    stop = clock(one.stop_at, visit.desk.now.zone) if one.stop_at is not None else unknown
    return [
        day(one.night),
        _drug(one),
        _units(one.first) if heparin else say("web.heparin.none"),
        _units(one.pumped) if heparin else say("web.heparin.none"),
        _units(one.total) if heparin else say("web.heparin.none"),
        _tenths(one.per_kg) if heparin else say("web.heparin.none"),
        _score(visit, one),
        stop if heparin else say("web.heparin.none"),
        f"{plain(one.pump_ml)} mL" if one.pump_ml is not None else unknown,
        _looks(one),
        ", ".join(f"{say(f'place.{site}')} {plain(value)} min" for site, value in one.bleeding.items())
        or unknown,
    ]


def _drug(one: ThinnerNight) -> str:
    words = say(f"option.anticoagulant.{one.kind}")
    if one.kind != "low_molecular":
        return words
    given = "; ".join(" ".join(filter(None, (given_words(what), *amount))) for what, *amount in one.medicines)
    return say(
        "web.heparin.low_molecular",
        drug=words,
        ordered=one.ordered,
        given=given or say("web.heparin.unknown"),
    )


def _looks(one: ThinnerNight) -> str:
    said = [
        say("web.heparin.look", what=say(f"web.heparin.look.{name}"), seen=say(f"option.{name}.{seen}"))
        for name, seen in one.looks.items()
    ]
    said += [*one.clots, *([say("web.heparin.clotted_set")] * one.clotted_sets)]
    return "; ".join(said) or say("web.heparin.unknown")


def _score(visit: Visit, one: ThinnerNight) -> str:
    """The clotting score with who gave it; a figure only."""
    if one.score is None:
        return say("web.heparin.unknown")
    value, by = one.score
    names = people(visit.desk.standing)
    return say("web.heparin.score", value=value, who=names[by].name if by in names else say("bedside"))


def _tenths(value: Decimal | None) -> str:
    if value is None:
        return say("web.heparin.unknown")
    return plain(value.quantize(Decimal("0.1"), ROUND_HALF_UP).normalize())


def _units(value: Decimal | None) -> str:
    return (
        say("web.heparin.unknown") if value is None else f"{plain(value.quantize(Decimal(1), ROUND_HALF_UP))}"
    )


WAYS = (Way("GET", "/review/heparin", show, ALL),)
