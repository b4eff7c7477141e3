"""What a needle that is out costs at tonight's flow and weight, and why no pressure can be relied on to tell it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.worked import Input, Worked
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.night import Reading
from ebbwell.papers.own_figures import both
from ebbwell.procedure.evidence import number_in
from ebbwell.rulebook.load import load_rulebook
from ebbwell.science import catalogue
from ebbwell.state.facts import agreed_measure
from ebbwell.state.night import first_blood

SHARES: Final = (Decimal(15), Decimal(40))
"""Shares of the body's blood: where a loss begins to be felt, and where shock is near. Source: fluids:P18, 5.5."""

MINUTES: Final = (Decimal(1), Decimal(2), Decimal(5))
FLOWS: Final = (Decimal(200), Decimal(300), Decimal(400))
"""Blood flows [mL/min] that stand beside tonight's, for what a higher or lower one costs. Own choice."""

FACTS: Final = {
    "fall": "fluids:P11",
    "access": "fluids:P12",
    "drift": "fluids:P13",
    "narrow": "fluids:P14",
    "others": "fluids:P15",
    "often": "fluids:P15",
    "bleeds": "fluids:P16",
    "height": "fluids:5.5",
}
"""What is known of pressure and slipped needles, to the source. Wording: ``needle.fact.<name>``."""

LOOKING: Final = {
    "skin": "fluids:P17",
    "loops": "fluids:P17",
    "alarm": "fluids:P17",
    "wetness": "fluids:P17",
    "night": "fluids:5.5",
}
"""What a nurses' body lists against it, in our words, to the source. Wording: ``needle.look.<name>``."""


@dataclass(frozen=True)
class NeedleOut:
    """from_what: whose flow and weight, in words. shares: minutes to each share. rows: a flow each, under columns.

    facts, looking: words and their source.
    """

    from_what: tuple[str, ...]
    shares: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    facts: tuple[tuple[str, str], ...]
    looking: tuple[tuple[str, str], ...]


def needle_out(desk: Desk) -> NeedleOut:
    """Everything the page of a slipped needle shows."""
    flow, flow_words = _flow(desk)
    weight, weight_words = _weight(desk)
    shares = [
        say(
            "needle.share",
            share=plain(share),
            minutes=catalogue.shown(minutes),
        )
        for share in SHARES
        if (minutes := _minutes(share, weight, flow)) is not None
    ]
    flows = sorted({*FLOWS, *([flow] if flow is not None else [])})
    return NeedleOut(
        (flow_words, weight_words),
        tuple(shares) or (say("needle.no_share"),),
        (
            say("needle.column.flow"),
            *(say("needle.column.minutes", minutes=plain(m)) for m in MINUTES),
            *(say("needle.column.share", share=plain(share)) for share in SHARES),
        ),
        tuple(_row(one, weight, tonight=one == flow) for one in flows),
        tuple((say(f"needle.fact.{name}", **_figures(name)), _source(key)) for name, key in FACTS.items()),
        tuple((say(f"needle.look.{name}"), _source(key)) for name, key in LOOKING.items()),
    )


def _flow(desk: Desk) -> tuple[Decimal | None, str]:
    """The blood flow of the newest reading of a night that runs, else the ordered one, and which of the two it is."""
    if first_blood(desk.treatment) is not None:
        rows = sorted(desk.treatment.of("reading"), key=lambda fact: (fact.at, fact.id))
        for fact in reversed(rows):
            read = (
                number_in(fact.body.values.get("blood_flow", "")) if isinstance(fact.body, Reading) else None
            )
            if read is not None and read > 0:
                return read, say("needle.flow_read", flow=plain(read))
    flow = _ordered(desk, "blood_flow")
    if flow is None:
        return None, say("needle.no_flow")
    return flow, say("needle.flow_ordered", flow=plain(flow))


def _weight(desk: Desk) -> tuple[Decimal | None, str]:
    """Tonight's weight before, else the target weight, and which of the two it is."""
    held = desk.treatment.at_slot("measured", "weight_before", "") if desk.treatment_id is not None else ()
    body = agreed_measure(held)
    if body is not None:
        weight = number_in(body.value)
        if weight is not None:
            return weight, say("needle.weight_before", weight=both(weight, "kg"))
    weight = _ordered(desk, "target_weight")
    if weight is None:
        return None, say("needle.no_weight")
    return weight, say("needle.weight_target", weight=both(weight, "kg"))


def _ordered(desk: Desk, line: str) -> Decimal | None:
    order = desk.scene.order
    return number_in(order.lines.get(line, "")) if order is not None and not order.waiting else None


def _minutes(share: Decimal, weight: Decimal | None, flow: Decimal | None) -> Worked | None:
    if weight is None or flow is None:
        return None
    worked = catalogue.work(
        "minutes_to_lose",
        {
            "share_percent": Input("share_percent", share, "%"),
            "weight_kg": Input("weight_kg", weight, "kg"),
            "blood_flow_ml_min": Input("blood_flow_ml_min", flow, "mL/min"),
        },
    )
    return worked if worked.value is not None else None


def _row(flow: Decimal, weight: Decimal | None, *, tonight: bool) -> tuple[str, ...]:
    losses = [catalogue.work("blood_loss", {"blood_flow_ml_min": flow, "minutes_min": m}) for m in MINUTES]
    minutes = [_minutes(share, weight, flow) for share in SHARES]
    return (
        say("needle.this_flow" if tonight else "needle.flow", flow=plain(flow)),
        *(catalogue.shown(loss) if loss.value is not None else say("needle.not_known") for loss in losses),
        *(catalogue.shown(one) if one is not None else say("needle.not_known") for one in minutes),
    )


def _figures(name: str) -> dict[str, str]:
    """Figures of a fact that are worked out here."""
    if name != "height":
        return {}
    column = catalogue.work("column_pressure", {"height_cm": Decimal(10), "density_kg_m3": Decimal(1055)})
    return {"pressure": catalogue.shown(column)}


def _source(key: str) -> str:
    return f"{load_rulebook().source(key).title} ({key})"
