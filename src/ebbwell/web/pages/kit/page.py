"""The packs of last time, held against those that lie here: the same ones are written down at once."""

from __future__ import annotations

from starlette.responses import Response

from ebbwell.core.text import say
from ebbwell.deeds import kit as deeds
from ebbwell.deeds.desk import Desk
from ebbwell.procedure.holds import Status
from ebbwell.state.packs import LastLot
from ebbwell.web.visit import ALL, HOME, Trouble, Visit, Way

SAME = "same"
TORN = "torn"
OTHER = "other"
PICKS = (SAME, TORN, OTHER)
"""The same label on a whole pack; the same label on one that isn't; another label, which its own step asks for."""


def offered(desk: Desk) -> dict[str, LastLot]:
    """Item to the pack used last, for each item that a step asks for now."""
    items = [
        evidence.name
        for view in desk.views.values()
        if view.status in (Status.OPEN, Status.STALE)
        for evidence in view.missing
        if evidence.form == "lot"
    ]
    return dict(deeds.kit(desk, tuple(dict.fromkeys(items))))


def label(pack: LastLot) -> str:
    """A pack's label in one word, to see whether it is still the one that a page showed."""
    return "|".join((pack.code, pack.lot, pack.expiry))


def show(visit: Visit) -> Response:
    """Each pack that could be the same as last time."""
    return visit.show(
        "pages/kit/page.html",
        packs=offered(visit.desk),
        label=label,
        picks=[(pick, say(f"web.kit.{pick}")) for pick in PICKS],
        may_act=bool(visit.roles & HOME),
    )


def take(visit: Visit) -> Response:
    """Write down the packs that are the same; those with another label are read at their own steps."""
    packs = offered(visit.desk)
    picked = {item: visit.typed.get(f"pack.{item}", "") for item in packs}
    visit.troubles += [
        Trouble(say("web.kit.moved_on"), f"pack.{item}")
        for item, pack in packs.items()
        if picked[item] in (SAME, TORN) and visit.typed.get(f"was.{item}", "") != label(pack)
    ]
    if visit.troubles:
        return show(visit)
    here = tuple(
        deeds.Pack(item, pack.code, pack.lot, pack.expiry, intact=picked[item] == SAME)
        for item, pack in packs.items()
        if picked[item] in (SAME, TORN)
    )
    if not here and OTHER in picked.values():
        return visit.go("/setup", kept="kit")
    done = visit.do(deeds.use_kit, field="kit", key=visit.typed.get("key"), packs=here)
    return show(visit) if done is None else visit.go("/setup?saved=" + ".".join(done.entries), kept="kit")


WAYS = (
    Way("GET", "/kit", show, ALL),
    Way("POST", "/kit", take, HOME),
)
