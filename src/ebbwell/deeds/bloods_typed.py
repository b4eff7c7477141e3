"""Reads the forms about bloods: each figure with its unit and the laboratory's range, as the paper has them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal

from ebbwell.core.errors import EbbwellError, InputError, UnitError
from ebbwell.core.numbers import parse_bound, plain, plain_digits, refuse_two_numbers
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_typed import Form, split, why_words
from ebbwell.journal.kinds.bloods import (
    DRAWN,
    SLOWED,
    TAKEN,
    BloodLine,
    BloodResult,
    BloodTarget,
    BodyFigures,
    DialyserFigures,
    UrineCollected,
)
from ebbwell.rulebook.substances import (
    Substance,
    blood_unit,
    load_substances,
    substance,
    substance_title,
    substance_words,
)
from ebbwell.state.bloods import as_date
from ebbwell.state.night import Phase
from ebbwell.state.own_past import NightSummary
from ebbwell.state.water import today

LABELS = "web.bloods.field."
"""What begins the wording key of each field's label."""

URINE = ("urea", "creatinine")
"""What is looked for in collected urine. Source: kinetics A7."""

URINE_UNITS = {"creatinine": ("mmol/L",)}
"""Units that urine alone is reported in."""

LEAFLET = ("urea", "creatinine", "phosphate", "beta_2_microglobulin")
"""Substances whose clearance a leaflet gives, small ones first."""

FORMULAS = ("woman", "man")
"""Whose formula of body water is used. Source: kinetics A4."""

EARLIEST = 1900
"""First year that somebody may be born in. Own choice."""

LARGEST = Decimal(100_000)
"""The most that a figure of a laboratory may be, in any unit; more is a slip of the keyboard. Own choice."""

MICRO = str.maketrans({"\N{MICRO SIGN}": "u", "\N{GREEK SMALL LETTER MU}": "u"})
_YEAR = re.compile(r"[0-9]{4}")

GROUPED_FROM = 1000
"""Figures from here on may be printed with a mark between thousands."""


def blood_form(desk: Desk, typed: Mapping[str, str]) -> Form:
    """A form about bloods, on the home's clock."""
    return Form(typed, today(desk.now), labels=LABELS)


def units_of(name: str, *, urine: bool = False) -> tuple[str, ...]:
    """The units that a form offers for a substance."""
    alone = () if urine else URINE_UNITS.get(name, ())
    return tuple(unit for unit in substance(name).all_units if unit not in alone)


def sampled(desk: Desk, night: str) -> NightSummary | None:
    """A treatment that ran, by its id; None for one that isn't there, or didn't run."""
    found = desk.past.get(night)
    if found is None or found.phase == Phase.CALLED_OFF.value:
        return None
    return found if found.first_blood is not None or found.pump_stopped is not None else None


def near_night(summary: NightSummary, on: date) -> bool:
    """Whether a sample of that day may be from before or from the end of this treatment."""
    night = as_date(summary.night)
    return night is not None and night <= on <= night + timedelta(days=1)


def read_result(desk: Desk, typed: Mapping[str, str]) -> tuple[BloodResult, Form]:
    """A result as typed, with what is wrong in it.

    typed: ``sampled_on``, ``drawn``, ``night``, ``minutes_after``, ``slowed``, ``laboratory``, ``reported_on``,
    ``words``; of each substance ``value.<it>`` as on the paper (``<0.3``, ``5,1``), ``unit.<it>``, ``low.<it>`` and
    ``high.<it>``.
    """
    form = blood_form(desk, typed)
    body = BloodResult(
        sampled_on=form.day("sampled_on"),
        drawn=form.pick("drawn", DRAWN),
        lines=read_lines(form, load_substances()),
        night=form.typed.get("night", "").strip(),
        minutes_after=form.number("minutes_after", "min", "-600", "600", places=0),
        slowed=form.pick("slowed", SLOWED[:2], needed=False),
        laboratory=form.text("laboratory"),
        reported_on=form.day("reported_on", needed=False),
        words=form.text("words"),
    )
    form.after(body.sampled_on, body.reported_on, first="sampled_on", second="reported_on")
    _check_night(desk, form, body)
    if body.drawn and body.drawn != "after":
        for name in ("minutes_after", "slowed"):
            if getattr(body, name):
                form.wrong[name] = InputError("bloods.only_at_end", label=form.label(name))
    if not body.lines and not any("." in name for name in form.wrong):
        form.wrong["value.urea"] = InputError("bloods.no_lines")
    return body, form


def _check_night(desk: Desk, form: Form, body: BloodResult) -> None:
    """The treatment that a sample belongs to has to be there, and to have run around that day."""
    if not body.night:
        return
    found, on = sampled(desk, body.night), as_date(body.sampled_on)
    if found is None:
        form.wrong["night"] = InputError("bloods.no_such_night", label=form.label("night"))
    elif body.drawn == "between":
        form.wrong["night"] = InputError("bloods.night_between", label=form.label("night"))
    elif on is not None and not near_night(found, on):
        form.wrong["night"] = InputError(
            "bloods.night_apart", label=form.label("night"), other=form.label("sampled_on")
        )


