"""What ``draft`` proposes reads back as it stands, and says what to check first."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from analyzer.draft import draft
from analyzer.draft.site_file import site_file
from analyzer.errors import CallError
from analyzer.intake import read_exports
from analyzer.places import demo_exports
from analyzer.site import Site, read_site
from tests.intake.test_round_trip import same_table


def write(folder, **files):
    for name, text in files.items():
        (folder / name.replace("__", " ").replace("_csv", ".csv")).write_text(text)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Return the folder drafted from the demo building's wide exports, and what draft told."""
    folder = tmp_path_factory.mktemp("drafted")
    return folder, draft([demo_exports() / "wide"], None, folder, lambda line: None)


def test_the_drafted_files_read_back_to_the_same_table(demo):
    folder, _ = demo
    site = read_site(folder)
    known = read_site(demo_exports())
    # The draft cannot know the zone; everything else must come out as with the building's own description.
    (folder / "site.toml").write_text((folder / "site.toml").read_text().replace('"UTC"', '"America/Chicago"'))
    drafted = read_exports([demo_exports() / "wide"], read_site(folder))
    told = read_exports([demo_exports() / "wide"], known)
    assert site.time_zone == "UTC"
    same_table(drafted.terminals, told.terminals)
    assert drafted.ledger.cells_used == told.ledger.cells_used


def test_the_drafted_schedule_infers_kind_reheat_and_air_handler(demo):
    drafted = pd.read_csv(demo[0] / "terminals.csv").set_index("terminal")
    design = pd.read_csv(demo_exports() / "terminals.csv").set_index("terminal")
    assert list(drafted.index) == sorted(design.index)
    design = design.loc[drafted.index]
    assert (drafted["air_handler"] == design["air_handler"]).all()
    assert (drafted["reheat"].fillna("none") == design["reheat"].fillna("none")).all()
    assert ((drafted["kind"] == "single-duct") == (design["kind"] == "single-duct")).all()
    # A terminal whose fan misbehaves looks like the other kind: most, not all.
    assert (drafted["kind"] == design["kind"]).mean() > 0.9
    blank = [name for name in drafted.columns if "[" in name and not name.startswith("observed")]
    assert drafted[blank].isna().all(axis=None)
    seen = drafted["observed primary flow, high [cfm]"]
    assert (seen / design["primary_max [cfm]"]).median() == pytest.approx(1, abs=0.5)


def test_it_says_first_how_much_was_recognized_and_then_what_to_set(demo):
    _, lines = demo
    assert lines[0] == "440 of 440 points were recognized, of 44 terminals."
    assert "set time_zone" in lines[1]


def test_what_is_not_recognized_stands_first_and_can_be_corrected(tmp_path):
    write(
        tmp_path,
        trend_csv="Time,VAV-1 ZN-T,VAV-1 PT 7\n2026-01-26 06:00,70,200\n2026-01-26 06:05,70,210\n2026-01-26 06:10,71,220\n",
    )
    lines = draft([tmp_path / "trend.csv"], None, tmp_path / "out", lambda line: None)
    points = pd.read_csv(tmp_path / "out" / "points.csv", keep_default_na=False)
    assert points.loc[0, "column"] == "* PT 7"
    assert points.loc[0, ["files", "range", "changes"]].tolist() == [1, "200 to 220", "every 5 min"]
    assert points.loc[0, "example"] == "VAV-1 PT 7 = 220 (trend.csv)"
    assert points.loc[0, "certainty"] == "not recognized"
    assert any("1 name not recognized" in line and "VAV-1 PT 7" in line for line in lines)
    assert any("the unit of 1 point is a guess" in line for line in lines)
    points.loc[0, ["quantity", "unit"]] = ["primary_flow", "cfm"]
    points.to_csv(tmp_path / "out" / "points.csv", index=False)
    trends = read_exports([tmp_path / "trend.csv"], read_site(tmp_path / "out"))
    assert trends.terminals["primary_flow"].tolist() == pytest.approx([94.389, 99.109, 103.828], abs=0.001)


def test_a_tidy_table_is_drafted_name_by_name_and_corrected_at_one_terminal(tmp_path):
    rows = [f"2026-01-26 0{h}:00,{tag},{70 + h},{100 * h}" for h in range(6) for tag in ("FPB-1", "VAV-2")]
    write(tmp_path, tidy_csv="Time,Terminal,ZN-T (degF),Flow\n" + "\n".join(rows) + "\n")
    draft([tmp_path / "tidy.csv"], None, tmp_path / "out", lambda line: None)
    path = tmp_path / "out" / "points.csv"
    points = pd.read_csv(path, keep_default_na=False)
    assert list(zip(points["column"], points["terminal"], strict=True)) == [("ZN-T (degF)", ""), ("Flow", "")]
    corrected = pd.concat([points, pd.DataFrame([{"column": "Flow", "terminal": "VAV-2", "ignore": "yes"}])])
    corrected.to_csv(path, index=False)
    trends = read_exports([tmp_path / "tidy.csv"], read_site(tmp_path / "out"))
    flow = trends.terminals.groupby("terminal", observed=True)["primary_flow"].count()
    assert flow.to_dict() == {"FPB-1": 6, "VAV-2": 0}
    assert trends.ledger.set_aside == {"ignored by the point list": 6}


