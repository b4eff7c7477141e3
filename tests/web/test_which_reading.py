"""Which reading a row is: the one it is time for, asked about where it is due at another time, and told back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from ebbwell.deeds.readings_due import due_readings
from ebbwell.journal.kinds.night import Reading
from tests.web.site import Seen, Site

MINUTE = timedelta(minutes=1)
ROW = {"venous_pressure": "124", "blood_flow": "230"}
FORM = "/night/reading"


def _at(site: Site, minutes: int) -> None:
    site.connect()
    site.clock.pass_time(minutes * MINUTE)


def _picked(page: Seen) -> str:
    return page.form(FORM).fields.get("when", ["nothing"])[0]


def _last(site: Site) -> Reading:
    body = site.desk.treatment.of("reading")[-1].body
    assert isinstance(body, Reading)
    return body


@pytest.mark.source(
    "arithmetic", detail="first blood + 5, 15, 60 min against the minute of the reading, 10 min apart"
)
@pytest.mark.parametrize(
    ("minutes", "picked"),
    [
        (2, "start"),
        (6, "min5"),
        (9, "min5"),
        (13, "min5"),
        (15, "min15"),
        (24, "min15"),
        (41, ""),
        (52, "min60"),
    ],
)
def test_the_one_that_it_is_time_for_is_picked_and_none_where_none_is(
    site: Site, minutes: int, picked: str
) -> None:
    _at(site, minutes)
    assert _picked(site.get(FORM)) == picked
    assert _picked(site.get(f"{FORM}?when=min60")) == picked, "a link from another time doesn't pick"


def test_a_link_to_one_that_is_late_picks_it_and_it_is_asked_about_once(site: Site) -> None:
    _at(site, 43)
    page = site.get(f"{FORM}?when=min15")
    assert _picked(page) == "min15"
    asked = site.fill(page, FORM, **ROW)
    assert asked.status == 409
    seen = site.clock.now().at + timedelta(hours=1)
    due = seen - 28 * MINUTE
    assert (
        f"This reading was seen at {seen:%H:%M}. You picked: reading at 15 minutes, due at {due:%H:%M}."
        in asked.text
    )
    kept = site.fill(asked, FORM, as_typed="when")
    assert kept.status == 303
    assert (_last(site).when, _last(site).asked) == ("min15", ("not_its_time",))


def test_an_early_row_called_by_a_later_reading_is_asked_about_and_that_one_stays_due(site: Site) -> None:
    _at(site, 43)
    asked = site.fill(site.get(FORM), FORM, when="min60", **ROW)
    assert asked.status == 409
    assert 'id="when-why"' in asked.html
    assert "1 h after first blood, due at" in asked.text
    assert not site.desk.treatment.of("reading")
    assert site.fill(asked, FORM, when="").status == 303
    assert _last(site).when == ""
    due = {r.name: r for r in due_readings(site.desk)}
    assert not due["min60"].given
    assert "1 h after first blood, at" in site.get("/night").text


def test_a_time_that_is_typed_counts_and_not_the_time_of_writing(site: Site) -> None:
    _at(site, 75)
    now = site.clock.now().at + timedelta(hours=1)
    typed = f"{now - 14 * MINUTE:%H:%M}"
    assert site.fill(site.get(FORM), FORM, when="min60", at=typed, **ROW).status == 303
    assert (_last(site).when, _last(site).asked) == ("min60", ())


def test_an_answer_counts_for_the_reading_and_the_time_it_was_given_for(site: Site) -> None:
    _at(site, 43)
    asked = site.fill(site.get(FORM), FORM, when="min60", **ROW)
    assert site.fill(asked, FORM, when="min5", as_typed="when").status == 409


def test_the_last_one_with_the_pump_running_is_no_pick_in_mid_night(site: Site) -> None:
    _at(site, 43)
    assert 'value="before_off"' not in site.get(FORM).html
    site.clock.pass_time(402 * MINUTE)
    assert 'value="before_off"' in site.get(FORM).html


def test_a_word_that_no_reading_goes_by_is_not_taken(site: Site) -> None:
    _at(site, 43)
    page = site.get(FORM)
    assert site.post(FORM, {"key": page.form(FORM).fields["key"][0], "when": "soon", **ROW}).status == 409
    assert not site.desk.treatment.of("reading")


# -- a sign that was left out ------------------------------------------------------------------------------------------


def test_one_box_asks_about_a_sign_and_a_button_takes_the_other_one(site: Site) -> None:
    _at(site, 15)
    asked = site.fill(site.get(FORM), FORM, arterial_pressure="130", **ROW)
    assert asked.status == 409
    assert asked.html.count('id="arterial_pressure-why"') == 1
    buttons = [b for b in asked.form(FORM).buttons if b[0] in ("take", "as_typed")]
    assert buttons == [("take", "arterial_pressure|130|-130"), ("as_typed", "arterial_pressure")]
    assert "It is \N{MINUS SIGN}130 mmHg. Keep that" in asked.text
    assert site.fill(asked, FORM, take="arterial_pressure|130|-130").status == 303
    body = _last(site)
    assert (body.values["arterial_pressure"], body.typed) == ("-130", {"arterial_pressure": "130"})
    entry = site.desk.treatment.of("reading")[-1].id
    assert "first typed 130, then asked about" in site.get(f"/entry/{entry}").text


def test_a_sign_that_was_taken_stands_while_another_field_is_asked_about(site: Site) -> None:
    _at(site, 15)
    row = {**ROW, "arterial_pressure": "130", "pressure": "231/74"}
    asked = site.fill(site.get(FORM), FORM, **row)
    more = site.fill(asked, FORM, take="arterial_pressure|130|-130")
    assert more.status == 409
    assert more.form(FORM).fields["arterial_pressure"] == ["-130"]
    assert 'id="arterial_pressure-why"' not in more.html
    assert site.fill(more, FORM, as_typed="pressure").status == 303
    assert _last(site).typed == {"arterial_pressure": "130"}


def test_a_button_for_a_figure_that_was_changed_since_takes_nothing(site: Site) -> None:
    _at(site, 15)
    asked = site.fill(site.get(FORM), FORM, arterial_pressure="130", **ROW)
    again = site.fill(asked, FORM, arterial_pressure="120", take="arterial_pressure|130|-130")
    assert again.status == 409
    assert not site.desk.treatment.of("reading")


def test_as_typed_keeps_a_value_above_zero_after_it_was_looked_at_twice(site: Site) -> None:
    _at(site, 15)
    page = site.fill(site.get(FORM), FORM, arterial_pressure="130", **ROW)
    for _ in range(2):
        if page.status == 303:
            break
        page = site.fill(page, FORM, as_typed="arterial_pressure")
    assert page.status == 303
    body = _last(site)
    assert (body.values["arterial_pressure"], body.typed) == ("130", {})
    assert "minus" in body.asked


def test_only_a_sign_is_offered_on_a_button(site: Site) -> None:
    """A true 210 past the unit's limit is never talked down (practice:a)."""
    _at(site, 15)
    asked = site.fill(site.get(FORM), FORM, venous_pressure="210", pressure="231/74")
    assert asked.status == 409
    assert not [b for b in asked.form(FORM).buttons if b[0] == "take"]
    forged = site.fill(asked, FORM, venous_pressure="210", pressure="", as_typed="venous_pressure")
    assert forged.status == 303
    assert _last(site).values["venous_pressure"] == "210"


