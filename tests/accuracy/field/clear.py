"""Sound twins: rules that have to come out clear at terminals whose sequence only looks like a fault."""

from __future__ import annotations

import numpy as np
import pandas as pd

from tests.accuracy.field.truth import Truth
from tests.accuracy.field.view import View

HOURS = 4.0  # of the look-alike that a period has to have for 'clear' to be asked for


def asked_clear(truth: Truth) -> pd.DataFrame:
    """Return a row for each sound terminal, look-alike and rule that the columns settle: ``scenario, terminal, rule``."""
    rows = []
    with np.errstate(invalid="ignore"):
        for tag in truth.sound:
            view = truth.view(tag)
            for scenario, rules, hours_of in SCENARIOS:
                if hours_of(view) >= HOURS * min(truth.logged.period.days / 7, 1.0):
                    rows += [(scenario, tag, rule) for rule in rules]
    return pd.DataFrame(rows, columns=["scenario", "terminal", "rule"])


def _dual_maximum(v: View) -> float:
    if v.row["kind"] != "single-duct" or not v.is_logged("primary_flow", "zone_temp") or v.row["reheat"] == "none":
        return 0.0
    if not v.is_logged("reheat_position") or not np.isfinite(v.setpoints[1]).any():
        return 0.0
    return v.total(v.in_use & (v.reheat_position > 20) & (v.primary_flow > 1.25 * v.row["primary_min"]))


def _follows(v: View) -> float:
    if not v.row["fan_follows"] or not v.is_logged("fan_status"):
        return 0.0
    return v.total(v.out_of_hours & (v.fan_status > 0.5)) and v.total(v.out_of_hours & (v.fan_status > 0.5)) + HOURS


def _night_cycle(v: View) -> float:
    fine = v.logged.period.minutes <= 5
    if not (v.row["fan_night_cycle"] and fine and v.is_logged("fan_status")):
        return 0.0
    return v.total(v.out_of_hours & (v.fan_status > 0.5)) * 2


def _fresh_air_on_demand(v: View) -> float:
    if (
        not v.row["dcv"]
        or not v.scheduled
        or not v.is_logged("primary_flow", "co2")
        or v.logged.gaps.not_connected[v.at]
    ):
        return 0.0
    return v.total(v.in_use & (v.primary_flow < 0.85 * v.row["primary_min"]) & (v.co2 < 800))


def _variable_series(v: View) -> float:
    if v.row["kind"] != "series" or not v.row["variable_fan"] or not v.is_logged("fan_status"):
        return 0.0
    return v.total(v.in_use) if v.scheduled else 0.0


def _standby(v: View) -> float:
    if not v.row["standby"] or not v.is_logged("zone_temp") or v.logged.period.logging.setpoints not in (
        "pair", "effective", "effective and occupied",
    ):  # fmt: skip
        return 0.0
    heating, cooling = v.true("heating_setpoint"), v.true("cooling_setpoint")
    inside = (v.true("true_zone_temp") > heating - 0.8) & (v.true("true_zone_temp") < cooling + 0.8)
    steady = v.in_use & (v.true("standby") > 0.5)
    return v.total(steady) if (inside | ~v.in_use).mean() > 0.995 else 0.0


def _shut_coil(v: View) -> float:
    if not v.is_logged("reheat_position", "discharge_temp") or v.row["kind"] != "single-duct":
        return 0.0
    return v.total(v.in_use & v.held(v.reheat_position <= 0, 1.0)) / 3


def _working_coil(v: View) -> float:
    if (
        not v.is_logged("reheat_position", "discharge_temp")
        or v.row["kind"] != "single-duct"
        or not v.is_logged("primary_flow")
    ):
        return 0.0
    full = v.held(v.reheat_position >= 95, 0.5) & v.in_use
    return v.total(full & (v.discharge_temp > v.zone_temp + 4.0))


def _open_by_count(v: View) -> float:
    """Shown fully open for weeks, and the flow on its setpoint."""
    if not v.is_logged("primary_flow", "damper_position", "primary_flow_setpoint"):
        return 0.0
    there = (v.damper_position >= 97) & (v.primary_flow > 0.93 * v.primary_flow_setpoint)
    return v.total(v.in_use & there)


SCENARIOS = (
    ("dual maximum", ("reheat-during-cooling",), _dual_maximum),
    ("fan follows its air handler", ("fan-running-when-unoccupied",), _follows),
    ("8 min on, 7 off at night", ("fan-short-cycling",), _night_cycle),
    ("fresh air on demand", ("primary-below-ventilation-minimum",), _fresh_air_on_demand),
    ("variable series fan", ("series-fan-off-when-occupied",), _variable_series),
    ("standby mode", ("zone-too-cold", "zone-too-warm"), _standby),
    ("duct gain, coil shut", ("reheat-leaking-by",), _shut_coil),
    ("coil at work", ("reheat-not-delivering",), _working_coil),
    ("counted open, flow on setpoint", ("starved-terminal",), _open_by_count),
)
