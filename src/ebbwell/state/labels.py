"""Labels of concentrates on record: which ones go by, which wait for a second reading, which readings differ."""

from __future__ import annotations

from dataclasses import dataclass

from ebbwell.journal.kinds.fluid import ConcentrateLabel
from ebbwell.journal.kinds.orders import SecondCheck
from ebbwell.state.facts import Fact, Facts


@dataclass(frozen=True)
class Label:
    """One code's label. facts: every reading that stands; one is usual. checked: the second reading that agreed, if any;
    differs: whether a second reading said something else. Only a single, checked label goes by.
    """

    code: str
    facts: tuple[Fact, ...]
    checked: Fact | None
    differs: bool

    @property
    def body(self) -> ConcentrateLabel:
        """The label as read first."""
        body = self.facts[-1].body
        if not isinstance(body, ConcentrateLabel):
            raise TypeError("not a label")
        return body

    @property
    def goes_by(self) -> bool:
        """Whether sums may rest on it."""
        return self.checked is not None and len({fact.says for fact in self.facts}) == 1


def same_code(one: str, other: str) -> bool:
    """Whether two codes are the same, however their letters and spaces were typed."""
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def labels(standing: Facts) -> tuple[Label, ...]:
    """Every label on record, one for each code, in the order they were first read."""
    held: dict[str, list[Fact]] = {}
    for fact in standing.of("concentrate_label"):
        if isinstance(fact.body, ConcentrateLabel):
            held.setdefault(" ".join(fact.body.code.casefold().split()), []).append(fact)
    return tuple(_label(standing, facts) for facts in held.values())


def label_of(standing: Facts, code: str) -> Label | None:
    """The label of a code; None without one."""
    return next((one for one in labels(standing) if same_code(one.code, code)), None)


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
    code = newest.body.code if isinstance(newest.body, ConcentrateLabel) else ""
    return Label(code, tuple(facts), agreed[-1] if agreed else None, bool(earlier) and not agreed)
