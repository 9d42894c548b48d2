"""Outdoor air without a unit and without a site file: its own readings decide, else the temperatures beside it."""

import pytest

import analyzer

FROSTY = [14, 20, 28, 36, 41]  # usual in either unit
ZONES = {"°F": [70, 71, 72, 72, 71], "°C": [21, 21.5, 22, 22, 21.5]}


def outdoor(folder, readings, **others) -> tuple[list[float], str]:
    """Read a table with an outdoor temperature and others; return its values [degC] and what was said of its unit."""
    columns = {"AHU-1 Outdoor Air Temp": readings, **others}
    rows = [
        f"2026-01-26 06:{5 * n:02},{','.join(map(str, row))}"
        for n, row in enumerate(zip(*columns.values(), strict=True))
    ]
    (folder / "log.csv").write_text("\n".join([f"Time,{','.join(columns)}", *rows]), encoding="utf-8")
    trends = analyzer.read_trends(folder / "log.csv")
    said = [one for one in trends.ledger.assumptions if one.startswith("Outdoor")]
    return list(trends.air_handlers["outdoor_temp"]), said[0] if said else ""


@pytest.mark.parametrize("shown", ZONES)
@pytest.mark.parametrize("header", ["VAV-1 Zone Temp", "VAV-1 Zone Temp ({})"], ids=["by value", "by header"])
def test_where_either_unit_fits_it_is_that_of_the_temperatures_beside_it(tmp_path, shown, header):
    value, said = outdoor(tmp_path, FROSTY, **{header.format(shown): ZONES[shown]})
    assert value[0] == pytest.approx(-10.0 if shown == "°F" else 14.0)
    assert f"was read in deg{shown[1]}, as the other temperatures of its file are" in said


def test_where_most_readings_fit_either_and_the_warmest_cannot_be_degc_it_is_degf(tmp_path):
    value, said = outdoor(tmp_path, [30, 34, 36, 40, 69], **{"VAV-1 Zone Temp (°C)": ZONES["°C"]})
    assert value[-1] == pytest.approx(20.556, abs=0.001)
    assert "was read in degF, typical of its values" in said


def test_temperatures_that_disagree_leave_the_default(tmp_path):
    others = {"VAV-1 Zone Temp (°F)": ZONES["°F"], "VAV-2 Zone Temp (°C)": ZONES["°C"]}
    value, said = outdoor(tmp_path, FROSTY, **others)
    assert value[0] == 14.0 and "was read in degC, which is the default" in said


def test_alone_in_its_file_it_has_the_default(tmp_path):
    value, said = outdoor(tmp_path, FROSTY, **{"VAV-1 Primary Flow (cfm)": [300, 310, 320, 310, 300]})
    assert value[0] == 14.0 and "which is the default" in said


def test_a_unit_of_its_own_is_followed(tmp_path):
    (tmp_path / "log.csv").write_text(
        "Time,AHU-1 Outdoor Air Temp (°C),VAV-1 Zone Temp (°F)\n2026-01-26 06:00,14,70\n2026-01-26 06:05,15,71\n",
        encoding="utf-8",
    )
    trends = analyzer.read_trends(tmp_path / "log.csv")
    assert list(trends.air_handlers["outdoor_temp"]) == [14.0, 15.0]
