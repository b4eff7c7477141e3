"""Pressures of past nights for the clinic: charts, a table, own levels at one blood flow. Figures only, no verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Final

from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.when import day
from ebbwell.core.worked import Input
from ebbwell.deeds.desk import Desk
from ebbwell.draw.marks import Band, Chart, Level, Line, Mark, Range, Role
from ebbwell.journal.kinds.pressures import FlowShort
from ebbwell.papers.described_pressures import short_at
from ebbwell.papers.membrane import coefficient, own_level
from ebbwell.papers.words import form_words
from ebbwell.procedure.evidence import number_in
from ebbwell.science import catalogue
from ebbwell.science.own_past import LEAST_NIGHTS, LIKE_FLOW_ML_MIN, NIGHTS_BACK, PressureAtFlow, own_pressure
from ebbwell.state.facts import differ
from ebbwell.state.membrane import form_held, form_now, parts_of, short_now
from ebbwell.state.own_past import latest
from ebbwell.state.pressure_past import MembraneRow, NightPressures, night_pressures

NIGHTS: Final = 40
"""Nights that are shown. Own choice: about three months of every other night."""

ROLES: Final[dict[str, Role]] = {"arterial_pressure": "arterial", "venous_pressure": "venous"}
JOINED_WITHIN: Final = timedelta(days=15)
"""Nights further apart aren't joined. Own choice."""

TENTH: Final = Decimal("0.1")
"""Decimals of a coefficient, as its formula shows it."""

LONGEST_PART: Final = 6
"""Letters of a dialyser's or machine's name at the end of a line. Own choice: what a narrow screen has room for."""

COLUMNS: Final = ("night", "flow", "true_flow", "venous", "arterial", "across", "coefficient", "bleeding")


