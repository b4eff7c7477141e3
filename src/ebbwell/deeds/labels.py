"""Deeds about the labels of concentrates: read off can or bag, and read again with the first reading hidden."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.errors import InputError
from ebbwell.core.findings import Finding, Grade
from ebbwell.core.numbers import parse_decimal, plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk, ask_first
from ebbwell.deeds.families import family_findings
from ebbwell.deeds.turn import independent
from ebbwell.journal.kinds.fluid import ACID, DRY, LIQUID, ConcentrateLabel
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.procedure.evidence import same_value
from ebbwell.rulebook.dilution import bicarbonate_parts
from ebbwell.rulebook.typed import Question, read_line
from ebbwell.science.catalogue import work
from ebbwell.science.proportioning import Ions, proportioned, stock
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

SALTS: Mapping[str, str] = {
    "sodium_chloride": "",
    "potassium_chloride": "potassium",
    "calcium_chloride_dihydrate": "calcium",
    "magnesium_chloride_hexahydrate": "magnesium",
    "acetic_acid": "acetate",
    "citric_acid": "citrate",
    "glucose": "glucose",
}
"""What a label may print in g/L of the concentrate, and the ion of the mixed fluid that the acid alone brings with
it."""

POWDER = "sodium_bicarbonate"
THOUSANDTH = Decimal("0.001")
MOST_GRAMS = Decimal(500)
"""No salt reaches so much in a litre of concentrate [g/L]. Source: from memory, salt dissolves to 360 g/L."""
MOST_POWDER = Decimal(5000)
LEAST_POWDER = Decimal(50)
"""Less dry bicarbonate than this [g] lasts no hour: 35 mmol/L x 0.084007 x 18 L = 53 g. Source: arithmetic (fluids
2.2)."""

NEEDED = ("potassium", "calcium", "magnesium")
BALANCE_PERCENT = Decimal(1)
"""How far the charges of a label may be apart. Source: arithmetic (fluids 2.1)."""


def read_label(
    desk: Desk,
    *,
    code: str,
    parts: str,
    ions: Mapping[str, str],
    grams: Mapping[str, str] | None = None,
    sure: tuple[str, ...] = (),
) -> None:
    """Enter what the label of an acid concentrate promises, in the place of the reading before.

    code: as printed. parts: as printed, 1 + 34 or 35. ions: name to mmol/L of the mixed fluid as typed; "" is not
    printed. grams: salt to g in a litre of the concentrate as typed, where the label prints those instead. sure: keys
    of questions answered with yes.
    Refuses no code, a dilution that can mean two things, no potassium, calcium or magnesium, neither acetate nor
    citrate, what no fluid holds, and both forms at once. Asks about ions outside their usual range, and charges that
    don't balance. Kept and told: a dilution of another family than the order or the bicarbonate. Source: fluids 2.1.
    """
    name = " ".join(code.split())
    if not name:
        raise InputError("enter.label_code")
    whole, found, salts = _read(desk, parts, ions, grams or {})
    asked = ask_first(_odd(found), sure)
    _keep_label(desk, ConcentrateLabel(code=name, parts=whole, ions=found, asked=asked, grams=salts))


def _keep_label(desk: Desk, body: ConcentrateLabel) -> None:
    """Write a label in the place of the reading before, with the finding where it is of another family."""
    older = label_of(desk.standing, body.code, bicarbonate=body.what != ACID)
    desk.add(
        body,
        replaces=tuple(fact.id for fact in older.facts) if older is not None else (),
        reason="read anew" if older is not None else None,
        standing=True,
    )
    desk.findings.extend(family_findings(desk, body))


def check_label(
    desk: Desk,
    *,
    of: str,
    parts: str,
    how: str,
    ions: Mapping[str, str] | None = None,
    grams: Mapping[str, str] | None = None,
) -> None:
    """Read the label a second time, the first reading hidden. A reading that differs is kept; the label then waits.

    of: the first reading. how: ``person`` or ``reread``, as with a prescription. ions, grams: as in the first
    reading; of bicarbonate ``grams`` holds what is in the container.
    Refuses a label that isn't there or no longer holds, a second person who is the first, and another form than the
    first reading had, since the two could not be held against each other.
    """
    held = next((one for one in labels(desk.standing) if one.facts[-1].id == of), None)
    if held is None:
        desk.refuse("refuse.nothing_to_check")
    independent(desk, held.facts[-1], how)
    first, again = _says(held.body), _again(desk, held.body, parts, ions or {}, grams or {})
    differing = sorted(
        name for name in {*first, *again} if not same_value(first.get(name, ""), again.get(name, ""))
    )
    desk.add(SecondCheck(of=(of,), how=how, values=again, agrees=not differing), standing=True)
    if differing:
        names = ", ".join(say(f"label.{name}") for name in differing)
        desk.findings.append(Finding("label_differs", Grade.STOP, (("names", names),), ("practice:e",)))


def _says(body: ConcentrateLabel) -> dict[str, str]:
    share = {"bicarbonate_parts": body.bicarbonate_parts} if body.bicarbonate_parts else {}
    return {"parts": body.parts, **(body.grams or body.ions), **share}


def _again(
    desk: Desk, first: ConcentrateLabel, parts: str, ions: Mapping[str, str], grams: Mapping[str, str]
) -> dict[str, str]:
    """The second reading of what the first one holds."""
    if first.what != ACID:
        return _says(bicarbonate_read(desk, first.code, first.what, grams.get(POWDER, ""), parts))
    whole, found, salts = _read(desk, parts, ions, grams)
    if bool(salts) != bool(first.grams):
        raise InputError("enter.label_form_grams" if first.grams else "enter.label_form_ions")
    return {"parts": whole, **(salts or found)}


def _read(
    desk: Desk, parts: str, ions: Mapping[str, str], grams: Mapping[str, str]
) -> tuple[str, dict[str, str], dict[str, str]]:
    whole = read_line(desk.rulebook, "acid_parts", parts)
    found = {name: _ion(name, ions[name]) for name in IONS if ions.get(name, "").strip()}
    salts = {name: _grams(name, grams[name]) for name in SALTS if grams.get(name, "").strip()}
    if found and salts:
        raise InputError("enter.label_two_forms")
    if salts:
        found = _from_salts(salts, Decimal(whole))
    missing = [say(f"label.{name}") for name in NEEDED if name not in found]
    if missing:
        raise InputError("enter.label_missing", names=", ".join(missing))
    if "acetate" not in found and "citrate" not in found:
        raise InputError("enter.label_acid")
    return whole, found, salts


def _from_salts(salts: Mapping[str, str], parts: Decimal) -> dict[str, str]:
    """The ions of the mixed fluid that only the acid brings. Sodium and chloride come from both, and are left out.

    Source: fluids:F2 (the recipe in grams), molar masses in core.units.
    """
    acid = stock({name.replace("_", " "): Decimal(text) for name, text in salts.items()})
    mixed = proportioned(acid, Ions(), acid_parts=parts)
    return {
        ion: plain(getattr(mixed, ion).quantize(THOUSANDTH, ROUND_HALF_UP))
        for salt, ion in SALTS.items()
        if ion and salt in salts
    }


def _grams(name: str, typed: str) -> str:
    return typed_grams(say(f"label.{name}"), typed, "g/L", MOST_GRAMS)


def typed_grams(name: str, typed: str, unit: str, most: Decimal) -> str:
    """Grams as typed, with or without their unit, as they are stored. name: what they are of, in words.

    Raises InputError for what is no number from 0 to ``most``.
    """
    value = parse_decimal(typed.strip().removesuffix(unit).strip(), places=3)
    if not 0 <= value <= most:
        raise InputError("enter.label_grams", name=name, typed=typed.strip(), unit=unit, most=plain(most))
    return plain(value)


def bicarbonate_read(desk: Desk, code: str, form: str, grams: str, parts: str) -> ConcentrateLabel:
    """A label of bicarbonate as read; see ``read_bicarbonate``."""
    whole = read_line(desk.rulebook, "acid_parts", parts) if parts.strip() else ""
    if form == LIQUID:
        if not whole:
            raise InputError("enter.label_liquid_parts")
        share = bicarbonate_parts(parts)
        return ConcentrateLabel(
            code=code,
            parts=whole,
            ions={},
            what=LIQUID,
            bicarbonate_parts="" if share is None else plain(share),
        )
    if form != DRY:
        raise InputError("enter.label_form")
    if not grams.strip():
        raise InputError("enter.label_powder")
    held = typed_grams(say(f"label.{POWDER}"), grams, "g", MOST_POWDER)
    if Decimal(held) < LEAST_POWDER:
        raise InputError("enter.label_powder_little", typed=grams.strip(), least=plain(LEAST_POWDER))
    return ConcentrateLabel(code=code, parts=whole, ions={}, what=DRY, grams={POWDER: held})


def read_bicarbonate(desk: Desk, *, code: str, form: str, grams: str = "", parts: str = "") -> None:
    """Enter what the label of bicarbonate promises, in the place of the reading before.

    code: as printed. form: ``dry`` or ``liquid``. grams: in the full container, of dry alone. parts: the dilution of
    the acid it is made for, as printed, ``1 + 34`` or ``1 : 1.225 : 32.775``; a dry one may print none.
    Refuses no code, no form, a dry one without grams or with fewer than 50, and a liquid one without its dilution.
    Kept and told: a dilution of another family than the order or the acid. Source: fluids 2.1, fluids 2.2.
    """
    name = " ".join(code.split())
    if not name:
        raise InputError("enter.label_code")
    _keep_label(desk, bicarbonate_read(desk, name, form, grams, parts))


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
