"""Weight and fluid over past nights, for the talk with the unit: figures, a chart and a table, no verdict."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

from markupsafe import Markup
from starlette.responses import Response

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.draw.chart import svg_of
from ebbwell.draw.marks import Chart, Line
from ebbwell.draw.palette import PALETTES
from ebbwell.papers.own_figures import both, number_here, unit_here
from ebbwell.papers.words import day
from ebbwell.review.weights import (
    Spread,
    WeightNight,
    WeightSigns,
    scale_beside_machine,
    weight_nights,
    weight_signs,
)
from ebbwell.rulebook.own_units import changed_exactly
from ebbwell.science.nights_ahead import LEAST_GAINS
from ebbwell.science.scale_check import LEAST_NIGHTS, Slope
from ebbwell.state.own_past import latest
from ebbwell.web.pages.sheet.page import SIZES
from ebbwell.web.visit import ALL, Visit, Way

DRAWN = 60
"""Nights in the chart and in the look at the scale: about four months of every other night. Own choice."""

COUNTED = 20
"""Nights in the table and in the figures. Source: design, as for gains."""

UNLIKE = 6
"""Nights with another scale or other clothes that are named, the newest. Own choice."""

JOINED = timedelta(days=5)
"""Nights further apart aren't joined in the chart. Own choice."""

MISSED, LOW = "target_missed", "systolic_stop"
"""Limits that say from how far off a target counts as missed, and under which a pressure counts as low."""

SPREADS = (
    ("off", "0.1"),
    ("gain", "0.1"),
    ("gain_share", "0.1"),
    ("per_kg", "0.1"),
    ("start", "1"),
    ("lowest", "1"),
    ("end", "1"),
)
"""Figures with a band, and the step that they are shown in."""

WEIGHTS = frozenset({"off", "gain"})
"""Those of them that are weights."""

TENTH, FINE = Decimal("0.1"), Decimal("0.01")


def show(visit: Visit) -> Response:
    """The page. Writes nothing."""
    desk = visit.desk
    tonight = desk.treatment_id
    past = latest(desk.past, before=desk.now.at + timedelta(seconds=1), nights=DRAWN + 1)
    nights = weight_nights([one for one in past if one.treatment != tonight or one.pump_stopped is not None])
    nights = nights[-DRAWN:]
    counted = nights[-COUNTED:]
    book = desk.scene.rulebook
    missed, low = book.limit(MISSED), book.limit(LOW)
    signs = weight_signs(counted, missed_kg=missed.value, low_mmhg=low.value)
    return visit.show(
        "pages/weights/page.html",
        nights=len(counted),
        said=_said(signs, both(missed.value, "kg"), plain(low.value)) if counted else [],
        scale=_scale(nights) if nights else [],
        drawn=_drawn(visit, nights),
        heads=[say(f"web.weights.column.{name}", unit=unit_here("kg")) for name in COLUMNS],
        rows=[(one.treatment, _cells(one)) for one in reversed(counted)],
    )


def _said(signs: WeightSigns, missed: str, low: str) -> list[str]:
    """A sentence for each figure."""
    said = [
        say(
            "web.weights.missed",
            over=signs.over,
            under=signs.under,
            weighed=signs.weighed,
            off=missed,
        )
    ]
    for name, step in SPREADS:
        said.append(_band(name, getattr(signs, name), Decimal(step)))
    said.append(say("web.weights.low", count=signs.low, nights=signs.lowest.nights, limit=low))
    said.append(say("web.weights.cramps", count=signs.cramps, nights=signs.nights))
    return said


def _band(name: str, band: Spread, step: Decimal) -> str:
    what = say(f"web.weights.what.{name}")
    if band.low is None or band.middle is None or band.high is None:
        return say("web.weights.few", what=what, nights=band.nights, least=LEAST_GAINS)
    return say(
        "web.weights.band",
        what=what,
        unit=_unit(name),
        low=_in_unit(name, band.low, step),
        middle=_in_unit(name, band.middle, step),
        high=_in_unit(name, band.high, step),
        nights=band.nights,
    )


