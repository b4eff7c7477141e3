"""Files of bloods: any way of writing them is read, and of a broken one every line is named and nothing taken."""

from __future__ import annotations

import codecs
import csv
import re
from datetime import date, timedelta
from decimal import Decimal
from math import exp
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ebbwell.core.errors import InputError
from ebbwell.core.text import has_text, say
from ebbwell.exchange.blood_columns import COLUMNS
from ebbwell.exchange.blood_csv import read_file, read_text
from ebbwell.exchange.blood_slips import unit_factors
from ebbwell.exchange.table import TableAsked, TableRefused, decoded
from ebbwell.review.clearance import clearance_l_min
from ebbwell.review.pairs import CreatininePair, Pair
from ebbwell.science.fit import MonthBloods, expected
from tests.exchange.bloods import ROW, TODAY, people, row, written

DOCS = Path(__file__).parents[2] / "docs"


def test_a_night_of_today_is_taken() -> None:
    (pair,) = read_text(written([row(night=TODAY.isoformat())]), TODAY)
    assert pair.night == TODAY


@pytest.mark.parametrize(("told", "taken"), [("229.9", True), ("230", False)])
def test_a_clearance_lies_under_both_flows(told: str, taken: bool) -> None:
    cells = {name: cell for name, cell in ROW.items() if name != "koa_ml_min"}
    text = written([{**cells, "clearance_ml_min": told}])
    if taken:
        (pair,) = read_text(text, TODAY, as_typed=True)
        assert pair.clearance_l_min == pytest.approx(0.2299)
    else:
        assert [one.key for one in refused(text).lines] == ["csv.clearance_over"]


def refused(text: str, today: date = TODAY) -> TableRefused:
    with pytest.raises(TableRefused) as caught:
        read_text(text, today)
    assert has_text(caught.value.key)
    for one in caught.value.lines:
        assert say(one.key, **dict(one.params))
    return caught.value


def one_wrong(**change: str) -> tuple[str, str]:
    """Column and key of the one thing that is wrong with a changed line."""
    why = refused(written([row(**change)]))
    (found,) = why.lines
    assert found.line == 2
    return found.column, found.key


def asked(rows: list[dict[str, str]]) -> list[tuple[int, str]]:
    with pytest.raises(TableAsked) as caught:
        read_text(written(rows), TODAY)
    assert len(read_text(written(rows), TODAY, as_typed=True)) == len(rows)
    for one in caught.value.lines:
        assert say(one.key, **dict(one.params))
    return [(one.line, one.key) for one in caught.value.lines]


def test_a_line_is_read_as_it_stands() -> None:
    (pair,) = read_text(written([ROW]), TODAY)
    assert pair == Pair(
        night=date(2026, 4, 27),
        urea_before=16.1,
        urea_after=3.2,
        weight_kg=64.5,
        minutes=450.0,
        clearance_l_min=clearance_l_min(1050, 230, 300),
        gain_l_day=1.07,
        nights=pair.nights,
        person="A",
        blood_flow_ml_min=230.0,
        fluid_flow_ml_min=300.0,
        koa_ml_min=1050.0,
        clearance_by="leaflet",
        line=2,
    )
    assert (pair.since_last_days, round(pair.fluid_l, 3)) == (2, round(1.07 * (2 - 450 / 1440), 3))


NUMBERS = {
    "urea_before_mmol_l": st.decimals("12", "30", places=2),
    "urea_after_mmol_l": st.decimals("2.4", "4", places=2),
    "weight_after_kg": st.decimals("60", "66", places=3),
    "minutes": st.integers(420, 480).map(Decimal),
    "gain_l_day": st.decimals("0.2", "2", places=2),
}
LINES = st.lists(st.fixed_dictionaries(NUMBERS), min_size=1, max_size=6)


