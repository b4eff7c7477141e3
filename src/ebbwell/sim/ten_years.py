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
FIRST = datetime(2016, 4, 30, 20, 0, tzinfo=UTC)
NIGHTS_A_BATCH = 50
ANSWERS = ("breathless_chest_pain", "ill", "fever_feeling", "bleeding", "fall", "operation", "new_medicine")
WHEN = ("start", "min5", "min15", "", "", "before_off")


class Writer:
    """Makes drafts of one household with rising ids and a steady clock."""

    def __init__(self, ids: Ids, household: str, seed: int) -> None:
        self.ids = ids
        self.household = household
        self.chance = random.Random(seed)
        self.treatment: str | None = None

    def draft(self, body: Body, at: datetime, treatment: str | None = None) -> Draft:
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
            must_understand=must_understand(body),
        )
        return Draft(envelope, body)


def standing(writer: Writer) -> Iterator[Draft]:
    """The home, its people, and one prescription in force with its second check."""
    rulebook = load_rulebook()
    lines = {line: read_line(rulebook, line, typed) for line, typed in PRESCRIPTION.items()}
    at = FIRST - timedelta(days=1)
    yield writer.draft(Household(name=NAME, zone=ZONE, invented=True), at)
    yield writer.draft(Person(person=ILKA, name="Ilka Venn", roles=("dialysis",)), at)
    yield writer.draft(Person(person=BRAM, name="Bram Venn", roles=("carer",)), at)
    order = writer.draft(Prescription(number="3", giver=UNIT, valid_from="2016-04-29", lines=lines), at)
    yield order
    check = SecondCheck(of=(order.envelope.id,), how="person", values=lines, agrees=True)
    yield writer.draft(check, at)


def night(writer: Writer, index: int, order: str) -> list[Draft]:
    """One usual night of ENTRIES_A_NIGHT entries. order: id of the prescription in force."""
    opened = FIRST + timedelta(days=index)
    treatment = writer.ids.new()
    chance = writer.chance
    before = Decimal("66.3") + Decimal(chance.randrange(-5, 6)) / 10
    bodies: list[tuple[int, Body]] = [(0, _pinned(opened)), (2, _readback(order))]
    bodies += [(1, Answer(question=question, answer="no", step="S0")) for question in ANSWERS]
    bodies += [(3, Tick(step="S1")), (4, Waited(step="S3")), (20, Waited(step="S19"))]
    bodies += [(10 + i, Choice(step=f"S{i}", name=f"seen_{i}", option="as_usual")) for i in range(12, 18)]
    for item, (code, lot) in LOTS.items():
        bodies.append(
            (12, LotUsed(item=item, code=code, lot=f"{lot}-{index // 60}", expiry="2030-06-30", scanned=True))
        )
    for quantity, place, value, unit in (
        ("total_chlorine", "tank1", "0.03", "mg/L"),
        ("total_chlorine", "tank2", "0.02", "mg/L"),
        ("feed_conductivity", "", str(620 + chance.randrange(-9, 10)), "uS/cm"),
        ("product_conductivity", "", str(12 + chance.randrange(-2, 3)), "uS/cm"),
        ("weight_before", "", str(before), "kg"),
        ("systolic", "", str(138 + chance.randrange(-9, 10)), "mmHg"),
        ("diastolic", "", "76", "mmHg"),
        ("pulse", "", "72", "/min"),
        ("body_temperature", "", "36.6", "C"),
        ("heparin_strength", "", "1000", "units/mL"),
    ):
        bodies.append((40, Measured(quantity=quantity, place=place, value=value, unit=unit, typed=value)))
    figures = {"fluid_to_remove": "2.30 L", "removal_rate": "306.7 mL/h", "rinse_back": "0.3 L"}
    bodies.append((50, Plan(figures=figures, rests_on=(order,))))
    bodies.append((60, Connected(satisfied={"S5": (order,)}, shown=figures, plan=order)))
    for i, when in enumerate(WHEN):
        bodies.append((61 + i * 80, Reading(values=_row(chance), when=when)))
    bodies.append((63, Given(what="heparin_first_dose", amount="1500", unit="units")))
    bodies.append((300, Event(what="pressure alarm", words="arm bent", done="laid straight")))
    stopped = opened + timedelta(minutes=510)
    bodies.append((511, CameOff(times={"pump_stopped": stopped.isoformat()}, blood_returned="all")))
    bodies.append((512, Given(what="rinse_back", amount="0.3", unit="L")))
    for place in ("arterial", "venous"):
        bodies.append((525, Measured(quantity="bleeding_minutes", place=place, value="8", unit="min")))
    bodies.append((530, Measured(quantity="weight_after", value="64.5", unit="kg", typed="64.5")))
    bodies += [(531 + i, Choice(step=f"C{i}", name=f"after_{i}", option="done")) for i in range(5)]
    bodies.append((540, Safe()))
    cleaned = (opened + timedelta(minutes=550)).isoformat()
    heat = Disinfected(what="machine", agent="heat", started_at=cleaned, ended_at=cleaned, step="C16")
    bodies += [(590, heat), (600, Closed())]
    if len(bodies) != ENTRIES_A_NIGHT:
        raise ValueError(f"a night of {len(bodies)} entries, not {ENTRIES_A_NIGHT}")
    return [writer.draft(body, opened + timedelta(minutes=minute), treatment) for minute, body in bodies]


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
    with store.write() as transaction:
        written = [transaction.append(draft) for draft in standing(writer)]
    order = next(entry.id for entry in written if entry.envelope.kind == "prescription")
    count = len(written)
    for first in range(NIGHTS - nights, NIGHTS, NIGHTS_A_BATCH):
        with store.write() as transaction:
            for index in range(first, min(first + NIGHTS_A_BATCH, NIGHTS)):
                for draft in night(writer, index, order):
                    transaction.append(draft)
                    count += 1
    return count