def _scale(nights: Sequence[WeightNight]) -> list[str]:
    """The scale beside the machine; that it isn't known where too few nights have all it takes."""
    found, known = scale_beside_machine(nights)
    unlike = [
        say(
            "web.weights.scale.unlike",
            day=day(one.night),
            words="; ".join(one.unlike),
            apart=_weight(one.apart),
        )
        for one in reversed(nights)
        if one.unlike
    ]
    if found is None:
        return [say("web.weights.scale.few", nights=known, least=LEAST_NIGHTS), *unlike[:UNLIKE]]
    said = [
        say(
            "web.weights.scale.apart",
            nights=found.nights,
            middle=_weight(found.apart),
            low=_kilos(found.apart_low),
            high=_weight(found.apart_high),
        ),
        say("web.weights.scale.month", **_slope(found.a_month)),
    ]
    if found.a_litre is not None:
        said.append(say("web.weights.scale.litre", **_slope(found.a_litre)))
    return [*said, *unlike[:UNLIKE]]


def _slope(slope: Slope) -> dict[str, str]:
    found = {name: _kilos(getattr(slope, name), FINE) for name in ("middle", "low", "high")}
    return {**found, "unit": unit_here("kg")}


def _kilos(value: Decimal | None, step: Decimal = TENTH) -> str:
    """A weight in the household's unit, the number alone; that it isn't known."""
    return _text(_here(value), step)


def _weight(value: Decimal | None) -> str:
    """The same with its unit."""
    return f"{_kilos(value)} {unit_here('kg')}" if value is not None else _kilos(value)


def _target(value: Decimal | None) -> str:
    """A target weight; in another unit with the order's own figure beside it."""
    return _kilos(value) if value is None or unit_here("kg") == "kg" else both(value, "kg")


def _here(value: Decimal | None) -> Decimal | None:
    """A weight in the household's unit, not rounded."""
    return None if value is None else changed_exactly(value, "kg", unit_here("kg"))


def _drawn_weight(value: Decimal | None) -> Decimal | None:
    """A weight in the household's unit as its scale would show it, for the chart and the words beside it."""
    return None if value is None else Decimal(number_here(value, "kg"))


def _unit(name: str) -> str:
    """The unit of a figure with a band."""
    return unit_here("kg") if name in WEIGHTS else say(f"web.weights.unit.{name}")


def _in_unit(name: str, value: Decimal, step: Decimal) -> str:
    return _kilos(value, step) if name in WEIGHTS else _text(value, step)


def _drawn(visit: Visit, nights: Sequence[WeightNight]) -> list[tuple[str, Markup]]:
    """The chart for a wide and for a narrow screen; none before there are two nights with a weight."""
    lines = []
    for name in ("before", "after", "target"):
        values = tuple((one.at, _drawn_weight(getattr(one, name))) for one in nights)
        if any(value is not None for _, value in values):
            lines.append(Line(say(f"web.weights.line.{name}"), values, join_within=JOINED))
    if len(nights) < 2 or not lines:
        return []
    chart = Chart(
        say("web.weights.chart", nights=len(nights)),
        unit_here("kg"),
        nights[0].at,
        nights[-1].at,
        visit.desk.now.zone,
        tuple(lines),
    )
    palette = PALETTES[visit.look]
    return [(name, Markup(svg_of(chart, palette, **sizes))) for name, sizes in SIZES.items()]


COLUMNS = ("night", "before", "gain", "target", "after", "removed", "per_kg", "pressures", "cramps")


def _cells(one: WeightNight) -> list[str]:
    pressures = [_text(value, Decimal(1)) for value in (one.start, one.lowest, one.end)]
    return [
        day(one.night),
        _kilos(one.before),
        _kilos(one.gain),
        _target(one.target),
        _kilos(one.after),
        _text(one.removed, Decimal("0.01")),
        _text(one.per_kg, TENTH),
        " / ".join(pressures),
        str(one.cramps),
    ]


def _text(value: Decimal | None, step: Decimal) -> str:
    """A value in its step, a true minus before one below zero; that it isn't known."""
    if value is None:
        return say("web.weights.unknown")
    rounded = value.quantize(step, ROUND_HALF_UP) + 0
    return f"{rounded:f}".replace("-", "\N{MINUS SIGN}")


WAYS = (Way("GET", "/weights", show, ALL),)
