"""The yardstick of a commissioning engineer: the four card rules in a pandas notebook, a terminal at a time.

It knows nothing of trendwright but its tables: the normalized trends and the schedule. It is written as a competent
engineer writes it, a function a rule and a groupby over the terminals, with numpy and pandas only. It gives a verdict
and its hours; no reasons, no firmness, no figures, no evidence, no findings. It takes for granted what holds in the
synthetic buildings: one interval, a row for every sample, an averaging time of an hour for every zone.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

TRENDS = [
    "terminal", "time", "zone_temp", "heating_setpoint", "cooling_setpoint", "primary_flow", "damper_position",
    "fan_status", "fan_starts", "reheat_position", "discharge_temp", "primary_temp", "plenum_temp", "outdoor_air_flow",
    "occupied",
]  # fmt: skip
OF_HANDLER = ["supply_temp", "duct_static_pressure", "supply_fan_status", "outdoor_air_fraction"]
HELD = ["zone_temp", "heating_setpoint", "cooling_setpoint", "primary_flow", "damper_position", "fan_status",
        "reheat_position", "discharge_temp", "primary_temp", "plenum_temp", "outdoor_air_flow", "occupied"]  # fmt: skip
FAN_RISE = 0.5  # K, of a terminal fan
COLUMNS = ["terminal", "rule", "verdict", "judged_hours", "fault_hours"]


def read(folder: Path) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Read the trends and the air handlers' trends."""
    trends = pd.read_parquet(folder / "trends.parquet", columns=TRENDS)
    handlers = pd.read_parquet(folder / "air_handlers.parquet", columns=["air_handler", "time", *OF_HANDLER])
    return trends, handlers


def judge(trends: pd.DataFrame, handlers: pd.DataFrame, schedule: pd.DataFrame, zone: str) -> pd.DataFrame:
    """Judge every terminal by the four rules.

    Parameters
    ----------
    trends, handlers : DataFrame
        As ``read`` returns them.
    schedule : DataFrame
        The terminal schedule, SI, index terminal.
    zone : str
        The site's time zone.

    Returns
    -------
    DataFrame
        ``COLUMNS``: a row for each terminal and rule that applies.
    """
    of_handler = {tag: rows.set_index("time")[OF_HANDLER] for tag, rows in handlers.groupby("air_handler")}
    verdicts = []
    for tag, rows in trends.groupby("terminal", sort=True, observed=True):
        terminal = schedule.loc[tag]
        rows = rows.set_index("time").drop(columns="terminal").sort_index()
        rows[HELD] = rows[HELD].ffill(limit=3)
        if terminal["air_handler"] in of_handler:
            rows = rows.join(of_handler[terminal["air_handler"]])
        else:
            rows[OF_HANDLER] = np.nan
        if rows["occupied"].isna().all():
            rows["occupied"] = by_clock(rows.index.tz_convert(zone))
        rows["day"] = rows.index.tz_convert(zone).tz_localize(None).normalize()
        step = rows.index.to_series().diff().median() / pd.Timedelta("1h")
        for rule in (below_ventilation, short_cycling, reheat_in_cooling, sensor_drift):
            found = rule(rows, terminal, step)
            if found is not None:
                verdicts.append((tag, *found))
    return pd.DataFrame(verdicts, columns=COLUMNS)


def by_clock(local: pd.DatetimeIndex) -> np.ndarray:
    """Occupied Monday to Friday 7 to 18, Saturday 9 to 13."""
    hour, day = local.hour, local.day_of_week
    return (((day < 5) & (hour >= 7) & (hour < 18)) | ((day == 5) & (hour >= 9) & (hour < 13))).astype(float)


