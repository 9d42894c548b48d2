"""Two instruments or terminals behind one name: told apart, never blended; and one point under two names."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.errors import ExportError
from analyzer.intake.grid.logs import classify
from analyzer.intake.grid.moments import Series, take_out_messy
from analyzer.intake.points.alternation import alternate
from tests.intake.folders import read, said, tags, values

MINUTES = range(0, 60, 5)


def rows(form: str, **more) -> str:
    return "".join(
        form.format(stamp=f"2026-01-26 {h:02d}:{m:02d}", n=n % 7, **more) + "\n"
        for n, (h, m) in enumerate((h, m) for h in (8, 9) for m in MINUTES)
    )


@pytest.mark.parametrize("header", ["source", "sensor", "instrument"])
@pytest.mark.parametrize("order", ["in turns", "one after the other"])
def test_two_instruments_of_one_room_in_a_long_table(tmp_path, header, order):
    forms = ["{stamp},VAV-1,wall,zone_temp,2{n}.5", "{stamp},VAV-1,desk,zone_temp,18"]
    text = rows("\n".join(forms)) if order == "in turns" else "".join(map(rows, forms))
    trends = read(tmp_path, {"log.csv": f"time,terminal,{header},property,value\n{text}"})
    assert values(trends, "VAV-1", "zone_temp") == [20.5 + n % 7 for n in range(24)]
    assert "'VAV-1 zone_temp [wall]' rather than 'VAV-1 zone_temp [desk]'" in said(trends)


def test_two_instruments_of_one_room_in_a_tidy_table(tmp_path):
    text = rows("{stamp},101,wall,2{n}.5\n{stamp},101,desk,18\n{stamp},102,wall,2{n}.0")
    trends = read(tmp_path, {"log.csv": f"time,room,sensor,zone_temp\n{text}"})
    assert values(trends, "101", "zone_temp") == [20.5 + n % 7 for n in range(24)]
    assert values(trends, "102", "zone_temp") == [20 + n % 7 for n in range(24)]


def test_a_key_under_any_header_tells_rows_of_one_moment_apart(tmp_path):
    text = rows("{stamp},VAV-1 ZN-T,2{n}.5,first\n{stamp},VAV-1 ZN-T,18,second")
    trends = read(tmp_path, {"log.csv": f"time,point,value,position\n{text}"})
    assert values(trends, "VAV-1", "zone_temp") == [20.5 + n % 7 for n in range(24)]


def test_the_point_list_chooses_an_instrument(tmp_path):
    from analyzer.site import read_site

    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "UTC"\npoints = "points.csv"\n')
    (tmp_path / "points.csv").write_text("column,terminal,quantity,ignore\nVAV-1 zone_temp [wall],,,yes\n")
    text = rows("{stamp},VAV-1,wall,zone_temp,2{n}.5\n{stamp},VAV-1,desk,zone_temp,18")
    trends = read(
        tmp_path / "exports",
        {"log.csv": f"time,terminal,source,property,value\n{text}"},
        read_site(tmp_path / "site.toml"),
    )
    assert set(values(trends, "VAV-1", "zone_temp")) == {18}


def test_a_sensor_that_is_replaced_stays_one_point(tmp_path):
    forms = [f"2026-01-26 08:{m:02d},VAV-1,{'old' if m < 30 else 'new'},zone_temp,21.{m % 7}" for m in range(60)]
    trends = read(tmp_path, {"log.csv": "time,terminal,source,property,value\n" + "\n".join(forms) + "\n"})
    assert len(values(trends, "VAV-1", "zone_temp")) == 60


@pytest.mark.parametrize("numbers", [("101", "102"), ("101", "101")])
def test_tags_that_are_numbers(tmp_path, numbers):
    one, two = numbers
    text = rows(f"{{stamp}},{one},2{{n}}.5") + (rows(f"{{stamp}},{two},2{{n}}.5") if one != two else "")
    trends = read(tmp_path, {"log.csv": f"time,terminal,zone_temp\n{text}"})
    assert tags(trends) == sorted(set(numbers))


def test_a_room_of_whole_degrees_is_no_tag(tmp_path):
    trends = read(tmp_path, {"VAV-1.csv": "time,Room,Airflow\n" + rows("{stamp},2{n},31{n}")})
    assert values(trends, "VAV-1", "zone_temp")[:3] == [20, 21, 22]


def test_two_files_whose_readings_alternate_are_two_terminals_by_their_folders(tmp_path):
    files = {
        "a/VAV-1.csv": "time,ZN-T\n" + rows("{stamp}:00,20.{n}"),
        "b/VAV-1.csv": "time,ZN-T\n" + rows("{stamp}:37,25.{n}"),
    }
    assert tags(read(tmp_path, files)) == ["a VAV-1", "b VAV-1"]


def test_two_files_of_one_folder_whose_readings_alternate_are_not_blended(tmp_path):
    files = {
        "VAV-1.csv": "time,ZN-T\n" + rows("{stamp}:00,20.{n}"),
        "VAV-1_2026-01-26.csv": "time,ZN-T\n" + rows("{stamp}:37,25.{n}"),
    }
    trends = read(tmp_path, files)
    assert max(values(trends, "VAV-1", "zone_temp")) < 21
    assert "Logs of one point whose readings alternate" in said(trends)
    assert trends.ledger.set_aside == {"duplicate timestamp": 24}


def log(begin: float, step: float, level: float, count: int, own: float = 0.1) -> tuple[np.ndarray, np.ndarray]:
    return (begin + step * np.arange(count)).astype(np.int64), level + own * (np.arange(count) % 2)


@pytest.mark.parametrize(("count", "parted"), [(7, True), (6, False)])
def test_logs_alternate_a_dozen_times(count, parted):
    assert alternate(log(0, 10, 20, count), log(5, 10, 25, count)) is parted


@pytest.mark.parametrize(("jump", "parted"), [(0.29, False), (0.41, True)])
def test_logs_jump_by_three_times_their_own_step(jump, parted):
    assert alternate(log(0, 10, 20, 50), log(5, 10, 20 + jump, 50)) is parted


@pytest.mark.parametrize(("shorter", "parted"), [(48, True), (52, False)])
def test_logs_take_turns_over_a_quarter_of_the_shorter_one(shorter, parted):
    # It runs along for its first half dozen samples, twelve turns, and goes on alone.
    first, other = log(0, 10, 20, 6), log(5, 10, 25, shorter)
    more = log(10_000, 10, 20, 100)
    assert alternate((np.r_[first[0], more[0]], np.r_[first[1], more[1]]), other) is parted


def test_a_point_that_is_renamed_half_way(tmp_path):
    table = "time,VAV-1 Zone Temp,VAV-1 Space Temperature\n" + "".join(
        f"2026-01-26 08:{m:02d},{'' if m >= 30 else 20 + m % 5},{'' if m < 30 else 20 + m % 5}\n" for m in range(60)
    )
    trends = read(tmp_path, {"log.csv": table})
    assert values(trends, "VAV-1", "zone_temp") == [20 + m % 5 for m in range(60)]
    assert "'VAV-1 Zone Temp' then 'VAV-1 Space Temperature'" in said(trends)


def test_names_that_share_a_moment_are_two_points(tmp_path):
    table = "time,VAV-1 Zone Temp,VAV-1 Space Temperature\n" + "".join(
        f"2026-01-26 08:{m:02d},{'' if m > 30 else 20 + m % 5},{'' if m < 30 else 20 + m % 5}\n" for m in range(60)
    )
    trends = read(tmp_path, {"log.csv": table})
    assert len(values(trends, "VAV-1", "zone_temp")) == 30
    assert "rather than" in said(trends)


def test_a_letter_or_a_figure_tells_parts_of_the_file_s_terminal_apart(tmp_path):
    for first, second in (("A", "B"), ("1", "2")):
        table = rows("{stamp},2{n},3{n},7{n}.5")
        trends = read(
            tmp_path / first, {"DDX-1.csv": f"Time,Zone Temp (degC),Damper {first} (%),Damper {second} (%)\n{table}"}
        )
        assert tags(trends) == ["DDX-1"]
        assert f"'Damper {first} (%)'" in said(trends) and f"'Damper {second} (%)'" in said(trends)


def test_letters_that_all_points_bear_are_terminals(tmp_path):
    table = rows("{stamp},2{n},1{n}")
    trends = read(tmp_path, {"DDX-1.csv": f"Time,A Zone Temp (degC),B Zone Temp (degC)\n{table}"})
    assert tags(trends) == ["A", "B"]


def twice(second: int, differing: int = 24) -> str:
    """Write a table with two columns of one heading: so many rows of the second read what the first does not."""
    text = rows("{stamp},2{n}.5,2{n}.5,300").splitlines()
    for n in range(differing):
        first = text[n].split(",")[1]
        text[n] = text[n].replace(f"{first},{first}", f"{first},{float(first) + second}")
    return "Time,Room Temp (°C),Room Temp (°C),Airflow (cfm)\n" + "\n".join(text) + "\n"


@pytest.mark.parametrize(
    ("second", "differing", "taken"), [(-3, 24, False), (-3, 2, False), (-3, 1, True), (0, 24, True)]
)
def test_two_columns_of_one_heading(tmp_path, second, differing, taken):
    trends = read(tmp_path, {"RT-5.csv": twice(second, differing)})
    assert bool(values(trends, "RT-5", "zone_temp")) is taken
    assert len(values(trends, "RT-5", "primary_flow")) == 24
    assert ("columns of one heading whose readings differ were left out" in said(trends)) is not taken


def test_flows_that_differ_by_a_number_alone(tmp_path):
    text = rows("{stamp},2{n}.5,16,7{n}")
    trends = read(tmp_path, {"DI-1.csv": f"Time,Zone Temp (°C),Flow 1 (L/s),Flow 2 (L/s)\n{text}"})
    assert not values(trends, "DI-1", "primary_flow")
    assert "may be those of two inlets, and none was taken: 'Flow 1 (L/s)' and 'Flow 2 (L/s)'" in said(trends)


def test_a_flow_that_says_more_than_those_with_a_number(tmp_path):
    text = rows("{stamp},150,16,7{n}")
    trends = read(tmp_path, {"DI-1.csv": f"Time,Primary Flow (L/s),Flow 1 (L/s),Flow 2 (L/s)\n{text}"})
    assert set(values(trends, "DI-1", "primary_flow")) == {150}


def test_where_only_columns_under_the_same_headers_are_left_the_file_is_refused(tmp_path):
    text = "Time,ZN-T (degF),FLOW (cfm),ZN-T (degF),FLOW (cfm)\n2026-01-26 06:00,68,200,70,300\n"
    with pytest.raises(ExportError, match=r"trend\.csv: .*several columns of one heading"):
        read(tmp_path, {"trend.csv": text})


def test_logs_of_which_every_column_was_rejected_are_passed_over():
    nothing = np.full((2, 1), -1, np.int32)
    series = Series(nothing, nothing, np.array([0, 1]), np.array([0]), np.array([[20.0], [21.0]]), True)
    assert len(take_out_messy([series], 0).time) == 0
    assert len(classify([series], np.zeros(0), np.zeros(0)).target) == 0
