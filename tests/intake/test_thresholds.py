"""Every share and count that decides what a column or a stamp is, just below it and just at it."""

from __future__ import annotations

import pyarrow as pa
import pytest

from analyzer.errors import ExportError
from analyzer.intake.points.layout import recognise
from analyzer.intake.tables.date_order import DateOrder
from analyzer.intake.tables.header import find_header, holds_stamp
from analyzer.intake.tables.raw_table import RawTable, text_column
from analyzer.intake.tables.stamps import read_stamps
from analyzer.intake.words.stamps import split_fields, to_micros, whole_year
from analyzer.intake.words.tags import TagFinder

STAMPS = [f"2026-03-{day:02d} 08:00" for day in range(1, 29)]


def table(**columns: list) -> RawTable:
    """Make a table of columns of text or of numbers; an underscore before a name stands for an empty header."""
    cells = [
        text_column(cells) if isinstance(cells[0], str) else pa.chunked_array([pa.array(cells, pa.float64())])
        for cells in columns.values()
    ]
    names = ["" if name.startswith("_") else name.replace("_", " ") for name in columns]
    return RawTable("a.csv", "a", names, cells, [None] * len(cells))


def layout_of(of: RawTable, terminals=()) -> str:
    return recognise(of, TagFinder(terminals, [])).kind


@pytest.mark.parametrize(("good", "taken"), [(4, True), (3, False)])
def test_half_of_the_cells_make_a_column_of_stamps(good, taken):
    of = table(x=STAMPS[:good] + [f"note {n}" for n in range(8 - good)], VAV_1_zone_temp=[21.0 + n for n in range(8)])
    if taken:
        assert recognise(of, TagFinder([], [])).time == [0]
        return
    with pytest.raises(ExportError, match="no column of time stamps"):
        recognise(of, TagFinder([], []))


@pytest.mark.parametrize(("clocks", "time"), [(4, [0, 1]), (3, [0])])
def test_four_fifths_of_the_cells_make_a_column_of_times_of_day(clocks, time):
    texts = [f"0{n}:15" for n in range(clocks)] + [f"note {n}" for n in range(5 - clocks)]
    days = [stamp[:10] for stamp in STAMPS[:5]]
    assert recognise(table(date=days, _=texts, VAV_1_zone_temp=[21.0] * 5), TagFinder([], [])).time == time


@pytest.mark.parametrize(("between", "time"), [(1, [0, 2]), (2, [0])])
def test_a_time_of_day_stands_no_more_than_two_columns_from_its_date(between, time):
    days = [stamp[:10] for stamp in STAMPS[:3]]
    others = {f"VAV_{n}_zone_temp": [21.0, 21.5, 22.0] for n in range(between)}
    of = table(date=days, **others, _=["08:00", "08:15", "08:30"])
    assert recognise(of, TagFinder([], [])).time == time


@pytest.mark.parametrize(("timed", "time"), [(2, [0, 1]), (3, [0])])
def test_a_column_half_of_whose_cells_have_a_time_of_day_holds_moments(timed, time):
    days = [stamp if n < timed else stamp[:10] for n, stamp in enumerate(STAMPS[:6])]
    clocks = [f"0{n}:15" for n in range(6)]
    assert recognise(table(date=days, clock=clocks, VAV_1_zone_temp=[21.0] * 6), TagFinder([], [])).time == time


@pytest.mark.parametrize(("headers", "found"), [(3, "lies on its side"), (2, "no column of time stamps")])
def test_three_stamps_in_a_row_show_a_table_on_its_side(headers, found):
    of = table(point=["VAV-1"], **{stamp: [21.0] for stamp in STAMPS[:headers]})
    with pytest.raises(ExportError, match=found):
        recognise(of, TagFinder([], []))


@pytest.mark.parametrize(("before", "found"), [(2, True), (3, False)])
def test_a_stamp_that_is_a_number_stands_among_the_first_three_cells(before, found):
    assert holds_stamp(["x"] * before + ["1772352000", "21.5"]) is found


@pytest.mark.parametrize(("before", "found"), [(11, True), (12, False)])
def test_a_stamp_stands_among_the_first_twelve_cells(before, found):
    assert holds_stamp(["x"] * before + [STAMPS[0], "21.5"]) is found


@pytest.mark.parametrize(("units", "row"), [(2, 1), (1, None)])
def test_half_of_the_cells_make_a_row_of_units(units, row):
    cells = ["degF"] * units + ["as found"] * (4 - units)
    head = find_header([["time", "a", "b", "c"], cells, *[[stamp, "1", "2", "3"] for stamp in STAMPS[:5]]])
    assert head.units_row == row