def verdict(rule: str, context, fault, known, step: float, *, lasting: float, fault_hours=1.0, judged_hours=1.0):
    """Join fault rows into runs, keep those that last, and say what they come to. Two unknown rows part no run."""
    fault = fault & context & known
    judged = float((context & known).sum() * step)
    told = fault.astype(float).where(known | ~context)
    within = (told.ffill(limit=2) > 0.5) & (told.bfill(limit=2) > 0.5)
    run = (within != within.shift()).cumsum()
    hours = within.groupby(run).transform("sum") * step
    faulty = float(fault[hours >= lasting - 1e-6].sum() * step)
    if judged < judged_hours:
        return rule, "not-judged", judged, 0.0
    return rule, "fault" if faulty >= fault_hours else "clear", judged, faulty


# Ventilation --------------------------------------------------------------------------------------------------------


def below_ventilation(rows: pd.DataFrame, terminal: pd.Series, step: float):
    """Ventilation air, over the past occupied hour, a tenth under what the zone needs."""
    occupied = rows["occupied"] > 0.5
    if pd.notna(terminal["ventilation_min"]):
        air, required = rows["primary_flow"], terminal["ventilation_min"]
    else:
        inlet = rows["outdoor_air_flow"] if pd.notna(terminal["outdoor_air_inlet_min"]) else 0.0
        air = rows["primary_flow"] * rows["outdoor_air_fraction"] + inlet
        required = outdoor_air_needed(rows, terminal)
    past_hour = air.where(occupied).rolling("1h")
    average = past_hour.mean()
    seen = past_hour.count() * step >= 0.9
    fault = average < 0.9 * required
    return verdict("primary-below-ventilation-minimum", occupied, fault, seen, step, lasting=0.5, judged_hours=2.0)


def breathing_zone(terminal: pd.Series) -> float:
    return 2.5 * terminal["people"] + 0.3 * terminal["area"]


def outdoor_air_needed(rows: pd.DataFrame, terminal: pd.Series):
    if pd.notna(terminal["outdoor_air_min"]):
        return terminal["outdoor_air_min"]
    warm = rows["discharge_temp"] - rows["zone_temp"]
    if terminal["distribution"] == "underfloor":
        effectiveness = np.where(warm > 0.0, 0.7, 1.0)
    else:
        effectiveness = np.where(warm >= 8.0, 0.8, 1.0)
    return breathing_zone(terminal) / effectiveness


# Fan ----------------------------------------------------------------------------------------------------------------


def short_cycling(rows: pd.DataFrame, terminal: pd.Series, step: float):
    """Five starts within an hour; or, where the log is fine enough to show them, runs under three minutes.

    In a coarser log a run or rest of one sample may hide others: fewer than five starts then tell nothing.
    """
    if terminal["kind"] != "parallel":
        return None
    status = rows["fan_status"]
    starts = rows["fan_starts"].fillna(0.0).rolling("1h").sum()
    minutes = (status.fillna(0.0) * step * 60).rolling("1h").sum()
    seen = status.notna().astype(float).rolling("1h").sum() * step >= 0.75
    fault = starts >= 5
    if step * 60 <= 2.0:
        fault |= (starts >= 2) & (minutes / starts.where(starts > 0) < 3.0)
    else:
        turned = status.diff().abs() > 0.5
        single = (turned & turned.shift(fill_value=False)).astype(float).rolling("1h").sum() > 0
        seen &= fault | ~single
    context = (minutes > 0) | (starts > 0)
    return verdict("fan-short-cycling", context, fault, seen, step, lasting=0.5)


# Reheat -------------------------------------------------------------------------------------------------------------


def reheat_in_cooling(rows: pd.DataFrame, terminal: pd.Series, step: float):
    """Reheat open while the zone, or the air that it takes, calls for cooling."""
    if terminal["reheat"] == "none":
        return None
    heating = np.nanmax([terminal["heating_primary"], terminal["primary_min"], terminal["ventilation_min"]])
    zone = rows["zone_temp"]
    too_warm = zone > rows["cooling_setpoint"] + 0.5
    much_air = (rows["occupied"] > 0.5) & (rows["primary_flow"] > 1.15 * heating)
    much_air &= ~(zone < rows["heating_setpoint"] + 0.5)
    known = rows["reheat_position"].notna()
    fault = rows["reheat_position"] > 5.0
    return verdict("reheat-during-cooling", too_warm | much_air, fault, known, step, lasting=0.25)