def test_dates_that_cannot_be_told_are_left_to_the_user(tmp_path):
    write(tmp_path, trend_csv="Time,VAV-1 ZN-T (degC)\n03/04/2026 06:00,20\n03/04/2026 06:05,20\n03/04/2026 06:10,21\n")
    lines = draft([tmp_path / "trend.csv"], None, tmp_path / "out", lambda line: None)
    assert "2026-04-03 (day first)" in lines[1]
    site = (tmp_path / "out" / "site.toml").read_text()
    (tmp_path / "out" / "site.toml").write_text(site.replace('# date_order = "day-first"', 'date_order = "day-first"'))
    trends = read_exports([tmp_path / "trend.csv"], read_site(tmp_path / "out"))
    assert str(trends.terminals["time"][0]) == "2026-04-03 06:00:00+00:00"


def test_it_never_writes_over_a_description(tmp_path):
    write(tmp_path, trend_csv="Time,VAV-1 ZN-T\n2026-01-26 06:00,70\n2026-01-26 06:05,70\n", points_csv="mine")
    with pytest.raises(CallError, match=r"points\.csv is there already"):
        draft([tmp_path / "trend.csv"], None, tmp_path, lambda line: None)
    assert (tmp_path / "points.csv").read_text() == "mine"
    assert not (tmp_path / "site.toml").exists()


def test_files_of_one_name_are_told_apart_by_their_folders_and_read_back(tmp_path):
    for hall, warm in (("North", 20), ("South", 23)):
        folder = tmp_path / "export" / hall
        folder.mkdir(parents=True)
        lines = [f"2026-01-26 06:{5 * n:02d},{warm + n},{100 * n + warm}" for n in range(3)]
        (folder / "VAV-1.csv").write_text("Time,ZN-T (degC),Flow (L/s)\n" + "\n".join(lines) + "\n")
    draft([tmp_path / "export"], None, tmp_path / "out", lambda line: None)
    points = pd.read_csv(tmp_path / "out" / "points.csv", keep_default_na=False)
    assert points["column"].tolist() == ["ZN-T (degC)", "Flow (L/s)"]
    assert points["files"].tolist() == [2, 2]
    assert pd.read_csv(tmp_path / "out" / "terminals.csv")["terminal"].tolist() == ["North VAV-1", "South VAV-1"]
    trends = read_exports([tmp_path / "export"], read_site(tmp_path / "out")).terminals
    assert trends.groupby("terminal", observed=True)["zone_temp"].min().to_dict() == {
        "North VAV-1": 20, "South VAV-1": 23,
    }  # fmt: skip


def test_the_kind_follows_from_what_a_terminal_logs_and_from_its_tag(tmp_path):
    """In a tidy table every terminal has the fan's column; a fan-powered unit's fan may not be trended at all."""
    rows = [
        f"2026-01-26 0{h}:00,{tag},{70 + h},{100 * h},{fan}"
        for h in range(6)
        for tag, fan in (("VAV-1", ""), ("FPB-2", ""), ("VAV-3", 1))
    ]
    (tmp_path / "tidy.csv").write_text("Time,Terminal,ZN-T (degF),Flow (cfm),Fan Status\n" + "\n".join(rows) + "\n")
    said = draft([tmp_path / "tidy.csv"], None, tmp_path / "out", lambda line: None)
    kind = pd.read_csv(tmp_path / "out" / "terminals.csv").set_index("terminal")["kind"].to_dict()
    assert kind == {"FPB-2": "parallel", "VAV-1": "single-duct", "VAV-3": "parallel"}
    assert any("series or parallel is not clear for 2 terminals: FPB-2, VAV-3" in line for line in said)
    assert any("the names do not tell the air handler of 3 terminals; fill it in" in line for line in said)


def test_a_point_that_rivals_another_is_told_as_left_out(tmp_path):
    said = one_room(tmp_path, "VAV-1 PRI FLOW (cfm)", "VAV-1 FLOW (cfm)", "VAV-1 ZN-T (degF)")
    assert any("1 name left out" in line and "VAV-1 FLOW (cfm)" in line for line in said)
    assert not any("not recognized" in line for line in said)
    points = pd.read_csv(tmp_path / "drafted" / "points.csv").set_index("column")
    assert points.loc["* FLOW (cfm)", "certainty"] == "left out"


