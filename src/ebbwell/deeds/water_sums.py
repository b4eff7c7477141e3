"""Sums about the home's water from what is on record: litres, contact with carbon, what is left, what is due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from itertools import islice
from zoneinfo import ZoneInfo

from ebbwell.core.errors import DomainError
from ebbwell.core.quantity import Quantity
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_plant import present_limit
from ebbwell.journal.kinds.water import CarbonChanged, FilterPressure, MicrobeResult
from ebbwell.science.chlorine import ChlorineStep, ChlorineTest, chlorine_step
from ebbwell.science.supply import CarbonLife, CarbonNight, carbon_life, drain_water, reject_water, water_cost
from ebbwell.science.water import (
    contact_time,
    feed_needed,
    product_needed,
    rejection,
    softener_load,
    softener_nights,
)
from ebbwell.state.own_past import NightSummary, Past
from ebbwell.state.water import (
    as_day,
    carbon,
    feed_chlorine_then,
    microbes,
    newest_day,
    plant_number,
    reports,
    today,
)

NIGHTS = 20
"""Nights that are looked back over. Source: fluids:1.5 (the household's own last 20)."""

PACE_DAYS = 28
"""Days by which it is told how many nights a week there are. Own choice: four whole weeks."""

FAR = 1000
"""Nights ahead where a cartridge has no date on it."""

SIZE_OF = {"tank1": "carbon1", "tank2": "carbon2"}


@dataclass(frozen=True)
class NightWater:
    """What a night takes [L]; None where a figure for it isn't known. other_known: rinse and cleaning are in it.

    reject_l: straight from the membrane to the drain; drain_l: that and the spent fluid, without what comes off the
    person.
    """

    product_l: Decimal | None
    feed_l: Decimal | None
    reject_l: Decimal | None
    drain_l: Decimal | None
    cost: Decimal | None
    other_known: bool


def order_number(desk: Desk, line: str) -> Decimal | None:
    """A line of the order that is a number."""
    order = desk.scene.order
    text = order.lines.get(line, "") if order is not None else ""
    try:
        return Decimal(text) if text else None
    except InvalidOperation:
        return None


def night_water(desk: Desk) -> NightWater:
    """Product, feed, reject, drain and cost of a night as ordered. Source: fluids:1.8."""
    flow, minutes = order_number(desk, "dialysate_flow"), order_number(desk, "treatment_minutes")
    other = plant_number(desk.standing, "other_water")
    share, price = plant_number(desk.standing, "recovery"), plant_number(desk.standing, "price")
    if flow is None or minutes is None:
        return NightWater(None, None, None, None, None, other is not None)
    product = product_needed(
        dialysate_flow_ml_min=flow,
        treatment_min=minutes,
        other_use_l=other if other is not None else Decimal(0),
    )
    if share is None:
        return NightWater(product, None, None, None, None, other is not None)
    feed = feed_needed(product_l=product, recovery_percent=share)
    cost = water_cost(feed_l=feed, price_per_m3=price) if price is not None else None
    reject = reject_water(product_l=product, recovery_percent=share)
    drain = drain_water(feed_l=feed, removal_l=Decimal(0))
    return NightWater(product, feed, reject, drain, cost, other is not None)


@dataclass(frozen=True)
class FeedFlow:
    """What passes the carbon [L/min]. entered: as the household typed it; by_order: dialysis fluid / recovery."""

    entered: Decimal | None
    by_order: Decimal | None
    fluid: Decimal | None

    @property
    def taken(self) -> Decimal | None:
        """The larger of the two: it gives the shorter contact."""
        known = [flow for flow in (self.entered, self.by_order) if flow is not None]
        return max(known, default=None)


def feed_flow(desk: Desk) -> FeedFlow:
    """The feed flow, never the product's or the dialysis fluid's. Source: fluids:1.4."""
    fluid, share = order_number(desk, "dialysate_flow"), plant_number(desk.standing, "recovery")
    litres = fluid / 1000 if fluid else None
    by_order = feed_needed(product_l=litres, recovery_percent=share) if litres and share is not None else None
    return FeedFlow(plant_number(desk.standing, "feed_flow"), by_order, litres)


def carbon_litres(desk: Desk, tank: str) -> Decimal | None:
    """Carbon in a tank [L]: of its newest change, else of the plant."""
    held = carbon(desk.standing).get(tank)
    if held is not None and held[1].carbon_l:
        return Decimal(held[1].carbon_l)
    return plant_number(desk.standing, SIZE_OF[tank])


def contacts(desk: Desk) -> dict[str, Decimal]:
    """Tank to its contact time [min] at the feed flow; a tank with nothing known isn't in it. Source: fluids:W12."""
    flow = feed_flow(desk).taken
    if flow is None:
        return {}
    found = {}
    for tank in SIZE_OF:
        litres = carbon_litres(desk, tank)
        if litres is not None:
            found[tank] = contact_time(carbon_l=litres, feed_flow_l_min=flow)
    return found


@dataclass(frozen=True)
class CarbonUse:
    """A tank since its change. nights: with blood since; litres: feed through it, None without a night's feed.

    life: nights left, None without rated mg or the chlorine of the tap water. days_left: to the date on it.
    """

    change: CarbonChanged
    nights: int
    litres: Decimal | None
    life: CarbonLife | None
    days_left: int | None


def past_nights(desk: Desk) -> Iterator[NightSummary]:
    """Nights on which blood ran, newest first."""
    past = desk.past if isinstance(desk.past, Past) else Past(desk.past)
    return (night for night in past.opened_before(desk.now.at) if night.first_blood is not None)


def carbon_use(desk: Desk, tank: str) -> CarbonUse | None:
    """What a tank has treated since its change, and what is left. Source: fluids:1.4."""
    held = carbon(desk.standing).get(tank)
    if held is None:
        return None
    body = held[1]
    nights = 0
    for night in past_nights(desk):
        if night.night < body.on:
            break
        nights += 1
    feed = night_water(desk).feed_l
    litres = feed * nights if feed is not None else None
    end = as_day(body.use_by)
    days = (end - today(desk.now)).days if end is not None else None
    return CarbonUse(body, nights, litres, _life(desk, body, nights, feed, days), days)


def _life(
    desk: Desk, body: CarbonChanged, nights: int, feed: Decimal | None, days: int | None
) -> CarbonLife | None:
    least = plant_number(desk.standing, "feed_chlorine_least")
    most = plant_number(desk.standing, "feed_chlorine_most")
    if not body.rated_mg or feed is None or most is None or nights == 0:
        return None
    low = most if least is None else least
    to_date = FAR if days is None else max(0, int(days * nights_a_day(desk)))
    since = [night.opened_at for night in islice(past_nights(desk), nights)]
    risen = feed_chlorine_then(desk.standing, since[::-1])
    rows = ([most] * nights, [low] * nights, *([risen] if risen else []))
    try:
        ends = [
            carbon_life(
                [CarbonNight(feed, Quantity(chlorine, "mg/L")) for chlorine in row],
                rated_mg=Decimal(body.rated_mg),
                feed_l_a_night=feed,
                nights_to_date=to_date,
            )
            for row in rows
        ]
    except DomainError:
        return None
    fewest = min(end.fewest for end in (ends[0], *ends[2:]))
    return CarbonLife(ends[0].taken_up_mg, fewest, ends[1].most, ends[1].by_date)


def nights_a_day(desk: Desk) -> Decimal:
    """How many nights there are to a day, by the last four weeks."""
    since = desk.now.at - timedelta(days=PACE_DAYS)
    count = 0
    for night in past_nights(desk):
        if night.opened_at < since:
            break
        count += 1
    return Decimal(count) / PACE_DAYS


@dataclass(frozen=True)
class Softener:
    """load_g: of a night, as CaCO3. nights: whole nights between two regenerations; None without a capacity."""

    load_g: Decimal
    nights: Decimal | None


def softener(desk: Desk) -> Softener | None:
    """What a night takes of the softener; None where hardness or feed isn't known. Source: fluids:1.6."""
    hardness, feed = plant_number(desk.standing, "hardness"), night_water(desk).feed_l
    if hardness is None or feed is None:
        return None
    load = softener_load(hardness_mg_l=hardness, feed_l=feed)
    capacity = plant_number(desk.standing, "softener")
    nights = None
    if capacity is not None and load >= Decimal("0.1"):
        share = present_limit(desk, "softener_share")
        nights = softener_nights(capacity_g=capacity, load_g=load, share_used_percent=share)
    return Softener(load, nights)


@dataclass(frozen=True)
class NightValue:
    """A value of one night. at: when that night began."""

    night: str
    at: datetime
    value: Decimal
    below: bool = False
    method: str = ""


def values(desk: Desk, key: str) -> tuple[NightValue, ...]:
    """A value of each of the last 20 evenings that were opened, called off ones among them, oldest first."""
    past = desk.past if isinstance(desk.past, Past) else Past(desk.past)
    found = []
    name, _, place = key.partition("@")
    for night in islice(past.opened_before(desk.now.at), NIGHTS):
        text = night.values.get(key, "")
        try:
            number = Decimal(text.removeprefix("<")) if text else None
        except InvalidOperation:
            number = None
        if number is not None and number.is_finite():
            method = next(
                (t.method for t in reversed(night.tests) if (t.quantity, t.place) == (name, place)), ""
            )
            found.append(
                NightValue(
                    night.night, night.first_blood or night.opened_at, number, text.startswith("<"), method
                )
            )
    return tuple(reversed(found))


def rejections(desk: Desk) -> tuple[tuple[NightValue, NightValue, Decimal], ...]:
    """Feed, product and rejection [%] of each night with both, oldest first. Source: fluids:W15."""
    feed = {one.at: one for one in values(desk, "feed_conductivity")}
    found = []
    for product in values(desk, "product_conductivity"):
        into = feed.get(product.at)
        if into is not None and into.value >= 1 and product.value <= into.value:
            share = rejection(feed_conductivity_us_cm=into.value, product_conductivity_us_cm=product.value)
            found.append((into, product, share))
    return tuple(found)


def carbon_to_order(desk: Desk) -> bool:
    """Whether the last three tests after tank 1 were all over the line for watching. Source: fluids:1.3, rule 1."""
    row = values(desk, "total_chlorine@tank1")
    if not row:
        return False
    tests = [
        ChlorineTest(
            Quantity(one.value, "mg/L", one.below),
            one.method or "meter",
            Decimal("0.01"),
            reagent_in_date=True,
            control_coloured=True,
        )
        for one in row
    ]
    step = chlorine_step(
        tests[-1],
        earlier=tests[:-1],
        limit_mg_l=present_limit(desk, "chlorine"),
        rising_mg_l=present_limit(desk, "chlorine_rising"),
    )
    return step is ChlorineStep.ORDER_CARBON


@dataclass(frozen=True)
class Due:
    """Something that comes round. what: its name. last: the day it was done, None for none on record.

    on: the day it is due, None where none is on record. by_unit: the interval is the unit's own. every: days, 0 for
    each night.
    """

    what: str
    last: date | None
    on: date | None
    every: int
    by_unit: bool

    def is_due(self, here: date) -> bool:
        """Whether it is due on a day: also where nobody knows when it was done."""
        return self.on is None or self.on <= here


def due(desk: Desk) -> tuple[Due, ...]:
    """What comes round between nights, by the unit's own intervals where it gave them. Source: fluids:1.9."""
    standing = desk.standing
    results = [view.body for view in microbes(standing)]
    looks = [(f.at, f.body) for f in standing.of("filter_pressure") if isinstance(f.body, FilterPressure)]
    gauges = [home_day(desk, at) for at, _ in looks]
    hardness = [one.night for one in values(desk, "hardness")]
    hardness += [home_day(desk, at) for at, body in looks if body.hardness_after]
    rows = [
        ("hardness", newest_day(hardness), "hardness_days", "gauges_due"),
        ("filters", newest_day(gauges), "filter_days", "gauges_due"),
        *(
            (f"{what}_{kind}", newest_day(_sampled(results, what, kind)), "microbes_days", "microbes_due")
            for kind in ("water", "fluid")
            for what in ("microbe", "endotoxin")
        ),
        (
            "report",
            newest_day(view.body.sampled_on for view in reports(standing)),
            "report_days",
            "report_due",
        ),
    ]
    return tuple(_due(desk, *row) for row in rows)


def home_day(desk: Desk, at: datetime) -> str:
    """The day of an instant on the home's clock, as it is stored."""
    return at.astimezone(ZoneInfo(desk.now.zone)).date().isoformat()


def _sampled(results: list[MicrobeResult], what: str, kind: str) -> list[str]:
    return [
        body.sampled_on
        for body in results
        if body.fluid.startswith(kind) and (body.count if what == "microbe" else body.endotoxin)
    ]


def _due(desk: Desk, what: str, last: date | None, own: str, limit: str) -> Due:
    days = plant_number(desk.standing, own)
    every = int(days if days is not None else present_limit(desk, limit))
    return Due(
        what, last, last + timedelta(days=every) if last is not None else None, every, days is not None
    )
