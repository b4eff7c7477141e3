"""Units: a small exact table, one spelling for each unit, and conversion inside one kind of quantity.

Nothing is guessed: a unit that isn't in the table is refused, and so is a step from mass to amount of
substance without the name of the substance. Temperatures are readings, not differences.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal, localcontext

from ebbwell.core.errors import InputError, UnitError
from ebbwell.core.numbers import MAX_TYPED

CONTEXT = Context(prec=34)
"""Digits carried through a conversion; far more than any instrument shows."""

LB_KG = Decimal("0.45359237")
GRAIN_KG = Decimal("0.00006479891")
GAL_L = Decimal("3.785411784")
FT3_L = Decimal("28.316846592")
MMHG_PA = Decimal("133.322387415")
PSI_PA = Decimal("6894.757293168361")
CMH2O_PA = Decimal("98.0665")
DH_CACO3 = Decimal("17.848")
"""One German degree of hardness in mg/L as CaCO3. Source: from memory (fluids 0)."""

D = Decimal
ONE = D(1)
ZERO = D(0)


@dataclass(frozen=True, slots=True)
class Unit:
    """symbol: the one spelling that is stored and shown. kind: what it measures.

    A value in the kind's base unit is ``(value * factor + shift) / divisor``.
    """

    symbol: str
    kind: str
    factor: Decimal = ONE
    divisor: Decimal = ONE
    shift: Decimal = ZERO
    names: tuple[str, ...] = ()


_TABLE = (
    Unit("kg", "mass", names=("kgs", "kilo", "kilos", "kilogram", "kilograms")),
    Unit("g", "mass", D("0.001"), names=("gram", "grams")),
    Unit("mg", "mass", D("0.000001"), names=("milligram", "milligrams")),
    Unit("lb", "mass", LB_KG, names=("lbs", "pound", "pounds")),
    Unit("grain", "mass", GRAIN_KG, names=("grains",)),
    Unit("L", "volume", names=("litre", "litres", "liter", "liters")),
    Unit("mL", "volume", D("0.001"), names=("millilitre", "millilitres", "milliliter", "milliliters")),
    Unit("gal", "volume", GAL_L, names=("us gal", "us gallon", "gallon", "gallons")),
    Unit("ft3", "volume", FT3_L, names=("cubic foot", "cubic feet")),
    Unit("min", "time", names=("mins", "minute", "minutes")),
    Unit("h", "time", D(60), names=("hr", "hrs", "hour", "hours")),
    Unit("s", "time", divisor=D(60), names=("sec", "second", "seconds")),
    Unit("mL/min", "flow"),
    Unit("L/min", "flow", D(1000)),
    Unit("mL/h", "flow", divisor=D(60), names=("ml/hr",)),
    Unit("L/h", "flow", D(1000), D(60), names=("l/hr",)),
    Unit("gal/min", "flow", GAL_L * 1000, names=("gpm",)),
    Unit("mL/kg/h", "flow for each kg", names=("ml/kg/hr", "ml/h/kg")),
    Unit("mL/h/mmHg", "membrane flow"),
    Unit("mmHg", "pressure", MMHG_PA, names=("mm hg",)),
    Unit("kPa", "pressure", D(1000)),
    Unit("bar", "pressure", D(100_000)),
    Unit("psi", "pressure", PSI_PA),
    Unit("cmH2O", "pressure", CMH2O_PA, names=("cm h2o",)),
    Unit("C", "temperature", names=("°c", "celsius", "deg c", "degrees c")),
    Unit("F", "temperature", D(5), D(9), D(-160), names=("°f", "fahrenheit", "deg f", "degrees f")),
    Unit("uS/cm", "conductivity", names=("µs/cm", "μs/cm")),
    Unit("mS/cm", "conductivity", D(1000)),
    Unit("S/m", "conductivity", D(10_000)),
    Unit("mmol/L", "amount in a litre"),
    Unit("umol/L", "amount in a litre", D("0.001"), names=("µmol/l", "μmol/l")),
    Unit("mg/L", "mass in a litre"),
    Unit("mg/dL", "mass in a litre", D(10)),
    Unit("g/L", "mass in a litre", D(1000)),
    Unit("ug/L", "mass in a litre", D("0.001"), names=("µg/l", "μg/l")),
    Unit("mg/L CaCO3", "hardness", names=("mg/l as caco3", "ppm caco3", "ppm as caco3")),
    Unit(
        "grain/gal",
        "hardness",
        GRAIN_KG * 1_000_000,
        GAL_L,
        names=("grains/gal", "gpg"),
    ),
    Unit("dH", "hardness", DH_CACO3, names=("°dh",)),
    Unit("fH", "hardness", D(10), names=("°fh",)),
    Unit("units", "drug units", names=("unit", "iu", "u")),
    Unit("units/mL", "drug strength", names=("unit/ml", "iu/ml", "u/ml")),
    Unit("units/h", "drug rate", names=("unit/h", "units/hr", "iu/h", "u/h")),
    Unit("units/kg", "drug units for each kg", names=("unit/kg", "iu/kg", "u/kg")),
    Unit("units/kg/h", "drug rate for each kg", names=("unit/kg/h", "iu/kg/h", "u/kg/h")),
    Unit("mmol", "amount"),
    Unit("mOsm/kg", "osmolality", names=("mosmol/kg",)),
    Unit("%", "share", names=("percent", "per cent")),
    Unit("/min", "beats", names=("per minute", "bpm", "beats/min")),
    Unit("cm", "length", names=("centimetre", "centimetres")),
    Unit("mm", "length", D("0.1"), names=("millimetre", "millimetres")),
    Unit("kg/m3", "density"),
    Unit("mPa s", "viscosity"),
    Unit("CFU/mL", "colonies in a volume", names=("cfu per ml",)),
    Unit("EU/mL", "endotoxin in a volume", names=("eu per ml",)),
    Unit("pH", "acidity"),
    Unit("nights", "nights", names=("night",)),
    Unit("bags", "bags", names=("bag",)),
    Unit("parts", "parts", names=("part",)),
    Unit("pieces", "pieces", names=("piece",)),
    Unit("tries", "tries", names=("try",)),
    Unit("of 10", "score of 10"),
    Unit("/C", "share for each degree", names=("per degree",)),
    Unit("m2", "area", names=("square metre", "square metres")),
    Unit("years", "age", names=("year",)),
    Unit("days", "days", names=("day",)),
    Unit("/week", "times a week", names=("per week", "a week")),
    Unit("/h", "share for each hour", names=("per hour",)),
    Unit("g/kg/day", "protein for each kg and day"),
    Unit("g/day", "protein for each day"),
    Unit("mmol/min", "amount in a minute"),
    Unit("mg/min", "mass in a minute"),
    Unit("L/m2", "volume for each square metre"),
    Unit("", "plain number"),
)

UNITS = {unit.symbol: unit for unit in _TABLE}
"""Every unit by its stored spelling."""

MOLAR_MASS = {
    "acetic acid": D("60.052"),
    "calcium": D("40.078"),
    "calcium chloride dihydrate": D("147.015"),
    "chloride": D("35.453"),
    "citric acid": D("192.124"),
    "creatinine": D("113.118"),
    "glucose": D("180.156"),
    "magnesium": D("24.305"),
    "magnesium chloride hexahydrate": D("203.30"),
    "nitrate": D("62.005"),
    "nitrate nitrogen": D("14.007"),
    "phosphate": D("30.974"),
    "potassium": D("39.098"),
    "potassium chloride": D("74.551"),
    "sodium": D("22.990"),
    "sodium bicarbonate": D("84.007"),
    "sodium chloride": D("58.443"),
    "urea": D("60.056"),
    "urea nitrogen": D("28.014"),
}
"""g/mol, as laboratories count: phosphate is weighed as phosphorus, urea nitrogen as the two nitrogen atoms
of one urea, so that mmol/L is mmol of urea. Citric acid is without water. Source: examples:E17.1 to
E17.7, fluids 0 (salts); citric acid from memory."""


PARTS = ("ppm", "ppb", "ppt")
"""Parts in a million, or in more: said of what water holds, of hardness and of a meter's guess at salt alike."""


