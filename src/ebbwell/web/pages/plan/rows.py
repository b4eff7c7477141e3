"""The plan as rows: what to set, each beside its bound and last time's figure; what to have ready."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.core.worked import Outcome, Worked
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.plan import ORDERED, Draughted
from ebbwell.house import House
from ebbwell.journal.kinds.orders import Plan
from ebbwell.papers.own_figures import both, both_text, own_text
from ebbwell.papers.spoken import plain_words
from ebbwell.papers.words import day, figure_words, span
from ebbwell.plan.clock_times import clocks_change, local_text
from ebbwell.plan.uneven import HIGHEST
from ebbwell.procedure.evidence import on_machine
from ebbwell.science.catalogue import formula_named, work
from ebbwell.state.own_past import latest
from ebbwell.web.pages.plan.expected import Expected
from ebbwell.web.pages.plan.uneven import uneven_words


@dataclass(frozen=True)
class Figure:
    """One figure of the plan. value: "" where there is none, then missing says why.

    beside: sentences in sight under it: what it is compared with, what else is set. why: those that say where it comes
    from, folded away. work: names of formulas with their working. last: the same figure on the night before.
    """

    name: str
    label: str
    value: str
    unit: str
    missing: str = ""
    beside: tuple[str, ...] = ()
    why: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    last: str = ""


@dataclass(frozen=True)
class LastPlan:
    """The plan of the last night that ran, and its day in words."""

    figures: Mapping[str, str]
    day: str


def last_plan(house: House, desk: Desk) -> LastPlan | None:
    """What was planned on the last night before this one; None where there is none in the record."""
    pinned = desk.treatment.of("pinned")
    before = pinned[0].at if pinned else desk.now.at
    for summary in latest(desk.past, before=before, nights=3):
        tonight = house.looked
        fact = house.look(treatment=summary.treatment).treatment.last("plan")
        house.looked = tonight
        if fact is not None and isinstance(fact.body, Plan):
            return LastPlan(fact.body.figures, day(summary.night))
    return None


@dataclass(frozen=True)
class Book:
    """What the rows are made from. figures: as agreed, or as worked out now."""

    desk: Desk
    worked: Draughted
    figures: Mapping[str, str]
    expected: Expected
    last: LastPlan | None

    def line(self, name: str) -> str:
        """A line of the prescription with its unit; "" where it isn't on it."""
        order = self.desk.scene.order
        text = order.lines.get(name, "") if order is not None else ""
        return both_text(f"{text} {self.desk.rulebook.line(name).unit}".rstrip()) if text else ""

    def figure(
        self,
        name: str,
        *beside: str,
        why: Sequence[str] = (),
        label: str = "",
        work: tuple[str, ...] = (),
    ) -> Figure:
        """One figure with its value and unit."""
        text = self._text(self.figures, name)
        number, _, unit = text.partition(" ")
        known = number[:1].isdigit() or number[:1] == "-"
        worked = self.worked.line(work[0]) if work else None
        return Figure(
            name,
            label or say(f"web.plan.label.{name}"),
            number if known else "",
            unit if known else "",
            missing="" if known else why_not(worked, self.worked),
            beside=tuple(words for words in beside if words),
            why=tuple(words for words in why if words),
            work=work,
            last=self.last_words(name),
        )

    def _text(self, figures: Mapping[str, str], name: str) -> str:
        """A figure in the household's unit; one that is a line of the order has the order's own beside it."""
        text = figures.get(name, "")
        return both_text(text) if name in ORDERED else own_text(text)

    def last_words(self, name: str) -> str:
        """Last time's figure in words, or that it is the same."""
        if self.last is None:
            return ""
        text = self.last.figures.get(name, "")
        if not text[:1].isdigit():
            return say("web.plan.last_none")
        if text == self.figures.get(name, ""):
            return say("web.plan.last_same")
        said = _as_time(text) if name == "treatment_minutes" else self._text(self.last.figures, name)
        return say("web.plan.last", value=said)


OUTSIDE = "science.out_of_range"
"""Why a sum has no number where one of its inputs lies outside its range."""


