"""The water's figures in sentences: each with what it rests on, and what isn't known said so."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from statistics import median

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.thousands import thousands
from ebbwell.core.when import day
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.water_plant import TO_BAR, present_limit
from ebbwell.deeds.water_sums import (
    NightValue,
    carbon_litres,
    carbon_to_order,
    carbon_use,
    contacts,
    feed_flow,
    home_day,
    night_water,
    rejections,
    softener,
    values,
)
from ebbwell.journal.kinds.water import FilterPressure
from ebbwell.papers.own_figures import both_text
from ebbwell.science.catalogue import formula_named
from ebbwell.science.supply import flow_at_25_least, flow_at_25_most
from ebbwell.science.water import contact_time, recovery, reject_concentration
from ebbwell.state.water import FilterView, both_flows, filters, flows, plant, plant_number

TANKS = ("tank1", "tank2")


@dataclass(frozen=True)
class Part:
    """A part of the page. lines: what stands; care: what is to be looked at; why: what it rests on; to: its form."""

    name: str
    lines: tuple[str, ...]
    care: tuple[str, ...] = ()
    why: tuple[str, ...] = ()
    to: str = ""


def shown(name: str, value: Decimal) -> str:
    """A sum with its unit, rounded as its formula says."""
    formula = formula_named(name)
    return thousands(f"{formula.shown(value)} {formula.unit}".rstrip())


def parts(desk: Desk) -> tuple[Part, ...]:
    """All of them, in the order of the page."""
    return (
        chlorine(desk),
        held_back(desk),
        contact(desk),
        carbon(desk),
        softening(desk),
        gauges(desk),
        litres(desk),
    )


def _value(one: NightValue, unit: str) -> str:
    return f"{'<' if one.below else ''}{plain(one.value)} {unit}"


def _band(found: list[Decimal], unit: str) -> str:
    low, high = min(found), max(found)
    return (
        f"{plain(low)} {unit}"
        if low == high
        else say("web.water.band", low=plain(low), high=f"{plain(high)} {unit}")
    )


def chlorine(desk: Desk) -> Part:
    """The last test after each tank, the band of the last ones, and whether carbon is to be ordered."""
    lines: list[str] = []
    care: list[str] = []
    limit, rising = present_limit(desk, "chlorine"), present_limit(desk, "chlorine_rising")
    for tank in TANKS:
        row = values(desk, f"total_chlorine@{tank}")
        where = say(f"place.{tank}")
        if not row:
            lines.append(say("web.water.chlorine_none", where=where))
            continue
        lines.append(
            say(
                "web.water.chlorine_last",
                where=where,
                value=_value(row[-1], "mg/L"),
                night=day(row[-1].night),
            )
        )
        if tank == "tank1" and len(row) >= 4:
            half = len(row) // 2
            lines.append(
                say(
                    "web.water.chlorine_trend",
                    count=len(row),
                    before=_band([one.value for one in row[:half]], "mg/L"),
                    after=_band([one.value for one in row[half:]], "mg/L"),
                )
            )
    if carbon_to_order(desk):
        care.append(say("web.water.chlorine_rising", limit=f"{plain(rising)} mg/L"))
    steps = plant(desk.standing)[1].chlorine_steps
    why = (
        say("web.water.chlorine_limit", limit=f"{plain(limit)} mg/L"),
        say("web.water.chlorine_strip", limit=plain(limit)),
        say("web.water.chlorine_steps", steps=f"{steps} mg/L")
        if steps
        else say("web.water.chlorine_steps_none"),
    )
    return Part("chlorine", tuple(lines), tuple(care), why)


def held_back(desk: Desk) -> Part:
    """Rejection with both conductivities, held against the household's own nights, and the flow at 25 C."""
    lines: list[str] = []
    care: list[str] = []
    rows = rejections(desk)
    if rows:
        feed, product, share = rows[-1]
        lines.append(
            say(
                "web.water.rejection",
                share=shown("rejection", share),
                feed=f"{plain(feed.value)} uS/cm",
                product=f"{plain(product.value)} uS/cm",
                night=day(product.night),
            )
        )
        used = plant_number(desk.standing, "recovery")
        if used is not None:
            times = reject_concentration(recovery_percent=used, rejection_percent=share)
            salty = shown("reject_concentration", times)
            lines.append(say("web.water.reject_salt", times=salty, recovery=f"{plain(used)} %"))
        middle = median([row[2] for row in rows])
        if len(rows) > 1:
            lines.append(say("web.water.rejection_own", count=len(rows), middle=shown("rejection", middle)))
        fall = present_limit(desk, "rejection_fall")
        if middle - share >= fall:
            care.append(say("web.water.rejection_fallen", points=plain(fall)))
        if share < present_limit(desk, "rejection_least"):
            care.append(
                say("web.water.rejection_low", limit=f"{plain(present_limit(desk, 'rejection_least'))} %")
            )
    else:
        lines.append(say("web.water.rejection_none"))
    lines += _flow(desk)
    lines += _recovery(desk)
    return Part("rejection", tuple(lines), tuple(care), (say("web.water.rejection_blind"),), "/water/filter")