def _spelling(typed: str) -> str:
    folded = " ".join(typed.casefold().split())
    return folded.replace(" /", "/").replace("/ ", "/")


def _spellings() -> dict[str, str]:
    table: dict[str, str] = {}
    for unit in _TABLE:
        for name in (unit.symbol, *unit.names):
            if table.setdefault(_spelling(name), unit.symbol) != unit.symbol:
                raise ValueError(f"unit {name!r} is spelled twice")
    return table


_SPELLINGS = _spellings()


IN_WATER = {"ppm": "mg/L", "ppb": "ug/L"}
"""Parts by mass, as a kit or a report may have them, to the unit they are in dilute water. Source: fluids 0."""


def in_water(unit: str) -> str:
    """The unit for one typed behind a figure of water: ppm is mg/L there. Any other stays as it is typed.

    Source: arithmetic (fluids 0: 1 mg/L in water is 1 ppm by mass, dilute).
    """
    return IN_WATER.get(unit.strip().casefold(), unit)


def parse_unit(typed: str) -> str:
    """The stored spelling of a typed unit: ``" ML / min "`` is ``mL/min``.

    Raises UnitError for a unit that isn't in the table (so also for mL/kg/min, a slip seen in print).
    """
    spelled = _spelling(typed[: MAX_TYPED * 2])
    symbol = _SPELLINGS.get(spelled)
    if symbol is None:
        key = "unit.parts" if spelled in PARTS else "unit.unknown"
        raise UnitError(key, unit=typed.strip()[:MAX_TYPED])
    return symbol