@given(
    LINES,
    st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ",")]),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.permutations(list(ROW)),
)
@settings(max_examples=150)
def test_any_way_of_writing_gives_the_same_pairs(
    lines: list[dict[str, Decimal]],
    marks: tuple[str, str],
    end: str,
    quote: int,
    encoding: str,
    order: list[str],
) -> None:
    separator, point = marks
    rows = []
    for number, line in enumerate(lines):
        cells = row(person=f"{number}{separator}ä")
        for name, value in line.items():
            cells[name] = format(value.normalize(), "f").replace(".", point)
        rows.append(
            {name: cells[name].replace(".", point) if name == "gain_l_day" else cells[name] for name in order}
        )
    rows[0]["gain_l_day"] = f"1{point}5"  # a mark that is sure
    lines[0]["gain_l_day"] = Decimal("1.5")
    text = decoded(written(rows, separator, end, quote).encode(encoding))
    found = read_text(text, TODAY, as_typed=True)
    assert [one.line for one in found] == list(range(2, len(rows) + 2))
    for pair, line, number in zip(found, lines, range(len(lines)), strict=True):
        assert pair.person == f"{number}{separator}ä"
        told = (pair.urea_before, pair.urea_after, pair.weight_kg, pair.minutes, pair.gain_l_day)
        assert told == tuple(float(line[name]) for name in NUMBERS)


@pytest.mark.source(
    "kinetics:A1", detail="section 0: 1 mmol/L is 2.8 mg/dL of urea nitrogen, 6.006 mg/dL of urea"
)
def test_other_units_are_brought_to_one() -> None:
    cells = {**ROW}
    del cells["urea_before_mmol_l"], cells["urea_after_mmol_l"], cells["weight_after_kg"]
    cells |= {
        "urea_before_mg_dl_nitrogen": "45.08",
        "urea_after_mg_dl_urea": "19.219",
        "weight_after_lb": "142.2",
    }
    (pair,) = read_text(written([cells]), TODAY)
    assert pair.urea_before == pytest.approx(16.1, rel=2e-3)
    assert pair.urea_after == pytest.approx(3.2, rel=2e-3)
    assert pair.weight_kg == pytest.approx(142.2 * 0.45359237, rel=1e-12)


BREAKS: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"urea_after_mmol_l": ""}, "urea_after_mmol_l", "csv.cell_empty"),
    ({"urea_before_mmol_l": ""}, "urea_before_mmol_l", "csv.cell_empty"),
    ({"person": ""}, "person", "csv.cell_empty"),
    ({"person": "x" * 61}, "person", "csv.person_long"),
    ({"urea_after_mmol_l": "16.1"}, "urea_after_mmol_l", "csv.same"),
    ({"urea_after_mmol_l": "17"}, "urea_after_mmol_l", "csv.swapped"),
    ({"urea_after_mmol_l": "0"}, "urea_after_mmol_l", "csv.not_above_zero"),
    ({"urea_after_mmol_l": "-3"}, "urea_after_mmol_l", "csv.not_above_zero"),
    ({"urea_before_mmol_l": "nan"}, "urea_before_mmol_l", "number.not_plain"),
    ({"urea_before_mmol_l": "inf"}, "urea_before_mmol_l", "number.not_plain"),
    ({"urea_before_mmol_l": "1e2"}, "urea_before_mmol_l", "number.not_plain"),
    ({"urea_before_mmol_l": "<5"}, "urea_before_mmol_l", "number.not_plain"),
    ({"urea_before_mmol_l": "500"}, "urea_before_mmol_l", "csv.outside"),
    ({"weight_after_kg": "6.5"}, "weight_after_kg", "csv.outside"),
    ({"weight_after_kg": "64,500"}, "weight_after_kg", "number.ambiguous"),
    ({"minutes": "7.5"}, "minutes", "csv.hours"),
    ({"minutes": "3000"}, "minutes", "csv.outside"),
    ({"gain_l_day": "-0.1"}, "gain_l_day", "csv.outside"),
    ({"gain_l_day": "1500"}, "gain_l_day", "csv.outside"),
    ({"koa_ml_min": ""}, "clearance", "csv.no_clearance"),
    ({"blood_flow_ml_min": "20"}, "blood_flow_ml_min", "csv.outside"),
    ({"night": "2026-04-30"}, "night", "csv.future"),
    ({"night": "1926-04-27"}, "night", "csv.old"),
    ({"night": "27.04.2026"}, "night", "csv.no_date"),
    ({"night": "2026-02-30"}, "night", "csv.no_date"),
    ({"nights": "sometimes"}, "nights", "nights.no_day"),
    ({"nights": "tue thu"}, "nights", "csv.other_day"),
    ({"nights": "every night", "minutes": "1440"}, "minutes", "csv.too_long_night"),
    ({"nights": "mon / mon tue"}, "week", "csv.which_week"),
)
CREATININE = {
    "creatinine_before_umol_l": "540",
    "creatinine_after_umol_l": "118",
    "creatinine_koa_ml_min": "850",
}


