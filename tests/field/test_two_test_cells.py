"""Two single-zone test cells, four February days every minute.

Source: LBNL-ETA/FlexDRL, ``flexlab/calibration_files`` (modified BSD); the facts are those of ``shared/field/README.md``.
"""

from __future__ import annotations

import csv
import gzip

import pytest

from tests.field.reading import FIELD, described, left_out, needs_field_data, trends_of, verdict_table

EXPORTS = FIELD / "two-test-cells"
pytestmark = needs_field_data


def _points(rows: list[str]) -> str:
    wanted = "".join(f"{row}\n" for row in rows)
    columns = []
    for file in EXPORTS.glob("R*.csv.gz"):
        with gzip.open(file, "rt") as opened:
            columns += next(csv.reader(opened))[1:]
    return wanted + left_out(columns, wanted)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    rows = []
    for cell in ("RA", "RB"):
        rows += [
            f",{cell}-ZONE-HEATING-SP,{cell},heating_setpoint,degC,,",
            f",{cell}-ZONE-COOLING-SP,{cell},cooling_setpoint,degC,,",
            f",{cell}-ZAT,{cell},zone_temp,degC,,",
            f",{cell}-AHU-SAT,{cell},discharge_temp,degC,,",
            f",{cell}-SupAirFlow,{cell},primary_flow,m3/h,,",
        ]
    return described(
        tmp_path_factory.mktemp("cells"),
        site='time_zone = "America/Los_Angeles"\n\n[hours]\noccupied = { mon-fri = "06:00-19:00", sat-sun = "07:00-19:00" }\n',
        terminals="terminal,kind,reheat\nRA,single-duct,none\nRB,single-duct,none\n",
        points=_points(rows),
    )


@pytest.fixture(scope="module")
def trends(site):
    return trends_of(sorted(EXPORTS.glob("R*.csv.gz")), site)


@pytest.fixture(scope="module")
def verdicts(trends, site):
    return verdict_table(trends, site)


@pytest.mark.parametrize(("cell", "occupied", "night"), [("RA", 191, 187), ("RB", 165, 172)])
def test_airflow_never_stops(trends, cell, occupied, night):
    """Medians in the occupied hours and outside them [m3/h]; off is never."""
    own = trends.terminals[trends.terminals["terminal"] == cell]
    by_day = own["heating_setpoint"] > 20
    assert (own["primary_flow"][by_day] * 3.6).median() == pytest.approx(occupied, abs=2)
    assert (own["primary_flow"][~by_day] * 3.6).median() == pytest.approx(night, abs=2)


@pytest.mark.parametrize("cell", ["RA", "RB"])
@pytest.mark.parametrize("rule", ["no-unoccupied-setback", "setpoints-too-close", "zone-too-warm"])
def test_setback_and_setpoints_are_in_order(verdicts, cell, rule):
    """A setback of 5.6 and 6.1 K, 2.22 K between occupied setpoints; never over the cooling setpoint by half a kelvin."""
    if rule == "setpoints-too-close":
        # 4.0 degF lies under the 4.5 degF that the rule asks for: its own figure is right, and it is no grave thing.
        assert verdicts.loc[(cell, rule), "verdict"] == "fault"
        return
    assert verdicts.loc[(cell, rule), "verdict"] == "clear", verdicts.loc[(cell, rule)].to_dict()


@pytest.mark.parametrize("cell", ["RA", "RB"])
@pytest.mark.parametrize(
    "rule", ["flow-sensor-drift", "damper-not-moving-air", "starved-terminal", "flow-with-closed-damper"]
)
def test_nothing_is_said_of_a_damper_that_has_no_trend(verdicts, cell, rule):
    assert verdicts.loc[(cell, rule), "verdict"] == "not-judged", verdicts.loc[(cell, rule)].to_dict()
