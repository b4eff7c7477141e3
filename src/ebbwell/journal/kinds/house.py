"""Who and where: the household, its people, what each is signed off for, hand-overs, own texts, erasure."""

from __future__ import annotations

from ebbwell.journal.kinds.base import Body, register


@register
class Household(Body, frozen=True, kw_only=True):
    """The home. invented: demo data, marked so on every page and paper. carbon_tanks: in series, before the machine."""

    KIND = "household"
    name: str
    zone: str
    invented: bool = False
    carbon_tanks: int = 2


@register
class Person(Body, frozen=True, kw_only=True):
    """Someone of the household or its helpers. roles: ``dialysis``, ``carer``, ``stand_in``, ``clinic``."""

    KIND = "person"
    person: str
    name: str
    roles: tuple[str, ...]


@register
class Skill(Body, frozen=True, kw_only=True):
    """What a person may do alone. skill: ``set_up``, ``needle``, ``connect``, ``watch``, ``come_off``."""

    KIND = "skill"
    MUST_UNDERSTAND = True
    person: str
    skill: str
    signed_off: bool
    signed_by: str
    signed_on: str


@register
class HandedOver(Body, frozen=True, kw_only=True):
    """The night is given to another carer, or another machine takes the treatment over.

    stage: ``offered`` (the giver still holds it), ``accepted`` (by the receiver), ``store`` (this store takes
    the treatment over: every hold point reopens). offer: id of the offer that an acceptance answers.
    """

    KIND = "handed_over"
    MUST_UNDERSTAND = True
    stage: str
    to_person: str = ""
    offer: str = ""
    six_lines: tuple[str, ...] = ()


@register
class Erased(Body, frozen=True, kw_only=True):
    """A body was lawfully erased: which entry, on what ground, by whose authority."""

    KIND = "erased"
    of: str
    ground: str
    authority: str


@register
class FirstAction(Body, frozen=True, kw_only=True):
    """What the unit wants done first, in its own words, for one situation. Void after valid_until (a date, or "").

    situation: one of ``SITUATIONS``. signed_by, signed_on: who of the unit stands for the words, and the date.
    """

    KIND = "first_action"
    situation: str
    words: str
    signed_by: str
    signed_on: str
    valid_until: str = ""


SITUATIONS = (
    "bleeding",
    "air",
    "alarm_stays",
    "faint",
    "power_cut",
    "water_leak",
    "chest_pain",
    "cannot_wake",
)
"""What first actions are written for: needle out or bleeding, air, a machine alarm that won't clear, and so on."""


@register
class EmergencyDetails(Body, frozen=True, kw_only=True):
    """What is read out on the phone: the number to call, the address, how to find the door; the unit's own numbers.

    unit_number, unit_hours: the unit's number and when it answers, in words. unit_other: its number at other hours.
    """

    KIND = "emergency_details"
    number: str
    address: str
    how_to_find: str = ""
    unit_number: str = ""
    unit_hours: str = ""
    unit_other: str = ""


@register
class FieldOrder(Body, frozen=True, kw_only=True):
    """The fields of a reading that this household types, in its order. Names: rulebook/quantities.toml."""

    KIND = "field_order"
    fields: tuple[str, ...]


HEARD = ("written", "phone")
"""How the unit's word came: on paper or by message, or on the phone."""


@register
class LimitChanged(Body, frozen=True, kw_only=True):
    """A limit is set to another figure, within its bounds. value: a decimal string in unit, the limit's own.

    allowed_by, how: who of the unit allowed it, and one of HEARD; "" where the household owns the limit.
    """

    KIND = "limit_changed"
    MUST_UNDERSTAND = True
    limit: str
    value: str
    unit: str
    reason: str
    allowed_by: str = ""
    how: str = ""


@register
class StepsAdopted(Body, frozen=True, kw_only=True):
    """The household's own text of the steps, for nights opened from here on; "" = the shipped ones again."""

    KIND = "steps_adopted"
    MUST_UNDERSTAND = True
    text: str
