"""evidence: every cell that it names stands in the export where it says, spelled as it says."""

import csv
import json
import zipfile

import openpyxl
import pandas as pd
import pytest

from analyzer.exports_kept import EXPORTS

FINDING = "VAV-2-05/reheat-during-cooling"


@pytest.fixture(scope="module")
def run(two_weeks, trendwright):
    """Return a function that asks for evidence in the room of the two weeks, and gives the table it wrote."""

    def ask(*call, folder=two_weeks.before, cwd=two_weeks.room):
        ran = trendwright("evidence", str(folder), *call, "-q", cwd=cwd)
        written = [line.removeprefix("evidence: ") for line in ran.out.splitlines() if line.startswith("evidence: ")]
        return ran, pd.read_csv(cwd / written[0], dtype=str, keep_default_na=False) if written else None

    return ask


def lines_of(file) -> list[list[str]]:
    with file.open(newline="") as text:
        return list(csv.reader(text))


def test_each_cell_stands_where_it_is_said_to_in_a_wide_file(run, two_weeks):
    ran, table = run(FINDING)
    assert ran.status == 0, ran.err
    assert set(table["file"]) == {"first-exports/AHU-1.csv"} and (table["place"] != "").all()
    lines = lines_of(two_weeks.room / "first-exports" / "AHU-1.csv")
    for _, row in table.iterrows():
        line = lines[int(row["place"].removeprefix("line ")) - 1]
        assert line[lines[0].index(row["column"])] == row["raw_text"]
        assert pd.Timestamp(row["time"][:16]) == pd.Timestamp(line[0][:16])
    reheat = table[(table["quantity"] == "reheat_position") & (table["value_used"] != "")]
    at_fault = reheat[(reheat["fault_when"] == "true") & (reheat["judged_when"] == "true")]
    assert len(at_fault) > 50 and (at_fault["value_used"].astype(float) > 5).all()
    assert (reheat["raw_text"].astype(float) == reheat["value_used"].astype(float)).all()  # % stays %


def test_a_moment_out_of_the_fault_is_false(run):
    _, table = run(FINDING)
    reheat = table[(table["quantity"] == "reheat_position") & (table["value_used"] != "")]
    for _, row in reheat.iterrows():
        assert (row["fault_when"] == "true") == (float(row["value_used"]) > 5), row


def test_each_cell_stands_where_it_is_said_to_in_a_long_file(run, two_weeks):
    """FPT-3-11 and others are logged on change, a row a value, with the names in a column of their own."""
    findings = json.loads((two_weeks.room / two_weeks.before / "findings.json").read_text())["findings"]
    in_changes = {line[1].rpartition(".")[0] for line in lines_of(two_weeks.room / "first-exports" / "changes.csv")[1:]}
    named = [one["id"] for one in findings if one["terminal"] in in_changes and one["scope"] == "terminal"]
    assert named
    ran, table = run(named[0])
    assert ran.status == 0, ran.err
    lines = lines_of(two_weeks.room / "first-exports" / "changes.csv")
    of_file = table[table["file"] == "first-exports/changes.csv"]
    assert len(of_file) and (of_file["place"] != "").all()
    for _, row in of_file.iterrows():
        stamp, point, value, _ = lines[int(row["place"].removeprefix("line ")) - 1]
        assert (point, value) == (row["column"], row["raw_text"])
        assert stamp[:16] == row["time"][:16].replace("T", " ")


def test_each_cell_stands_where_it_is_said_to_in_a_table_of_rows(run, two_weeks):
    ran, table = run("FPT-3-14/series-fan-off-when-occupied")
    assert ran.status == 0, ran.err
    stored = pd.read_parquet(two_weeks.room / "first-exports" / "trends.parquet")
    for _, row in table.iloc[::50].iterrows():
        cell = stored.iloc[int(row["place"].removeprefix("row ")) - 1][row["column"]]
        assert float(cell) == float(row["raw_text"])


# Other files ------------------------------------------------------------------------------------------------------------


def rows(day: str = "2026-01-12") -> list[list]:
    """A zone too cold all day, with a preamble, a blank line and a total around the data."""
    table = [["Trend export of one terminal"], [], ["Time", "TU-1 Zone Temp (degF)", "TU-1 Htg SP (degF)"]]
    table += [
        [f"{day} {hour:02}:{minute:02}:00", 60 + hour / 10, 70] for hour in range(24) for minute in range(0, 60, 15)
    ]
    table.insert(20, [])
    return table