def _flow(desk: Desk) -> list[str]:
    """Product flow brought to 25 C, as a band, with the one before."""
    rows = flows(desk.standing)[-2:]
    if not rows:
        return [say("web.water.flow_none")]
    out = []
    for fact, body in reversed(rows):
        flow, warmth = Decimal(body.product_l_min), Decimal(body.water_c)
        ends = [
            formula_named(work.__name__).shown(work(product_flow_l_min=flow, water_temperature_c=warmth))
            for work in (flow_at_25_least, flow_at_25_most)
        ]
        out.append(
            say(
                "web.water.flow",
                day=day(home_day(desk, fact.at)),
                flow=f"{body.product_l_min} L/min",
                warmth=both_text(f"{body.water_c} C"),
                low=ends[0],
                high=f"{ends[1]} L/min",
            )
        )
    return out


def _recovery(desk: Desk) -> list[str]:
    """How much of the feed becomes product by two flows read at one look, with the working. Source: fluids:W15."""
    read = both_flows(desk.standing)
    if read is None:
        return [say("web.water.recovery_none")]
    fact, body = read
    share = recovery(
        product_flow_l_min=Decimal(body.product_l_min), reject_flow_l_min=Decimal(body.reject_l_min)
    )
    used = plant_number(desk.standing, "recovery")
    return [
        say(
            "web.water.recovery",
            day=day(home_day(desk, fact.at)),
            product=f"{body.product_l_min} L/min",
            reject=f"{body.reject_l_min} L/min",
            share=shown("recovery", share),
            product_bare=body.product_l_min,
            reject_bare=body.reject_l_min,
        ),
        say("web.water.recovery_unused")
        if used is None
        else say("web.water.recovery_apart", used=f"{plain(used)} %"),
    ]


def contact(desk: Desk) -> Part:
    """Contact time by the feed flow, with what the usual mistake would show."""
    flow, times = feed_flow(desk), contacts(desk)
    lines: list[str] = []
    care: list[str] = []
    why: list[str] = []
    if flow.taken is None:
        lines.append(say("web.water.feed_unknown"))
    else:
        lines.append(say("web.water.feed_flow", flow=f"{plain(_two(flow.taken))} L/min"))
        if flow.entered is not None and flow.by_order is not None and flow.by_order > flow.entered:
            care.append(
                say(
                    "web.water.feed_apart",
                    entered=f"{plain(flow.entered)} L/min",
                    order=f"{plain(_two(flow.by_order))} L/min",
                )
            )
    least = present_limit(desk, "contact_time")
    for tank in TANKS:
        litres = carbon_litres(desk, tank)
        if litres is None:
            lines.append(say("web.water.carbon_unknown", tank=say(f"water.tank.{tank}")))
        elif tank in times:
            lines.append(
                say(
                    "web.water.contact",
                    tank=say(f"water.tank.{tank}"),
                    litres=f"{plain(litres)} L",
                    minutes=shown("contact_time", times[tank]),
                )
            )
            if times[tank] < least:
                care.append(
                    say(
                        "web.water.contact_short", tank=say(f"water.tank.{tank}"), least=f"{plain(least)} min"
                    )
                )
    if len(times) == 2:
        lines.append(
            say("web.water.contact_both", minutes=shown("contact_time", sum(times.values(), Decimal(0))))
        )
    if flow.fluid is not None and "tank1" in times:
        litres = carbon_litres(desk, "tank1") or Decimal(0)
        long = contact_time(carbon_l=litres, feed_flow_l_min=flow.fluid)
        why.append(say("web.water.contact_mistake", minutes=shown("contact_time", long)))
    return Part("contact", tuple(lines), tuple(care), tuple(why), "/water/set")


