"""The point list: which line speaks for which point, ``*`` in it, and lines that still say what the draft proposed."""

from __future__ import annotations

import pytest

from analyzer.errors import PointListError
from analyzer.intake import read_exports
from analyzer.intake.points.point import Point
from analyzer.intake.points.point_list import PointList, read_point_list
from analyzer.site import Site

HEADER = "file,column,terminal,quantity,unit,states,ignore,proposed\n"


def listed(tmp_path, *lines: str) -> PointList:
    path = tmp_path / "points.csv"
    path.write_text(HEADER + "\n".join(lines) + "\n")
    return read_point_list(path, [])


def applied(points: PointList, column: str, tag: str, *, file="week.csv", quantity=None, owner=None) -> Point:
    spelled = tag if tag in column else ""
    return points.apply(Point(file, column, tag, quantity, owner=owner, spelled=spelled, certainty="guess"), owner)


@pytest.mark.parametrize(
    ("line", "meant", "others"),
    [
        # a name at every terminal
        (",* ZN-T,,zone_temp,degF,,", ("week.csv", "VAV-1 ZN-T", "VAV-1"), ("week.csv", "VAV-1 DA-T", "VAV-1")),
        (",ZN-T *,,zone_temp,degF,,", ("week.csv", "ZN-T VAV-1", "VAV-1"), ("week.csv", "DA-T VAV-1", "VAV-1")),
        # some terminals alone
        (",* T,VAV-3-*,zone_temp,,,", ("week.csv", "VAV-3-01 T", "VAV-3-01"), ("week.csv", "VAV-2-01 T", "VAV-2-01")),
        (",*,VAV-3-01,zone_temp,,,", ("week.csv", "VAV-3-01 T", "VAV-3-01"), ("week.csv", "VAV-2-01 T", "VAV-2-01")),
        # some files alone, whole paths or their ends
        ("north*,T,,zone_temp,,,", ("north hall.csv", "T", "VAV-1"), ("south hall.csv", "T", "VAV-1")),
        ("north/*.csv,T,,zone_temp,,,", ("exports/north/a.csv", "T", "VAV-1"), ("exports/south/a.csv", "T", "VAV-1")),
        # any terminal, any file
        ("*,T,*,zone_temp,,,", ("week.csv", "T", "VAV-1"), ("week.csv", "T 2", "VAV-1")),
    ],
)  # fmt: skip
def test_a_star_stands_for_any_text(tmp_path, line, meant, others):
    points = listed(tmp_path, line)
    (file, column, tag), (other_file, other_column, other_tag) = meant, others
    said = applied(points, column, tag, file=file)
    assert (said.quantity, said.tag, said.certainty) == ("zone_temp", tag, "point list")
    assert applied(points, other_column, other_tag, file=other_file).quantity is None


def test_a_name_with_signs_of_expressions_is_itself(tmp_path):
    points = listed(tmp_path, ",T [x] (1+1) *,,zone_temp,,,")
    assert applied(points, "T [x] (1+1) VAV-1", "VAV-1").quantity == "zone_temp"
    assert applied(points, "T x 11 VAV-1", "VAV-1").quantity is None


def test_the_line_that_says_more_speaks_whatever_the_order(tmp_path):
    lines = (",* FLOW,,primary_flow,cfm,,", ",* OA FLOW,,outdoor_air_flow,cfm,,", ",VAV-7 OA FLOW,VAV-7,,,,yes")
    for order in (lines, lines[::-1]):
        points = listed(tmp_path, *order)
        assert applied(points, "VAV-1 FLOW", "VAV-1").quantity == "primary_flow"
        assert applied(points, "VAV-1 OA FLOW", "VAV-1").quantity == "outdoor_air_flow"
        assert applied(points, "VAV-7 OA FLOW", "VAV-7").ignored
        assert not applied(points, "VAV-7 FLOW", "VAV-7").ignored


def test_a_terminal_left_out_stays_out_whatever_its_names_mean(tmp_path):
    points = listed(tmp_path, ",* ZN-T,,zone_temp,degF,,", ",*,VAV-7,,,,yes")
    assert applied(points, "VAV-7 ZN-T", "VAV-7").ignored
    assert applied(points, "VAV-1 ZN-T", "VAV-1").quantity == "zone_temp"


def test_whose_a_room_is_and_what_its_names_mean_can_be_said_apart(tmp_path):
    points = listed(tmp_path, ",Room 12 *,VAV-12,,,,", ",* ZN-T,,zone_temp,degF,,")
    said = applied(points, "Room 12 ZN-T", "Room 12")
    assert (said.tag, said.quantity, said.unit) == ("VAV-12", "zone_temp", "degF")
    other = applied(points, "Room 13 ZN-T", "Room 13")
    assert (other.tag, other.quantity) == ("Room 13", "zone_temp")


def test_a_file_is_given_to_one_terminal(tmp_path):
    points = listed(tmp_path, "room 12*.csv,*,VAV-12,,,,")
    assert applied(points, "ZN-T", "room 12", file="room 12 log.csv", owner="room 12 log").tag == "VAV-12"
    assert applied(points, "ZN-T", "room 13", file="room 13 log.csv", owner="room 13 log").tag == "room 13"


