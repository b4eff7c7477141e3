"""What the pictures show: every page, in the order of an invented night, with what happens before each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta

from tests.browser.site import Site
from tests.hazards.home import Home
from tests.web.site import up_to

from ebbwell.deeds import bloods, comeoff, night, orders, person, setup, water, water_plant
from ebbwell.deeds.connect import connect
from ebbwell.deeds.labels import read_label
from ebbwell.house import House
from ebbwell.sim import hands
from ebbwell.sim.household import BRAM, ILKA, READING

WRITTEN = "/prescription/written?line=fluid_temperature"

WEEKS_OF = 8
"""Nights that make two weeks of every other night."""

DOSE = "/review/adequacy/working"

ASKED = "/review/questions?name1=long&kind1=week&day1.0=1&day1.2=1&day1.4=1&hours1=9&name2=short&kind2=other&hours2=6"
"""Two patterns, typed."""

Scene = tuple[str, str, Callable[[Site], object], Callable[[Site], str]]
"""Name, the way that it pictures, what happens before it, and its address then."""


def _nothing(_: Site) -> None:
    return None


def _chlorine(site: Site) -> None:
    """Set up to the water test, which fails."""

    def go(house: House) -> None:
        up_to(house, site.clock, "S5")
        inputs = {"quantity": "total_chlorine", "place": "tank1", "typed": "0.13", "method": "meter"}
        hands.play(house, hands.Move(setup.measure, inputs))

    site.act(go)


def _retest(site: Site) -> None:
    """The water runs, and the set-up goes on to the open gate."""
    site.clock.pass_time(timedelta(minutes=11))
    fact = site.act(lambda house: house.look().treatment.at_slot("measured", "total_chlorine", "tank1")[0].id)
    inputs = {"quantity": "total_chlorine", "place": "tank1", "typed": "0.02", "method": "meter"}
    site.do(setup.measure, instead_of=(fact,), **inputs)
    site.act(lambda house: hands.set_up(house, site.clock))


def _blood(site: Site) -> None:
    """Blood runs, with the first readings."""
    site.do(connect)
    for name, minutes in (("start", 2), ("min15", 13), ("", 46)):
        site.clock.pass_time(timedelta(minutes=minutes))
        site.do(night.read, values=dict(READING), when=name)
    site.do(night.note_event, what="cramp", words="left calf", done="rubbed it")
    site.clock.pass_time(timedelta(hours=2, minutes=20))


def _off(site: Site) -> None:
    """Off, before the morning's steps."""
    site.clock.pass_time(timedelta(hours=4))
    site.do(comeoff.come_off)


def _closed(site: Site) -> None:
    """The sheet closed, what wasn't done named with a reason."""
    site.do(comeoff.person_safe, sure=(comeoff.UNSAID,))

    def close(house: House) -> None:
        views = house.look().views.values()
        left = {v.step.id: "not done for a picture" for v in views if v.step.gate == "close" and not v.passed}
        house.do(comeoff.close, by=BRAM, because=left)

    site.act(close)


def _up_to(site: Site, step: str) -> None:
    """The usual moves up to a step."""
    site.act(lambda house: up_to(house, site.clock, step))


def _phone_order(site: Site) -> None:
    """The unit changes one line by telephone; it waits for its second check."""
    said = {"value": "36.0 C", "read_back": "36.0 C"}
    site.do(orders.amend_line, line="fluid_temperature", giver="Northmere Kidney Unit", **said)


def _check_line(site: Site) -> None:
    """Its second check, half a minute later."""
    site.clock.pass_time(timedelta(seconds=30))
    waits = _last("line_amended", "standing")(site)
    site.do(orders.check_order, of=waits, values={"fluid_temperature": "36.0 C"}, how="reread")


def _water(site: Site) -> None:
    """The plant, a changed tank, a water report, and a sample at its action level."""
    plant = {"feed_flow": "0.62", "carbon1": "4", "carbon2": "4", "recovery": "50", "other_water": "40"}
    site.do(water_plant.set_plant, typed={**plant, "hardness": "14 dH", "softener": "500"})
    site.do(water_plant.change_carbon, typed={"tank": "tank1", "on": "2026-04-01", "carbon_l": "4"})
    head = {"laboratory": "Northmere water laboratory (invented)", "port": "after the membrane"}
    report = {**head, "sampled_on": "2026-01-08", "list": "international", "unit": "mg/L"}
    site.do(water.enter_report, typed={**report, "line.lead": "<0.001", "line.copper": "0.02"})
    sample = {"fluid": "fluid_standard", "list": "international", "drawn_at": "line in", "count": "60"}
    site.do(water.enter_microbes, typed={**sample, "sampled_on": "2026-04-01", "read_on": "2026-04-08"})


