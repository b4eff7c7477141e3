"""Lines of the prescription as fields and as text, in the groups in which they stand on these pages."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from ebbwell.core.errors import EbbwellError, InputError
from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.journal.kinds.orders import LineAmended
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import clock, day, line_value, named
from ebbwell.rulebook.model import LineDef, Rulebook
from ebbwell.rulebook.own_units import typed_unit
from ebbwell.rulebook.typed import read_line
from ebbwell.state.facts import Fact
from ebbwell.state.standing import Order, people
from ebbwell.web.visit import Trouble, Visit

GROUPS: Mapping[str, tuple[str, ...]] = {
    "hours": ("treatment_minutes", "pattern", "blood_flow", "dialysate_flow", "dialyser"),
    "weight": (
        "target_weight",
        "removal_cap",
        "connection",
        "prime_given",
        "rinse_back",
        "removal_way",
        "isolated_litres",
        "isolated_minutes",
        "removal_profile",
        "spread_nights",
        "spread_rule",
    ),
    "fluid": (
        "sodium",
        "potassium",
        "bicarbonate",
        "calcium",
        "fluid_temperature",
        "fluid_from",
        "bag_code",
        "bag_size",
        "acid_code",
        "acid_parts",
        "bicarbonate_form",
        "bicarbonate_code",
        "bicarbonate_mixed",
    ),
    "heparin": (
        "anticoagulant",
        "heparin_strength",
        "heparin_first_dose",
        "heparin_rate",
        "heparin_stop_before_end",
        "heparin_dead_space",
        "low_molecular_dose",
    ),
    "access": ("access", "needle_gauge", "needle_method"),
    "watch": ("reading_schedule", "venous_limit", "arterial_limit", "bleeding_call_minutes"),
}
"""Group to its lines. A line that a newer rulebook adds stands under ``other``."""

PREFIX = "line."


@dataclass(frozen=True)
class LineField:
    """One line as a field. options: word and its label; empty for a typed line. typed: as it was typed, to show again.

    keys: which pad a screen offers (``decimal`` or ``text``); wide: a line of words.
    """

    id: str
    name: str
    label: str
    unit: str
    hint: str
    options: tuple[tuple[str, str], ...]
    needed: bool
    maybe: bool
    typed: str
    keys: str
    wide: bool


def grouped(ids: Iterable[str]) -> list[tuple[str, list[str]]]:
    """Groups with those of the lines that are asked for, in the order of the groups; none is left out."""
    wanted = list(ids)
    found = [(group, [line for line in lines if line in wanted]) for group, lines in GROUPS.items()]
    placed = {line for lines in GROUPS.values() for line in lines}
    found.append(("other", [line for line in wanted if line not in placed]))
    return [(group, lines) for group, lines in found if lines]


def field_of(
    book: Rulebook, line: LineDef, typed: str = "", *, name: str = "", must: bool = False
) -> LineField:
    """A line as a field. must: it has to be filled in here, whatever the rulebook says."""
    hint = say(f"line_hint.{line.id}") if has_text(f"line_hint.{line.id}") else ""
    other_pad = line.kind == "text" or line.form == "parts" or line.sign == "negative" or "h" in line.units
    return LineField(
        id=line.id,
        name=name or PREFIX + line.id,
        label=say(f"line.{line.id}"),
        unit="" if line.form == "parts" else typed_unit(book, line),
        hint=hint,
        options=tuple((word, say(f"option.{line.id}.{word}")) for word in line.options),
        needed=must or line.required,
        maybe=not must and bool(line.required_if or line.required_unless),
        typed=typed,
        keys="text" if other_pad else "decimal",
        wide=line.kind == "text",
    )


def fields(
    book: Rulebook, ids: Iterable[str], typed: Mapping[str, str], *, must: bool = False
) -> list[tuple[str, list[LineField]]]:
    """Groups of fields, with what was typed in them."""
    return [
        (group, [field_of(book, book.line(one), typed.get(PREFIX + one, ""), must=must) for one in lines])
        for group, lines in grouped(ids)
    ]


def shown(book: Rulebook, line: str, value: str) -> str:
    """A value of a line with its unit; a length of time in hours too, a dilution as it stands on the can."""
    text = line_value(line, value, book)
    known = next((each for each in book.lines() if each.id == line), None)
    if known is None or known.kind != "number":
        return text
    text = text.replace("-", "\N{MINUS SIGN}", 1) if text.startswith("-") else text
    number = Decimal(value)
    if known.form == "parts":
        return say("web.prescription.parts", rest=plain(number - 1), whole=plain(number))
    if known.unit == "min" and "h" in known.units and number >= 60:
        hours, minutes = divmod(int(number), 60)
        return say("web.prescription.minutes", text=text, hours=hours, minutes=f"{minutes:02d}")
    return text


def read_typed(
    visit: Visit,
    ids: Iterable[str],
    *,
    must: Callable[[str], bool],
    names: Callable[[str], str] = PREFIX.__add__,
) -> dict[str, str]:
    """The typed lines in their plain form; each that can't be read becomes a trouble beside its field.

    must: whether a line that was left empty is asked for.
    """
    found: dict[str, str] = {}
    for line in ids:
        typed = visit.typed.get(names(line), "")
        if not typed.strip() and not must(line):
            continue
        try:
            found[line] = read_line(visit.desk.rulebook, line, typed)
        except EbbwellError as why:
            visit.troubles.append(Trouble(f"{named('line', line)}: {_bare(why, line)}", names(line)))
    return found


def _bare(why: EbbwellError, line: str) -> str:
    """The words of an error without the label that some begin with."""
    words = error_words(why)
    label = f"{named('line', line)}:"
    return words.removeprefix(label).strip()


def left_empty(visit: Visit, field: str, key: str) -> bool:
    """Whether a field that is needed was left empty; then it is a trouble beside it."""
    if visit.typed.get(field, "").strip():
        return False
    visit.troubles.append(Trouble(error_words(InputError(key, typed="")), field))
    return True


def who(visit: Visit, person: str) -> str:
    """A person's name; for nobody in particular that it was at this screen."""
    known = people(visit.desk.standing).get(person)
    return known.name if known is not None else say("web.prescription.somebody")