@dataclass(frozen=True)
class PastPressures:
    """charts: each with at least two nights. rows: a night each, newest first, as treatment and cells under columns.

    own: sentences on the person's own level at the ordered flow. membrane: how that pressure is formed, and the own
    coefficient. short: what is known of the true flow.
    """

    charts: tuple[Chart, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    own: tuple[str, ...]
    membrane: tuple[str, ...]
    short: str


def past_pressures(desk: Desk) -> PastPressures:
    """Everything the page of pressures shows."""
    nights = night_pressures(latest(desk.past, before=desk.now.at, nights=NIGHTS))
    flow, short = _ordered(desk, "blood_flow"), short_now(desk.standing)
    shown = (
        _lines(desk, nights, flow),
        _across(desk, nights),
        _coefficients(desk, nights),
        _sites(desk, nights),
    )
    return PastPressures(
        tuple(chart for chart in shown if chart is not None),
        tuple(say(f"pressures.column.{name}") for name in COLUMNS),
        tuple((one.treatment, _row(one, short)) for one in nights),
        tuple(_own(nights, flow)),
        _membrane(desk, nights),
        _short(desk, short),
    )


def _ordered(desk: Desk, line: str) -> Decimal | None:
    order = desk.scene.order
    return number_in(order.lines.get(line, "")) if order is not None and not order.waiting else None


def _like(nights: Sequence[NightPressures], flow: Decimal | None) -> list[NightPressures]:
    """Nights at the ordered flow, oldest first; none where no flow is ordered or a night's flow wasn't read."""
    if flow is None:
        return []
    read = [n for n in reversed(nights) if "blood_flow" in n.values]
    return [n for n in read if abs(n.values["blood_flow"] - flow) <= LIKE_FLOW_ML_MIN]


def _chart(
    desk: Desk, name: str, unit: str, nights: Sequence[NightPressures], marks: Sequence[Mark]
) -> Chart | None:
    if len(nights) < 2 or not marks:
        return None
    return Chart(
        say(f"pressures.chart.{name}"), unit, nights[0].at, nights[-1].at, desk.now.zone, tuple(marks)
    )


def _lines(desk: Desk, nights: Sequence[NightPressures], flow: Decimal | None) -> Chart | None:
    """Both line pressures at the ordered flow, each before the band of the nights before it, with the unit's limits."""
    like = _like(nights, flow)
    marks: list[Mark] = []
    for name, role in ROLES.items():
        read = [(n, n.values[name]) for n in like if name in n.values]
        if not read:
            continue
        marks.append(Band(say("pressures.band"), tuple(_ranges(read))))
        marks.append(
            Line(say(f"pdf.end.{role}"), tuple((n.at, n.values.get(name)) for n in like), role, JOINED_WITHIN)
        )
    for line in ("venous_limit", "arterial_limit"):
        limit = _ordered(desk, line)
        if limit is not None and marks:
            marks.append(Level(say("pdf.end.limit"), limit))
    return _chart(desk, "lines", "mmHg", like, marks)


def _ranges(read: Sequence[tuple[NightPressures, Decimal]]) -> list[Range]:
    """Of each night the lowest and highest of the 8 nights before it; a gap where they are fewer than 3."""
    found: list[Range] = []
    for place, (night, _) in enumerate(read):
        before = [value for _, value in read[max(0, place - NIGHTS_BACK) : place]]
        enough = len(before) >= LEAST_NIGHTS
        found.append((night.at, min(before) if enough else None, max(before) if enough else None))
    return found


def _across(desk: Desk, nights: Sequence[NightPressures]) -> Chart | None:
    """The pressure across the membrane, a line of its own for each form: two forms are never joined."""
    read = [(n, n.membrane) for n in reversed(nights) if n.membrane is not None]
    forms = list(dict.fromkeys(row.form for _, row in read))
    marks = [
        Line(
            _short_name("", form),
            tuple((n.at, row.pressure if row.form == form else None) for n, row in read),
            "plain",
            JOINED_WITHIN,
        )
        for form in forms
    ]
    return _chart(desk, "across", "mmHg", [n for n, _ in read], marks)


def _short_name(dialyser: str, form: str) -> str:
    """Dialyser, form and machine, short enough to stand at the end of a line; the table has them in full."""
    name, machine = parts_of(form)
    key = f"pressures.short.{name}"
    words = [dialyser.upper()[:LONGEST_PART], say(key) if has_text(key) else name, machine[:LONGEST_PART]]
    return " ".join(word for word in words if word)


def _coefficients(desk: Desk, nights: Sequence[NightPressures]) -> Chart | None:
    """Removal for each mmHg, a line of its own for each dialyser and form."""
    read = [
        (n, (n.dialyser, n.membrane.form), worked.value.quantize(TENTH))
        for n in reversed(nights)
        if n.membrane is not None
        and (worked := coefficient(n.membrane)) is not None
        and worked.value is not None
    ]
    marks = [
        Line(
            _short_name(*like),
            tuple((n.at, value if its == like else None) for n, its, value in read),
            "plain",
            JOINED_WITHIN,
        )
        for like in dict.fromkeys(its for _, its, _ in read)
    ]
    return _chart(desk, "coefficient", "mL/h/mmHg", [n for n, _, _ in read], marks)


def _sites(desk: Desk, nights: Sequence[NightPressures]) -> Chart | None:
    """Minutes of bleeding after the needles, site by site, with the unit's line for calling."""
    read = [n for n in reversed(nights) if n.bleeding]
    roles: dict[str, Role] = {"arterial": "arterial", "venous": "venous"}
    marks: list[Mark] = [
        Line(say(f"pdf.end.{site}"), tuple((n.at, n.bleeding.get(site)) for n in read), role, JOINED_WITHIN)
        for site, role in roles.items()
        if any(site in n.bleeding for n in read)
    ]
    call = _ordered(desk, "bleeding_call_minutes")
    if call is not None and marks:
        marks.append(Level(say("pdf.end.limit"), call))
    return _chart(desk, "bleeding", "min", read, marks)


def _row(one: NightPressures, short: FlowShort | None) -> tuple[str, ...]:
    def figure(name: str, unit: str) -> str:
        value = one.values.get(name)
        return f"{plain(value)} {unit}" if value is not None else say("pressures.not_read")

    sites = (f"{say(f'place.{site}')} {plain(minutes)}" for site, minutes in one.bleeding.items())
    return (
        day(one.night),
        figure("blood_flow", "mL/min"),
        _true_flow(one.values.get("blood_flow"), short),
        figure("venous_pressure", "mmHg"),
        figure("arterial_pressure", "mmHg"),
        _pressure(one.membrane),
        _coefficient(one.membrane),
        ", ".join(sites) or say("pressures.not_read"),
    )


def _pressure(row: MembraneRow | None) -> str:
    if row is None:
        return say("pressures.not_read")
    return f"{plain(row.pressure)} mmHg ({form_words(row.form or 'as_shown')})"


def _coefficient(row: MembraneRow | None) -> str:
    """Removal so far, evened out, for each mmHg across the membrane; in words where there is no figure."""
    if row is None:
        return say("pressures.not_read")
    worked = coefficient(row)
    return catalogue.shown(worked) if worked is not None else say("pressures.near_zero")


def _true_flow(flow: Decimal | None, short: FlowShort | None) -> str:
    """The pump setting less what the unit measured; in words where the unit measured nothing, or at another setting.

    Source: fluids:P6 (it grows with the pull of the pump, so it holds near the setting that it was measured at).
    """
    percent = number_in(short.percent) if short is not None else None
    if flow is None or short is None or percent is None:
        return say("pressures.not_known")
    at = number_in(short.at_flow)
    if at is not None and abs(flow - at) > LIKE_FLOW_ML_MIN:
        return say("pressures.other_setting")
    worked = catalogue.work(
        "flow_delivered",
        {
            "blood_flow_ml_min": Input("blood_flow_ml_min", flow, "mL/min"),
            "short_percent": Input("short_percent", percent, "%"),
        },
    )
    return catalogue.shown(worked) if worked.value is not None else say("pressures.not_known")


def _own(nights: Sequence[NightPressures], flow: Decimal | None) -> list[str]:
    if flow is None:
        return [say("pressures.no_flow")]
    out = []
    for name in ROLES:
        past = [
            PressureAtFlow(n.values[name], n.values["blood_flow"])
            for n in reversed(nights)
            if name in n.values and "blood_flow" in n.values
        ]
        level = own_pressure(past, blood_flow_ml_min=flow)
        out.append(
            say("pressures.own_too_few", what=say(f"quantity.{name}"), flow=plain(flow))
            if level is None
            else say(
                "pressures.own",
                what=say(f"quantity.{name}"),
                value=plain(level.value),
                nights=level.nights,
                flow=plain(flow),
            )
        )
    return out


def _membrane(desk: Desk, nights: Sequence[NightPressures]) -> tuple[str, ...]:
    """How the pressure across the membrane is formed now, and the own coefficient of the newest dialyser."""
    form = form_now(desk.standing)
    since = form_held(desk.standing)
    said = say("pressures.formed", form=form_words(form or "as_shown"))
    if since is None and not form:
        said = f"{said} {say('pressures.form_not_said')}"
    rows = [(n.dialyser, n.membrane) for n in reversed(nights) if n.membrane is not None]
    dialyser = next((n.dialyser for n in nights if n.dialyser), "")
    own = own_level(rows, form=form, dialyser=dialyser)
    if own is None:
        return said, say("pressures.own_coefficient_too_few")
    value = plain(own.value.quantize(TENTH))
    return said, say("pressures.own_coefficient", value=value, nights=own.nights, dialyser=dialyser.upper())


def _short(desk: Desk, short: FlowShort | None) -> str:
    if differ(desk.standing.of(FlowShort.KIND)):
        return say("pressures.short_two")
    if short is None:
        return say("pressures.short_none")
    words = say("said.flow_short", percent=short.percent, who=short.measured_by, day=day(short.measured_on))
    at = short_at(short)
    return f"{words[:1].upper()}{words[1:]}. {at + '.' if at else say('pressures.short_no_setting')}"