def _two(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.01"), ROUND_HALF_UP)


def carbon(desk: Desk) -> Part:
    """What each tank has treated since its change, and the nights left as a band."""
    lines: list[str] = []
    care: list[str] = []
    why: list[str] = []
    for tank in TANKS:
        use, name = carbon_use(desk, tank), say(f"water.tank.{tank}")
        if use is None:
            lines.append(say("web.water.change_unknown", tank=name))
            continue
        lines.append(
            say("web.water.changed", tank=name, day=day(use.change.on), nights=use.nights)
            + (
                f" {say('web.water.treated', litres=thousands(plain(use.litres.quantize(Decimal(1)))))}"
                if use.litres
                else ""
            )
        )
        if use.life is not None:
            key = "web.water.life_date" if use.life.by_date else "web.water.life"
            fewest, most = use.life.fewest, use.life.most
            left = str(most) if fewest == most else say("web.water.band", low=fewest, high=most)
            lines.append(say(key, tank=name, left=left, rated=use.change.rated_mg))
        else:
            lines.append(say("web.water.life_unknown", tank=name))
        if use.days_left is not None:
            when = day(use.change.use_by)
            (care if use.days_left < 0 else lines).append(
                say("web.water.use_by_past" if use.days_left < 0 else "web.water.use_by", tank=name, day=when)
            )
    why.append(say("web.water.life_why"))
    return Part("carbon", tuple(lines), tuple(care), tuple(why), "/water/carbon")


def softening(desk: Desk) -> Part:
    """What a night takes of the softener, and hardness behind it as last tested."""
    lines: list[str] = []
    care: list[str] = []
    found = softener(desk)
    if found is None:
        lines.append(say("web.water.softener_unknown"))
    else:
        lines.append(say("web.water.softener_load", load=shown("softener_load", found.load_g)))
        share = f"{plain(present_limit(desk, 'softener_share'))} %"
        if found.nights is not None:
            lines.append(say("web.water.softener_nights", nights=plain(found.nights), share=share))
        else:
            lines.append(say("web.water.softener_size_unknown"))
    tests = [
        (fact, fact.body.hardness_after)
        for fact in desk.standing.of("filter_pressure")
        if isinstance(fact.body, FilterPressure) and fact.body.hardness_after
    ]
    limit = present_limit(desk, "hardness")
    if tests:
        fact, text = tests[-1]
        lines.append(say("web.water.hardness", value=f"{text} mg/L CaCO3", day=day(home_day(desk, fact.at))))
        if Decimal(text.removeprefix("<")) > limit:
            care.append(say("web.water.hardness_high", limit=f"{plain(limit)} mg/L CaCO3"))
    else:
        lines.append(say("web.water.hardness_none"))
    return Part("softener", tuple(lines), tuple(care), (), "/water/filter")


def gauges(desk: Desk) -> Part:
    """The drop over each filter against the clean one."""
    held = filters(desk.standing, TO_BAR)
    if not held:
        return Part("filters", (say("web.water.filters_none"),), to="/water/filter")
    lines: list[str] = []
    care: list[str] = []
    rise = present_limit(desk, "filter_rise")
    for name, view in held.items():
        words = say(f"water.filter.{name}")
        lines.append(_drop(desk, words, view))
        if view.clean is None:
            continue
        if view.drop - view.clean >= rise:
            care.append(say("web.water.filter_full", filter=words, rise=f"{plain(rise)} bar"))
        elif view.clean > 0 and view.drop * 2 < view.clean:
            care.append(say("web.water.filter_fallen", filter=words))
    return Part("filters", tuple(lines), tuple(care), (), "/water/filter")


def _drop(desk: Desk, words: str, view: FilterView) -> str:
    told = say(
        "web.water.drop",
        filter=words,
        drop=f"{plain(_two(view.drop))} bar",
        day=day(home_day(desk, view.fact.at)),
    )
    if view.clean is None or view.clean_at is None:
        return f"{told} {say('web.water.clean_unknown')}"
    clean = say(
        "web.water.clean", drop=f"{plain(_two(view.clean))} bar", day=day(home_day(desk, view.clean_at.at))
    )
    return f"{told} {clean}"


def litres(desk: Desk) -> Part:
    """What a night takes and costs."""
    found = night_water(desk)
    if found.product_l is None:
        return Part("litres", (say("web.water.litres_unknown"),), to="/water/set")
    lines = [say("web.water.product", litres=shown("product_needed", found.product_l))]
    if not found.other_known:
        lines.append(say("web.water.other_unknown"))
    if found.feed_l is None:
        lines.append(say("web.water.recovery_unknown"))
    else:
        lines.append(say("web.water.feed", litres=shown("feed_needed", found.feed_l)))
    if found.reject_l is not None and found.drain_l is not None:
        lines.append(
            say(
                "web.water.drain",
                reject=shown("reject_water", found.reject_l),
                drain=shown("drain_water", found.drain_l),
            )
        )
    if found.cost is not None:
        lines.append(say("web.water.cost", cost=shown("water_cost", found.cost)))
    return Part("litres", tuple(lines), (), (say("web.water.litres_why"),), "/water/set")


def schedule(desk: Desk) -> str:
    """What the unit wrote about samples; "" where nobody entered it."""
    return plant(desk.standing)[1].schedule
