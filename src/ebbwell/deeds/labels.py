"""Deeds about the labels of concentrates: read off the can, and read again with the first reading hidden."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.turn import independent
from ebbwell.journal.kinds.fluid import ConcentrateLabel
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.procedure.evidence import same_value
from ebbwell.rulebook.typed import Question, read_line
from ebbwell.science.catalogue import work
from ebbwell.state.labels import label_of, labels

IONS = (
    "sodium",
    "potassium",
    "calcium",
    "magnesium",
    "chloride",
    "bicarbonate",
    "acetate",
    "citrate",
    "glucose",
)
"""What a label prints, in mmol/L of the mixed fluid."""

USUAL: Mapping[str, tuple[str, str]] = {
    "sodium": ("135", "145"),
    "potassium": ("0", "4"),
    "calcium": ("1.25", "1.75"),
    "magnesium": ("0.25", "1.0"),
    "chloride": ("98", "112"),
    "bicarbonate": ("25", "40"),
    "acetate": ("2", "8"),
    "citrate": ("0.8", "1.0"),
    "glucose": ("0", "11"),
}
"""Ranges of mixed fluids [mmol/L]; outside is asked about. Source: common practice (fluids 2.1)."""

MOST = Decimal(200)
"""No ion of a mixed fluid reaches so much [mmol/L]; more is of the concentrate, or in another unit."""

NEEDED = ("potassium", "calcium", "magnesium")
BALANCE_PERCENT = Decimal(1)
"""How far the charges of a label may be apart. Source: arithmetic (fluids 2.1)."""


def read_label(
    desk: Desk, *, code: str, parts: str, ions: Mapping[str, str], sure: tuple[str, ...] = ()
) -> None:
    """Enter what the label of an acid concentrate promises, in the place of the reading before.

    code: as printed. parts: as printed, 1 + 34 or 35. ions: name to mmol/L of the mixed fluid as typed; "" is not
    printed. sure: keys of questions answered with yes.
    Refuses no code, a dilution that can mean two things, no potassium, calcium or magnesium, neither acetate nor
    citrate, and what no fluid holds. Asks about ions outside their usual range, and charges that don't balance.
    Source: fluids 2.1.
    """
    name = " ".join(code.split())
    if not name:
        raise InputError("enter.label_code")
    whole, found = _read(desk, parts, ions)
    asked = ask_first(_odd(found), sure)
    older = label_of(desk.standing, name)
    desk.add(
        ConcentrateLabel(code=name, parts=whole, ions=found, asked=asked),
        replaces=tuple(fact.id for fact in older.facts) if older is not None else (),
        reason="read anew" if older is not None else None,
        standing=True,
    )


def check_label(desk: Desk, *, of: str, parts: str, ions: Mapping[str, str], how: str) -> None:
    """Read the label a second time, the first reading hidden. A reading that differs is kept; the label then waits.

    of: the first reading. how: ``person`` or ``reread``, as with a prescription.
    Refuses a label that isn't there or no longer holds, and a second person who is the first.
    """
    held = next((one for one in labels(desk.standing) if one.facts[-1].id == of), None)
    if held is None:
        desk.refuse("refuse.nothing_to_check")
    independent(desk, held.facts[-1], how)
    whole, found = _read(desk, parts, ions)
    first = {"parts": held.body.parts, **held.body.ions}
    again = {"parts": whole, **found}
    differing = sorted(
        name for name in {*first, *again} if not same_value(first.get(name, ""), again.get(name, ""))
    )
    desk.add(SecondCheck(of=(of,), how=how, values=again, agrees=not differing), standing=True)
    if differing:
        names = ", ".join(say(f"label.{name}") for name in differing)
        desk.findings.append(Finding("label_differs", Grade.STOP, (("names", names),), ("practice:e",)))


def _read(desk: Desk, parts: str, ions: Mapping[str, str]) -> tuple[str, dict[str, str]]:
    whole = read_line(desk.rulebook, "acid_parts", parts)
    found = {name: _ion(name, ions[name]) for name in IONS if ions.get(name, "").strip()}
    missing = [say(f"label.{name}") for name in NEEDED if name not in found]
    if missing:
        raise InputError("enter.label_missing", names=", ".join(missing))
    if "acetate" not in found and "citrate" not in found:
        raise InputError("enter.label_acid")
    return whole, found


def _ion(name: str, typed: str) -> str:
    number = typed.strip().removesuffix("mmol/L").strip()
    value = parse_decimal(number, places=3)
    if not 0 <= value <= MOST:
        raise InputError("enter.label_ion", name=say(f"label.{name}"), typed=typed.strip())
    return plain(value)


def _odd(ions: Mapping[str, str]) -> tuple[Question, ...]:
    out = [
        Question(
            f"label_usual_{name}",
            1,
            (("name", say(f"label.{name}")), ("value", text), ("low", low), ("high", high)),
        )
        for name, text in ions.items()
        for low, high in (USUAL[name],)
        if not Decimal(low) <= Decimal(text) <= Decimal(high)
    ]
    if {"sodium", "chloride", "bicarbonate"} <= ions.keys():
        gap = work("charge_gap", {f"{n}_mmol_l": Decimal(v) for n, v in ions.items() if n != "glucose"})
        if gap.value is not None and abs(gap.value) > BALANCE_PERCENT:
            out.append(Question("label_balance", 1, (("gap", plain(round(abs(gap.value), 1))),)))
    return tuple(out)