# Flow sensor --------------------------------------------------------------------------------------------------------


def sensor_drift(rows: pd.DataFrame, terminal: pd.Series, step: float):
    """Daily drift of the primary flow reading, by four ways, each weighted by its certainty."""
    mixing = by_mixing(rows, terminal, step)
    ways = [
        unless_denied(at_full_damper(rows, terminal, step), mixing),
        unless_denied(along_damper_curve(rows, step), mixing),
        at_zero(rows, terminal, step),
        mixing,
    ]
    days = pd.Index(rows["day"].unique())
    drift = pd.DataFrame({number: way["drift"].reindex(days) for number, way in enumerate(ways)})
    doubt = pd.DataFrame({number: way["doubt"].reindex(days) for number, way in enumerate(ways)})
    weight = (1.0 / doubt**2).where(drift.abs() > doubt, 0.0)
    total = weight.sum(axis=1)
    mean = ((drift * weight).sum(axis=1) / total.where(total > 0)).fillna(0.0).where(drift.notna().any(axis=1))
    daily = rows["day"].map(mean)
    known = daily.notna()
    return verdict(
        "flow-sensor-drift", known, daily.abs() > 0.15, known, step, lasting=4.0, fault_hours=4.0, judged_hours=4.0
    )


def by_day(rows: pd.DataFrame, values: pd.Series, there: pd.Series, step: float) -> pd.Series:
    """Median of each day that holds half an hour."""
    days = values[there].groupby(rows.loc[there, "day"])
    return days.median()[days.count() * step >= 0.5]


def pressure_ratio(rows: pd.DataFrame) -> pd.Series:
    running = rows["duct_static_pressure"].where(rows["duct_static_pressure"] > 10.0)
    return running / running.median()


def at_full_damper(rows: pd.DataFrame, terminal: pd.Series, step: float) -> pd.DataFrame:
    balanced = terminal["balanced_max"] if pd.notna(terminal["balanced_max"]) else terminal["primary_max"]
    ratio = pressure_ratio(rows)
    there = (rows["damper_position"] >= 95) & (rows["primary_flow"] > 10) & ~(rows["supply_fan_status"] < 0.5)
    drift = by_day(rows, rows["primary_flow"] / balanced / np.sqrt(ratio.fillna(1.0)) - 1.0, there, step)
    unknown = by_day(rows, ratio.isna().astype(float), there, step)
    return pd.DataFrame({"drift": drift, "doubt": np.hypot(np.where(drift > 0, 0.35, 0.10), 0.10 * unknown)})


def at_zero(rows: pd.DataFrame, terminal: pd.Series, step: float) -> pd.DataFrame:
    balanced = terminal["balanced_max"] if pd.notna(terminal["balanced_max"]) else terminal["primary_max"]
    still = (rows["damper_position"] <= 2.0) | (rows["supply_fan_status"] < 0.5)
    drift = by_day(rows, rows["primary_flow"] / balanced, lasting_for(still, 10.0, step), step)
    return pd.DataFrame({"drift": drift, "doubt": 0.10})


def lasting_for(state: pd.Series, minutes: float, step: float) -> pd.Series:
    """True from so many minutes after the state began."""
    run = (state != state.shift()).cumsum()
    return state & (state.groupby(run).cumcount() * step * 60 + step * 60 >= minutes)