def read_lines(form: Form, names: Iterable[str], *, urine: bool = False) -> tuple[BloodLine, ...]:
    """Every figure that was typed, in the order of the names. What can't be read is noted at its own field."""
    known = tuple(names)
    for field in form.typed:
        head, _, name = field.partition(".")
        if head == "value" and name not in known and form.typed[field].strip():
            form.wrong[field] = InputError("bloods.unknown_substance", name=name[:60])
    return tuple(line for name in known if (line := _line(form, substance(name), urine)) is not None)


def _line(form: Form, known: Substance, urine: bool) -> BloodLine | None:
    name, words = known.key, substance_title(known.key)
    typed = form.typed.get(f"value.{name}", "").strip()
    ends = {end: form.typed.get(f"{end}.{name}", "").strip() for end in ("low", "high")}
    if not typed:
        for end, text in ends.items():
            if text:
                form.wrong[f"{end}.{name}"] = InputError("bloods.range_alone", label=words)
        return None
    found: dict[str, str] = {}
    unit = ""
    try:
        number, behind = _apart(typed, units_of(name, urine=urine))
        unit = _unit(known, form.typed.get(f"unit.{name}", "").strip(), behind, urine)
        value, sign = _number(known, number, unit)
    except EbbwellError as why:
        if why.key in ("bloods.unit_needed", "bloods.two_units"):
            form.wrong[f"unit.{name}"] = InputError(why.key, **{**why.params, "label": words})
        else:
            form.wrong[f"value.{name}"] = InputError("water.wrong", label=words, why=why_words(why))
        return None
    for end, text in ends.items():
        try:
            bare = text.removeprefix({"high": "<", "low": ">"}[end])
            found[end] = plain(_number(known, bare, unit)[0]) if text else ""
        except EbbwellError as why:
            form.wrong[f"{end}.{name}"] = InputError("water.wrong", label=words, why=why_words(why))
            return None
    if found["low"] and found["high"] and Decimal(found["low"]) > Decimal(found["high"]):
        form.wrong[f"high.{name}"] = InputError("bloods.range_crossed", label=words)
        return None
    kept = plain(value)
    return BloodLine(
        substance=name,
        value=kept,
        unit=unit,
        below=sign == "<",
        above=sign == ">",
        low=found["low"],
        high=found["high"],
        typed=typed if typed != kept else "",
    )


def _apart(typed: str, units: Iterable[str]) -> tuple[str, str]:
    """A figure and the unit typed behind it, "" for none; a unit may begin with a digit, such as ``10*9/L``."""
    for unit in units:
        for words in (unit, blood_unit(unit)):
            if typed.casefold().endswith(words.casefold()) and typed[: -len(words)].strip():
                return typed[: -len(words)].strip(), unit
    return split(typed)


def _unit(known: Substance, picked: str, behind: str, urine: bool) -> str:
    """The unit of a figure: the one picked, or the one typed behind it. Raises UnitError for none, another, or two."""
    units = units_of(known.key, urine=urine)
    typed = ""
    offered = " / ".join(blood_unit(unit) for unit in units)
    if behind:
        bare = " ".join(behind.split()).casefold().translate(MICRO)
        typed = next((unit for unit in units if bare in (unit.casefold(), blood_unit(unit).casefold())), "")
    for strange in (behind if behind and not typed else "", picked if picked and picked not in units else ""):
        if strange:
            raise UnitError("bloods.unit", unit=strange[:30], units=offered)
    if typed and picked and typed != picked:
        raise UnitError("bloods.two_units", typed=blood_unit(typed), picked=blood_unit(picked))
    if not typed and not picked:
        raise UnitError("bloods.unit_needed", units=offered)
    return typed or picked


def _number(known: Substance, typed: str, unit: str) -> tuple[Decimal, str]:
    """A figure of a paper with its sign: ``<``, ``>``, "" for none.

    Raises InputError for what is no number, under 0, or past all that a laboratory prints.

    A mark before three digits may stand between thousands; only where a figure of thousands can't be true is it read
    as a decimal mark.
    """
    refuse_two_numbers(typed)
    grouped = known.in_unit(known.last_high, unit) >= GROUPED_FROM
    value, sign = parse_bound(typed, places=None if grouped else 3)
    if value < 0 or (sign == "<" and value == 0):
        raise InputError("water.under_nothing")
    if value > LARGEST:
        raise InputError("bloods.too_much", most=plain(LARGEST))
    return value, sign