def _bloods(site: Site) -> None:
    """Two months of bloods, one figure past a line for a call, a target, the leaflet and the height."""
    for day, urea, phosphate, potassium in (
        ("2026-03-02", "19.8", "1.8", "5.2"),
        ("2026-03-30", "20.4", "1.7", "6.7"),
    ):
        head = {"sampled_on": day, "drawn": "before", "laboratory": "Northmere laboratory (invented)"}
        typed = {
            **head,
            "value.urea": f"{urea} mmol/L",
            "value.phosphate": f"{phosphate} mmol/L",
            "low.phosphate": "0.8",
            "high.phosphate": "1.5",
            "value.potassium": f"{potassium} mmol/L",
        }
        site.do(bloods.enter_bloods, typed=typed, sure=("blood_outside",))
    wanted = {"substance": "phosphate", "unit": "mmol/L", "low": "1.1", "high": "1.8"}
    site.do(bloods.set_target, typed={**wanted, "giver": "home team", "given_on": "2026-01-05"})
    site.do(bloods.set_body_figures, typed={"height_cm": "168", "born": "1964", "water_by": "woman"})


def weeks(site: Site) -> None:
    """Two weeks of every other night, with a pair of bloods on the last two nights, and the dialyser's leaflet."""

    def go(house: House) -> None:
        home = Home(site.clock, house)
        for number in range(WEEKS_OF):
            begun = site.clock.now().at
            treatment = home.whole_night()
            if number >= WEEKS_OF - 2:
                night = house.look(treatment=treatment).past[treatment].night
                head = {"sampled_on": night, "night": treatment}
                for drawn, urea in (
                    ("before", f"{18 + number} mmol/L"),
                    ("after", f"{6 + number / 4} mmol/L"),
                ):
                    more = {"drawn": drawn, "value.urea": urea}
                    more |= {"slowed": "slowed"} if drawn == "after" else {}
                    home.do(bloods.enter_bloods, typed={**head, **more}, sure=("blood_outside",))
            site.clock.pass_time(timedelta(hours=48) - (site.clock.now().at - begun))

    site.act(go)
    leaflet = {"dialyser": "D-18", "blood_flow": "300", "fluid_flow": "500", "stands_in": "leaflet, invented"}
    site.do(bloods.set_dialyser_figures, typed={**leaflet, "clearance.urea": "270"})


def _two_weights(site: Site) -> None:
    """The next evening: weighed twice, and the two are not the same."""
    site.clock.pass_time(timedelta(hours=36))
    site.do(setup.open_night)
    _up_to(site, "S29")
    for typed in ("66.3 kg", "66.9 kg"):
        site.do(setup.measure, quantity="weight_before", typed=typed)


def _back_on(site: Site) -> None:
    """Off for ten minutes, and on again with the same set."""
    site.do(night.go_off)
    site.clock.pass_time(timedelta(minutes=10))


def _read_label(site: Site) -> None:
    """The can of the order is read once; it waits for its second reading."""
    ions = {"potassium": "2.0", "calcium": "1.50", "magnesium": "0.50", "acetate": "3"}
    site.do(read_label, code="A-2K", parts="1 + 34", ions=ions)


def _last(kind: str, held: str = "treatment") -> Callable[[Site], str]:
    """The id of the newest entry of a kind."""

    def find(site: Site) -> str:
        desk = site.desk
        facts = getattr(desk, held).of(kind)
        return facts[-1].id if facts else ""

    return find


def _weight(site: Site) -> str:
    """The id of tonight's first weight."""
    return site.desk.treatment.at_slot("measured", "weight_before", "")[0].id


def _at(address: str, **ids: Callable[[Site], str]) -> Callable[[Site], str]:
    """An address with the ids that it needs filled in."""
    return lambda site: address.format(**{name: find(site) for name, find in ids.items()})


def _treatment(site: Site) -> str:
    """The night that is open, or the last one."""
    desk = site.desk
    return desk.treatment_id or list(desk.past.values())[-1].treatment


