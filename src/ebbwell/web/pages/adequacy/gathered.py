"""What the bloods on record say, gathered for a page."""

from __future__ import annotations

from ebbwell.review.adequacy_months import Adequacy, adequacy
from ebbwell.review.own_numbers import own_numbers
from ebbwell.web.visit import Visit


def gathered(visit: Visit) -> Adequacy:
    """What the bloods on record say."""
    desk = visit.desk
    order = desk.scene.order
    numbers = own_numbers(desk.standing, desk.past, order, desk.now)
    access = "" if order is None else order.lines.get("access", "")
    return adequacy(numbers, desk.standing, desk.past, access, desk.now)
