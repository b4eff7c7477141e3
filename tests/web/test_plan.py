"""What to set tonight: worked out, shown beside its bounds, agreed as it was seen; void plans and stops."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

import pytest

from ebbwell.deeds import comeoff, orders, setup, upkeep
from ebbwell.deeds.connect import connect
from ebbwell.deeds.limits import change_limit
from ebbwell.journal.kinds.orders import Plan
from ebbwell.sim import hands
from ebbwell.sim.household import ILKA, PRESCRIPTION, TOVE, UNIT, ZONE, move_in
from tests.web.site import Seen, Site, up_to

USUAL = {"drink": "0.2", "saline": "0", "losses": "0", "start": "22:00"}


def figures(site: Site) -> dict[str, str]:
    """The figures of the plan that was agreed last; none without one."""
    fact = site.desk.treatment.last("plan")
    return dict(fact.body.figures) if fact is not None and isinstance(fact.body, Plan) else {}


def worked(site: Site, **change: str) -> Seen:
    """The plan worked out, to look at."""
    return site.get("/plan?" + urlencode({**USUAL, **change}))


def agree(site: Site, **change: str) -> Seen:
    """The plan worked out and agreed."""
    return site.fill(worked(site, **change), "/plan")


@pytest.fixture
def weighed(site: Site) -> Site:
    """A night that has come to its plan: 66.3 kg, target 64.5 kg."""
    site.until("S26")
    return site


@pytest.mark.source(
    "arithmetic",
    detail="66.3 - 64.5 + 0.3 + 0.2 = 2.3 L; 2300 / 7.5 = 306.7 mL/h; / 64.5 = 4.75; 22:00 + 7 h 30 = 05:30; "
    "900 / 1000 = 0.9 mL/h; 1.5 + 0.9 x 6.5 + 1.0 = 8.35 mL; 7 x 64.5 x 7.5 = 3.386 L",
)
def test_figures_stand_beside_their_bounds_before_they_are_agreed(weighed: Site) -> None:
    before = weighed.rows
    page = worked(weighed)
    assert weighed.rows == before
    assert "Worked out, not agreed yet." in page.text
    for words in (
        "Fluid to remove 2.30 L",
        "Fluid to remove 1.8 kg over the target weight + 0.3 L rinse-back + 0.2 L drinks and food.",
        "With your unit's cap of 7 mL/kg/h, 3.38 L can come off in 7 h 30 min.",
        "Removal rate 306.7 mL/h 4.75 mL/kg/h. Your unit's cap is 7 mL/kg/h.",
        "Time 7 h 30 min Ends at 05:30 if blood starts at 22:00.",
        "Heparin pump 0.9 mL/h First dose 1500 units: 1.5 mL. Stops at 04:30, 60 min before the end.",
        "900 units/h from a strength of 1000 units/mL. The syringe takes 8.35 mL in all.",
        "Blood flow 230 mL/min",
        "Fluid flow 300 mL/min",
        "From the weight before, 66.3 kg at",
    ):
        assert words in page.text
    query = urlencode(USUAL).replace("&", "&amp;")
    assert f'href="/working/fits_tonight?{query}"' in page.html


def test_nothing_is_filled_in(weighed: Site) -> None:
    form = weighed.get("/plan").form("/plan")
    assert form.fields == {"drink": [""], "saline": [""], "losses": [""], "start": [""], "leaves": [""]}


def test_agreeing_keeps_the_figures_and_what_was_expected(weighed: Site) -> None:
    assert agree(weighed).to == "/plan?kept=plan"
    assert figures(weighed)["fluid_to_remove"] == "2.30 L"
    assert figures(weighed)["finish_at"] == "05:30"
    page = weighed.get("/plan")
    assert "Agreed at 20:" in page.text
    assert "by Bram Venn" in page.text
    assert "Ends at 05:30 if blood starts at 22:00." in page.text
    assert "/setup" in page.links


def test_an_empty_start_counts_as_now_and_stays_where_it_was_seen(weighed: Site) -> None:
    page = worked(weighed, start="")
    begins = weighed.clock.now().at
    weighed.clock.pass_time(timedelta(minutes=9))
    assert weighed.fill(page, "/plan").status == 303
    fact = weighed.desk.treatment.last("plan")
    assert fact is not None
    assert isinstance(fact.body, Plan)
    assert fact.body.given["start_at"] == begins.isoformat()


@pytest.mark.parametrize("field", ["drink", "saline", "losses"])
@pytest.mark.parametrize("typed", ["", "much", "8.1", "-1"])
def test_amounts_that_cannot_be_read_come_back_with_why(weighed: Site, field: str, typed: str) -> None:
    page = worked(weighed, **{field: typed})
    assert page.status == 409
    assert f"#{field}" in page.links
    assert page.form("/plan").fields[field] == [typed]
    assert all("seen" not in form.fields for form in page.forms)
    assert "Fluid to remove" not in page.text


@pytest.mark.parametrize("typed", ["25:00", "ten", "22"])
def test_a_start_that_is_no_time_comes_back(weighed: Site, typed: str) -> None:
    page = worked(weighed, start=typed)
    assert page.status == 409
    assert "When will blood start to run?" in page.text
    assert page.form("/plan").fields["start"] == [typed]


def test_a_start_that_was_missed_is_not_taken_for_tomorrow(weighed: Site) -> None:
    page = worked(weighed, start="18:30")
    assert page.status == 409
    assert "18:30 comes next in 22 hours." in page.text


def test_a_start_that_has_passed_is_not_offered_again(weighed: Site) -> None:
    agree(weighed, start="20:30")
    weighed.clock.pass_time(timedelta(minutes=30))
    forms = [form for form in weighed.get("/plan").forms if form.action == "/plan"]
    assert [form.fields["start"] for form in forms] == [[""]]


@pytest.mark.hazard("H2")
def test_figures_that_moved_since_they_were_seen_are_not_agreed(weighed: Site) -> None:
    page = worked(weighed)
    held = tuple(f.id for f in weighed.desk.treatment.at_slot("measured", "weight_before", ""))
    weighed.do(setup.measure, quantity="weight_before", typed="66.5", instead_of=held)
    answer = weighed.fill(page, "/plan")
    assert answer.status == 409
    assert "Something changed since these figures were shown." in answer.text
    assert figures(weighed) == {}
    assert weighed.fill(answer, "/plan").status == 303
    assert figures(weighed)["fluid_to_remove"] == "2.50 L"


def test_a_form_edited_on_the_way_agrees_nothing_that_was_not_seen(weighed: Site) -> None:
    page = worked(weighed)
    for change in ({"drink": "0.9"}, {"losses": "1"}, {"seen": "f" * 64}, {"seen": ""}):
        assert weighed.fill(page, "/plan", **change).status in (200, 409)
        assert figures(weighed) == {}
    late = weighed.clock.now().at - timedelta(hours=30)
    digest = page.form("/plan").fields["seen"]
    answer = weighed.fill(page, "/plan", start_at=late.isoformat(), seen=digest)
    assert "Enter when blood is expected to run" in answer.text
    assert figures(weighed) == {}


@pytest.mark.hazard("H2")
def test_a_void_plan_says_why_and_shows_none_of_its_numbers(weighed: Site) -> None:
    agree(weighed)
    held = tuple(f.id for f in weighed.desk.treatment.at_slot("measured", "weight_before", ""))
    weighed.do(setup.measure, quantity="weight_before", typed="66.5", instead_of=held)
    page = weighed.get("/plan")
    assert "The plan no longer holds. The plan rests on something that has changed since." in page.text
    for figure in ("2.30", "306.7", "05:30 if"):
        assert figure not in page.text
    assert page.form("/plan").fields["drink"] == ["0.2"]
    assert agree(weighed).status == 303
    assert "no longer holds" not in weighed.get("/plan").text
    assert figures(weighed)["fluid_to_remove"] == "2.50 L"


@pytest.mark.hazard("H26")
@pytest.mark.source("practice:e", detail="H26: at 60 kg, 7 mL/kg/h and 8 h no more than 3.36 L fits")
def test_over_the_cap_says_call_and_offers_nothing_to_agree() -> None:
    site = Site()
    lines = {**PRESCRIPTION, "target_weight": "60", "treatment_minutes": "480", "removal_cap": "7"}
    site.act(lambda house: move_in(house, site.clock, lines))
    site.do(setup.open_night)
    _go_on(site)
    page = worked(site, drink="0")
    assert "Not yet:" in page.text
    assert "3.36 L can come off in 8 h 00 min." in page.text
    assert "3.24 L would remain after tonight." in page.text
    assert "Call your unit." in page.text
    assert all("seen" not in form.fields for form in page.forms)
    form = {**USUAL, "drink": "0", "seen": "x"}
    assert site.post("/plan", form).status == 409
    assert figures(site) == {}
    said = {"who": "Sister Aun", "words": "Take what fits."}
    for short in ({}, {**said, "allows": ""}, {**said, "words": " ", "allows": "yes"}):
        assert site.fill(page, "/plan/unit", **short).status == 409
    no = site.fill(page, "/plan/unit", **said, allows="no")
    assert 'Sister Aun said: "Take what fits." They don\'t allow it.' in site.get(no.to).text
    assert "This plan can't be agreed as it is." in site.get(no.to).text
    assert figures(site) == {}
    for nobody in ("no_answer", "not_called"):
        kept = site.fill(worked(site, drink="0"), "/plan/unit", allows=nobody)
        assert "This plan can't be agreed as it is." in site.get(kept.to).text
    again = "The plan shows what fits in the hours and what remains. Call your unit about the rest."
    assert worked(site, drink="0").text.count(again) == 1
    assert "What is worked out for tonight" in worked(site, drink="0").text
    assert "What to set tonight" not in worked(site, drink="0").text, "nothing is to be set yet"
    yes = site.fill(worked(site, drink="0"), "/plan/unit", **said, allows="yes")
    allowed = site.get(yes.to).text
    assert "They allow what fits tonight." in allowed
    assert "To take all of the fluid tonight would need" in allowed
    assert "Not yet" not in allowed
    assert again not in allowed
    assert site.get(yes.to).form("/plan").fields["seen"]
    assert agree(site, drink="0").status == 303
    assert figures(site)["fluid_to_remove"] == "3.36 L"
    site.close()


def _go_on(site: Site, step: str = "S26") -> None:
    """The usual moves up to a step."""
    site.act(lambda house: up_to(house, site.clock, step))


def test_before_the_weight_it_says_what_comes_first(site: Site) -> None:
    site.open_night()
    page = worked(site)
    assert "Not yet. First:" in page.text
    assert all("seen" not in form.fields for form in page.forms)
    assert site.post("/plan", {**USUAL, "seen": "x"}).status == 409
    assert figures(site) == {}


def test_without_a_night_there_is_nothing_to_set(site: Site) -> None:
    site.move_in()
    page = worked(site)
    assert "No night is open" in page.text
    assert "Removal rate" not in page.text
    assert site.post("/plan", {**USUAL, "seen": "x"}).status == 409


def test_two_weights_side_by_side_give_no_plan(weighed: Site) -> None:
    weighed.do(setup.measure, by=TOVE, quantity="weight_before", typed="68.1")
    page = worked(weighed)
    assert "Two weights stand side by side" in page.text
    assert "Not yet. First: S29" in page.text
    assert "Removal rate" not in page.text
    assert all("seen" not in form.fields for form in page.forms)


def test_without_a_scale_the_units_figure_is_asked_for_and_needs_its_word(site: Site) -> None:
    site.until("S29")
    site.do(setup.measure, quantity="weight_before", not_measured="the scale is broken")
    site.do(orders.advise, who="Sister Aun", words="Take 2 litres.", about=("S29",), allows=True)
    _go_on(site)
    assert "removal_by_unit" in site.get("/plan").form("/plan").names
    page = worked(site, removal_by_unit="2")
    assert "Fluid to remove 2 L" in page.text
    assert "The unit's figure, as you wrote it down." in page.text
    assert "Removal rate 266.7 mL/h" in page.text
    assert site.fill(page, "/plan").status == 303
    assert figures(site)["fluid_to_remove"] == "2 L"


def test_no_heparin_is_said_not_left_out(site: Site) -> None:
    drug = ("heparin_strength", "heparin_first_dose", "heparin_rate", "heparin_stop_before_end")
    lines = {n: v for n, v in PRESCRIPTION.items() if n not in drug}
    site.act(lambda house: move_in(house, site.clock, {**lines, "anticoagulant": "none"}))
    site.do(setup.open_night)
    _go_on(site)
    page = worked(site)
    assert "Heparin pump No heparin No heparin tonight, as the prescription says." in page.text


def test_last_nights_figures_stand_beside(site: Site) -> None:
    site.connect()
    site.clock.pass_time(timedelta(hours=7, minutes=30))
    site.do(comeoff.come_off)
    site.clock.pass_time(timedelta(minutes=40))
    ended = site.clock.now().at
    cleaned = {"agent": "heat", "started_at": ended - timedelta(minutes=40), "ended_at": ended}
    site.do(upkeep.disinfect, what="machine", **cleaned)
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))
    site.clock.pass_time(timedelta(days=1, hours=14))
    site.do(setup.open_night)
    _go_on(site)
    page = worked(site)
    assert "Last time is the night of 29 April 2026." in page.text
    assert "Fluid to remove 2.30 L Same as last time." in page.text
    assert "Heparin pump 0.9 mL/h Same as last time. First dose" in page.text
    other = worked(site, drink="0.5")
    assert "Fluid to remove 2.60 L Last time 2.30 L." in other.text
    assert "Removal rate 346.7 mL/h Last time 306.7 mL/h." in other.text
    assert "Blood flow 230 mL/min Same as last time." in other.text


def test_while_blood_runs_it_points_to_the_night_page(weighed: Site) -> None:
    weighed.act(lambda house: hands.set_up(house, weighed.clock))
    weighed.do(connect)
    page = weighed.get("/plan")
    assert "The night page has the time that is left." in page.text
    assert "/night" in page.links


@pytest.mark.source(
    "arithmetic", detail="450 min after 21:00 UTC+00:00 on 28 March is 04:30 UTC, 05:30 in summer time"
)
@pytest.mark.hazard("H17")
def test_the_end_is_counted_in_time_that_passes_over_a_change_of_clocks() -> None:
    site = Site(datetime(2026, 3, 28, 18, 0, tzinfo=UTC), ZONE)
    site.until("S26")
    page = worked(site, start="21:00")
    assert "Ends at 05:30 UTC+01:00 if blood starts at 21:00 UTC+00:00." in page.text
    assert "The clocks change tonight." in page.text
    assert "Stops at 04:30 UTC+01:00" in page.text
    missing = worked(site, start="01:30")
    assert missing.status == 409
    assert "The clocks jump over 01:30 tonight." in missing.text
    site.close()


def test_someone_not_signed_off_cannot_agree(weighed: Site) -> None:
    page = worked(weighed)
    weighed.who = ILKA
    answer = weighed.fill(page, "/plan")
    assert answer.status == 409
    assert "not signed off to set up" in answer.text
    weighed.who = "bedside"
    assert weighed.fill(page, "/plan").status == 409
    assert figures(weighed) == {}


def test_two_taps_on_agree_make_one_plan(weighed: Site) -> None:
    page = worked(weighed)
    assert weighed.fill(page, "/plan").status == 303
    assert weighed.fill(page, "/plan").status == 303
    assert len([e for e in weighed.desk.treatment if e.envelope.kind == "plan"]) == 1


def test_planning_again_replaces_the_plan_that_was_seen(weighed: Site) -> None:
    agree(weighed)
    assert agree(weighed, drink="0.4").status == 303
    assert figures(weighed)["fluid_to_remove"] == "2.50 L"
    assert len(weighed.desk.treatment.of("plan")) == 1


def test_the_order_must_be_in_force(weighed: Site) -> None:
    weighed.do(orders.amend_line, line="removal_cap", value="8", giver=UNIT, read_back="8")
    page = worked(weighed)
    assert "No prescription is in force. Do its second check first." in page.text
    assert "Removal rate" not in page.text


# -- what isn't as ordered, beside the plan ------------------------------------------------------------------------


@pytest.mark.source("fluids:3.3", detail="the strength in hand is the strength ordered")
@pytest.mark.hazard("H29")
def test_another_strength_in_hand_is_named_with_both_numbers(weighed: Site) -> None:
    assert "heparin in hand" not in weighed.get("/plan").text
    seen = tuple(f.id for f in weighed.desk.treatment.at_slot("measured", "heparin_strength", ""))
    inputs = {"quantity": "heparin_strength", "typed": "5000", "instead_of": seen}
    weighed.do(setup.measure, sure=("outside_asked", "outside_own", "digits", "decimal"), **inputs)
    for page in (weighed.get("/plan"), worked(weighed)):
        assert "Not yet: " in page.text
        assert "The heparin in hand is 5000 units/mL. The prescription says 1000 units/mL." in page.text
        assert "/setup/S18" in page.links


@pytest.mark.hazard("H24")
def test_another_dialyser_or_concentrate_in_hand_is_named_with_both_codes(site: Site) -> None:
    site.set_up()
    order = site.desk.scene.order
    assert order is not None
    for item, line in (("dialyser", "dialyser"), ("acid", "acid_code")):
        seen = tuple(f.id for f in site.desk.treatment.of("lot_used") if getattr(f.body, "item", "") == item)
        site.do(
            setup.use_lot,
            item=item,
            code="ZZ-1",
            lot="L1",
            expiry="2027-06-30",
            scanned=True,
            instead_of=seen,
        )
        page = site.get("/plan")
        assert (
            f"the pack says ZZ-1, the prescription says {order.lines[line]}. Take the right one." in page.text
        )


@pytest.mark.hazard("H2")
def test_a_machine_set_otherwise_is_named_with_both_figures(site: Site) -> None:
    site.set_up()
    assert "machine 330" not in site.get("/plan").text
    seen = tuple(f.id for f in site.desk.treatment.at_slot("measured", "blood_flow", "setting"))
    site.do(setup.set_machine, line="blood_flow", typed="330", instead_of=seen)
    page = site.get("/plan")
    assert "Blood flow: machine 330 mL/min, plan 230 mL/min." in page.text
    assert any(link.startswith("/setup/settings") for link in page.links)


@pytest.mark.source(
    "arithmetic", detail="7 mL/kg/h x 60 kg x 8 h = 3.36 L: 3.4 on a machine of one digit is over it"
)
@pytest.mark.hazard("H26")
def test_a_figure_whose_nearest_shorter_one_is_over_the_cap_says_what_to_set() -> None:
    site = Site()
    lines = {**PRESCRIPTION, "target_weight": "60", "treatment_minutes": "480", "removal_cap": "7"}
    site.act(lambda house: move_in(house, site.clock, lines))
    site.do(setup.open_night)
    _go_on(site)
    page = worked(site, drink="0")
    assert "If the machine shows fewer digits: 3.3 L is the next figure under the cap." in page.text
    assert "The one above it is over the cap." in page.text
    site.close()


@pytest.mark.source(
    "arithmetic", detail="905 / 1000 = 0.905 mL/h; a pump in steps of 0.1 reads 0.9, which is 900 units/h"
)
def test_a_pump_that_shows_fewer_digits_is_told_with_what_it_gives(site: Site) -> None:
    site.act(lambda house: move_in(house, site.clock, {**PRESCRIPTION, "heparin_rate": "905"}))
    site.do(setup.open_night)
    site.act(lambda house: up_to(house, site.clock, "S26"))
    text = worked(site).text
    assert (
        "A pump that shows fewer digits reads 0.9 mL/h. That gives 900 units/h. Ordered are 905 units/h."
        in text
    )


def test_a_pump_that_can_show_the_rate_is_not_told_about(weighed: Site) -> None:
    assert "A pump that shows fewer digits" not in worked(weighed).text


def test_a_line_that_holds_for_tonight_alone_is_named_on_the_plan(site: Site) -> None:
    site.move_in()
    said = {"line": "target_weight", "value": "65.0", "giver": UNIT, "read_back": "65.0"}
    entry = site.do(orders.amend_line, **said, tonight_only=True).entries[0]
    site.clock.pass_time(timedelta(seconds=30))
    site.do(orders.check_order, of=entry, values={"target_weight": "65.0"}, how="reread")
    site.do(setup.open_night)
    site.act(lambda house: up_to(house, site.clock, "S26"))
    text = worked(site).text
    assert f"65.0 kg. For this night alone, on the word of {UNIT}" in text
    assert "From the next night on it is 64.5 kg again." in text


@pytest.mark.hazard("H67")
@pytest.mark.source("arithmetic", detail="2300 / 7.5 / 64.5 = 4.75 mL/kg/h: under 5, over 4.5")
def test_a_stricter_limit_is_told_on_the_plan_and_opens_it_where_a_line_is_past_it(weighed: Site) -> None:
    agree(weighed)

    def to(rate: str) -> None:
        unit: dict[str, Any] = {
            "reason": "on the sheet of May",
            "allowed_by": "Sister Quill",
            "how": "written",
        }
        weighed.do(change_limit, limit="removal_rate_care", typed=rate, again=rate, **unit)

    to("5")
    older = "it was 13 mL/kg/h then, and is {} mL/kg/h now."
    page = weighed.get("/plan")
    assert older.format("5") in page.text
    assert "The plan no longer holds." not in page.text
    to("4.5")
    page = weighed.get("/plan")
    assert older.format("4.5") in page.text
    assert "The plan no longer holds. A limit is stricter now" in page.text
    agree(weighed)
    assert "The plan no longer holds." not in weighed.get("/plan").text
