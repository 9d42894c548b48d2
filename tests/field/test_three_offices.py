"""Three offices with a ventilation valve each, CO2 by two instruments, 10 October to 2 November.

Source: energietransitie/twomes-dataset-windesheim-brains4buildings2022 (CC BY 4.0); facts of ``shared/field/README.md``.
"""

from __future__ import annotations

import pandas as pd
import pytest

from tests.field.reading import FIELD, described, needs_field_data, trends_of, verdict_table

FILE = FIELD / "three-offices" / "raw_properties" / "b4b_raw_properties.parquet"
ROOMS = (999169, 917810, 925038)
pytestmark = needs_field_data


@pytest.fixture(scope="module")
def reviewed(tmp_path_factory):
    """The building's own sensors and valves: one CSV a room, as a user would hand over the wide table's columns."""
    folder = tmp_path_factory.mktemp("offices")
    table = pd.read_parquet(FILE).reset_index()
    exports = folder / "exports"
    exports.mkdir()
    for room in ROOMS:
        own = table[(table["id"] == room) & (table["source"] == "bms")]
        own = own[["timestamp", "co2__ppm", "temp_in__degC", "valve_frac__0"]].sort_values("timestamp")
        own.to_csv(exports / f"{room}.csv", index=False)
    rows = [
        line
        for room in ROOMS
        for line in (
            f"{room}.csv,co2__ppm,R-{room},co2,ppm,,",
            f"{room}.csv,temp_in__degC,R-{room},zone_temp,degC,,",
            f"{room}.csv,valve_frac__0,R-{room},damper_position,fraction,,",
        )
    ]
    site = described(
        folder,
        site='time_zone = "Europe/Amsterdam"\n\n[hours]\noccupied = { mon-fri = "08:00-18:00" }\n\n'
        '[setpoints]\nheating = "20 degC"\ncooling = "26 degC"\n',
        terminals="terminal,kind,reheat\n" + "".join(f"R-{room},single-duct,none\n" for room in ROOMS),
        points="\n".join(rows) + "\n",
    )
    trends = trends_of([exports], site)
    return trends, verdict_table(trends, site)


@pytest.mark.parametrize(("room", "share"), [(999169, 0.816), (917810, 0.800)])
def test_the_valve_rests_at_its_mechanical_minimum(reviewed, room, share):
    trends, _ = reviewed
    own = trends.terminals.loc[trends.terminals["terminal"] == f"R-{room}", "damper_position"].dropna()
    assert (own.round() == 20).mean() == pytest.approx(share, abs=0.02)


@pytest.mark.parametrize(("room", "median"), [(999169, 483), (917810, 463), (925038, 441)])
def test_carbon_dioxide_of_the_building(reviewed, room, median):
    trends, _ = reviewed
    own = trends.terminals.loc[trends.terminals["terminal"] == f"R-{room}", "co2"].dropna()
    assert own[own > 0].median() == pytest.approx(median, abs=3)
    assert own.max() <= 1189


@pytest.mark.parametrize("room", ROOMS)
def test_no_sensor_of_the_building_is_blamed_and_no_airflow_judged(reviewed, room):
    """CO2 is 0 at times in one room, which is no reading; nobody trends an airflow."""
    _, verdicts = reviewed
    assert verdicts.loc[(f"R-{room}", "sensor-implausible"), "verdict"] != "fault"
    for rule in ("flow-sensor-drift", "primary-below-ventilation-minimum", "starved-terminal"):
        found = verdicts.loc[(f"R-{room}", rule)]
        assert found["verdict"] == "not-judged"
        assert "primary" in found["reason"], found["reason"]
