"""The night itself: connect, readings, events, stop, coming off, closing."""

from __future__ import annotations

import msgspec

from ebbwell.journal.kinds.base import Body, register


@register
class Connected(Body, frozen=True, kw_only=True):
    """First blood, through the gate.

    satisfied: step id to the ids of the entries that met it. shown: figures as shown.
    """

    KIND = "connected"
    MUST_UNDERSTAND = True
    satisfied: dict[str, tuple[str, ...]]
    shown: dict[str, str]
    plan: str


@register
class AlreadyRunning(Body, frozen=True, kw_only=True):
    """Blood was found running, or the treatment was started without the gate. Never refused.

    open_holds: the hold points that were open; each is a finding. start_not_known: nobody knows when blood began to
    run; the entry's time is then only one by which it ran.
    """

    KIND = "already_running"
    MUST_UNDERSTAND = True
    open_holds: tuple[str, ...]
    words: str = ""
    start_not_known: bool = False


@register
class Reading(Body, frozen=True, kw_only=True):
    """A row of values. values: quantity to decimal string in its unit; missing: quantity to the reason.

    typed: quantity to what was typed at first, where asking showed that its sign was a slip and the other was taken.
    made_under: of a row that a screen held back without its server, the prescription and procedure that it showed.
    entered: quantity to what was typed with its unit, where that is another one than the quantity's: ``98.6 F``.
    membrane_form: how the pressure across the membrane was formed, as ``state.membrane`` names it; "" for not known.
    """

    KIND = "reading"
    values: dict[str, str] = msgspec.field(default_factory=dict)
    missing: dict[str, str] = msgspec.field(default_factory=dict)
    asked: tuple[str, ...] = ()
    typed: dict[str, str] = msgspec.field(default_factory=dict)
    words: str = ""
    when: str = ""
    made_under: str = ""
    entered: dict[str, str] = msgspec.field(default_factory=dict)
    membrane_form: str = ""


SYMPTOMS = (
    "chest_pain",
    "breathless",
    "dizzy_faint",
    "bleeding",
    "cold_shivering",
    "itching_wheezing",
    "cramp",
    "headache",
    "sick",
    "arm_pain",
    "other",
)
"""What the person can pick to say how they feel. Source: practice:d2."""


@register
class Event(Body, frozen=True, kw_only=True):
    """Something happened: an alarm, a bad turn, a symptom. said_by: ``carer`` or ``person``.

    symptom: one of ``SYMPTOMS``, where it was picked; ``what`` then repeats it. made_under: as of a ``Reading``.
    """

    KIND = "event"
    what: str
    symptom: str = ""
    words: str = ""
    done: str = ""
    said_by: str = "carer"
    made_under: str = ""


@register
class Given(Body, frozen=True, kw_only=True):
    """Something went in: saline, a medicine, a drink. amount: decimal string.

    medicine: it is one. ordered_by: who at the clinic ordered it; "" where nobody said.
    """

    KIND = "given"
    what: str
    amount: str
    unit: str
    words: str = ""
    medicine: bool = False
    ordered_by: str = ""


@register
class Stop(Body, frozen=True, kw_only=True):
    """Stop now: from any state, no reason needed. said_by: ``carer`` or ``person``. made_under: as of a ``Reading``."""

    KIND = "stop"
    MUST_UNDERSTAND = True
    words: str = ""
    said_by: str = "carer"
    made_under: str = ""


BLOOD_WHILE_OFF = ("circulating", "given_back")
"""Where the blood is while the person is off for a while."""


@register
class Off(Body, frozen=True, kw_only=True):
    """Off for a while, to come on again with the same set.

    blood: ``circulating`` (the blood goes round in the set), ``given_back``, or "" where nobody said.
    """

    KIND = "off"
    MUST_UNDERSTAND = True
    words: str = ""
    blood: str = ""


@register
class On(Body, frozen=True, kw_only=True):
    """On again after ``off``."""

    KIND = "on"
    MUST_UNDERSTAND = True
    words: str = ""


@register
class NewSet(Body, frozen=True, kw_only=True):
    """A new set in mid-night: hours, fluid, heparin and stock carry over.

    blood_returned: of the old set: ``all``, ``part``, ``none``, or "" where nobody said. why: ``WHY_NEW_SET``.
    """

    KIND = "new_set"
    MUST_UNDERSTAND = True
    words: str = ""
    why: str = ""
    blood_returned: str = ""


WHY_NEW_SET = ("clotted", "leak", "air", "touched", "other")
"""Why a set is changed in mid-night. Source: practice:d2."""


BLOOD = ("all", "part", "none")
"""How much blood was given back."""


@register
class CameOff(Body, frozen=True, kw_only=True):
    """Off the machine.

    times: name to UTC instant, of ``pump_stopped``, ``removal_ended``, ``rinse_back_ended``.
    blood_returned: ``all``, ``part``, ``none``, or "" while nobody said.
    """

    KIND = "came_off"
    MUST_UNDERSTAND = True
    times: dict[str, str]
    blood_returned: str
    words: str = ""


@register
class Safe(Body, frozen=True, kw_only=True):
    """Person safe: needles out, bleeding stopped. open_steps: what of C1 to C13 wasn't recorded."""

    KIND = "safe"
    MUST_UNDERSTAND = True
    open_steps: tuple[str, ...] = ()


@register
class Closed(Body, frozen=True, kw_only=True):
    """The sheet is closed. called_off: nothing ran tonight, and why in words."""

    KIND = "closed"
    MUST_UNDERSTAND = True
    called_off: bool = False
    words: str = ""


@register
class Disinfected(Body, frozen=True, kw_only=True):
    """Machine or water unit disinfected.

    agent: ``heat``, ``citric_heat``, ``hypochlorite``, ``peracetic``, ``other``.
    """

    KIND = "disinfected"
    MUST_UNDERSTAND = True
    what: str
    agent: str
    started_at: str
    ended_at: str
    lot: str = ""
    step: str = ""