@pytest.mark.parametrize(("change", "column", "key"), BREAKS)
def test_what_cannot_be_is_named_with_its_column(change: dict[str, str], column: str, key: str) -> None:
    assert one_wrong(**change) == (column, key)


def test_ten_thousand_lines_with_five_broken_ones_name_exactly_those() -> None:
    rows = people(834)[:10_000]
    dice = Random(7)
    places = dice.sample(range(len(rows)), 5)
    for place, (change, _, _) in zip(places, dice.sample(BREAKS[6:20], 5), strict=True):
        rows[place] = {**rows[place], **change}
    found = refused(written(rows))
    assert len(rows) == 10_000
    assert sorted({one.line for one in found.lines}) == sorted(place + 2 for place in places)
    assert found.params["count"] == 5


@given(st.data())
@settings(max_examples=60)
def test_of_a_file_with_broken_lines_all_are_named_and_no_other(data: st.DataObject) -> None:
    rows = [row(person=f"P{n}") for n in range(data.draw(st.integers(1, 25)))]
    places = data.draw(st.sets(st.integers(0, len(rows) - 1), min_size=1))
    for place in places:
        change, _, _ = data.draw(st.sampled_from(BREAKS[4:]))
        rows[place] = {**rows[place], **change}
    assert {one.line for one in refused(written(rows)).lines} == {place + 2 for place in places}


def test_lines_that_are_no_rows_are_named_with_the_others() -> None:
    lines = written([row(person=f"P{n}") for n in range(6)]).splitlines()
    lines[1] += ",more"
    lines[2] = "P,2026-04-27"
    lines[3] = lines[3].replace("every other night", '"every" other night')
    lines[5] = lines[5].replace("16.1", "x")
    lines[6] = '"' + lines[6]
    found = [(one.line, one.key) for one in refused("\n".join(lines) + "\n").lines]
    assert found == [
        (2, "table.cells"),
        (3, "table.cells"),
        (4, "table.quotes"),
        (6, "number.not_plain"),
        (7, "table.quotes"),
    ]


def test_a_cell_over_two_lines_is_named_by_its_first() -> None:
    text = written([row(nights="every other\nnight"), row(person="B", minutes="x")])
    assert [(one.line, one.key) for one in refused(text).lines] == [
        (2, "table.line_break"),
        (4, "number.not_plain"),
    ]


@pytest.mark.parametrize("sign", ["\x1b[2J", "\x07", "\u202e", "\x9b", "\u2028"])
def test_signs_that_act_on_a_screen_are_not_taken(sign: str) -> None:
    found = refused(written([row(person=f"A{sign}B"), row(minutes=f"4{sign}5")]))
    assert [(one.line, one.key, one.params) for one in found.lines] == [
        (2, "table.unseen", ()),
        (3, "table.unseen", ()),
    ]
    found = refused(f"night{sign}x,nights\n1,2\n")
    assert (found.key, found.params) == ("table.unseen_head", {})


def test_a_file_without_an_end_is_too_long() -> None:
    with pytest.raises(TableRefused) as caught:
        read_file(Path("/dev/zero"), TODAY)
    assert caught.value.key == "table.too_long"


