"""What people say and set by the bed: not tonight, a note on a sheet, reminders, checks made again, samples."""

from __future__ import annotations

from ebbwell.journal.kinds.base import Body, register


@register
class NotTonight(Body, frozen=True, kw_only=True):
    """The person on dialysis says: not tonight. No reason is needed. said_by: ``person`` or ``carer`` for them."""

    KIND = "not_tonight"
    MUST_UNDERSTAND = True
    words: str = ""
    said_by: str = "person"


@register
class Annotation(Body, frozen=True, kw_only=True):
    """A note on the sheet of a treatment, in somebody's own words. said_by: ``person`` or ``carer``."""

    KIND = "annotation"
    words: str
    said_by: str = "person"


@register
class Reminders(Body, frozen=True, kw_only=True):
    """Reminders of one device. stage: ``on``, ``off``, or ``silent`` (its page no longer answers).

    heard: somebody heard the real sound. wake_lock: the screen stays awake. since: UTC instant of the last sign of
    life, of a silent one.
    """

    KIND = "reminders"
    stage: str
    device: str
    heard: bool = False
    wake_lock: bool = False
    since: str = ""


@register
class Rechecked(Body, frozen=True, kw_only=True):
    """A check made again in mid-night. aside: ``on_again`` or ``new_set``. check: procedure/data/asides.toml."""

    KIND = "rechecked"
    aside: str
    check: str
    option: str
    words: str = ""


WHY_BY_HAND = ("power", "machine", "leaving", "other")
"""Why blood is given back by hand. Source: practice:d1, d2."""


@register
class BloodByHand(Body, frozen=True, kw_only=True):
    """Blood given back with the pump turned by hand. why: one of ``WHY_BY_HAND``.

    started_at, ended_at: UTC instants, "" where nobody knows. amount: mL as a decimal string, "" where not known.
    """

    KIND = "blood_by_hand"
    MUST_UNDERSTAND = True
    why: str
    started_at: str = ""
    ended_at: str = ""
    amount: str = ""
    words: str = ""


SAMPLE_WHEN = ("before", "after")
SAMPLE_HOW = ("as_taught", "otherwise")


@register
class SampleDue(Body, frozen=True, kw_only=True):
    """Samples are to be drawn tonight. samples: what, in the words of the unit. when: ``before`` or ``after``."""

    KIND = "sample_due"
    samples: tuple[str, ...]
    when: str
    ordered_by: str = ""
    words: str = ""


@register
class SampleTaken(Body, frozen=True, kw_only=True):
    """One sample drawn. of: the entry that asked for it. label: what is on the tube. how: picked words."""

    KIND = "sample_taken"
    sample: str
    when: str
    of: str = ""
    label: str = ""
    how: str = ""
    words: str = ""
