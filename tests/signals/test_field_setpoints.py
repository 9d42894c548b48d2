"""Setpoints in force over field data that no simulator made: two test cells, four terminals of a laboratory.

The data stand in ``shared/field``, beside the project; where they are not at hand the tests are skipped.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from analyzer.engine.judge import judge
from analyzer.engine.rulebook import read_rules
from analyzer.intake import read_exports
from analyzer.places import rule_book
from analyzer.signals import Scene
from analyzer.site import read_site

TOP = Path(__file__).resolve().parents[2]
FIELD = next(
    (folder for folder in (TOP.parent / "shared/field", TOP.parents[1] / "shared/field") if folder.exists()), None
)
pytestmark = pytest.mark.skipif(FIELD is None, reason="no folder shared/field beside the project")

SITE = """
[site]
time_zone = "{zone}"
units = "{units}"
points = "points.csv"
[hours]
occupied = {{ mon-sun = "{hours}" }}
"""
CELL = [
    ("R{0}-ZONE-HEATING-SP", "heating_setpoint", "degC"), ("R{0}-ZONE-COOLING-SP", "cooling_setpoint", "degC"),
    ("R{0}-ZAT", "zone_temp", "degC"), ("R{0}-SupAirFlow", "primary_flow", "m3/h"),
]  # fmt: skip
LAB = [
    ("zs{0}_t_sp_f", "effective_setpoint", "degF"), ("zs{0}_out_rtd", "zone_temp", "degF"),
    ("vav{0}_f", "primary_flow", "cfm"), ("vav{0}_d_sp", "primary_flow_setpoint", "cfm"),
]  # fmt: skip


def scene(folder: Path, files, points, terminals: str, **site) -> Scene:
    """Read files of the field data with a point list of their own."""
    rows = [f"{name.format(k)},T{k},{quantity},{unit}," for k in terminals for name, quantity, unit in points]
    rows += [f"R{k}-AHU-SAT,,,,yes" for k in terminals]  # its name reads like a terminal's own
    (folder / "points.csv").write_text("\n".join(["column,terminal,quantity,unit,ignore", *rows]), "utf-8")
    (folder / "site.toml").write_text(SITE.format(**site), "utf-8")
    told = read_site(folder / "site.toml")
    return Scene(read_exports(files, told), told)


def verdicts(there: Scene, *rules: str) -> dict[str, set[str]]:
    book = read_rules([rule_book()])
    judged = judge(there, {rule: book[rule] for rule in rules}).verdicts
    return {rule: set(own["verdict"]) for rule, own in judged.groupby("rule")}


@pytest.fixture(scope="module")
def cells(tmp_path_factory) -> Scene:
    files = sorted((FIELD / "two-test-cells").glob("R*.csv.gz"))
    zone = {"zone": "America/Los_Angeles", "units": "si", "hours": "07:00-19:00"}
    return scene(tmp_path_factory.mktemp("cells"), files, CELL, "AB", **zone)


def test_the_cells_setpoints_are_in_force_as_they_are_logged(cells):
    occupied = cells.value("occupied") > 0.5
    heating, cooling = cells.value("heating_setpoint"), cells.value("cooling_setpoint")
    assert np.mean(np.abs(heating[occupied] - 21.11) < 0.01) > 0.99
    assert np.mean(np.abs(cooling[occupied] - 23.33) < 0.01) > 0.99
    assert np.nanmedian(heating[~occupied]) == 15.55 and np.nanmedian(cooling[~occupied]) == 29.44


def test_the_cells_are_set_back_and_their_gap_is_2_22_kelvin(cells):
    assert verdicts(cells, "no-unoccupied-setback", "setpoints-too-close", "setpoint-out-of-policy") == {
        "no-unoccupied-setback": {"clear"}, "setpoints-too-close": {"fault"}, "setpoint-out-of-policy": {"clear"},
    }  # fmt: skip
    apart = cells.value("setpoints_apart", {"least_deadband": 2.5})[cells.value("occupied") > 0.5]
    assert np.nanmedian(apart) == pytest.approx(2.22, abs=0.01)


def test_no_cell_is_too_warm_or_swings(cells):
    assert verdicts(cells, "zone-too-warm", "zone-temperature-swinging") == {
        "zone-too-warm": {"clear"}, "zone-temperature-swinging": {"clear"},
    }  # fmt: skip


def test_one_active_setpoint_of_a_laboratory_makes_no_crossed_pair_and_no_cold_room(tmp_path):
    files = sorted((FIELD / "four-lab-terminals").glob("*_Eff_*.csv.gz"))
    there = scene(tmp_path, files, LAB, "1234", zone="America/New_York", units="ip", hours="06:00-20:00")
    apart = there.value("cooling_setpoint") - there.value("heating_setpoint")
    assert not (apart < 1.5).any()
    told = verdicts(there, "setpoints-too-close", "setpoint-out-of-policy", "zone-too-cold")
    assert all("fault" not in own for own in told.values())