def test_each_name_is_one_row_however_many_files_have_it(tmp_path):
    """29 names in 47 files; where one terminal differs it has a row of its own, beside the name's."""
    stamps = pd.date_range("2026-01-26", periods=24, freq="h").strftime("%Y-%m-%d %H:%M")
    names = [
        "Zone Temp (degF)",
        "Airflow (cfm)",
        *(f"Point {letter}" for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"),
        "DAT",
    ]
    for n in range(47):
        table = pd.DataFrame({"Time": stamps} | {name: 60 + (at + n) % 9 for at, name in enumerate(names)})
        table.to_csv(tmp_path / f"VAV-3-{n:02}.csv", index=False)
    draft([tmp_path], None, tmp_path / "out", lambda line: None)
    points = pd.read_csv(tmp_path / "out" / "points.csv", keep_default_na=False)
    assert sorted(points["column"]) == sorted(names)
    assert (points["files"] == 47).all()
    assert not points[["file", "terminal"]].to_numpy().any()


def test_a_terminal_that_differs_has_a_row_of_its_own(tmp_path):
    """The only airflow of a terminal is its primary airflow; beside one it is the air delivered."""
    stamps = pd.date_range("2026-01-26", periods=24, freq="h").strftime("%Y-%m-%d %H:%M")
    columns = {f"VAV-{n} Supply Flow (cfm)": range(100, 124) for n in range(1, 6)} | {"VAV-5 Inlet Flow (cfm)": 90}
    pd.DataFrame({"Time": stamps, **columns}).to_csv(tmp_path / "week.csv", index=False)
    draft([tmp_path / "week.csv"], None, tmp_path / "out", lambda line: None)
    points = pd.read_csv(tmp_path / "out" / "points.csv", keep_default_na=False)
    rows = sorted(zip(points["column"], points["terminal"], points["quantity"], strict=True))
    assert rows == [
        ("* Inlet Flow (cfm)", "", "primary_flow"),
        ("* Supply Flow (cfm)", "", "primary_flow"),
        ("VAV-5 Supply Flow (cfm)", "VAV-5", "discharge_flow"),
    ]


def test_codes_that_nobody_spelled_are_doubtful_and_can_be_spelled(tmp_path):
    lines = [f"2026-01-26 {hour:02}:00,70,{4 if hour < 7 else 2}" for hour in range(24)]
    (tmp_path / "week.csv").write_text("Time,VAV-1 ZN-T (degF),VAV-1 OCC\n" + "\n".join(lines) + "\n")
    said = draft([tmp_path / "week.csv"], None, tmp_path / "out", lambda line: None)
    assert any("1 name without a usable value: VAV-1 OCC" in line for line in said)
    path = tmp_path / "out" / "points.csv"
    points = pd.read_csv(path, keep_default_na=False)
    assert points.loc[0, ["column", "quantity", "certainty"]].tolist() == ["* OCC", "occupied", "no usable value"]
    points.loc[0, "states"] = "2=occupied;4=unoccupied"
    points.to_csv(path, index=False)
    trends = read_exports([tmp_path / "week.csv"], read_site(tmp_path / "out"))
    assert trends.terminals["occupied"].tolist() == [0] * 7 + [1] * 17


NAMES = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@given(NAMES)
@example('The "Annex"')
@example("back\\slash # and = signs ]")
def test_a_site_file_holds_any_name(name):
    text = site_file(Site(name=name), Path("out"), "ip", "America/Chicago", undecided=False)
    assert tomllib.loads(text)["site"]["name"] == name


def test_what_is_known_already_is_kept(tmp_path):
    """A site file with hours, rules and a schedule with design values; a point list with a word of the user's."""
    exports = tmp_path / "exports"
    (exports / "mine").mkdir(parents=True)
    write(
        exports,
        week_csv="Time,VAV-1 ZN-T (degF),VAV-1 X\n"
        + "\n".join(f"2026-01-26 {h:02}:00,7{h % 4},{h}" for h in range(24)),
    )
    (exports / "terminals.csv").write_text("terminal,kind,primary_max [cfm]\nVAV-1,series,700\nVAV-2,series,800\n")
    (exports / "points.csv").write_text("column,quantity,unit\nVAV-1 X,primary_flow,cfm\n")
    (exports / "site.toml").write_text(
        '[site]\nname = "The \\"Annex\\""\ntime_zone = "America/Chicago"\nunits = "ip"\nterminals = "terminals.csv"\n'
        'points = "points.csv"\nrules = "mine"\n[hours.occupied]\nmon-fri = "07:00-18:00"\n[policy]\nheating = "68 to 72 degF"\n'
    )
    known = read_site(exports)
    draft([exports], known, tmp_path / "out", lambda line: None)
    again = read_site(tmp_path / "out")
    assert (again.name, again.occupied_hours, again.policy) == ('The "Annex"', known.occupied_hours, known.policy)
    assert again.rules_folder.resolve() == (exports / "mine").resolve()
    assert again.schedule["primary_max"].tolist() == pytest.approx(known.schedule["primary_max"].tolist(), rel=1e-4)
    assert again.schedule["kind"].tolist() == ["series", "series"]
    points = pd.read_csv(tmp_path / "out" / "points.csv", keep_default_na=False)
    assert points.loc[0, ["column", "quantity", "certainty", "proposed"]].tolist() == [
        "VAV-1 X",
        "primary_flow",
        "point list",
        "",
    ]
    same_table(read_exports([exports], again).terminals, read_exports([exports], known).terminals)


def one_room(folder, *names: str) -> list[str]:
    """Draft an export of a few points of a day; return what to check."""
    stamps = pd.date_range("2026-01-26", periods=96, freq="15min")
    table = pd.DataFrame({"Time": stamps, **{name: range(60, 156) for name in names}})
    table.to_csv(folder / "log.csv", index=False)
    return draft([folder / "log.csv"], None, folder / "drafted", lambda line: None)


def test_tags_of_one_number_that_share_no_quantity_are_told(tmp_path):
    said = one_room(tmp_path, "Rm 101 Temp (degF)", "101 Airflow (cfm)", "Rm 102 Temp (degF)")
    told = [line for line in said if "may be one terminal" in line]
    assert len(told) == 1
    assert "101" in told[0]
    assert "102" not in told[0]


def test_tags_of_one_number_that_share_a_quantity_are_two_terminals(tmp_path):
    said = one_room(tmp_path, "VAV-101 ZN-T (degF)", "FPB-101 ZN-T (degF)", "FPB-101 FLOW (cfm)")
    assert not any("may be one terminal" in line for line in said)


def test_what_a_fan_usually_moves_is_told_of_the_hours_in_which_it_moves_air(tmp_path):
    """At rest for two thirds of the day, 600 cfm for the rest."""
    hours = pd.date_range("2026-02-02", periods=24, freq="h")
    lines = [f"{hour:%Y-%m-%d %H:%M},{400},{600 if 8 <= hour.hour < 16 else 0},{72}" for hour in hours]
    export = "Time,FPB-1 PRI-FLOW (cfm),FPB-1 DISCH-FLOW (cfm),FPB-1 ZN-T (degF)\n" + "\n".join(lines) + "\n"
    (tmp_path / "week.csv").write_text(export)
    draft([tmp_path / "week.csv"], None, tmp_path / "drafted", lambda line: None)
    drafted = pd.read_csv(tmp_path / "drafted" / "terminals.csv").set_index("terminal")
    assert drafted.filter(like="usual while air moves").loc["FPB-1"].tolist() == [600]


def test_an_air_handler_that_no_name_tells_is_proposed_from_the_trends(tmp_path):
    """Two terminals whose discharge follows one of two air handlers each, with their coils off."""
    rng = np.random.default_rng(7)
    stamps = pd.date_range("2026-01-12", periods=3 * 96, freq="15min").strftime("%Y-%m-%d %H:%M")
    supply = {unit: 55 + np.cumsum(rng.normal(0, 0.7, len(stamps))) for unit in ("AHU-1", "AHU-2")}
    for unit, values in supply.items():
        table = pd.DataFrame({"Time": stamps, f"{unit} Supply Air Temp (degF)": values.round(2)})
        table.to_csv(tmp_path / f"{unit}.csv", index=False)
    for tag, unit in (("VAV-101", "AHU-2"), ("VAV-102", "AHU-1")):
        discharge = supply[unit] + 2 + rng.normal(0, 0.2, len(stamps))
        columns = {"Discharge Air Temp (degF)": discharge.round(2), "Airflow (cfm)": 300, "Reheat Valve (%)": 0}
        pd.DataFrame({"Time": stamps, **columns}).to_csv(tmp_path / f"{tag}.csv", index=False)
    out = tmp_path / "draft"
    told = draft([tmp_path], None, out, lambda line: None)
    schedule = pd.read_csv(out / "terminals.csv").set_index("terminal")
    assert schedule["air_handler"].to_dict() == {"VAV-101": "AHU-2", "VAV-102": "AHU-1"}
    assert any("inferred from their trends" in line for line in told)
