"""Deeds of water results: a laboratory's report, a count of microbes, and what the unit said about one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from ebbwell.core.errors import EbbwellError, InputError, UnitError
from ebbwell.core.numbers import parse_limit, plain, refuse_two_numbers
from ebbwell.core.quantity import Quantity
from ebbwell.core.text import has_text, say
from ebbwell.core.units import in_water, parse_unit
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.water_typed import Form, split, why_words
from ebbwell.journal.kinds import Body
from ebbwell.journal.kinds.orders import Advice
from ebbwell.journal.kinds.water import MicrobeResult, ReportLine, WaterReport
from ebbwell.rulebook.water_lists import item_words, load_water_lists
from ebbwell.science.microbes import MicrobeLevel, read_microbes
from ebbwell.science.water_report import FORMS, LabLine, WaterLimit, compare_report
from ebbwell.state.water import UNITS, chemical_lists, counted, judged_by, microbe_lists, today
from ebbwell.state.water_lines import list_now

REPORT_UNITS = ("mg/L", "ug/L", "mmol/L", "umol/L")
"""Units that a report gives its figures in."""

FLUIDS = ("water_standard", "water_ultrapure", "fluid_standard", "fluid_ultrapure")
"""What was drawn, and what it has to meet. Source: fluids:1.2."""

RESULTS = ("water_report", "microbe_result", "water_notice", "blood_result")
"""Kinds that the unit may say something about between nights."""


def forms_of(limit: WaterLimit) -> tuple[str, ...]:
    """The forms in which an item is reported; empty where there is only one."""
    others = tuple(reported for reported, wanted in FORMS if wanted == limit.form)
    return (limit.form, *others) if others else ()


def read_report(desk: Desk, typed: Mapping[str, str]) -> tuple[WaterReport, Form]:
    """A report as typed, with what is wrong or odd in it.

    typed: ``laboratory``, ``sampled_on``, ``reported_on``, ``port``, ``list``, ``unit`` (of every line without its own),
    ``line.<item>`` as on the paper (``<0.001``, ``5 ug/L``), ``form.<item>``, ``words``.
    """
    form = Form(typed, today(desk.now))
    body = WaterReport(
        laboratory=form.text("laboratory", needed=True),
        sampled_on=form.day("sampled_on"),
        reported_on=form.day("reported_on", needed=False),
        port=form.text("port", needed=True),
        list=form.pick("list", chemical_lists()),
        lines=(),
        words=form.text("words"),
    )
    form.after(body.sampled_on, body.reported_on, first="sampled_on", second="reported_on")
    if not body.list:
        return body, form
    limits = list_now(desk.standing, body.list)
    default = form.pick("unit", REPORT_UNITS, needed=False)
    known = {limit.item for limit in limits}
    for name, words in typed.items():
        head, _, analyte = name.partition(".")
        if head == "line" and analyte not in known and words.strip():
            label = item_words(analyte)[:40]
            form.wrong[name] = InputError(
                "water.not_on_list", label=label, list=say(f"water.list.{body.list}")
            )
    lines = [line for limit in limits if (line := _line(form, limit, default)) is not None]
    if not lines and not any(name.startswith("line.") for name in form.wrong):
        form.wrong[f"line.{limits[0].item}"] = InputError("water.no_lines")
    body = with_fields(body, lines=tuple(lines))
    if not form.wrong:
        _ask_slips(form, body, limits)
    return body, form


B = TypeVar("B", bound=Body)


def with_fields(body: B, **fields: Any) -> B:
    """The body with some fields changed."""
    return type(body)(**{**{name: getattr(body, name) for name in body.__struct_fields__}, **fields})


def _line(form: Form, limit: WaterLimit, default: str) -> ReportLine | None:
    name = f"line.{limit.item}"
    typed = form.typed.get(name, "").strip()
    if not typed:
        return None
    label = item_words(limit.item)
    number, unit = split(typed)
    unit = in_water(unit)
    options = forms_of(limit)
    counts = form.typed.get(f"form.{limit.item}", "") if options else ""
    try:
        refuse_two_numbers(typed)
        if options and _form_behind(unit):
            raise InputError("water.form_behind", number=number)
        if options and counts not in options:
            raise InputError("water.form_needed", label=label)
        if not unit and not default:
            raise InputError("water.unit_needed", units=" / ".join(REPORT_UNITS))
        value, below = parse_limit(number, places=4)
        if value < 0 or (below and value == 0):
            raise InputError("water.under_nothing")
        line = ReportLine(
            item=limit.item,
            value=plain(value),
            unit=parse_unit(unit) if unit else default,
            below=below,
            form=counts,
            typed=typed,
        )
        quantity = Quantity(value, line.unit, below)
        compare_report((limit,), (LabLine(limit.item, quantity, counts),))
    except EbbwellError as why:
        on_line = f"water.line.{why.key}"
        said = say(on_line, "", **why.params) if has_text(on_line) else why_words(why)
        form.wrong[name] = InputError("water.wrong", label=label, why=said)
        return None
    return line


def _form_behind(unit: str) -> bool:
    """Whether words behind a figure say what it counts, such as ``mg/L as NO3``; that has a field of its own."""
    last = unit.casefold().replace("-", " ").split()[-1:]
    return bool(last) and last[0] in ("no3", "n", "nitrate", "nitrogen")


def _ask_slips(form: Form, body: WaterReport, limits: Sequence[WaterLimit]) -> None:
    """Ask about each value that is over 20 times its limit: the paper may say ug/L. Source: fluids:1.1."""
    slips = [
        line for line in judged_by(body, limits) if line.other_reading is not None and line.result is not None
    ]
    if slips:
        form.ask(
            "water_slip",
            lines="; ".join(
                say(
                    "water.slip",
                    item=item_words(line.limit.item),
                    value=f"{plain(line.other_reading.value)} mg/L",
                    other=str(line.other_reading),
                    limit=f"{plain(line.limit.most)} {line.limit.unit}",
                )
                for line in slips
                if line.other_reading is not None
            ),
        )


def enter_report(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Enter a laboratory's chemical report of the water; fields as ``read_report`` names them.

    instead_of: the report that it takes the place of. Refuses what can't be read, naming the field; asks about values
    over 20 times their limit. A report that fails is kept as it is, and stays open until the unit's word or a new one.
    """
    body, form = read_report(desk, typed)
    keep(desk, body, form, sure, instead_of)