def by_mixing(rows: pd.DataFrame, terminal: pd.Series, step: float) -> pd.DataFrame:
    if terminal["kind"] != "series":
        return pd.DataFrame({"drift": [], "doubt": []}, dtype=float)
    primary = rows["primary_temp"].fillna(rows["supply_temp"])
    spread = rows["plenum_temp"] - primary
    share = (rows["plenum_temp"] + FAN_RISE - rows["discharge_temp"]) / spread
    doubt = np.sqrt(0.5**2 + ((1 - share) * 0.5) ** 2 + (share * 0.5) ** 2 + (FAN_RISE / 2) ** 2) / spread.abs()
    there = (rows["fan_status"] > 0.5) & (spread.abs() >= 5.0) & (share >= 0.15) & (rows["primary_flow"] > 10)
    if terminal["reheat"] != "none":
        there &= lasting_for(rows["reheat_position"] <= 2.0, 20.0, step)
    if pd.notna(terminal["outdoor_air_inlet_min"]):
        there &= rows["outdoor_air_flow"] < 1.0
    drift = by_day(rows, rows["primary_flow"] / (share * terminal["fan_flow"]) - 1.0, there, step)
    return pd.DataFrame({"drift": drift, "doubt": np.hypot(by_day(rows, doubt / share, there, step), 0.10)})


def along_damper_curve(rows: pd.DataFrame, step: float) -> pd.DataFrame:
    """Fit ``ln Q = a ln d + b d + day``, and compare each day with the first two."""
    damper, flow = rows["damper_position"], rows["primary_flow"]
    there = (flow > 10) & (damper >= 5) & (damper.diff().abs() <= 3) & ~(rows["supply_fan_status"] < 0.5)
    used, day = rows[there], rows.loc[there, "day"]
    if not len(used):
        return pd.DataFrame({"drift": [], "doubt": []}, dtype=float)
    opening = used["damper_position"] / 100
    table = pd.DataFrame({"log": np.log(opening), "opening": opening})
    level = np.log(used["primary_flow"]) - 0.5 * np.log(pressure_ratio(rows)[there].fillna(1.0))
    within = (table - table.groupby(day).transform("mean")).to_numpy()
    of_level = (level - level.groupby(day).transform("mean")).to_numpy()
    pull = (0.05 / 0.5) ** 2  # towards an ordinary damper's curve, as long as the days say little
    square = within.T @ within * step + pull * np.eye(2)
    slope = np.linalg.solve(square, within.T @ of_level * step + pull * np.array([1.0, 0.5]))
    slope_doubt = 0.05 * np.sqrt(np.diag(np.linalg.inv(square)))
    daily = pd.DataFrame({"level": level - table @ slope, **table}).groupby(day).mean()
    hours = day.groupby(day).count() * step
    daily, hours = daily[hours >= 0.5], hours[hours >= 0.5]
    if len(daily) <= 2:
        return pd.DataFrame({"drift": [], "doubt": []}, dtype=float)
    first = hours.iloc[:2]
    away = daily - daily.iloc[:2].mul(first, axis=0).sum() / first.sum()
    scatter = 0.05 * np.sqrt(1 / hours.clip(lower=1.0) + 1 / max(first.sum(), 1.0))
    doubt = 2 * np.sqrt(scatter**2 + (slope_doubt[0] * away["log"]) ** 2 + (slope_doubt[1] * away["opening"]) ** 2)
    found = pd.DataFrame({"drift": np.expm1(away["level"]), "doubt": doubt}).iloc[2:]
    return found[away["log"].iloc[2:].abs() <= np.log(3.0)]


def unless_denied(way: pd.DataFrame, mixing: pd.DataFrame) -> pd.DataFrame:
    """Take back what the damper says where the mixing temperatures see no drift: the air is short, not its reading."""
    seen, doubt = mixing["drift"].median(), mixing["doubt"].median()
    denied = ((way["drift"] - seen).abs() > np.hypot(way["doubt"], doubt)) & (abs(seen) <= doubt)
    return way.assign(drift=way["drift"].where(~denied, 0.0))
