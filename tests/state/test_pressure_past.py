"""One reading a night for comparing nights: the one nearest to an hour after first blood."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

from ebbwell.state.own_past import NightSummary
from ebbwell.state.pressure_past import MembraneRow, dialyser_of, membrane_at, night_pressures

D = Decimal
START = datetime(2026, 4, 27, 21, 0, tzinfo=UTC)


def night(*rows: tuple[int, dict[str, str]], start: datetime | None = START, **values: str) -> NightSummary:
    return NightSummary(
        treatment="t",
        night="2026-04-27",
        phase="closed",
        opened_at=START,
        first_blood=start,
        pump_stopped=None,
        values={name.replace("__", "@"): value for name, value in values.items()},
        first={},
        packs=(),
        unsettled=False,
        rows=rows,
    )


def test_the_reading_nearest_to_an_hour_counts() -> None:
    summary = night(
        (3, {"venous_pressure": "101"}),
        (52, {"venous_pressure": "118", "blood_flow": "230"}),
        (90, {"venous_pressure": "130"}),
        (440, {"venous_pressure": "140", "transmembrane_pressure": "25", "fluid_removed": "2.20"}),
        bleeding_minutes__venous="9",
    )
    (found,) = night_pressures([summary])
    assert found.values == {"venous_pressure": D(118), "blood_flow": D(230)}
    assert found.membrane == MembraneRow("", D(25), D("2.20"), 440)
    assert found.bleeding == {"venous": D(9)}


def test_a_night_without_blood_or_without_a_reading_near_the_hour_is_left_out() -> None:
    far = night((3, {"venous_pressure": "101"}), (200, {"venous_pressure": "120"}))
    assert night_pressures([far, night(start=None), night((60, {"pulse": "70"}))]) == ()


def test_what_is_no_number_is_left_out() -> None:
    (found,) = night_pressures([night((60, {"venous_pressure": "118", "blood_flow": "a lot"}))])
    assert found.values == {"venous_pressure": D(118)}


def test_of_a_past_night_the_row_nearest_in_time_gives_the_membrane() -> None:
    summary = night(
        (20, {"transmembrane_pressure@four": "20", "fluid_removed": "0.10"}),
        (60, {"transmembrane_pressure@four": "22"}),
        (90, {"transmembrane_pressure@four": "24", "fluid_removed": "0.46"}),
        (440, {"transmembrane_pressure@two": "40", "fluid_removed": "2.20"}),
    )
    assert membrane_at(summary, 60) == MembraneRow("four", D(24), D("0.46"), 90)
    assert membrane_at(summary, 430) == MembraneRow("two", D(40), D("2.20"), 440)
    assert membrane_at(summary, 200) is None


def test_two_kinds_of_dialyser_in_one_night_are_none() -> None:
    one, other = ("dialyser", "D-18", "L1", ""), ("dialyser", "D-20", "L2", "")
    assert dialyser_of([one, one, ("acid", "A", "", "")]) == "d-18"
    assert dialyser_of([one, other]) == ""
    assert dialyser_of([]) == ""
