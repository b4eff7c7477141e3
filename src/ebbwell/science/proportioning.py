"""From concentrates to dialysis fluid: what each part brings, and what the machine's settings change.

The acid stream and the bicarbonate stream go into a whole that stays the same. A bicarbonate setting makes
the bicarbonate stream larger or smaller; a sodium setting then makes up the rest with the acid stream, and
with it potassium, calcium, magnesium, acetate or citrate and glucose (common practice, no source: read in the
manual of the machine how it does it). Amounts are as mixed until ``after_acid``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import astuple, dataclass, fields, replace
from decimal import Decimal, localcontext
from types import MappingProxyType

from ebbwell.core.errors import DomainError, InputError
from ebbwell.core.numbers import plain
from ebbwell.core.units import convert
from ebbwell.science.dialysate import BASE, BICARBONATE, bicarbonate_after_acid
from ebbwell.science.formula import CONTEXT, formula, span
from ebbwell.science.ranges import PARTS, ZERO

STOCK = span("mmol/L", "0", "6000")
BICARBONATE_PARTS = span("parts", "0", "5")
FACTOR = span("", "0.5", "1.5")
DRY = span("mmol/L", "0", "60")


@dataclass(frozen=True, slots=True)
class Ions:
    """What is in a litre of a concentrate or a fluid, each in mmol/L, 0 where nothing is said.

    acetate, citrate: together with the acid they came from, as long as the acid hasn't reacted.
    """

    sodium: Decimal = ZERO
    potassium: Decimal = ZERO
    calcium: Decimal = ZERO
    magnesium: Decimal = ZERO
    chloride: Decimal = ZERO
    bicarbonate: Decimal = ZERO
    acetate: Decimal = ZERO
    citrate: Decimal = ZERO
    glucose: Decimal = ZERO

    def inputs(self) -> dict[str, Decimal]:
        """The charged ones but chloride, by the names that formulas with chloride by balance take.  [mmol/L]"""
        names = ("sodium", "potassium", "calcium", "magnesium", "bicarbonate", "acetate", "citrate")
        return {f"{name}_mmol_l": getattr(self, name) for name in names}


_SALTS: dict[str, dict[str, int]] = {
    "sodium chloride": {"sodium": 1, "chloride": 1},
    "potassium chloride": {"potassium": 1, "chloride": 1},
    "calcium chloride dihydrate": {"calcium": 1, "chloride": 2},
    "magnesium chloride hexahydrate": {"magnesium": 1, "chloride": 2},
    "sodium bicarbonate": {"sodium": 1, "bicarbonate": 1},
    "acetic acid": {"acetate": 1},
    "citric acid": {"citrate": 1},
    "glucose": {"glucose": 1},
}

SALTS: Mapping[str, Mapping[str, int]] = MappingProxyType(_SALTS)
"""What a concentrate is made of, and the ions that one of each gives. Citric acid is without water."""


def stock(grams_l: Mapping[str, Decimal]) -> Ions:
    """The ions of a concentrate from the grams in a litre of it.

    grams_l: name in SALTS to g/L, 0 or more. Raises InputError for another name, a value that isn't a finite
    number, or one below 0. Source: molar masses in core.units.
    """
    total = dict.fromkeys((field.name for field in fields(Ions)), ZERO)
    with localcontext(CONTEXT):
        for name, grams in grams_l.items():
            if name not in _SALTS:
                raise InputError("science.unknown_salt", salt=name[:60], known=", ".join(_SALTS))
            if not grams.is_finite() or grams < 0:
                raise InputError("science.grams", salt=name)
            amount = convert(grams, "g/L", "mmol/L", name)
            for ion, count in _SALTS[name].items():
                total[ion] += count * amount
    return Ions(**total)


@formula(
    unit="mmol/L",
    places=2,
    source="fluids:F1",
    text="(acid stock x acid factor + bicarbonate stock x bicarbonate parts x bicarbonate factor) / parts"
    " + from dry bicarbonate",
    acid_stock_mmol_l=STOCK,
    acid_parts=PARTS,
    bicarbonate_stock_mmol_l=STOCK,
    bicarbonate_parts=BICARBONATE_PARTS,
    dry_mmol_l=DRY,
    acid_factor=FACTOR,
    bicarbonate_factor=FACTOR,
)
def ion_mixed(
    *,
    acid_stock_mmol_l: Decimal,
    acid_parts: Decimal,
    bicarbonate_stock_mmol_l: Decimal = ZERO,
    bicarbonate_parts: Decimal = ZERO,
    dry_mmol_l: Decimal = ZERO,
    acid_factor: Decimal = Decimal(1),
    bicarbonate_factor: Decimal = Decimal(1),
) -> Decimal:
    """One ion of the fluid as mixed, before the acid reacts.  [mmol/L]

    acid_stock_mmol_l, bicarbonate_stock_mmol_l [mmol/L] 0 to 6,000, in the concentrates; acid_parts 10 to
    100, the whole (1 + 34 is 35); bicarbonate_parts 0 to 5, for each part of acid, 0 with dry bicarbonate;
    dry_mmol_l [mmol/L] 0 to 60, brought by dry bicarbonate (sodium and bicarbonate only); acid_factor,
    bicarbonate_factor 0.5 to 1.5, how much of each stream the settings ask for against the label.
    Raises DomainError outside. Source: fluids:F1, fluids 2.1.
    """
    streams = (
        acid_stock_mmol_l * acid_factor + bicarbonate_stock_mmol_l * bicarbonate_parts * bicarbonate_factor
    )
    return streams / acid_parts + dry_mmol_l


@formula(
    unit="",
    places=3,
    source="common practice",
    text="bicarbonate set / bicarbonate of the label",
    bicarbonate_set_mmol_l=BICARBONATE,
    bicarbonate_label_mmol_l=BICARBONATE,
)
def bicarbonate_factor(*, bicarbonate_set_mmol_l: Decimal, bicarbonate_label_mmol_l: Decimal) -> Decimal:
    """How much of the bicarbonate stream a setting asks for, against the label.

    bicarbonate_set_mmol_l, bicarbonate_label_mmol_l [mmol/L] 10 to 60, both as mixed.
    Raises DomainError outside, and where the result isn't between 0.5 and 1.5. Source: common practice, no
    source.
    """
    return _in_reach(bicarbonate_set_mmol_l / bicarbonate_label_mmol_l)


@formula(
    unit="",
    places=3,
    source="common practice",
    text="(sodium set - sodium from bicarbonate) / sodium from acid",
    sodium_set_mmol_l=span("mmol/L", "100", "180"),
    sodium_from_acid_mmol_l=span("mmol/L", "20", "180"),
    sodium_from_bicarbonate_mmol_l=span("mmol/L", "0", "120"),
)
def acid_factor(
    *,
    sodium_set_mmol_l: Decimal,
    sodium_from_acid_mmol_l: Decimal,
    sodium_from_bicarbonate_mmol_l: Decimal,
) -> Decimal:
    """How much of the acid stream a sodium setting asks for, against the label.

    Potassium, calcium, magnesium, acetate or citrate and glucose change by the same factor.

    sodium_set_mmol_l [mmol/L] 100 to 180; sodium_from_acid_mmol_l [mmol/L] 20 to 180, in the fluid at the
    label's parts; sodium_from_bicarbonate_mmol_l [mmol/L] 0 to 120, in the fluid at the bicarbonate setting.
    Raises DomainError outside, and where the result isn't between 0.5 and 1.5. Source: common practice, no
    source.
    """
    return _in_reach((sodium_set_mmol_l - sodium_from_bicarbonate_mmol_l) / sodium_from_acid_mmol_l)


@formula(
    unit="mmol/L",
    places=1,
    source="fluids:F3",
    text="acetic acid + 3 x citric acid",
    acetic_acid_mmol_l=BASE,
    citric_acid_mmol_l=span("mmol/L", "0", "3"),
)
def carbon_dioxide_made(*, acetic_acid_mmol_l: Decimal, citric_acid_mmol_l: Decimal = ZERO) -> Decimal:
    """Carbon dioxide that the acid makes out of bicarbonate.  [mmol/L]

    acetic_acid_mmol_l [mmol/L] 0 to 20; citric_acid_mmol_l [mmol/L] 0 to 3. Raises DomainError outside.
    Source: fluids:F3.
    """
    return acetic_acid_mmol_l + 3 * citric_acid_mmol_l


def proportioned(
    acid: Ions,
    bicarbonate: Ions,
    *,
    acid_parts: Decimal,
    bicarbonate_parts: Decimal = ZERO,
    dry_bicarbonate: Decimal = ZERO,
    acid_times: Decimal = Decimal(1),
    bicarbonate_times: Decimal = Decimal(1),
) -> Ions:
    """The fluid as mixed.

    acid, bicarbonate: the two concentrates; ``Ions()`` for bicarbonate where it is dry. acid_parts: the
    whole. bicarbonate_parts: for each part of acid. dry_bicarbonate [mmol/L]: what the dry container brings.
    acid_times, bicarbonate_times: as acid_factor and bicarbonate_factor give them.
    Raises DomainError as ion_mixed does. Source: fluids 2.1.
    """
    names = tuple(field.name for field in fields(Ions))
    mixed = {
        name: ion_mixed(
            acid_stock_mmol_l=one,
            acid_parts=acid_parts,
            bicarbonate_stock_mmol_l=other,
            bicarbonate_parts=bicarbonate_parts,
            dry_mmol_l=dry_bicarbonate if name in ("sodium", "bicarbonate") else ZERO,
            acid_factor=acid_times,
            bicarbonate_factor=bicarbonate_times,
        )
        for name, one, other in zip(names, astuple(acid), astuple(bicarbonate), strict=True)
    }
    return Ions(**mixed)


def as_set(
    acid: Ions,
    bicarbonate: Ions,
    *,
    acid_parts: Decimal,
    bicarbonate_parts: Decimal = ZERO,
    sodium_set: Decimal,
    bicarbonate_set: Decimal,
) -> Ions:
    """The fluid as mixed with the machine set to a sodium and a bicarbonate (as mixed), both in mmol/L.

    bicarbonate: ``Ions()`` with bicarbonate_parts 0 where it is dry. Raises DomainError where a setting is
    out of reach for these concentrates. Source: common practice, no source.
    """
    times, dry = Decimal(1), ZERO
    alone = proportioned(Ions(), bicarbonate, acid_parts=acid_parts, bicarbonate_parts=bicarbonate_parts)
    if bicarbonate_parts:
        times = bicarbonate_factor(
            bicarbonate_set_mmol_l=bicarbonate_set, bicarbonate_label_mmol_l=alone.bicarbonate
        )
    else:
        dry = bicarbonate_set
    with localcontext(CONTEXT):
        from_bicarbonate = alone.sodium * times + dry
    acid_times = acid_factor(
        sodium_set_mmol_l=sodium_set,
        sodium_from_acid_mmol_l=proportioned(acid, Ions(), acid_parts=acid_parts).sodium,
        sodium_from_bicarbonate_mmol_l=from_bicarbonate,
    )
    return proportioned(
        acid,
        bicarbonate,
        acid_parts=acid_parts,
        bicarbonate_parts=bicarbonate_parts,
        dry_bicarbonate=dry,
        acid_times=acid_times,
        bicarbonate_times=times,
    )


def after_acid(mixed: Ions) -> Ions:
    """The final fluid: the acid has used up its share of bicarbonate, and acetate or citrate stays as the salt.

    Raises DomainError where a value is out of range and where the acid is more than the bicarbonate. Source:
    fluids:F3.
    """
    left = bicarbonate_after_acid(
        bicarbonate_mixed_mmol_l=mixed.bicarbonate,
        acetic_acid_mmol_l=mixed.acetate,
        citric_acid_mmol_l=mixed.citrate,
    )
    return replace(mixed, bicarbonate=left)


def _in_reach(factor: Decimal) -> Decimal:
    if not FACTOR.low <= factor <= FACTOR.high:
        raise DomainError("science.setting_far", low=plain(FACTOR.low), high=plain(FACTOR.high))
    return factor
