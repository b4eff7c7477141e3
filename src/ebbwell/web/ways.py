"""The list of every way into every page. A new page is added here, with who may use it."""

from __future__ import annotations

from ebbwell.web.pages.adequacy import page as adequacy
from ebbwell.web.pages.begin import page as begin
from ebbwell.web.pages.bloods import page as bloods
from ebbwell.web.pages.card import page as card
from ebbwell.web.pages.compare import page as compare
from ebbwell.web.pages.connect import page as connect
from ebbwell.web.pages.entry import page as entry
from ebbwell.web.pages.first_action import page as first_action
from ebbwell.web.pages.handover import page as handover
from ebbwell.web.pages.happened import page as happened
from ebbwell.web.pages.heparin import page as heparin
from ebbwell.web.pages.kit import page as kit
from ebbwell.web.pages.labels import page as labels
from ebbwell.web.pages.limits import page as limits
from ebbwell.web.pages.look import page as look
from ebbwell.web.pages.measures import page as measures
from ebbwell.web.pages.mine import page as mine
from ebbwell.web.pages.needle import page as needle
from ebbwell.web.pages.night import checks
from ebbwell.web.pages.night import page as night
from ebbwell.web.pages.nights import page as nights
from ebbwell.web.pages.off import page as off
from ebbwell.web.pages.outlook import page as outlook
from ebbwell.web.pages.paper_night import page as paper_night
from ebbwell.web.pages.people import page as people
from ebbwell.web.pages.plan import page as plan
from ebbwell.web.pages.prescription import page as prescription
from ebbwell.web.pages.pressures import page as pressures
from ebbwell.web.pages.reading import page as reading
from ebbwell.web.pages.recall import page as recall
from ebbwell.web.pages.reminders import page as reminders
from ebbwell.web.pages.settle import page as settle
from ebbwell.web.pages.setup import page as setup
from ebbwell.web.pages.sheet import page as sheet
from ebbwell.web.pages.steps import page as steps
from ebbwell.web.pages.stop import page as stop
from ebbwell.web.pages.texts import page as texts
from ebbwell.web.pages.tonight import page as tonight
from ebbwell.web.pages.water import page as water
from ebbwell.web.pages.weights import page as weights
from ebbwell.web.pages.who import page as who
from ebbwell.web.pages.work import page as work
from ebbwell.web.visit import Way


def every_way() -> tuple[Way, ...]:
    """All of them, in the order in which they are looked up."""
    return (
        *reminders.WAYS,
        *happened.WAYS,
        *off.WAYS,
        *first_action.WAYS,
        *card.WAYS,
        *paper_night.WAYS,
        *stop.WAYS,
        *reading.WAYS,
        *night.WAYS,
        *checks.WAYS,
        *work.WAYS,
        *labels.WAYS,
        *limits.WAYS,
        *pressures.WAYS,
        *heparin.WAYS,
        *adequacy.WAYS,
        *compare.WAYS,
        *outlook.WAYS,
        *measures.WAYS,
        *needle.WAYS,
        *plan.WAYS,
        *prescription.WAYS,
        *setup.WAYS,
        *connect.WAYS,
        *begin.WAYS,
        *handover.WAYS,
        *people.WAYS,
        *look.WAYS,
        *tonight.WAYS,
        *sheet.WAYS,
        *nights.WAYS,
        *weights.WAYS,
        *entry.WAYS,
        *settle.WAYS,
        *mine.WAYS,
        *recall.WAYS,
        *texts.WAYS,
        *kit.WAYS,
        *water.WAYS,
        *bloods.WAYS,
        *steps.WAYS,
        *who.WAYS,
    )
