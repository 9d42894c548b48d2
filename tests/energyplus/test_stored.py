"""Two weeks of the engine's annex, stored: verdicts against what was injected, mixing and heat against the engine's own."""

from __future__ import annotations

import zipfile
from functools import cache

import numpy as np
import pandas as pd
import pytest

import analyzer
from tests.energyplus.physics import WITH, beside_engine, deviations
from tests.energyplus.stored import KEPT, folder_of

WEEKS = pytest.mark.parametrize("week", KEPT, ids=lambda week: f"{week.case}-{week.weather}")
# RMS deviation from the engine that the signals may have, by quantity and kind of terminal: what sensors within half of
# their stated accuracy, a schedule's fan flow and a usual fan's heat leave open. A share of the engine's RMS for heat.
MIXING = {"single-duct": 0.25, "series": 0.8, "parallel": 0.8}  # K
HEAT = {"single-duct": 0.12, "series": 0.15, "parallel": 0.15}


@cache
def reviewed(week):
    """Return the site, trends, verdicts (terminal and rule to verdict) and faults of a stored week."""
    place = folder_of(week)
    site = analyzer.read_site(place / "site.toml")
    trends = analyzer.read_trends([place / "trends.zip"], site)
    verdicts = analyzer.review(trends, site).verdicts.set_index(["terminal", "rule"])
    return site, trends, verdicts, pd.read_csv(place / "faults.csv", keep_default_na=False)


@cache
def beside(week) -> pd.DataFrame:
    site, trends, _, _ = reviewed(week)
    return beside_engine(trends, site, pd.read_parquet(folder_of(week) / "engine.parquet"))


@WEEKS
def test_every_cell_is_read(week):
    _, trends, _, _ = reviewed(week)
    assert set(trends.ledger.set_aside) <= {"missing value"}
    assert len(trends.terminals) == len(KEPT[week]) * 7 * 24 * 12


@WEEKS
def test_what_the_engine_shows_is_found(week):
    _, _, verdicts, faults = reviewed(week)
    shown = faults[faults["shown"] == "True"]
    assert len(shown) >= 4
    told = {(row.terminal, row.rule): verdicts.loc[(row.terminal, row.rule), "verdict"] for row in shown.itertuples()}
    assert set(told.values()) == {"fault"}, told


@WEEKS
def test_sound_terminals_are_clear_or_not_judged(week):
    _, _, verdicts, faults = reviewed(week)
    sound = faults.loc[faults["kind"] == "", "terminal"]
    assert len(sound) >= 2
    of_sound = verdicts.loc[verdicts.index.isin(sound, level=0)]
    assert (of_sound["verdict"] == "clear").sum() >= 20 * len(sound) / 2
    wrong = of_sound[of_sound["verdict"] == "fault"]
    assert wrong.empty, wrong.to_string()


@WEEKS
def test_a_fault_brings_along_what_it_may_and_no_more(week):
    _, _, verdicts, faults = reviewed(week)
    allowed = {(row.terminal, rule) for row in faults.itertuples() for rule in (row.rule, *row.also.split())}
    # The model's supply air is as cold all winter, while all reheat it: that is said of its air handler.
    allowed |= {(unit, "supply-temp-unfit-for-load") for unit in ("AHU-A", "AHU-B") if week.weather == "cold"}
    found = verdicts[verdicts["verdict"] == "fault"].index
    assert set(found) - allowed == set()


@WEEKS
def test_without_the_flow_setpoint_no_sound_terminal_and_no_starved_one_gets_a_drifted_sensor(week, tmp_path):
    place = folder_of(week)
    with zipfile.ZipFile(place / "trends.zip") as archive, archive.open("trends.csv") as file:
        table = pd.read_csv(file)
    told = table.columns.str.contains("PrimaryFlowSetpt")
    assert told.sum() == len(KEPT[week])
    table.loc[:, ~told].to_csv(tmp_path / "trends.csv", index=False)
    site, _, _, faults = reviewed(week)
    verdicts = analyzer.review(analyzer.read_trends([tmp_path / "trends.csv"], site), site).verdicts
    found = verdicts[verdicts["verdict"] == "fault"]
    sound = faults.loc[faults["kind"] == "", "terminal"]
    wrong = found[found["terminal"].isin(sound)]
    assert wrong.empty, wrong.to_string()
    others = faults.loc[~faults["kind"].str.contains("sensor|fan-slow"), "terminal"]
    drifts = found[(found["rule"] == "flow-sensor-drift") & found["terminal"].isin(others)]
    assert drifts.empty, drifts.to_string()


def test_mixing_and_heat_agree_with_the_engine():
    together = pd.concat([beside(week) for week in KEPT])
    # Injected sensors and fans are wrong on purpose: their heat and mixing cannot agree.
    wrong = pd.concat([reviewed(week)[3] for week in KEPT])
    wrong = set(wrong.loc[wrong["kind"].str.contains("sensor|fan-slow"), "terminal"])
    told = deviations(together[(together["trended"] == WITH) & ~together["terminal"].isin(wrong)])
    told = told.set_index(["quantity", "kind"])
    assert len(told) == 9
    for kind in MIXING:
        assert told.loc[("coil_off_temp", kind), "rms"] < MIXING[kind], told.to_string()
        heat = told.loc[("heat_delivered", kind)]
        assert heat["rms"] < HEAT[kind] * heat["engine_rms"], told.to_string()
        assert heat["samples"] > 500


def test_a_wrong_sensor_shows_as_a_wrong_mixture():
    """The comparison can fail: a flow that reads 30 % low does not give the engine's mixture."""
    week = next(week for week in KEPT if week.case == "second")
    of = beside(week).query("quantity == 'coil_off_temp' and terminal == 'SFB-104'")
    off = (of["ours"] - of["engine"]).to_numpy()
    assert np.sqrt(np.mean(off**2)) > 0.9