def kind_of_unit(unit: str) -> str:
    """What a unit measures, such as ``pressure``. Raises UnitError for an unknown unit."""
    return UNITS[parse_unit(unit)].kind


def convert(value: Decimal, unit: str, to: str, substance: str | None = None) -> Decimal:
    """The same quantity in another unit.

    value: a finite number in ``unit``. substance: a name in MOLAR_MASS, needed between mass and amount in a
    litre.
    Raises UnitError (unknown unit, another kind, substance missing or unknown), InputError (not a finite
    number).
    Source: definitions of the units; molar masses examples:E17.1 and following.

    >>> convert(Decimal("143"), "lb", "kg")
    Decimal('64.86370891')
    """
    if not value.is_finite():
        raise InputError("number.not_finite")
    old, new = UNITS[parse_unit(unit)], UNITS[parse_unit(to)]
    if old.symbol == new.symbol:
        return value
    with localcontext(CONTEXT):
        base = (value * old.factor + old.shift) / old.divisor
        if old.kind != new.kind:
            base = _between_kinds(base, old, new, substance)
        return (base * new.divisor - new.shift) / new.factor


def _between_kinds(base: Decimal, old: Unit, new: Unit, substance: str | None) -> Decimal:
    kinds = (old.kind, new.kind)
    if kinds not in (("mass in a litre", "amount in a litre"), ("amount in a litre", "mass in a litre")):
        raise UnitError("unit.other_kind", unit=old.symbol, to=new.symbol)
    if substance is None:
        raise UnitError("unit.needs_substance", unit=old.symbol, to=new.symbol)
    mass = MOLAR_MASS.get(_spelling(substance))
    if mass is None:
        raise UnitError("unit.unknown_substance", substance=substance[:MAX_TYPED])
    return base / mass if new.kind == "amount in a litre" else base * mass