@pytest.fixture
def room(tmp_path):
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "America/Chicago"\nunits = "ip"\n')
    return tmp_path


def review(trendwright, room, *exports):
    ran = trendwright("review", *exports, "--site", "site.toml", "--out", "out", "-q", cwd=room)
    assert ran.status == 0, ran.err


def as_csv(table) -> str:
    return "\n".join(",".join(map(str, row)) for row in table) + "\n"


def test_cells_of_a_workbook_are_named_as_the_spreadsheet_does(trendwright, run, room):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows():
        sheet.append(row)
    book.create_sheet("Notes").append(["nothing"])
    book.save(room / "week.xlsx")
    review(trendwright, room, "week.xlsx")
    ran, table = run("TU-1/zone-too-cold", folder="out", cwd=room)
    assert ran.status == 0, ran.err
    zone = table[table["quantity"] == "zone_temp"]
    assert len(zone) > 20
    for _, row in zone.iterrows():
        assert float(sheet[row["place"].removeprefix("cell ")].value) == float(row["raw_text"])
        assert str(sheet[f"A{row['place'].removeprefix('cell B')}"].value)[:16] == row["time"][:16].replace("T", " ")


def test_lines_are_counted_as_in_the_file_within_an_archive_too(trendwright, run, room):
    text = as_csv(rows())
    with zipfile.ZipFile(room / "week.zip", "w") as archive:
        archive.writestr("week.csv", text)
    review(trendwright, room, "week.zip")
    ran, table = run("TU-1/zone-too-cold", folder="out", cwd=room)
    assert ran.status == 0, ran.err
    lines = text.splitlines()
    zone = table[table["quantity"] == "zone_temp"]
    assert len(zone) > 20
    for _, row in zone.iterrows():
        assert lines[int(row["place"].removeprefix("line ")) - 1].split(",")[1] == row["raw_text"]


def test_what_changed_since_the_review_is_said_and_shown_as_it_is(trendwright, run, room):
    (room / "week.csv").write_text(as_csv(rows()))
    review(trendwright, room, "week.csv")
    same, _ = run("TU-1/zone-too-cold", folder="out", cwd=room)
    assert "changed:" not in same.out
    (room / "week.csv").write_text(as_csv(rows()).replace(",61.2,", ",99.9,"))
    ran, table = run("TU-1/zone-too-cold", folder="out", cwd=room)
    assert "week.csv changed since the review" in ran.out and "99.9" in set(table["raw_text"])


def test_exports_that_were_moved_are_named_and_compared(trendwright, run, room):
    (room / "week.csv").write_text(as_csv(rows()))
    review(trendwright, room, "week.csv")
    (room / "archive").mkdir()
    (room / "week.csv").rename(room / "archive" / "week.csv")
    gone, _ = run("TU-1/zone-too-cold", folder="out", cwd=room)
    assert gone.status == 2 and "is no longer there. Say where the exports are with --exports" in gone.err
    ran, table = run("TU-1/zone-too-cold", "--exports", "archive", folder="out", cwd=room)
    assert ran.status == 0 and "changed:" not in ran.out and len(table)
    (room / "archive" / "week.csv").write_text(as_csv(rows()).replace(",61.2,", ",61.3,"))
    ran, _ = run("TU-1/zone-too-cold", "--exports", "archive", folder="out", cwd=room)
    assert "is not as any of the files that were reviewed" in ran.out


def test_a_review_without_checksums_says_so(trendwright, run, room):
    (room / "week.csv").write_text(as_csv(rows()))
    review(trendwright, room, "week.csv")
    (room / "out" / EXPORTS).unlink()
    without, _ = run("TU-1/zone-too-cold", folder="out", cwd=room)
    assert without.status == 2 and "does not say which exports it was made from" in without.err
    ran, _ = run("TU-1/zone-too-cold", "--exports", "week.csv", folder="out", cwd=room)
    assert "keeps no checksums" in ran.out


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (["VAV-2-05/reheat-during-coolin"], "is no finding of before (did you mean 'VAV-2-05/reheat-during-cooling'?)"),
        (["AHU-2/air-handler-short-of-pressure"], "is shared by several terminals"),
        ([FINDING, "--out", "before/verdicts.csv"], "no table of evidence"),
        ([FINDING, "--out", "before"], "is a folder"),
    ],
)
def test_refused_in_one_sentence(run, call, told):
    ran, table = run(*call)
    assert ran.status == 2 and table is None
    assert told in ran.err.strip().splitlines()[-1] and len(ran.err) < 1000