def keep(desk: Desk, body: Body, form: Form, sure: tuple[str, ...], instead_of: tuple[str, ...]) -> str:
    """Add what a form said between nights, once nothing in it is wrong and every question is answered.

    Refuses to take the place of an entry that isn't there, is of another kind, or was replaced already.
    """
    form.done()
    asked = ask_first(tuple(form.questions), sure)
    held = {fact.id for fact in desk.standing.of(body.KIND)}
    if not set(instead_of) <= held:
        desk.refuse("refuse.no_entry", entry=", ".join(sorted(set(instead_of) - held)))
    if asked and "asked" in body.__struct_fields__:
        body = with_fields(body, asked=asked)
    return desk.add(body, replaces=instead_of, reason="typed again" if instead_of else None, standing=True)


def read_microbe_result(desk: Desk, typed: Mapping[str, str]) -> tuple[MicrobeResult, Form]:
    """A result as typed, with what is wrong or odd in it.

    typed: ``fluid``, ``list``, ``drawn_at``, ``sampled_on``, ``read_on``, ``count`` and ``endotoxin`` as the laboratory
    wrote them, ``plated_ml``, ``days_since``, ``laboratory``, ``words``.
    """
    form = Form(typed, today(desk.now))
    body = MicrobeResult(
        fluid=form.pick("fluid", FLUIDS),
        list=form.pick("list", microbe_lists()),
        drawn_at=form.text("drawn_at", needed=True),
        sampled_on=form.day("sampled_on"),
        read_on=form.day("read_on"),
        plated_ml=form.number("plated_ml", "mL", "0.01", "10000"),
        days_since_disinfection=form.number("days_since", "days", "0", "1000"),
        count=form.text("count"),
        endotoxin=form.text("endotoxin"),
        laboratory=form.text("laboratory"),
        words=form.text("words"),
    )
    form.after(body.sampled_on, body.read_on, first="sampled_on", second="read_on")
    if not body.count and not body.endotoxin and not {"count", "endotoxin"} & form.wrong.keys():
        form.wrong["count"] = InputError("water.no_count")
    for name, what, value in (("count", "microbe", body.count), ("endotoxin", "endotoxin", body.endotoxin)):
        if value:
            _count(form, body, name, what, value)
    if not form.wrong:
        unclear = [one for one in counted(body) if one.level is MicrobeLevel.CANT_TELL]
        if unclear and body.count.strip() == "0" and not body.plated_ml:
            form.ask("water_plated")
    return body, form


def _count(form: Form, body: MicrobeResult, name: str, what: str, typed: str) -> None:
    """Note a figure that can't be read, or that no limit of the list is for."""
    try:
        number, unit = split(typed.removeprefix(">").strip())
        if unit and not _counts_in(unit, UNITS[what]):
            raise InputError("water.count_unit", unit=UNITS[what])
        if unit:
            raise InputError("water.count_bare", number=number)
        read_microbes(typed, UNITS[what])
        if body.fluid and body.list:
            load_water_lists().microbe_line(what, body.fluid, body.list)
            if name not in form.wrong and "plated_ml" not in form.wrong:
                one = "count" if what == "endotoxin" else "endotoxin"
                counted(with_fields(body, **{one: ""}))
    except EbbwellError as why:
        none = why.key == "water_list.unknown"
        words = say("water.no_limit", list=say(f"water.list.{body.list}")) if none else why_words(why)
        form.wrong[name] = InputError("water.wrong", label=form.label(name), why=words)


def _counts_in(unit: str, wanted: str) -> bool:
    """Whether a unit typed behind a count is the one that it has to be in."""
    try:
        return parse_unit(unit) == wanted
    except UnitError:
        return False


def enter_microbes(
    desk: Desk, *, typed: Mapping[str, str], sure: tuple[str, ...] = (), instead_of: tuple[str, ...] = ()
) -> None:
    """Enter what grew, or the endotoxin, of a sample; fields as ``read_microbe_result`` names them.

    Refuses what can't be read, naming the field, and days that are the wrong way round; asks about a 0 without its
    volume where the limit is under 1. What is at the action level or over the limit is kept, and stays open.
    """
    body, form = read_microbe_result(desk, typed)
    keep(desk, body, form, sure, instead_of)


def unit_said(desk: Desk, *, of: str, who: str, words: str) -> None:
    """Write down what the unit said about a result of water or bloods, or a notice. The result itself stays as it is.

    Refuses an entry that is none of these, and words that nobody said.
    """
    held = {fact.id for kind in RESULTS for fact in desk.standing.of(kind)}
    if of not in held:
        desk.refuse("refuse.no_entry", entry=of)
    if not who.strip():
        raise InputError("enter.who_advised")
    if not words.strip():
        raise InputError("enter.words")
    desk.add(Advice(who=who.strip(), words=words.strip(), about=(of,)), standing=True)
