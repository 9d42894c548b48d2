"""A column for every terminal, and the quantities in a column of names: every value is its terminal's."""

from __future__ import annotations

import pytest

from analyzer.errors import ExportError
from tests.intake.counting import counted_cells
from tests.intake.folders import read, said, tags, values

STAMPS = [f"2026-01-26 {h:02d}:{m:02d}" for h in (6, 7) for m in (0, 15, 30, 45)]


def crossed(header: str = "Point,Time", row: str = "{name} ({unit}),{stamp}", heads: str = "FCV01,FCV02,FCV03") -> str:
    """Return rows of two quantities at eight moments, for three terminals."""
    rows = [
        f"{row.format(name=name, unit=unit, stamp=stamp)},{number + n},{number + n + 0.1},{number + n + 0.2}"
        for n, stamp in enumerate(STAMPS)
        for name, unit, number in (("Room temperature", "degC", 15), ("Air volume", "l/s", 50))
    ]
    return "\n".join([f"{header},{heads}", *rows]) + "\n"


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("Point,Time", "{name} ({unit}),{stamp}"),
        ("Time,Reading", "{stamp},{name} {unit}"),
        ("Description,Units,Date/Time", "{name},{unit},{stamp}"),
        ("Zeit,Messwert,Einheit", "{stamp},{name},{unit}"),
    ],
)
@pytest.mark.parametrize("heads", ["FCV01,FCV02,FCV03", "VAV-1,VAV-2,VAV-3", "VAV-A,VAV-B,VAV-C"])
def test_terminals_across_and_quantities_down(tmp_path, header, row, heads):
    with counted_cells() as cells:
        trends = read(tmp_path, {"boxes.csv": crossed(header, row, heads)})
    first, second, third = heads.split(",")
    assert tags(trends) == [first, second, third]
    assert values(trends, second, "zone_temp") == [15.1 + n for n in range(8)]
    assert values(trends, third, "primary_flow") == [50.2 + n for n in range(8)]
    assert trends.ledger.cells_read == sum(cells) == trends.ledger.cells_used == 48
    assert "its columns are terminals and its rows quantities" in said(trends)


@pytest.mark.parametrize(
    "heads", ["Minimum,Maximum,Average", "Observed,Commanded,Wanted", "Server 1,Reading 2,Stage 3"]
)
def test_columns_that_name_no_terminals(tmp_path, heads):
    try:
        trends = read(tmp_path, {"VAV-7.csv": crossed(heads=heads)})
    except ExportError:
        return
    assert tags(trends) == ["VAV-7"]
    assert "its columns are terminals" not in said(trends)


@pytest.mark.parametrize("name", ["terminals.csv", "points.csv"])
def test_an_export_may_be_named_as_a_file_of_the_description(tmp_path, name):
    assert tags(read(tmp_path, {name: crossed()})) == ["FCV01", "FCV02", "FCV03"]


def test_the_schedule_is_no_export(tmp_path):
    files = {"terminals.csv": "terminal,kind\nFCV01,single-duct\n", "boxes.csv": crossed()}
    trends = read(tmp_path, files)
    assert [file.file.rsplit("/")[-1] for file in trends.ledger.files] == ["boxes.csv"]
