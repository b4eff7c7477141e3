"""Deeds of the water unit: carbon changed, a supplier's notice, gauges, and what the plant is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import parse_decimal, parse_limit, plain
from ebbwell.core.units import convert
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water import FLUIDS, keep
from ebbwell.deeds.water_typed import Form, why_words
from ebbwell.journal.kinds.marks import Happened
from ebbwell.journal.kinds.water import (
    FILTERS,
    NOTICES,
    PLANT,
    CarbonChanged,
    FilterPressure,
    WaterNotice,
    WaterSet,
)
from ebbwell.rulebook.model import Rulebook
from ebbwell.state.chlorine_test import BETWEEN
from ebbwell.state.night import Phase
from ebbwell.state.water import chemical_lists, today

TANKS = ("tank1", "tank2")
GAUGE_UNITS = ("bar", "psi", "kPa")
TO_BAR = {unit: convert(Decimal(1), unit, "bar") for unit in GAUGE_UNITS}
"""Unit of a gauge to bar."""

MOST_BAR = Decimal(20)
"""No gauge of a home's water unit shows more. Own choice."""

RANGES: Mapping[str, tuple[str, str]] = {
    "feed_flow": ("0.01", "1000"),
    "carbon1": ("0.1", "20000"),
    "carbon2": ("0.1", "20000"),
    "feed_chlorine_least": ("0", "20"),
    "feed_chlorine_most": ("0.01", "20"),
    "hardness": ("0", "2000"),
    "softener": ("0.1", "50000"),
    "recovery": ("5", "95"),
    "other_water": ("0", "200"),
    "price": ("0", "100000"),
    "microbes_days": ("1", "400"),
    "report_days": ("1", "800"),
    "hardness_days": ("1", "60"),
    "filter_days": ("1", "60"),
}
"""What a figure of the plant can be: the ranges of the sums that use it."""

LARGE_FEED = Decimal(10)
"""L/min over which a home's feed is asked about. Own choice: over ten times what 300 mL/min at 50 % takes."""


def read_carbon(desk: Desk, typed: Mapping[str, str]) -> tuple[CarbonChanged, Form]:
    """A change of carbon as typed: ``tank``, ``on``, ``carbon_l``, ``rated_mg``, ``feed_l_min``, ``use_by``, ``lot``,
    ``words``."""
    form = Form(typed, today(desk.now))
    body = CarbonChanged(
        tank=form.pick("tank", TANKS),
        on=form.day("on"),
        carbon_l=form.number("carbon_l", "L", *RANGES["carbon1"]),
        rated_mg=form.number("rated_mg", "mg", "1", "10000000"),
        feed_l_min=form.number("feed_l_min", "L/min", *RANGES["feed_flow"]),
        use_by=form.day("use_by", needed=False, to_come=True),
        lot=form.text("lot"),
        words=form.text("words"),
    )
    _ask_feed(desk, form, body.feed_l_min)
    return body, form


def _ask_feed(desk: Desk, form: Form, feed: str) -> None:
    """Ask about a feed flow that is the flow of the dialysis fluid or less, or a home's pipes can't give."""
    if not feed:
        return
    order = desk.scene.order
    fluid = order.lines.get("dialysate_flow", "") if order is not None else ""
    if fluid and Decimal(feed) <= Decimal(fluid) / 1000:
        form.ask("water_feed", value=f"{feed} L/min", fluid=f"{fluid} mL/min")
    elif Decimal(feed) > LARGE_FEED:
        form.ask("water_feed_large", value=f"{feed} L/min")