def test_blank_lines_and_empty_columns_of_a_spreadsheet_are_left_alone() -> None:
    text = written([ROW, row(person="B")])
    padded = "\n".join(line and line + ",," for line in text.splitlines()) + "\n\n,,,,,,,,,,,,\n\n"
    assert [pair.line for pair in read_text("sep=,\n" + padded, TODAY)] == [3, 4]


@pytest.mark.parametrize(
    ("head", "key"),
    [
        ("night,night", "table.column_twice"),
        ("night,Night ", "table.column_twice"),
        ("night,nigths", "table.column_unknown"),
        ("night,,nights", "table.column_unnamed"),
        ("night,urea_before_mg_dl", "csv.mg_dl"),
        ("night,urea_before", "csv.urea_unit"),
        ("night,BUN", "csv.urea_unit"),
        ("night,weight_after", "csv.weight_unit"),
        ("night,urea_before_mmol_l,urea_before_mg_dl_urea", "csv.two_units"),
        ("night,nights", "csv.missing"),
        ("note,note_2", "table.no_columns"),
        ('"night', "table.head_quotes"),
    ],
)
def test_a_head_that_cannot_be_taken_is_refused_whole(head: str, key: str) -> None:
    found = refused(head + "\n1,2\n")
    assert (found.key, found.lines) == (key, ())


@pytest.mark.parametrize(
    "name",
    [name for name in ROW if name not in ("person", "koa_ml_min", "blood_flow_ml_min", "fluid_flow_ml_min")],
)
def test_a_missing_column_is_named(name: str) -> None:
    cells = {**ROW}
    del cells[name]
    found = refused(written([cells]))
    assert found.key == "csv.missing"
    assert name in str(found.params["names"])


def test_columns_of_ones_own_are_left_alone() -> None:
    (pair,) = read_text(written([{**ROW, "note": "a, b", "Note on the lab": "x"}]), TODAY)
    assert pair.person == "A"


def test_the_same_night_twice_is_named_with_the_first() -> None:
    found = refused(written([ROW, row(person="B"), ROW]))
    assert [(one.line, one.key, dict(one.params)) for one in found.lines] == [
        (4, "csv.night_twice", {"line": "2"})
    ]


def test_a_file_with_nothing_in_it_is_told_so() -> None:
    assert refused(written([ROW]).splitlines()[0] + "\n").key == "table.no_rows"
    for data in (b"", b"\n \n", codecs.BOM_UTF8):
        with pytest.raises(TableRefused) as caught:
            decoded(data)
        assert caught.value.key == "table.empty"


def test_bytes_of_another_encoding_are_named_with_their_line(tmp_path: Path) -> None:
    path = tmp_path / "b.csv"
    path.write_bytes(written([ROW, row(person="Ä")]).encode("latin-1"))
    with pytest.raises(TableRefused) as caught:
        read_file(path, TODAY)
    assert (caught.value.key, caught.value.params) == ("table.encoding", {"line": 3, "byte": "0xc4"})
    with pytest.raises(TableRefused) as caught:
        decoded("night,x\n".encode("utf-16-le"))
    assert caught.value.key == "table.encoding"