def read_target(desk: Desk, typed: Mapping[str, str]) -> tuple[BloodTarget, Form]:
    """What the clinic wants, as typed: ``substance``, ``unit``, ``low``, ``high``, ``take_off``, ``giver``,
    ``given_on``, ``words``.
    """
    form = blood_form(desk, typed)
    name = form.pick("substance", tuple(load_substances()))
    ends = {"low": "", "high": ""}
    off = form.pick("take_off", ("yes", "no"), needed=False) == "yes"
    unit = _target_unit(form, name)
    for end in ends:
        text = typed.get(end, "").strip()
        if text and off:
            form.wrong[end] = InputError("bloods.target_off_or", label=form.label(end))
        elif text and name and unit:
            ends[end] = _end(form, substance(name), end, text, unit)
    if not off and not any(typed.get(end, "").strip() for end in ends):
        form.wrong["low"] = InputError("bloods.target_empty")
    if ends["low"] and ends["high"] and Decimal(ends["low"]) >= Decimal(ends["high"]):
        form.wrong["high"] = InputError("bloods.range_crossed", label=form.label("high"))
    body = BloodTarget(
        substance=name,
        unit=unit,
        low=ends["low"],
        high=ends["high"],
        giver=form.text("giver", needed=True),
        given_on=form.day("given_on"),
        words=form.text("words"),
    )
    return body, form


def _target_unit(form: Form, name: str) -> str:
    """The unit that was picked, where the substance comes in it."""
    units, picked = units_of(name) if name else (), form.typed.get("unit", "").strip()
    if name and picked and picked not in units:
        form.wrong["unit"] = InputError(
            "bloods.target_unit",
            label=form.label("unit"),
            substance=substance_words(name),
            unit=blood_unit(picked)[:30],
            units=" / ".join(blood_unit(one) for one in units),
        )
        return ""
    return form.pick("unit", units if name else (picked,) if picked else ())


def _end(form: Form, known: Substance, field: str, typed: str, unit: str) -> str:
    try:
        value, sign = _number(known, typed, unit)
        if sign:
            raise InputError("bloods.no_sign")
    except EbbwellError as why:
        form.wrong[field] = InputError("water.wrong", label=form.label(field), why=why_words(why))
        return ""
    return plain(value)


def read_urine(desk: Desk, typed: Mapping[str, str]) -> tuple[UrineCollected, Form]:
    """A collection as typed: ``ended_on``, ``hours``, ``taken``, ``volume_ml``, ``words``; ``value.urea`` and
    ``unit.urea``, and so on.
    """
    form = blood_form(desk, typed)
    body = UrineCollected(
        ended_on=form.day("ended_on"),
        hours=form.number("hours", "h", "1", "120", needed=True, places=1),
        volume_ml=form.number("volume_ml", "mL", "0", "20000", needed=True, places=0),
        lines=read_lines(form, URINE, urine=True),
        taken=form.pick("taken", TAKEN[:3], needed=False),
        words=form.text("words"),
    )
    return body, form


def read_dialyser_figures(desk: Desk, typed: Mapping[str, str]) -> tuple[DialyserFigures, Form]:
    """A leaflet as typed: ``dialyser``, ``blood_flow``, ``fluid_flow``, ``removal``, ``clearance.<substance>``,
    ``stands_in``, ``words``.
    """
    form = blood_form(desk, typed)
    flows = {
        name: form.number(name, "mL/min", "50", most, needed=True, places=0)
        for name, most in (("blood_flow", "800"), ("fluid_flow", "1500"))
    }
    cleared = {
        name: value
        for name in LEAFLET
        if (value := form.number(f"clearance.{name}", "mL/min", "1", "1000", places=1))
    }
    for name, value in cleared.items():
        for flow, limit in flows.items():
            if limit and Decimal(value) > Decimal(limit):
                form.wrong[f"clearance.{name}"] = InputError(
                    "bloods.over_flow",
                    label=form.label(f"clearance.{name}"),
                    flow=form.label(flow),
                    most=f"{limit} mL/min",
                )
    if not cleared and not any(name.startswith("clearance.") for name in form.wrong):
        form.wrong["clearance.urea"] = InputError("bloods.no_clearance")
    body = DialyserFigures(
        dialyser=form.text("dialyser", needed=True),
        clearances=cleared,
        removal=form.number("removal", "mL/min", "0", "100", places=1) or "0",
        stands_in=form.text("stands_in", needed=True),
        words=form.text("words"),
        **flows,
    )
    return body, form


def _year(form: Form, name: str) -> str:
    """A year from 1900 to this one."""
    typed = plain_digits(form.typed.get(name, "")).strip()
    if _YEAR.fullmatch(typed) and EARLIEST <= int(typed) <= form.today.year:
        return typed
    form.wrong[name] = InputError(
        "bloods.year_needed", label=form.label(name), low=EARLIEST, high=form.today.year
    )
    return ""


def read_body_figures(desk: Desk, typed: Mapping[str, str]) -> tuple[BodyFigures, Form]:
    """The body as typed: ``height_cm``, ``born`` (YYYY), ``water_by``."""
    form = blood_form(desk, typed)
    body = BodyFigures(
        height_cm=form.number("height_cm", "cm", "40", "230", needed=True, places=1),
        born=_year(form, "born"),
        water_by=form.pick("water_by", FORMULAS, needed=False),
    )
    return body, form