def change_carbon(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Write down that a carbon tank was changed; fields as ``read_carbon`` names them.

    On a night that is being set up it also reopens the chlorine tests. Refuses what can't be read, naming the field;
    asks about a feed flow that looks like another flow.
    """
    body, form = read_carbon(desk, typed)
    keep(desk, body, form, sure, instead_of)
    if desk.treatment_id is not None and desk.phase is Phase.SETTING_UP and not instead_of:
        desk.add(Happened(what="carbon_changed", words=body.words))


def read_notice(desk: Desk, typed: Mapping[str, str]) -> tuple[WaterNotice, Form]:
    """A notice as typed: ``what``, ``from_on``, ``until_on``, ``told_by``, ``chlorine_most``, ``words``."""
    form = Form(typed, today(desk.now))
    body = WaterNotice(
        what=form.pick("what", NOTICES),
        from_on=form.day("from_on", to_come=True),
        until_on=form.day("until_on", needed=False, to_come=True),
        told_by=form.text("told_by", needed=True),
        chlorine_most=form.number("chlorine_most", "mg/L", "0", "20"),
        words=form.text("words"),
    )
    form.after(body.from_on, body.until_on, first="from_on", second="until_on")
    limit = _present(desk).limit("chlorine")
    if body.chlorine_most and not limit.lowest <= Decimal(body.chlorine_most) <= limit.value:
        form.wrong["chlorine_most"] = InputError(
            "water.not_looser", lowest=plain(limit.lowest), limit=f"{plain(limit.value)} mg/L"
        )
    return body, form


def present_limit(desk: Desk, name: str) -> Decimal:
    """A limit of the present rulebook: a night that is pinned to an older one may not know it."""
    return _present(desk).limit(name).value


def _present(desk: Desk) -> Rulebook:
    return desk.present[1] if desk.present is not None else desk.rulebook


def enter_notice(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Write down what the water supplier told of; fields as ``read_notice`` names them.

    It asks for more tests for a while and may tighten the chlorine limit, never loosen it. Refuses what can't be read,
    naming the field.
    """
    body, form = read_notice(desk, typed)
    keep(desk, body, form, sure, instead_of)


def read_filter(desk: Desk, typed: Mapping[str, str]) -> tuple[FilterPressure, Form]:
    """Gauges as typed: ``filter``, ``pressure_in``, ``pressure_out``, ``unit``, ``changed``, ``product_l_min``,
    ``reject_l_min``, ``water_c``, ``hardness_after`` with its unit, ``words``."""
    form = Form(typed, today(desk.now))
    unit = form.pick("unit", GAUGE_UNITS)
    most = plain((MOST_BAR / TO_BAR[unit]).quantize(Decimal(1))) if unit else "2000"
    body = FilterPressure(
        filter=form.pick("filter", FILTERS),
        pressure_in=form.number("pressure_in", unit or "bar", "0", most, needed=True),
        pressure_out=form.number("pressure_out", unit or "bar", "0", most, needed=True),
        unit=unit,
        changed=form.pick("changed", ("yes", "no")) == "yes",
        product_l_min=form.number("product_l_min", "L/min", "0.01", "1000"),
        reject_l_min=form.number("reject_l_min", "L/min", "0", "1000"),
        water_c=form.number("water_c", "C", "1", "45"),
        hardness_after=_hardness(form),
        words=form.text("words"),
    )
    if form.wrong:
        return body, form
    if Decimal(body.pressure_out) > Decimal(body.pressure_in):
        form.ask("water_drop", into=f"{body.pressure_in} {unit}", out=f"{body.pressure_out} {unit}")
    return body, form


def _hardness(form: Form) -> str:
    """Hardness behind the softener, where a strip may say "less than"."""
    name = "hardness_after"
    typed = _with_unit(form.typed, name)
    below = typed.startswith("<")
    form.typed = {**form.typed, name: typed.removeprefix("<")}
    value = form.number(name, "mg/L CaCO3", *RANGES["hardness"], unit_needed=True)
    return f"<{value}" if below and value else value


def enter_filter(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Write down the gauges before and behind a filter; fields as ``read_filter`` names them.

    Refuses what can't be read, naming the field; asks about more pressure behind the filter than before it.
    """
    body, form = read_filter(desk, typed)
    keep(desk, body, form, sure, instead_of)


def read_plant(desk: Desk, typed: Mapping[str, str]) -> tuple[WaterSet, Form]:
    """The plant as typed: the names of ``PLANT``, ``list``, ``fluid``, ``schedule``, ``chlorine_steps``.

    Hardness needs its unit.
    """
    form = Form(typed, today(desk.now))
    values = {}
    for name, unit in PLANT.items():
        if name == "hardness":
            form.typed = {**form.typed, name: _with_unit(typed, name)}
        if name.startswith("feed_chlorine"):
            value = _chlorine(form, name)
        else:
            value = form.number(name, unit, *RANGES[name], unit_needed=name == "hardness")
        if value:
            values[name] = value
    body = WaterSet(
        values=values,
        list=form.pick("list", chemical_lists(), needed=False),
        fluid=form.pick("fluid", FLUIDS, needed=False),
        schedule=form.text("schedule"),
        chlorine_steps=_steps(form),
    )
    held = desk.standing.of("water_set")
    if (
        not form.wrong
        and not held
        and not (values or body.list or body.fluid or body.schedule or body.chlorine_steps)
    ):
        form.wrong["feed_flow"] = InputError("water.no_plant")
    _ask_feed(desk, form, values.get("feed_flow", ""))
    least, most = values.get("feed_chlorine_least", ""), values.get("feed_chlorine_most", "")
    if least and most and Decimal(least) > Decimal(most):
        form.wrong["feed_chlorine_most"] = InputError("water.least_over_most")
    return body, form


def _with_unit(typed: Mapping[str, str], name: str) -> str:
    """A number with the unit that was picked beside it, where none was typed behind it."""
    value, unit = typed.get(name, "").strip(), typed.get(f"{name}_unit", "").strip()
    return f"{value} {unit}" if value and unit and value[-1].isdigit() else value


def _steps(form: Form) -> str:
    """The steps of the strip for total chlorine, as ``0 / 0.1 / 0.5``; blanks, ``;`` or ``/`` may stand between."""
    name = "chlorine_steps"
    typed = form.typed.get(name, "").replace("mg/L", " ")
    parts = re.split(r"[\s;/]+", typed.strip(" ;/,")) if typed.strip() else []
    try:
        steps = sorted({parse_decimal(part.rstrip(","), places=3) for part in parts})
        if parts and (len(steps) < 2 or steps[0] < 0 or steps[-1] > Decimal(RANGES["feed_chlorine_most"][1])):
            raise InputError("water.steps_needed")
    except EbbwellError:
        form.wrong[name] = InputError("water.steps_needed", label=form.label(name), typed=typed.strip()[:60])
        return ""
    return BETWEEN.join(plain(step) for step in steps)


def _chlorine(form: Form, name: str) -> str:
    """A figure of the supplier; "<0.1" for the least is kept as nothing, since it may be none."""
    typed = form.typed.get(name, "").strip()
    if name == "feed_chlorine_least" and typed.startswith("<"):
        try:
            parse_limit(typed)
        except EbbwellError as why:
            form.wrong[name] = InputError("water.wrong", label=form.label(name), why=why_words(why))
            return ""
        return "0"
    return form.number(name, "mg/L", *RANGES[name])


def set_plant(desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = ()) -> None:
    """Enter what the plant is and how often the unit wants samples, in the place of what stood there.

    Fields as ``read_plant`` names them; every one may be left empty. Refuses what can't be read, naming the field; asks
    about a feed flow that is no more than the flow of the dialysis fluid.
    """
    body, form = read_plant(desk, typed)
    keep(desk, body, form, sure, tuple(fact.id for fact in desk.standing.of("water_set")))