def test_a_file_that_cannot_be_read_is_told_so(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(InputError) as caught:
            read_file(path, TODAY)
        assert caught.value.key == "table.not_read"


@given(
    st.one_of(
        st.binary(max_size=300), st.text(max_size=300).map(lambda text: text.encode("utf-8", "replace"))
    )
)
@settings(max_examples=300)
def test_no_bytes_do_more_than_be_refused(data: bytes) -> None:
    with pytest.raises(InputError):
        read_text(decoded(data), TODAY)


CELLS = st.one_of(
    st.sampled_from(["", "0", "16.1", "1e400", "nan", '"', "٣", "−4", "3,4", "12 345"]), st.text(max_size=8)
)


@given(
    st.lists(
        st.fixed_dictionaries({name: st.one_of(st.just(ROW[name]), CELLS) for name in ROW}),
        min_size=1,
        max_size=5,
    )
)
@settings(max_examples=200)
def test_any_cells_are_taken_whole_or_refused_with_words(rows: list[dict[str, str]]) -> None:
    try:
        found = read_text(written(rows), TODAY)
    except (TableRefused, TableAsked) as why:
        for one in why.lines:
            assert has_text(one.key), one.key
        return
    assert all(one.urea_after < one.urea_before for one in found)


def test_decimal_marks_are_read_as_the_file_has_them() -> None:
    lines = [
        row(weight_after_kg="64,500", gain_l_day="1,07", urea_before_mmol_l="16,1", urea_after_mmol_l="3,2")
    ]
    text = written(lines, ";")
    assert read_text(text, TODAY)[0].weight_kg == 64.5
    mixed = written([*lines, row(person="B")], ";")
    assert [(one.line, one.key) for one in refused(mixed).lines] == [(2, "number.ambiguous")]
    assert read_text(written([row(weight_after_kg="64.500")]), TODAY)[0].weight_kg == 64.5


def test_which_night_of_the_pattern_it_was() -> None:
    def which(**change: str) -> tuple[int, int]:
        cells = row(nights="mon wed fri sun / tue thu sat", **change)
        (pair,) = read_text(written([cells]), TODAY)
        return pair.which, pair.since_last_days

    assert which(night="2026-04-27") == (0, 2)
    assert which(night="2026-04-28") == (4, 2)
    twice = {"nights": "mon tue / mon thu", "night": "2026-04-27"}
    (pair,) = read_text(written([row(week="2", **twice)]), TODAY)
    assert (pair.which, pair.since_last_days) == (2, 6)


def test_the_week_is_asked_where_it_decides() -> None:
    twice = {"nights": "mon tue / mon thu", "night": "2026-04-28"}
    assert refused(written([row(week="2", **twice)])).lines[0].key == "csv.other_week"
    assert refused(written([row(week="1.5", **twice)])).lines[0].key == "csv.week"
    assert refused(written([row(week="3", **twice)])).lines[0].key == "csv.outside"


def test_a_clearance_stands_in_for_the_dialyser() -> None:
    cells = {**ROW, "clearance_ml_min": "180"}
    assert refused(written([cells])).lines[0].key == "csv.two_clearances"
    del cells["koa_ml_min"]
    assert read_text(written([cells]), TODAY)[0].clearance_l_min == 0.18
    assert refused(written([{**cells, "clearance_ml_min": "240"}])).lines[0].key == "csv.clearance_over"
    del cells["blood_flow_ml_min"], cells["fluid_flow_ml_min"]
    assert read_text(written([cells]), TODAY)[0].koa_ml_min is None


@pytest.mark.source(
    "kinetics:B32", detail="180 mmol/L, 600 mL, 2640 min, mean of 6 and 20: 3.14685315 mL/min"
)
@pytest.mark.source("kinetics:B34", detail="160 mmol/L, 500 mL, 24 h, 0.9 of 20: 3.08641975 mL/min")
def test_own_kidneys_come_from_urine() -> None:
    urine = {
        "urine_ml": "600",
        "urine_min": "2640",
        "urine_urea_mmol_l": "180",
        "urea_next_before_mmol_l": "20",
    }
    cells = row(urea_after_mmol_l="6", urea_before_mmol_l="20", minutes="300", **urine)
    (pair,) = read_text(written([cells]), TODAY, as_typed=True)
    assert (round(pair.own_kidneys_ml_min, 8), pair.own_kidneys_by) == (3.14685315, "between")
    day = {
        **cells,
        "urine_ml": "500",
        "urine_min": "1440",
        "urine_urea_mmol_l": "160",
        "urea_next_before_mmol_l": "",
    }
    (pair,) = read_text(written([day]), TODAY, as_typed=True)
    assert (round(pair.own_kidneys_ml_min, 8), pair.own_kidneys_by) == (3.08641975, "day")
    (pair,) = read_text(written([{**day, "urea_next_before_mmol_l": "20"}]), TODAY, as_typed=True)
    assert (round(pair.own_kidneys_ml_min, 8), pair.own_kidneys_by) == (3.08641975, "day")
    (pair,) = read_text(written([{**day, "nights": "every night"}]), TODAY, as_typed=True)
    assert (pair.own_kidneys_ml_min, pair.own_kidneys_by) == (
        pytest.approx(160 * 500 / (1440 * (6 + 20) / 2)),
        "between",
    )
    short = refused(written([{**day, "urine_min": "720"}]))
    assert short.lines[0].key == "science.urine_part_of_gap"
    assert refused(written([{**day, "urine_ml": ""}])).lines[0].key == "csv.urine_parts"
    assert refused(written([{**day, "urine_min": "2640"}])).lines[0].key == "csv.urine_next"
    assert refused(written([{**day, "own_kidneys_ml_min": "2"}])).lines[0].key == "csv.two_own"
    assert (
        refused(written([{**cells, "urea_next_before_mmol_l": "5"}])).lines[0].key == "science.fell_between"
    )


@pytest.mark.source("examples:E17.2", detail="creatinine: 88.4 umol/L is 1 mg/dL")
def test_creatinine_goes_beside_urea_in_either_unit() -> None:
    (one,) = read_text(written([row(**CREATININE)]), TODAY)
    assert one.creatinine == CreatininePair(0.54, 0.118, clearance_l_min(850, 230, 300, 0.77))
    other = {
        "creatinine_before_mg_dl": "6.10",
        "creatinine_after_mg_dl": "1.33",
        "creatinine_clearance_ml_min": "150",
    }
    (two,) = read_text(written([row(**other)]), TODAY)
    assert two.creatinine == pytest.approx((0.53924, 0.117572, 0.150))
    (none,) = read_text(written([row(**dict.fromkeys(CREATININE, ""))]), TODAY)
    assert none.creatinine is None


@pytest.mark.parametrize(
    ("change", "column", "key"),
    [
        ({"creatinine_after_umol_l": ""}, "creatinine_after_umol_l", "csv.creatinine_half"),
        ({"creatinine_before_umol_l": ""}, "creatinine_before_umol_l", "csv.creatinine_half"),
        ({"creatinine_after_umol_l": "540"}, "creatinine_after_umol_l", "csv.same"),
        ({"creatinine_after_umol_l": "600"}, "creatinine_after_umol_l", "csv.swapped"),
        ({"creatinine_koa_ml_min": ""}, "creatinine_clearance", "csv.no_clearance"),
        ({"creatinine_koa_ml_min": "8"}, "creatinine_koa_ml_min", "csv.outside"),
        ({"creatinine_before_umol_l": "6.1"}, "creatinine_before_umol_l", "csv.outside"),
    ],
)
def test_what_cannot_be_of_creatinine_is_named(change: dict[str, str], column: str, key: str) -> None:
    assert one_wrong(**{**CREATININE, **change}) == (column, key)


def test_creatinine_outside_the_usual_is_asked_about() -> None:
    assert asked([row(**{**CREATININE, "creatinine_before_umol_l": "1800"})]) == [(2, "slip.range_other")]


def test_other_substances_go_to_the_comparison() -> None:
    other = {
        "phosphate_before_mg_dl": "4.65",
        "phosphate_koa_ml_min": "800",
        "beta_2_microglobulin_before_mg_l": "24",
    }
    (pair,) = read_text(written([row(**other)]), TODAY)
    assert dict(pair.levels) == {"phosphate": pytest.approx(1.5015, rel=1e-3), "beta_2_microglobulin": 24.0}
    assert dict(pair.koas) == {"phosphate": 800.0}
    assert asked([row(**{**other, "phosphate_before_mg_dl": "12"})]) == [(2, "slip.range_other")]


def test_figures_outside_the_usual_are_asked_about() -> None:
    assert asked([row(urea_before_mmol_l="60", urea_after_mmol_l="12")]) == [(2, "slip.range")]
    assert asked([row(urea_after_mmol_l="0.4", minutes="540")]) == [(2, "slip.range")]
    assert read_text(written([row(urea_before_mmol_l="8.5", urea_after_mmol_l="1.6")]), TODAY)
    assert asked([row(gain_l_day="6")]) == [(2, "slip.gain")]


@pytest.mark.parametrize("factor", [2.8, 2.14])
def test_a_figure_in_another_unit_is_seen_by_the_fall(factor: float) -> None:
    """The one after in mg/dL of nitrogen under a head in mmol/L, or in urea under one in nitrogen."""
    rows = people(1, 3)
    rows[1]["urea_after_mmol_l"] = f"{float(rows[1]['urea_after_mmol_l']) * factor:.2f}"
    assert asked(rows) == [(3, "slip.pair")]


def test_a_whole_pair_in_another_unit_is_seen_by_the_others() -> None:
    rows = people(1, 6)
    for one in rows:
        one |= {"urea_before_mmol_l": "16.1", "urea_after_mmol_l": "3.2"}
    rows[2] |= {"urea_before_mmol_l": "34.5", "urea_after_mmol_l": "6.86"}
    assert asked(rows) == [(4, "slip.others")]


def test_a_weight_in_pounds_is_seen_by_the_others() -> None:
    rows = people(1, 6)
    kilos = float(rows[3]["weight_after_kg"])
    rows[3]["weight_after_kg"] = f"{kilos / 0.45359237:.1f}"
    rows[5]["weight_after_kg"] = f"{kilos * 0.8:.1f}"
    assert asked(rows) == [(5, "slip.pounds"), (7, "slip.weight")]


def test_bloods_that_are_only_scattered_are_not_asked_about() -> None:
    rows = people(300, 8, seed=3)
    assert len(read_text(written(rows), TODAY)) == len(rows) == 2400


def test_the_day_of_the_week_is_no_slip() -> None:
    """Urea before the first night after a day off is about twice that before the others, in one unit."""
    days = tuple(range(6))
    rows = []
    for number in range(8):
        which = 0 if number == 2 else 3
        starts = tuple(1440.0 * day for day in days)
        month = MonthBloods(
            1, 0.5, 64.5, clearance_l_min(1050, 230, 300), 1.07 / 1440, starts, 450, 10080, which
        )
        told = expected(month, 0.58, 1.0)
        night = date(2025, 5, 5) + timedelta(days=28 * number + which)
        before, after = (f"{0.22 * 0.93 * exp(one):.2f}" for one in (told.before, told.post))
        rows.append(
            row(
                nights="mon tue wed thu fri sat",
                night=night.isoformat(),
                urea_before_mmol_l=before,
                urea_after_mmol_l=after,
            )
        )
    assert float(rows[2]["urea_before_mmol_l"]) > 1.8 * float(rows[3]["urea_before_mmol_l"])
    assert len(read_text(written(rows), TODAY)) == 8


def test_units_differ_by_what_they_weigh() -> None:
    factors = unit_factors()
    assert factors["mg/dL as nitrogen", "mmol/L"] == pytest.approx(2.8, rel=2e-3)
    assert factors["mg/dL as urea", "mmol/L"] == pytest.approx(6.006, rel=2e-3)


def test_the_docs_list_every_column_with_its_ends() -> None:
    text = (DOCS / "notebook.md").read_text("utf-8")
    told = {
        m[1]: (m[2].strip(), m[3].strip())
        for m in re.finditer(r"^\| `(\w+)` \|[^|]*\|([^|]*)\|([^|]*)\|$", text, re.M)
    }
    assert list(told) == [one.name for one in COLUMNS]
    first: set[str] = set()
    for one in COLUMNS:
        if one.base not in first:
            assert told[one.name] == (one.low, one.high), one.name
        first.add(one.base)