def why_not(worked: Worked | None, plan: Draughted | None = None) -> str:
    """Why a figure has no number, in words. plan: where the figures are that it rests on, so that the root is named."""
    if worked is None or not worked.why:
        return say("outcome.missing")
    before = dict(worked.why_params).get("line", "")
    root = plan.line(before) if plan is not None and before else None
    if root is not None and root.why:
        return why_not(root, plan)
    params = dict(worked.why_params)
    if worked.why == OUTSIDE and has_text(f"input.{params['name']}"):
        label = say(f"input.{params['name']}")
        return say("web.plan.out_of_sum", **{**params, "name": label[:1].upper() + label[1:]})
    if "inputs" in params:
        params["inputs"] = ", ".join(say(f"input.{name}") for name in params["inputs"].split(", "))
    if "line" in params:
        params["line"] = figure_words(params["line"])
    if "input" in params:
        params["input"] = say(f"input.{params['input']}")
    return plain_words(worked.why, **params)


def to_set(book: Book) -> list[Figure]:
    """The figures that are set on the machine and the pump, big, in the order of the night."""
    return [
        book.figure(
            "fluid_to_remove",
            _remains(book),
            _digits(book, "fluid_to_remove"),
            why=_fluid(book),
            work=("fits_tonight", "removal_volume", "cap_volume"),
        ),
        book.figure("removal_rate", *_rate(book), work=("removal_rate", "removal_rate_per_kg")),
        _time(book),
        _heparin(book),
        book.figure("blood_flow", why=(say("web.plan.as_prescribed"),)),
        book.figure("dialysate_flow", why=(say("web.plan.as_prescribed"),)),
    ]


def also_set(book: Book) -> list[Figure]:
    """The rest of what the machine is set to; each is a line of the prescription."""
    names = ("fluid_temperature", "sodium", "bicarbonate")
    return [book.figure(name, label=say(f"line.{name}")) for name in names if name in book.figures]


def to_have(book: Book) -> list[Figure]:
    """What is used up, and what the scale should say afterwards."""
    names = ["acid_needed", "bicarbonate_powder_needed", "bicarbonate_liquid_needed", "product_needed"]
    names += [each.name for each in book.desk.procedure.sums]
    rows = [
        replace(book.figure(n, label=figure_words(n), work=(n,)), last="") for n in names if n in book.figures
    ]
    rows.append(
        book.figure(
            "weight_after_expected", label=say("web.plan.label.weight_after"), work=("weight_after_expected",)
        )
    )
    return rows


def _part(book: Book, name: str) -> Decimal | None:
    """An input of the removal sum."""
    line = book.worked.tonight.line("removal_volume")
    found = next((i for i in line.inputs if i.name == name), None) if line is not None else None
    return found.value if found is not None else None


def _fluid(book: Book) -> list[str]:
    if "removal_by_unit" in book.expected.litres:
        return [say("web.plan.why.by_unit"), _cap(book)]
    weight, target = _part(book, "weight_before_kg"), _part(book, "target_weight_kg")
    out = []
    if weight is not None and target is not None:
        over = weight - target
        first = say("web.plan.why.over" if over >= 0 else "web.plan.why.under", over=both(abs(over), "kg"))
        more = [
            say(f"web.plan.why.{name}", litres=plain(value))
            for name, value in (
                (n, _part(book, f"{n}_l")) for n in ("rinse_back", "prime_given", "drink", "saline")
            )
            if value
        ]
        losses = _part(book, "losses_l")
        less = [say("web.plan.why.losses", litres=plain(losses))] if losses else []
        out.append(" ".join([first, *more, *less]) + ".")
    return [*out, _cap(book)]


def _cap(book: Book) -> str:
    cap = book.worked.tonight.line("cap_volume")
    if cap is None or cap.value is None:
        return ""
    volume = formula_named("cap_volume").shown(cap.value)
    return say("web.plan.why.cap", volume=volume, cap=book.line("removal_cap"), hours=_hours(book))


def _remains(book: Book) -> str:
    if "removal_by_unit" in book.expected.litres:
        return ""
    remains = book.worked.tonight.line("remains_after")
    if remains is None or not remains.value:
        return ""
    return say("web.plan.why.remains", litres=formula_named("remains_after").shown(remains.value))


def _rate(book: Book) -> list[str]:
    per_kg = book.figures.get("removal_rate_per_kg", "")
    if not per_kg[:1].isdigit():
        return [say("web.plan.why.cap_only", cap=book.line("removal_cap"))]
    why = say("web.plan.why.per_kg", rate=per_kg, cap=book.line("removal_cap"))
    return [why, _digits(book, "removal_rate"), *_uneven(book)]


def _uneven(book: Book) -> list[str]:
    highest, order = book.worked.line(HIGHEST), book.desk.scene.order
    if highest is None or order is None:
        return []
    return uneven_words(
        book.worked,
        order.lines,
        book.line("removal_cap") or say("web.plan.not_known"),
        {} if highest.value is not None else {HIGHEST: why_not(highest, book.worked)},
    )


