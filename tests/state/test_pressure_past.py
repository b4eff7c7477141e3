"""One reading a night for comparing nights: the one nearest to an hour after first blood."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

from ebbwell.state.own_past import NightSummary
from ebbwell.state.pressure_past import night_pressures

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
    assert (found.transmembrane, found.removed_l, found.removed_min) == (D(25), D("2.20"), 440)
    assert found.bleeding == {"venous": D(9)}


def test_a_night_without_blood_or_without_a_reading_near_the_hour_is_left_out() -> None:
    far = night((3, {"venous_pressure": "101"}), (200, {"venous_pressure": "120"}))
    assert night_pressures([far, night(start=None), night((60, {"pulse": "70"}))]) == ()


def test_what_is_no_number_is_left_out() -> None:
    (found,) = night_pressures([night((60, {"venous_pressure": "118", "blood_flow": "a lot"}))])
    assert found.values == {"venous_pressure": D(118)}
