"""Labels of concentrates on record: which ones go by, which wait for a second reading, which readings differ.

Beside them the families of dilution: concentrates of two families never belong together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from ebbwell.journal.kinds.fluid import ACID, ConcentrateLabel
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.state.facts import Fact, Facts, agreed
from ebbwell.state.night_fluid import decimal_of

FAMILY_PERCENT = Decimal(1)
"""How far two ways of printing one dilution may be apart. Source: arithmetic (fluids 2.1): 1 + 1.775 + 42.2 is 44.975
where another label of the family has 45, 0.1 %; 35 read as 34 is 2.9 % and has to show."""


FAMILY_SHARES = (
    (Decimal(35), Decimal("1.225")),
    (Decimal("36.83"), Decimal("1.83")),
    (Decimal(45), Decimal("1.775")),
)
"""The whole of a family, and its liquid bicarbonate for each part of acid. Source: fluids:F1 (35 and 45), fluids:F2."""


@dataclass(frozen=True)
class Label:
    """One code's label. facts: every reading that stands; one is usual. checked: the second reading that agreed, if
    any; differs: whether a second reading said something else. Only a single, checked label goes by.
    """

    code: str
    facts: tuple[Fact, ...]
    checked: Fact | None
    differs: bool

    @property
    def body(self) -> ConcentrateLabel:
        """The label as read first."""
        return body_of(self.facts[-1])

    @property
    def goes_by(self) -> bool:
        """Whether sums may rest on it."""
        return self.checked is not None and agreed(self.facts) is not None

    @property
    def acid(self) -> bool:
        """Whether it is of an acid; else it is of bicarbonate."""
        return self.body.what == ACID


@dataclass(frozen=True)
class Family:
    """What one paper says of the dilution. what: ``order``, ``acid`` or ``bicarbonate``; code: of a label, else ""."""

    what: str
    code: str
    parts: str


def body_of(fact: Fact) -> ConcentrateLabel:
    """The label that a fact holds. Raises TypeError for a fact of another kind."""
    if not isinstance(fact.body, ConcentrateLabel):
        raise TypeError("not a label")
    return fact.body


def same_code(one: str, other: str) -> bool:
    """Whether two codes are the same, however their letters and spaces were typed."""
    return _folded(one) == _folded(other)


def _folded(code: str) -> str:
    return " ".join(code.casefold().split())


def labels(standing: Facts) -> tuple[Label, ...]:
    """Every label on record, one for each code of an acid or of bicarbonate, in the order they were first read."""
    held: dict[tuple[bool, str], list[Fact]] = {}
    for fact in standing.of("concentrate_label"):
        if isinstance(fact.body, ConcentrateLabel):
            held.setdefault((fact.body.what == ACID, _folded(fact.body.code)), []).append(fact)
    return tuple(_label(standing, facts) for facts in held.values())


def label_of(standing: Facts, code: str, *, bicarbonate: bool = False) -> Label | None:
    """The label of a code, of an acid unless ``bicarbonate``; None without one."""
    return next(
        (one for one in labels(standing) if one.acid != bicarbonate and same_code(one.code, code)), None
    )


def families(
    standing: Facts, ordered: Mapping[str, str], *, read: ConcentrateLabel | None = None
) -> tuple[Family, ...]:
    """Every dilution that order and labels name, where two of them are of two families; () where all are one.

    ordered: lines of the prescription. read: a label that was read just now, in the place of the older one. A label
    counts from its first reading on, whether or not it was read twice: it can only hold, never let pass. Source:
    fluids 2.1.
    """
    found = [Family("order", "", ordered["acid_parts"])] if ordered.get("acid_parts") else []
    for what, line in (("acid", "acid_code"), ("bicarbonate", "bicarbonate_code")):
        code = ordered.get(line, "")
        bodies = _bodies(standing, code, what, read) if code else ()
        found.extend(Family(what, code, body.parts) for body in bodies)
    found = [one for one in dict.fromkeys(found) if decimal_of(one.parts)]
    return tuple(found) if _apart(decimal_of(one.parts) for one in found) else ()


def liquid_share(standing: Facts, ordered: Mapping[str, str]) -> tuple[Decimal, str] | None:
    """Parts of liquid bicarbonate for each part of acid, and the label's entry that says so, "" where the family does.

    ordered: lines of the prescription. A label counts once it was read twice. None where the bicarbonate isn't liquid,
    and where neither label nor family says it. Source: fluids:F1, fluids:F2.
    """
    parts = decimal_of(ordered.get("acid_parts", ""))
    if ordered.get("bicarbonate_form") != "liquid" or not parts:
        return None
    code = ordered.get("bicarbonate_code", "")
    label = label_of(standing, code, bicarbonate=True) if code else None
    printed = decimal_of(label.body.bicarbonate_parts) if label is not None and label.goes_by else None
    if label is not None and printed is not None:
        return printed, label.facts[-1].id
    found = [share for whole, share in FAMILY_SHARES if not _apart((whole, parts))]
    return (found[0], "") if found else None


def off_family(standing: Facts, ordered: Mapping[str, str], what: str) -> bool:
    """Whether the label of the ordered ``acid`` or ``bicarbonate`` is of another family than the order."""
    found = families(standing, ordered)
    on_paper = [one.parts for one in found if one.what in ("order", what)]
    return any(one.what == what for one in found) and _apart(decimal_of(parts) for parts in on_paper)


def _bodies(
    standing: Facts, code: str, what: str, read: ConcentrateLabel | None
) -> tuple[ConcentrateLabel, ...]:
    if read is not None and same_code(read.code, code) and (read.what == ACID) == (what == ACID):
        return (read,)
    label = label_of(standing, code, bicarbonate=what != ACID)
    return tuple(body_of(fact) for fact in label.facts) if label is not None else ()


def _apart(parts: Iterable[Decimal | None]) -> bool:
    numbers = [one for one in parts if one]
    return bool(numbers) and 100 * (max(numbers) - min(numbers)) > FAMILY_PERCENT * min(numbers)


def _label(standing: Facts, facts: list[Fact]) -> Label:
    newest = facts[-1]
    ids = standing.versions(newest)
    checks = [
        check
        for check in standing.of("second_check")
        if isinstance(check.body, SecondCheck) and newest.id in check.body.of
    ]
    agreed = [check for check in checks if isinstance(check.body, SecondCheck) and check.body.agrees]
    earlier = [
        check
        for check in standing.of("second_check")
        if isinstance(check.body, SecondCheck) and ids & set(check.body.of) and not check.body.agrees
    ]
    code = body_of(newest).code
    return Label(code, tuple(facts), agreed[-1] if agreed else None, bool(earlier) and not agreed)