def whose(visit: Visit) -> str:
    """Whose prescription it is: the person on dialysis; that it isn't known where nobody is entered as that."""
    named_so = [one.name for one in people(visit.desk.standing).values() if "dialysis" in one.roles]
    return ", ".join(named_so) or say("web.prescription.whose_not_known")


def from_to(book: Rulebook, line: str, was: str, now: str) -> str:
    """A change of a line in words: from what, to what."""
    key = "web.prescription.from_to" if was and now else "web.prescription.new_line"
    key = key if now else "web.prescription.gone_line"
    return say(
        key,
        line=named("line", line),
        was=shown(book, line, was) if was else "",
        now=shown(book, line, now) if now else "",
    )


def changed_by(visit: Visit, order: Order, line: str) -> str:
    """How a line of the order came to differ from the first paper: by phone or on paper, from whom, when; else ""."""
    fact = visit.desk.standing.fact(order.from_entry.get(line, ""))
    if fact is None or not isinstance(fact.body, LineAmended):
        return ""
    if line in order.alone:
        again = order.alone[line]
        return say(
            "web.prescription.alone" if again else "web.prescription.alone_new",
            giver=fact.body.giver,
            written=written(visit, fact),
            again=shown(visit.desk.rulebook, line, again) if again else "",
        )
    key = "web.prescription.by_phone" if line in order.unconfirmed else "web.prescription.amended"
    return say(key, giver=fact.body.giver, written=written(visit, fact))


def written(visit: Visit, fact: Fact) -> str:
    """When and by whom a fact was written down: ``29 April 2026, 21:12, Bram``."""
    zone = visit.desk.now.zone
    local = fact.at.astimezone(ZoneInfo(zone)).date().isoformat()
    return say("web.prescription.written", day=day(local), at=clock(fact.at, zone), who=who(visit, fact.by))
