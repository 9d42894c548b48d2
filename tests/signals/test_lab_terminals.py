"""Field data: the flow sensors and dampers of four laboratory terminals, on twelve days; skipped where the data are not at hand."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.quantities import TERMINAL
from analyzer.signals import Scene
from analyzer.site.model import Site, empty_schedule
from analyzer.trends import AIR_HANDLER_COLUMNS, TERMINAL_COLUMNS, Trends, in_form
from tests.field.reading import FIELD

FOLDER = FIELD / "four-lab-terminals"
RULES = (
    "flow-sensor-drift", "flow-with-closed-damper", "damper-not-moving-air", "damper-position-not-credible",
    "starved-terminal", "inlet-overpressure",
)  # fmt: skip
CFM, INCH = 0.47194745, 249.08891
# Terminal, its damper's point, its air handler.
TERMINALS = (("vav1", "d15", "ahu2"), ("vav2", "d16", "ahu2"), ("vav3", "d17", "ahu1"), ("vav4", "d18", "ahu1"))

pytestmark = pytest.mark.skipif(not FOLDER.exists(), reason=f"the field data are not at {FOLDER}")


def _celsius(fahrenheit):
    return (fahrenheit - 32.0) / 1.8


def _day(file: Path) -> pd.DataFrame:
    table = pd.read_csv(file, usecols=lambda name: not name.startswith("occ"))
    # Dampers and heaters are in whole volts; the feedback of a shut damper is 2 V, of an open one 10 V.
    return table.copy().assign(time=pd.to_datetime(table.iloc[:, 0]).dt.tz_localize("UTC"))


def _terminal(day: pd.DataFrame, tag: str, damper: str, position: str) -> pd.DataFrame:
    volts = day[f"{damper}_pos_{'c' if position == 'command' else 'fb'}"]
    return pd.DataFrame({
        "terminal": tag,
        "time": day["time"],
        "primary_flow": day[f"{tag}_f"] * CFM,
        "primary_flow_setpoint": day[f"{tag}_d_sp"] * CFM,
        "damper_position": np.clip(volts * 10.0 if position == "command" else (volts - 2.0) * 12.5, 0.0, 100.0),
        "discharge_temp": _celsius(day[f"{tag}_out_rtd"]),
        "primary_temp": _celsius(day[f"{tag}_t_in"]),
        "zone_temp": _celsius(day[f"{tag.replace('vav', 'zs')}_out_rtd"]),
        "reheat_position": day[f"{tag}_heat_c"] * 10.0,
    })  # fmt: skip


def _air_handler(day: pd.DataFrame, tag: str) -> pd.DataFrame:
    return pd.DataFrame({
        "air_handler": tag,
        "time": day["time"],
        "duct_static_pressure": np.maximum(day[f"{tag}_p_down"], 0.0) * INCH if f"{tag}_p_down" in day else np.nan,
        "supply_fan_status": (day[f"{tag}_on"] > 0).astype(float),
    })  # fmt: skip


@pytest.fixture(scope="module")
def days() -> list[pd.DataFrame]:
    return [_day(file) for file in sorted(FOLDER.glob("*_Eff_*.csv.gz"))]


@pytest.fixture(scope="module", params=["feedback", "command"])
def judged(request, days):
    table = pd.concat([_terminal(day, tag, damper, request.param) for day in days for tag, damper, _ in TERMINALS])
    table = table.sort_values(["terminal", "time"]).reindex(columns=TERMINAL_COLUMNS)
    handlers = pd.concat([_air_handler(day, tag) for tag in ("ahu1", "ahu2") for day in days])
    handlers = handlers.sort_values(["air_handler", "time"]).reindex(columns=AIR_HANDLER_COLUMNS)
    schedule = empty_schedule().reindex([tag for tag, *_ in TERMINALS])
    schedule.index.name = "terminal"
    for name, value in (("kind", "single-duct"), ("reheat", "electric")):
        schedule[name] = value
    schedule["air_handler"] = [handler for *_, handler in TERMINALS]
    logging = pd.DataFrame(60.0, index=schedule.index, columns=list(TERMINAL))
    trends = Trends(in_form(table.astype(dict.fromkeys(TERMINAL, float))), in_form(handlers), logging, "UTC")
    book = read_rules([rule_book()])
    verdicts = judge_building(Scene(trends, Site(schedule=schedule)), {name: book[name] for name in RULES}).verdicts
    return request.param, verdicts.set_index(["terminal", "rule"])["verdict"]


def test_the_zero_of_every_sensor_is_right_and_none_has_drifted(judged):
    _, verdicts = judged
    assert (verdicts.xs("flow-sensor-drift", level="rule") == "clear").all()


def test_no_reading_is_blamed_with_the_damper_shut(judged):
    _, verdicts = judged
    assert (verdicts.xs("flow-with-closed-damper", level="rule") != "fault").all()


def test_no_damper_is_blamed_and_nothing_starves(judged):
    _, verdicts = judged
    for rule in ("damper-not-moving-air", "starved-terminal", "inlet-overpressure"):
        assert (verdicts.xs(rule, level="rule") != "fault").all(), rule


def test_the_command_that_reads_zero_beside_flow_is_not_credible(judged):
    position, verdicts = judged
    found = verdicts.xs("damper-position-not-credible", level="rule")
    assert list(found.index[found == "fault"]) == (["vav2"] if position == "command" else [])