@pytest.mark.parametrize(("numbers", "first"), [(2, 1), (1, 2)])
def test_half_of_the_cells_beside_it_make_a_row_whose_stamp_is_damaged(numbers, first):
    damaged = ["?#?", *(["7"] * numbers + ["note"] * (4 - numbers))]
    head = find_header([["time", "a", "b", "c", "d"], damaged, *[[stamp, "1", "2", "3", "4"] for stamp in STAMPS[:5]]])
    assert head.first == first


@pytest.mark.parametrize(("months", "refused"), [(49, True), (50, False)])
def test_a_column_with_both_orders_of_day_and_month_is_refused_from_a_fiftieth_on(months, refused):
    told = [f"{1 + n // 15:02d}/{13 + n % 15}/2026 08:00" for n in range(months)]
    column = text_column([*told, "13/01/2026 08:00"])
    if refused:
        with pytest.raises(ExportError, match="can only be day-first"):
            read_stamps(column, "a.csv", "time", "UTC", DateOrder())
        return
    assert (read_stamps(column, "a.csv", "time", "UTC", DateOrder()).reason == 0).sum() == months


@pytest.mark.parametrize(("spelled", "read"), [(2, 2), (1, 3)])
def test_numbers_are_tried_as_stamps_where_fewer_than_half_of_the_texts_are_spelled_as_such(spelled, read):
    column = text_column(STAMPS[:spelled] + [str(1772352000 + 900 * n) for n in range(4 - spelled)])
    assert (read_stamps(column, "a.csv", "time", "UTC", DateOrder()).reason == 0).sum() == read


def test_two_digits_of_a_year_are_of_this_century_up_to_69():
    assert [int(whole_year(year)) for year in (69, 70, 99, 100)] == [2069, 1970, 1999, 100]


@pytest.mark.parametrize(("year", "good"), [(1899, False), (1900, True), (2200, True), (2201, False)])
def test_a_year_lies_between_1900_and_2200(year, good):
    (fields,) = split_fields(pa.array([f"{year}-03-01 08:00"]))
    assert (to_micros(fields, True)[0] > -(2**62)) == good


@pytest.mark.parametrize(("more", "long"), [(10, True), (11, False)])
def test_a_table_with_a_row_per_value_has_no_more_than_twelve_columns_beside_its_stamps(more, long):
    others = {f"_{n}": [f"a{n}", "b", "c", "d"] for n in range(more)}
    named = ["VAV-1 zone temp", "VAV-2 zone temp", "VAV-1 damper", "VAV-2 damper"]
    assert (layout_of(table(time=STAMPS[:4], **others, _p=named, _v=[1.0, 2.0, 3.0, 4.0])) == "long") is long


@pytest.mark.parametrize(("points", "long"), [(2, True), (1, False)])
def test_half_of_the_texts_make_a_column_of_point_names(points, long):
    named = ["VAV-1 zone temp", "VAV-2 damper"][:points] + ["remark one", "remark two", "remark three"][: 4 - points]
    assert (layout_of(table(time=STAMPS[:4], _p=named, _v=[1.0, 2.0, 3.0, 4.0])) == "long") is long


@pytest.mark.parametrize(("points", "kind"), [(3, "both"), (2, "first")])
def test_three_tenths_of_the_texts_make_the_column_that_names_points(points, kind):
    plain = [f"object {n}" for n in range(10)]
    named = [f"VAV-{n} zone temp" for n in range(points)] + [f"object {n}" for n in range(10 - points)]
    of = table(time=STAMPS[:10], name=plain, point=named, value=[float(n) for n in range(10)])
    assert recognise(of, TagFinder([], [])).names == ([2] if kind == "both" else [1])


@pytest.mark.parametrize(("readable", "long"), [(3, True), (2, False)])
def test_more_than_half_of_the_texts_of_a_column_of_values_can_be_read(readable, long):
    texts = [f"{n} cfm" for n in range(readable)] + ["lost", "gone"][: 4 - readable]
    named = [f"VAV-{n} airflow" for n in range(4)]
    assert (layout_of(table(time=STAMPS[:4], _p=named, _v=texts)) == "long") is long


@pytest.mark.parametrize(("known", "tidy"), [(3, True), (2, False)])
def test_more_than_half_of_a_column_of_tags_without_a_header_is_the_schedules(known, tidy):
    tags = [f"NORTH{n}" for n in range(known)] + [f"pit {letter}" for letter in "ab"][: 4 - known]
    of = table(time=STAMPS[:4], remark=tags, zone_temp=[21.0, 22.0, 23.0, 24.0])
    assert (layout_of(of, [f"NORTH{n}" for n in range(4)]) == "tidy") is tidy
