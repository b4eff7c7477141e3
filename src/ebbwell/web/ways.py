"""The list of every way into every page. A new page is added here, with who may use it."""

from __future__ import annotations

from ebbwell.web.pages.begin import page as begin
from ebbwell.web.pages.look import page as look
from ebbwell.web.pages.prescription import page as prescription
from ebbwell.web.pages.tonight import page as tonight
from ebbwell.web.pages.who import page as who
from ebbwell.web.visit import Way


def every_way() -> tuple[Way, ...]:
    """All of them, in the order in which they are looked up."""
    return (*prescription.WAYS, *begin.WAYS, *look.WAYS, *tonight.WAYS, *who.WAYS)
