"""Ten years of nights in one record, for benchmarks: 3,650 treatments of 60 entries each, real bodies, one chain.

Written in batches rather than deed by deed, so that it takes seconds. Everything in it is invented.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from ebbwell.core.clock import Moment
from ebbwell.core.ids import Ids
from ebbwell.journal.envelope import Envelope
from ebbwell.journal.kinds import Body, kind_of, must_understand
from ebbwell.journal.kinds.house import Household, Person
from ebbwell.journal.kinds.marks import Answer, Choice, LotUsed, Measured, Tick, Waited
from ebbwell.journal.kinds.night import CameOff, Closed, Connected, Disinfected, Event, Given, Reading, Safe
from ebbwell.journal.kinds.orders import Pinned, Plan, Prescription, Readback, SecondCheck
from ebbwell.journal.store.base import Draft, Store
from ebbwell.procedure.load import load_procedure
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.typed import read_line
from ebbwell.science.catalogue import formulas_digest
from ebbwell.sim.household import BRAM, ILKA, LOTS, NAME, PRESCRIPTION, UNIT, ZONE

NIGHTS = 3_650
ENTRIES_A_NIGHT = 60
NIGHTS_AN_ORDER = 30
"""Nights after which the clinic writes a new prescription."""
FIRST = datetime(2016, 4, 30, 20, 0, tzinfo=UTC)
NIGHTS_A_BATCH = 50
ANSWERS = ("breathless_chest_pain", "ill", "fever_feeling", "bleeding", "fall", "operation")
WHEN = ("start", "min5", "min15", "", "", "before_off")
CHOICES_BEFORE, CHOICES_AFTER = 6, 5


class Writer:
    """Makes drafts of one household with rising ids and a steady clock."""

    def __init__(self, ids: Ids, household: str, seed: int) -> None:
        self.ids = ids
        self.household = household
        self.chance = random.Random(seed)

    def draft(
        self, body: Body, at: datetime, treatment: str | None = None, replaces: tuple[str, ...] = ()
    ) -> Draft:
        """A draft of a body, seen and written at the same instant."""
        kind, version = kind_of(body)
        moment = Moment(at, ZONE, "boot", int(at.timestamp() * 1000))
        envelope = Envelope(
            id=self.ids.new(),
            kind=kind,
            version=version,
            household=self.household,
            treatment=treatment,
            at=at,
            zone=ZONE,
            offset=moment.offset,
            recorded_at=at,
            boot=moment.boot,
            mono=moment.mono,
            by=BRAM,
            replaces=replaces,
            reason="a newer prescription" if replaces else None,
            must_understand=must_understand(body),
        )
        return Draft(envelope, body)


def home(writer: Writer) -> list[Draft]:
    """The home and its people."""
    at = FIRST - timedelta(days=1)
    return [
        writer.draft(Household(name=NAME, zone=ZONE, invented=True), at),
        writer.draft(Person(person=ILKA, name="Ilka Venn", roles=("dialysis",)), at),
        writer.draft(Person(person=BRAM, name="Bram Venn", roles=("carer",)), at),
    ]


def prescribed(writer: Writer, index: int, before: str) -> tuple[Draft, Draft]:
    """The prescription that holds from a night on, and its second check. before: id of the one it takes over from."""
    rulebook = load_rulebook()
    lines = {line: read_line(rulebook, line, typed) for line, typed in PRESCRIPTION.items()}
    at = FIRST + timedelta(days=index, hours=-6)
    body = Prescription(
        number=str(1 + index // NIGHTS_AN_ORDER), giver=UNIT, valid_from=at.date().isoformat(), lines=lines
    )
    order = writer.draft(body, at, replaces=(before,) if before else ())
    check = SecondCheck(of=(order.envelope.id,), how="reread", values=lines, agrees=True)
    return order, writer.draft(check, at + timedelta(minutes=1))


class _Night:
    def __init__(self, writer: Writer, index: int) -> None:
        self.writer = writer
        self.opened = FIRST + timedelta(days=index)
        self.treatment = writer.ids.new()
        self.drafts: list[Draft] = []

    def add(self, minute: int, *bodies: Body) -> tuple[str, ...]:
        """Entries of one minute of the night; gives their ids."""
        at = self.opened + timedelta(minutes=minute)
        new = [self.writer.draft(body, at, self.treatment) for body in bodies]
        self.drafts += new
        return tuple(draft.envelope.id for draft in new)


def night(writer: Writer, index: int, order: str) -> list[Draft]:
    """One usual night of ENTRIES_A_NIGHT entries. order: id of the prescription in force."""
    made = _Night(writer, index)
    chance = writer.chance
    made.add(0, _pinned(made.opened))
    made.add(1, *(Answer(question=question, answer="no", step="S0") for question in ANSWERS))
    read = made.add(2, _readback(order))
    made.add(3, Tick(step="S1"), Waited(step="S3"))
    made.add(5, *_lots(index))
    water = made.add(
        20,
        _value("total_chlorine", "0.03", "mg/L", "tank1"),
        _value("total_chlorine", "0.02", "mg/L", "tank2"),
        _value("feed_conductivity", 620 + chance.randrange(-9, 10), "uS/cm"),
        _value("product_conductivity", 12 + chance.randrange(-2, 3), "uS/cm"),
    )
    values = {"total_chlorine@tank1": "0.03"}
    made.add(21, SecondCheck(of=water[:1], how="photo", values=values, agrees=True, step="S5"))
    made.add(25, Waited(step="S19"), *_choices(("setup", "needles"), CHOICES_BEFORE))
    weight = Decimal("66.3") + Decimal(chance.randrange(-5, 6)) / 10
    body = made.add(
        40,
        _value("weight_before", weight, "kg"),
        _value("systolic", 138 + chance.randrange(-9, 10), "mmHg"),
        _value("diastolic", 76, "mmHg"),
        _value("pulse", 72, "/min"),
        _value("body_temperature", "36.6", "C"),
        _value("heparin_strength", 1000, "units/mL"),
    )
    figures = {"fluid_to_remove": "2.30 L", "removal_rate": "306.7 mL/h", "rinse_back": "0.3 L"}
    plan = made.add(50, Plan(figures=figures, rests_on=(order, body[0], *water[2:])))
    satisfied = {"S2": read, "S5": water[:1], "S5b": water[1:2], "S6": water[2:], "S29": body[:1]}
    made.add(60, Connected(satisfied=satisfied, shown=figures, plan=plan[0]))
    made.add(61, Given(what="heparin_first_dose", amount="1500", unit="units"))
    for place, when in enumerate(WHEN):
        made.add(62 + place * 85, Reading(values=_row(chance), when=when))
    made.add(490, Event(what="pressure alarm", words="arm bent", done="laid straight"))
    stopped = (made.opened + timedelta(minutes=510)).isoformat()
    made.add(511, CameOff(times={"pump_stopped": stopped}, blood_returned="all"))
    made.add(512, Given(what="rinse_back", amount="0.3", unit="L"))
    made.add(525, *(_value("bleeding_minutes", 8, "min", place) for place in ("arterial", "venous")))
    made.add(530, _value("weight_after", "64.5", "kg"), *_choices(("come_off", "after"), CHOICES_AFTER))
    made.add(540, Safe())
    started, ended = ((made.opened + timedelta(minutes=minute)).isoformat() for minute in (550, 590))
    made.add(590, Disinfected(what="machine", agent="heat", started_at=started, ended_at=ended, step="C16"))
    made.add(600, Closed())
    if len(made.drafts) != ENTRIES_A_NIGHT:
        raise ValueError(f"a night of {len(made.drafts)} entries, not {ENTRIES_A_NIGHT}")
    return made.drafts


def _value(quantity: str, value: object, unit: str, place: str = "") -> Measured:
    return Measured(quantity=quantity, place=place, value=str(value), unit=unit, typed=str(value))


def _lots(index: int) -> Iterator[LotUsed]:
    """The packs in the cupboard; a new carton, with its own lot, every 60 nights."""
    expiry = (FIRST + timedelta(days=index + 400)).date().isoformat()
    for item, (code, lot) in LOTS.items():
        yield LotUsed(item=item, code=code, lot=f"{lot}-{index // 60}", expiry=expiry, scanned=True)


def _choices(stages: tuple[str, ...], most: int) -> list[Choice]:
    """The first choices of some stages, each with the word that meets its step."""
    found = [
        Choice(step=step.id, name=evidence.name, option=option[0])
        for step in load_procedure().steps
        for evidence in step.evidence
        if step.stage in stages and evidence.form == "choice"
        if (option := step.wants.get(evidence.name) or step.options[evidence.name])
    ]
    return found[:most]


def _pinned(opened: datetime) -> Pinned:
    procedure, rulebook = load_procedure(), load_rulebook()
    return Pinned(
        night=opened.date().isoformat(),
        procedure=procedure.id,
        procedure_digest=procedure.digest,
        rulebook_digest=rulebook.digest,
        formulas_digest=formulas_digest(),
    )


def _readback(order: str) -> Readback:
    return Readback(prescription=order, shown={"target_weight": "64.5"})


def _row(chance: random.Random) -> dict[str, str]:
    return {
        "systolic": str(128 + chance.randrange(-9, 10)),
        "diastolic": "72",
        "pulse": "70",
        "blood_flow": "230",
        "arterial_pressure": str(-90 + chance.randrange(-8, 9)),
        "venous_pressure": str(120 + chance.randrange(-6, 7)),
    }


def fill(store: Store, ids: Ids, *, nights: int = NIGHTS, seed: int = 1) -> int:
    """Fill an empty store. Gives the number of entries written. nights: 1 to NIGHTS, ending in April 2026."""
    writer = Writer(ids, ids.new(), seed)
    order = ""
    drafts = home(writer)
    count = 0
    for index in range(NIGHTS - nights, NIGHTS):
        if not order or index % NIGHTS_AN_ORDER == 0:
            written = prescribed(writer, index, order)
            order = written[0].envelope.id
            drafts += written
        drafts += night(writer, index, order)
        if (index + 1) % NIGHTS_A_BATCH == 0 or index == NIGHTS - 1:
            with store.write() as transaction:
                for draft in drafts:
                    transaction.append(draft)
            count += len(drafts)
            drafts = []
    return count