# -- what was kept is told back ----------------------------------------------------------------------------------------


def test_what_was_kept_is_told_once_with_units(site: Site) -> None:
    _at(site, 15)
    kept = site.fill(site.get(FORM), FORM, pressure="131/74", **ROW)
    page = site.get(kept.to)
    assert "Kept, reading at 15 minutes. Blood pressure 131/74 mmHg, blood flow 230 mL/min" in page.text
    assert "Kept," not in site.get("/night").text
    site.clock.pass_time(3 * MINUTE)
    assert "Kept," not in site.get(kept.to).text, "later on it isn't news"


def test_it_is_told_no_more_after_the_next_entry(site: Site) -> None:
    from ebbwell.deeds.night import note_event

    _at(site, 15)
    kept = site.fill(site.get(FORM), FORM, **ROW)
    assert "Kept, reading at 15 minutes." in site.get(kept.to).text
    site.do(note_event, what="alarm")
    assert "Kept," not in site.get(kept.to).text


def test_the_reason_for_what_is_left_empty_can_be_that_nobody_wrote_it_down(site: Site) -> None:
    _at(site, 15)
    page = site.get(FORM)
    assert "For what you leave empty: why?" in page.text
    assert site.fill(page, FORM, why="not_written", **ROW).status == 303
    assert _last(site).missing["pulse"] == "nobody wrote it down"


# -- putting it right --------------------------------------------------------------------------------------------------


def test_which_reading_it_was_is_picked_in_words_and_no_other_word_is_taken(site: Site) -> None:
    _at(site, 4)
    site.fill(site.get(FORM), FORM, when="min5", **ROW)
    entry = site.desk.treatment.of("reading")[-1].id
    way = f"/entry/{entry}"
    page = site.get(way)
    assert "Stands as: reading at 5 minutes" in page.text
    assert "min5" not in page.text
    assert '<option value="start">first reading</option>' in page.html
    typed = {"change.when": "first reading", "reason": "slip"}
    assert site.post(way, {"key": page.form(way).fields["key"][0], **typed}).status == 409
    assert _last(site).when == "min5"
    assert site.fill(page, way, change__when="start", reason="slip").status == 303
    assert _last(site).when == "start"
    entry = site.desk.treatment.of("reading")[-1].id
    way = f"/entry/{entry}"
    asked = site.fill(site.get(way), way, change__when="min60", reason="slip")
    assert asked.status == 409
    assert "You picked: 1 h after first blood, due at" in asked.text
    assert site.fill(site.get(way), way, change__when="another", reason="slip").status == 303
    assert _last(site).when == ""


def test_a_sign_can_be_put_right_with_one_press(site: Site) -> None:
    _at(site, 15)
    site.fill(site.get(FORM), FORM, arterial_pressure="-103", **ROW)
    entry = site.desk.treatment.of("reading")[-1].id
    way = f"/entry/{entry}"
    asked = site.fill(site.get(way), way, change__values__arterial_pressure="130", reason="slip")
    assert asked.status == 409
    assert "It is \N{MINUS SIGN}130 mmHg. Keep that" in asked.text
    assert site.fill(asked, way, take="values.arterial_pressure|130|-130").status == 303
    assert _last(site).values["arterial_pressure"] == "-130"