def test_a_line_for_one_terminal_is_for_no_other(tmp_path):
    """Of a tidy table, whose columns have one name at every terminal; and of a name with the tag in it."""
    for name, column in (("Flow", "Flow"), ("* Flow", "VAV-2 Flow")):
        points = listed(tmp_path, f",{name},,primary_flow,cfm,,", f",{name},VAV-9,,,,yes")
        said = applied(points, column, "VAV-2", owner="VAV-2")
        assert (said.tag, said.quantity, said.ignored) == ("VAV-2", "primary_flow", False)


def test_a_line_that_says_nothing_changes_nothing(tmp_path):
    point = applied(listed(tmp_path, ",VAV-1 T,,,,,"), "VAV-1 T", "VAV-1", quantity="zone_temp")
    assert (point.quantity, point.certainty) == ("zone_temp", "guess")


def test_a_line_as_it_was_drafted_is_no_word_of_the_users(tmp_path):
    drafted = ',* T,,zone_temp,degF,,,"zone_temp, degF"'
    point = applied(listed(tmp_path, drafted), "VAV-1 T", "VAV-1", quantity="zone_temp")
    assert (point.certainty, point.unit, point.unit_from) == ("guess", "degF", "assumption")
    corrected = drafted.replace(",zone_temp,degF,,,", ",plenum_temp,degF,,,")
    point = applied(listed(tmp_path, corrected), "VAV-1 T", "VAV-1", quantity="zone_temp")
    assert (point.certainty, point.quantity, point.unit_from) == ("point list", "plenum_temp", "point list")


def test_what_was_drafted_for_one_terminal_keeps_what_is_said_of_all_away(tmp_path):
    points = listed(tmp_path, ",* T,,zone_temp,,,,nothing", ',VAV-2 T,VAV-2,plenum_temp,,,,"plenum_temp, of VAV-2"')
    assert applied(points, "VAV-1 T", "VAV-1").quantity == "zone_temp"
    assert applied(points, "VAV-2 T", "VAV-2", quantity="plenum_temp").quantity == "plenum_temp"


def test_a_drafted_name_keeps_no_line_of_the_users_away(tmp_path):
    points = listed(
        tmp_path, ',* LONG NAME,,zone_temp,degF,,,"zone_temp, degF"', ",*,VAV-3-*,,,,yes,", "bad.csv,*,,,,,yes,"
    )
    assert applied(points, "VAV-3-01 LONG NAME", "VAV-3-01", quantity="zone_temp").ignored
    assert applied(points, "VAV-2-01 LONG NAME", "VAV-2-01", file="bad.csv", quantity="zone_temp").ignored
    assert not applied(points, "VAV-2-01 LONG NAME", "VAV-2-01", quantity="zone_temp").ignored


def test_a_unit_that_is_none_of_the_quantitys_is_refused_with_its_line(tmp_path):
    points = listed(tmp_path, ",* T,,zone_temp,cfm,,")
    with pytest.raises(PointListError, match=r"line 2, unit.*'cfm' is no unit of temperature"):
        applied(points, "VAV-1 T", "VAV-1")


def test_an_outdoor_temperature_keeps_the_unit_it_was_drafted_in(tmp_path):
    """Beside a room in degC it is in degC, though most of the export is in degF and the drafted site file says so."""
    from analyzer.draft import draft
    from analyzer.site import read_site

    exports = tmp_path / "exports"
    exports.mkdir()
    stamps = [f"2026-05-12 {hour:02}:{minute:02}" for hour in range(24) for minute in (0, 30)]
    for tag, room in (("VAV-1", 71), ("VAV-2", 72), ("VAV-3", 70)):
        rows = [f"{stamp},{room + n % 3}" for n, stamp in enumerate(stamps)]
        (exports / f"{tag}.csv").write_text("Time,Zone Temp\n" + "\n".join(rows) + "\n")
    rows = [f"{stamp},{21 + n % 2},{10 + n % 9}" for n, stamp in enumerate(stamps)]
    (exports / "AHU-1.csv").write_text("Time,VAV-9 Zone Temp,AHU-1 Outdoor Air Temp\n" + "\n".join(rows) + "\n")
    bare = read_exports([exports], Site())
    assert bare.air_handlers["outdoor_temp"].max() == 18
    draft([exports], None, tmp_path / "out", lambda line: None)
    drafted = read_exports([exports], read_site(tmp_path / "out"))
    assert drafted.air_handlers["outdoor_temp"].tolist() == bare.air_handlers["outdoor_temp"].tolist()
    assert any("as it was drafted" in sentence for sentence in drafted.ledger.assumptions)


@pytest.mark.parametrize("air_handler", [False, True])
def test_a_quantity_that_both_have_stays_with_its_owner(tmp_path, air_handler):
    points = listed(tmp_path, ",* LOOP,,cooling_signal,%,,")
    own = Point("week.csv", "X-1 LOOP", "X-1", None, air_handler, certainty="guess", spelled="X-1")
    said = points.apply(own, None)
    assert (said.quantity, said.air_handler) == ("cooling_signal", air_handler)