def _digits(book: Book, name: str) -> str:
    """What to set on a machine that shows fewer digits, where the nearest figure it shows is over the cap."""
    number, _, unit = book.figures.get(name, "").partition(" ")
    if not number[:1].isdigit():
        return ""
    exact, scene = Decimal(number), book.desk.scene
    down = on_machine(scene, name, exact)
    return (
        say("web.plan.why.digits", down=plain(down), unit=unit)
        if down < exact.quantize(down, ROUND_HALF_UP)
        else ""
    )


def _hours(book: Book) -> str:
    return _as_time(book.line("treatment_minutes"))


def _as_time(text: str) -> str:
    """``450 min`` as hours and minutes."""
    number = text.split()[0] if text else ""
    return span(timedelta(minutes=float(number))) if number.replace(".", "", 1).isdigit() else text


def _time(book: Book) -> Figure:
    tonight, zone = book.worked.tonight, book.desk.now.zone
    beside = []
    start, finish = tonight.start_at, tonight.finish_at
    if start is not None and finish is not None:
        beside.append(
            say(
                "web.plan.why.ends",
                start=local_text(start, zone, beside=finish),
                finish=local_text(finish, zone, beside=start),
            )
        )
        if clocks_change(start, finish, zone):
            beside.append(say("web.plan.why.clocks_change"))
    name = "treatment_minutes"
    return Figure(
        name,
        say(f"web.plan.label.{name}"),
        _hours(book),
        "",
        missing="" if book.line(name) else say("outcome.missing"),
        beside=tuple(beside),
        why=(say("web.plan.as_prescribed"),),
        work=("finish_at",) if finish is not None else (),
        last=book.last_words(name),
    )


def _heparin(book: Book) -> Figure:
    order = book.desk.scene.order
    kind = order.lines.get("anticoagulant", "") if order is not None else ""
    label = say("web.plan.label.heparin_rate_ml")
    words = book.worked.tonight.line("heparin")
    if kind != "heparin":
        value = say(f"option.anticoagulant.{kind}") if kind else ""
        dose = book.line("low_molecular_dose")
        why = [say(words.why)] if words is not None and words.why else []
        if dose:
            why.append(say("web.plan.why.low_molecular", dose=dose))
        missing = "" if kind else say("outcome.missing")
        return Figure("heparin_rate_ml", label, value, "", missing, tuple(why))
    beside = [
        say(
            "web.plan.why.first_dose",
            dose=book.line("heparin_first_dose"),
            volume=_known(book, "heparin_volume"),
        ),
    ]
    stop = book.figures.get("heparin_stop_at", "")
    if stop:
        beside.append(say("web.plan.why.heparin_stop", at=stop, before=book.line("heparin_stop_before_end")))
    beside.append(_pump_steps(book))
    why = [
        say("web.plan.why.heparin", rate=book.line("heparin_rate"), strength=book.line("heparin_strength")),
        say("web.plan.why.syringe", volume=_known(book, "syringe_fill")),
    ]
    return book.figure(
        "heparin_rate_ml",
        *beside,
        why=why,
        label=label,
        work=("heparin_rate_ml", "heparin_volume", "heparin_stop_at", "syringe_fill"),
    )


def _pump_steps(book: Book) -> str:
    """What a pump that shows fewer digits really gives, beside what is ordered; "" where it can show the rate."""
    line = book.worked.tonight.line("heparin_rate_ml")
    if line is None or line.value is None:
        return ""
    shown = on_machine(book.desk.scene, "heparin_rate_ml", line.value)
    strength = next((one for one in line.inputs if one.name == "strength_units_ml"), None)
    gives = work("heparin_rate_units", {"rate_ml_h": shown, "strength_units_ml": strength})
    if shown == line.value or gives.value is None:
        return ""
    return say(
        "web.plan.why.pump_steps",
        shown=plain(shown),
        gives=formula_named("heparin_rate_units").shown(gives.value),
        ordered=book.line("heparin_rate"),
    )


def _known(book: Book, name: str) -> str:
    """A figure as text, or that it isn't known."""
    line = book.worked.line(name)
    text = book.figures.get(name, "")
    if line is not None and line.outcome is not Outcome.OK and not text[:1].isdigit():
        return say("web.plan.not_known")
    return own_text(text) or say("web.plan.not_known")