def scenes() -> Iterator[Scene]:
    """In the order of a night."""

    def page(name: str, way: str, before: Callable[[Site], object] = _nothing, address: str = "") -> Scene:
        return name, way, before, _at(address or way)

    yield page("first run", "/begin")
    yield page("home, nobody moved in", "/")
    yield page("tonight", "/", lambda site: site.move_in())
    yield page("the home", "/home")
    yield page("prescription", "/prescription")
    yield page("prescription, typed from the paper", "/prescription/new")
    yield page("prescription, a line by phone", "/prescription/amend")
    check = _at("/prescription/check/{id}", id=_last("line_amended", "standing"))
    yield "prescription, second check of a line", "/prescription/check/{id}", _phone_order, check
    yield page("prescription, one line waits", "/prescription")
    yield "prescription, checked", "/prescription", _check_line, _at("/prescription")
    yield page("prescription, written paper came", "/prescription/written", _nothing, WRITTEN)
    yield page("people", "/people")
    yield page("one of the people", "/people/{person}", address="/people/tove")
    yield page("limits", "/limits")
    yield page("limits, one of them", "/limits/{limit}", address="/limits/chlorine")
    yield page("labels of the acid", "/labels", _read_label)
    check_label = _at("/labels/{id}", id=_last("concentrate_label", "standing"))
    yield "a label, the second reading", "/labels/{id}", _nothing, check_label
    yield page("pressures of past nights", "/pressures")
    yield page("heparin and clotting of past nights", "/review/heparin")
    yield page("kilograms or pounds", "/measures")
    for name in ("form", "short"):
        yield page(f"pressures, the form {name}", f"/pressures/{name}")
    yield page("a needle that slips out", "/needle")
    yield page("who is here", "/who")
    yield page("first actions, the home's texts", "/texts")
    yield page("first actions, one text", "/texts/{situation}", address="/texts/bleeding")
    yield page("steps in the home's words", "/steps")
    yield page("steps, one of them", "/steps/{step}", address="/steps/S5")
    yield page("steps, the whole text", "/steps/text")
    yield page("first actions, one situation", "/first-action/{situation}", address="/first-action/bleeding")
    yield page("card of first actions", "/card")
    yield page("the packs of last time", "/kit")
    yield page("a night on paper", "/paper-night")
    yield page("a recall", "/recall")
    yield page("first questions", "/setup", lambda site: site.do(setup.open_night))
    yield page("reading the paper", "/prescription/read", lambda site: _up_to(site, "S2"))
    yield page(
        "set-up, only waiting is left",
        "/setup/{bundle}",
        lambda site: _up_to(site, "S3"),
        "/setup/room_and_water",
    )
    yield page("set-up, water test over its limit", "/setup", _chlorine)
    yield page("the unit said", "/unit-said")
    yield page("hand-over", "/hand-over")
    yield page("calling the night off", "/call-off")
    yield page("found running", "/running")
    yield page("tonight, while it is set up", "/")
    yield page("connecting, shut", "/connect")
    yield page("plan", "/plan", _retest)
    yield page("workings", "/working")
    yield page("one working", "/working/{name}", address="/working/removal_volume")
    yield page("connecting, open", "/connect")
    yield page("night", "/night", _blood)
    yield page("tonight, blood runs", "/")
    yield page("first action, opened", "/night", address="/night#wrong")
    yield page("reading", "/night/reading")
    yield page("something happened", "/happened")
    yield page("an event", "/happened/{name}", address="/happened/event")
    yield page("off for a while", "/happened/{name}", address="/happened/off")
    kept = _at("/happened/kept/{entry}", entry=_last("event"))
    yield "kept, and what it asks for", "/happened/kept/{entry}", _nothing, kept
    yield "an entry, put right", "/entry/{id}", _nothing, _at("/entry/{id}", id=_last("reading"))
    yield page("reminders", "/reminders")
    yield page("the person's own page", "/mine")
    yield page("off for a while, then on again", "/happened/{name}", _back_on, "/happened/on")
    yield page("a check that was open, looked at now", "/night/check/{step}", address="/night/check/S25")
    again = "/happened/again/{aside}"
    yield page(
        "asked again after time off", again, lambda site: site.do(night.go_on), "/happened/again/clots"
    )
    yield page("coming off, the pump runs", "/off")
    yield page("coming off, giving the blood back", "/off", address="/off?part=blood_back")
    yield page("blood given back by hand", "/off/by-hand")
    yield page("stopped", "/stop", lambda site: site.do(night.stop_now))
    yield page("the morning", "/off", _off)
    yield page("close later today", "/off", lambda site: site.do(comeoff.person_safe, sure=(comeoff.UNSAID,)))
    yield "sheet", "/sheet/{treatment}", _closed, _at("/sheet/{treatment}", treatment=_treatment)
    yield page("past nights", "/nights")
    yield page("weight and fluid, for the clinic", "/weights")
    yield page("past nights found", "/nights", address="/nights?words=chlorine")
    yield page("the water", "/water", _water)
    yield page("the water, copying a report", "/water/{form}", address="/water/report")
    yield page("bloods", "/bloods", _bloods)
    yield page("bloods, copying a result", "/bloods/{form}", address="/bloods/result")
    yield page("dialysis dose, for the clinic", "/review/adequacy", weeks)
    working = f"{DOSE}/single_pool_dose_any"
    yield page("dialysis dose, one working", "/review/adequacy/working/{name}", address=working)
    yield page("questions for the clinic", "/review/questions", address=ASKED)
    yield page("if nothing changes", "/review/outlook")
    settle = _at("/settle/{id}", id=_weight)
    yield "two values to settle", "/settle/{id}", _two_weights, settle
    yield page("not tonight, said by the person", "/mine", lambda site: site.do(person.not_tonight, by=ILKA))
    yield page("tonight, when the person said no", "/")
