"""What the clinic ordered and said: prescription, amended lines, second checks, read-back, advice."""

from __future__ import annotations

import msgspec

from ebbwell.journal.kinds.base import Body, register


@register
class Prescription(Body, frozen=True, kw_only=True):
    """The clinic's order, transcribed whole. In force only after a second check.

    lines: line name (rulebook/quantities.toml, table ``[line]``) to what the paper says, a decimal string in
    the line's unit or a word. number: the clinic's own number of the order. valid_from: date, YYYY-MM-DD.
    """

    KIND = "prescription"
    MUST_UNDERSTAND = True
    number: str
    giver: str
    valid_from: str
    lines: dict[str, str]
    free_text: str = ""


@register
class LineAmended(Body, frozen=True, kw_only=True):
    """One line changed, by phone or on paper. read_back: the value as the carer read it back aloud.

    written_awaited: the written confirmation is still to come. during: the treatment that was open when it was taken
    down, "" for none. tonight_only: it holds for that night alone, and with none open for the next one opened within
    24 hours; such a change waits for no paper.
    """

    KIND = "line_amended"
    MUST_UNDERSTAND = True
    prescription: str
    line: str
    value: str
    giver: str
    read_back: str
    written_awaited: bool
    during: str = ""
    tonight_only: bool = False


@register
class SecondCheck(Body, frozen=True, kw_only=True):
    """A second, independent reading of something. of: the entry it checks.

    how: ``person`` (a second person), ``reread`` (same person from the object, first value hidden),
    ``photo``, ``scan``, ``blind`` (setting typed against the plan). values: what was read this time; agrees:
    compared at once.
    """

    KIND = "second_check"
    MUST_UNDERSTAND = True
    of: tuple[str, ...]
    how: str
    values: dict[str, str]
    agrees: bool
    step: str = ""


@register
class Readback(Body, frozen=True, kw_only=True):
    """Tonight's prescription read from the paper and compared: the figures as they were shown."""

    KIND = "readback"
    prescription: str
    amendments: tuple[str, ...] = ()
    shown: dict[str, str]
    step: str = "S2"


OUTCOMES = ("said", "no_answer", "not_called")
"""What came of a call to the unit: somebody spoke, nobody answered, or nobody has called yet."""

UNANSWERED = OUTCOMES[1:]
"""Those in which nobody at the unit said anything."""


@register
class Advice(Body, frozen=True, kw_only=True):
    """The unit's advice: who said it, in their words. about: rule ids or step ids it speaks to.

    outcome: one of OUTCOMES. Only ``said`` is the unit's word; of the others ``who`` is whoever was called, "" for
    nobody by name, and ``words`` what the carer says of it.
    """

    KIND = "advice"
    MUST_UNDERSTAND = True
    who: str
    words: str
    about: tuple[str, ...] = ()
    allows: bool = False
    outcome: str = "said"

    @property
    def spoken(self) -> bool:
        """Whether somebody at the unit said something; else it answers no call and allows no step."""
        return self.outcome == "said"


@register
class Pinned(Body, frozen=True, kw_only=True):
    """Opens a treatment: its night, and digests of procedure, rulebook and formulas it is judged by.

    night: date on which set-up began, in the home zone. texts: digest to the text itself, where the journal
    doesn't hold it already.
    """

    KIND = "pinned"
    MUST_UNDERSTAND = True
    night: str
    procedure: str
    procedure_digest: str
    rulebook_digest: str
    formulas_digest: str
    texts: dict[str, str] = msgspec.field(default_factory=dict)


@register
class Plan(Body, frozen=True, kw_only=True):
    """Tonight's figures as shown when they were agreed. figures: name to text with unit.

    rests_on: ids of the entries that went in; once one of them is replaced the plan is void. given: what was expected
    for tonight, typed with the plan: drink, saline, losses, removal_by_unit [L] and start_at, a UTC instant. limits: the
    limits that it was judged by, each a decimal string in the limit's unit.
    """

    KIND = "plan"
    figures: dict[str, str]
    rests_on: tuple[str, ...]
    findings: tuple[str, ...] = ()
    given: dict[str, str] = msgspec.field(default_factory=dict)
    limits: dict[str, str] = msgspec.field(default_factory=dict)
