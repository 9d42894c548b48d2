"""The yardstick of an expert: the four card rules in polars, lazy, whole columns, every core.

The same verdicts as ``in_pandas`` by the same definitions and with the same things taken for granted, written by
someone who knows the library: one pass over the Parquet file, window expressions by terminal, sums by day from which
the damper curve is fitted in closed form, and the four rules collected together.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
from polars import col

from tests.benchmarks.in_pandas import FAN_RISE, HELD, OF_HANDLER, TRENDS

SCHEDULE = [
    "kind", "air_handler", "distribution", "reheat", "primary_max", "balanced_max", "primary_min", "ventilation_min",
    "heating_primary", "fan_flow", "outdoor_air_min", "outdoor_air_inlet_min", "area", "people",
]  # fmt: skip
ONE_HOUR = "1h"
MINUTE = 60_000_000  # [us]


def judge(folder: Path, schedule: pd.DataFrame, zone: str) -> pd.DataFrame:
    """Read the trends in a folder and judge every terminal by the four rules.

    Parameters
    ----------
    folder : path
        With ``trends.parquet`` and ``air_handlers.parquet``.
    schedule : DataFrame
        The terminal schedule, SI, index terminal.
    zone : str
        The site's time zone.

    Returns
    -------
    DataFrame
        ``terminal, rule, verdict, judged_hours, fault_hours``.
    """
    rows = _rows(folder, _terminals(schedule), zone).collect().lazy()
    rules = (_below_ventilation(rows), _short_cycling(rows), _reheat_in_cooling(rows), _sensor_drift(rows))
    return pl.concat(pl.collect_all(rules)).sort("terminal", "rule").to_pandas()


def _terminals(schedule: pd.DataFrame) -> pl.LazyFrame:
    table = schedule[SCHEDULE].reset_index()
    texts = ["terminal", "kind", "air_handler", "distribution", "reheat"]
    columns = {name: pl.Series(name, list(table[name]), pl.String) for name in texts}
    columns |= {
        name: pl.Series(name, table[name].to_numpy(float), nan_to_null=True) for name in SCHEDULE if name not in texts
    }
    return pl.DataFrame(columns).lazy()


def _rows(folder: Path, schedule: pl.LazyFrame, zone: str) -> pl.LazyFrame:
    """Lay everything out in one frame: gaps bridged, air handler and schedule joined, occupancy and days told."""
    handlers = pl.scan_parquet(folder / "air_handlers.parquet").select("air_handler", "time", *OF_HANDLER)
    local = col("time").dt.convert_time_zone(zone)
    hour, day = local.dt.hour(), local.dt.weekday()
    by_clock = ((day <= 5) & (hour >= 7) & (hour < 18)) | ((day == 6) & (hour >= 9) & (hour < 13))
    trended = col("occupied").is_not_null().any().over("terminal")
    return (
        pl.scan_parquet(folder / "trends.parquet")
        .select(TRENDS)
        .with_columns(col(HELD).forward_fill(limit=3).over("terminal"))
        .join(schedule, on="terminal", how="left", maintain_order="left")
        .join(handlers, on=["air_handler", "time"], how="left", maintain_order="left")
        .with_columns(
            step=col("time").diff().median().over("terminal").dt.total_microseconds() / (60 * MINUTE),
            occupied=pl.when(trended).then(col("occupied") > 0.5).otherwise(by_clock),
            day=local.dt.date(),
            running=~(col("supply_fan_status") < 0.5).fill_null(False),
        )
    )


def _verdicts(rows, rule: str, context, fault, known, *, lasting, fault_hours=1.0, judged_hours=1.0) -> pl.LazyFrame:
    """Join fault rows into runs, keep those that last, and say what they come to. Two unknown rows part no run."""
    looked_at = (context & known).fill_null(False)
    marked = rows.select("terminal", "step", judged=looked_at, fault=looked_at & fault.fill_null(False), told=(
        pl.when(known.fill_null(False) | ~context.fill_null(False)).then((looked_at & fault.fill_null(False)).cast(pl.Float64))
    ))  # fmt: skip
    before, after = (way.over("terminal") for way in (col("told").forward_fill(2), col("told").backward_fill(2)))
    marked = marked.with_columns(within=((before > 0.5) & (after > 0.5)).fill_null(False))
    turned = (col("within") != col("within").shift()) | (col("terminal") != col("terminal").shift())
    faulty = (
        marked.with_columns(run=turned.cum_sum())
        .filter("within")
        .group_by("terminal", "run")
        .agg(hours=pl.len() * col("step").first(), faulty=col("fault").sum() * col("step").first())
        .filter(col("hours") >= lasting - 1e-6)
        .group_by("terminal")
        .agg(fault_hours=col("faulty").sum())
    )
    judged = marked.group_by("terminal").agg(judged_hours=col("judged").sum() * col("step").first())
    return _told(judged.join(faulty, on="terminal", how="left"), rule, fault_hours, judged_hours)


def _told(hours: pl.LazyFrame, rule: str, fault_hours: float, judged_hours: float) -> pl.LazyFrame:
    faulty = col("fault_hours").fill_null(0.0)
    enough = col("judged_hours") >= judged_hours
    verdict = pl.when(~enough).then(pl.lit("not-judged")).when(faulty >= fault_hours).then(pl.lit("fault"))
    return hours.select(
        "terminal",
        pl.lit(rule).alias("rule"),
        verdict.otherwise(pl.lit("clear")).alias("verdict"),
        "judged_hours",
        pl.when(enough).then(faulty).otherwise(0.0).alias("fault_hours"),
    )


# Ventilation, fan, reheat -------------------------------------------------------------------------------------------


def _below_ventilation(rows: pl.LazyFrame) -> pl.LazyFrame:
    scheduled = col("ventilation_min").is_not_null()
    inlet = pl.when(col("outdoor_air_inlet_min").is_not_null()).then(col("outdoor_air_flow")).otherwise(0.0)
    air = (
        pl.when(scheduled)
        .then(col("primary_flow"))
        .otherwise(col("primary_flow") * col("outdoor_air_fraction") + inlet)
    )
    warm = (col("discharge_temp") - col("zone_temp")).fill_null(0.0)
    underfloor = col("distribution") == "underfloor"
    effectiveness = (
        pl.when(underfloor & (warm > 0.0)).then(0.7).when(~underfloor & (warm >= 8.0)).then(0.8).otherwise(1.0)
    )
    needed = pl.coalesce(
        "ventilation_min", "outdoor_air_min", (2.5 * col("people") + 0.3 * col("area")) / effectiveness
    )
    past = rows.with_columns(required=needed, air=pl.when("occupied").then(air)).with_columns(
        average=col("air").rolling_mean_by("time", ONE_HOUR).over("terminal"),
        seen=col("air").is_not_null().cast(pl.Float64).rolling_sum_by("time", ONE_HOUR).over("terminal"),
    )
    return _verdicts(
        past, "primary-below-ventilation-minimum", col("occupied"), col("average") < 0.9 * col("required"),
        col("seen") * col("step") >= 0.9 - 1e-9, lasting=0.5, judged_hours=2.0,
    )  # fmt: skip


def _short_cycling(rows: pl.LazyFrame) -> pl.LazyFrame:
    def past_hour(amount):
        return amount.rolling_sum_by("time", ONE_HOUR).over("terminal")

    status = col("fan_status")
    turned = (status.diff().abs().over("terminal") > 0.5).fill_null(False)
    single = turned & turned.shift(fill_value=False).over("terminal")
    parallel = rows.filter(col("kind") == "parallel").with_columns(
        starts=past_hour(col("fan_starts").fill_null(0.0)),
        minutes=past_hour(status.fill_null(0.0) * col("step") * 60),
        seen=past_hour(status.is_not_null().cast(pl.Float64)) * col("step"),
        single=past_hour(single.cast(pl.Float64)),
    )
    fine = col("step") * 60 <= 2.0
    many, short = col("starts") >= 5, fine & (col("starts") >= 2) & (col("minutes") / col("starts") < 3.0)
    # In a coarser log a run or rest of one sample may hide others.
    tells = fine | many | (col("single") == 0)
    return _verdicts(
        parallel, "fan-short-cycling", (col("minutes") > 1e-9) | (col("starts") > 0), many | short,
        (col("seen") >= 0.75) & tells, lasting=0.5,
    )  # fmt: skip


def _reheat_in_cooling(rows: pl.LazyFrame) -> pl.LazyFrame:
    heating = pl.max_horizontal("heating_primary", "primary_min", "ventilation_min")
    zone, reheat = col("zone_temp"), col("reheat_position")
    too_warm = (zone > col("cooling_setpoint") + 0.5).fill_null(False)
    too_cold = (zone < col("heating_setpoint") + 0.5).fill_null(False)
    much_air = col("occupied") & (col("primary_flow") > 1.15 * heating).fill_null(False) & ~too_cold
    heated = rows.filter(col("reheat") != "none")
    return _verdicts(
        heated, "reheat-during-cooling", too_warm | much_air, reheat > 5.0, reheat.is_not_null(), lasting=0.25
    )


# Flow sensor --------------------------------------------------------------------------------------------------------

BY_DAY = ["terminal", "day"]
WAY = [*BY_DAY, "drift", "doubt"]


def _sensor_drift(rows: pl.LazyFrame) -> pl.LazyFrame:
    running = pl.when(col("duct_static_pressure") > 10.0).then(col("duct_static_pressure"))
    pressure = running / running.median().over("terminal")
    rows = rows.with_columns(pressure=pressure, balanced=pl.coalesce("balanced_max", "primary_max"))
    mixing = _by_mixing(rows)
    by_damper = [_unless_denied(way, mixing) for way in (_at_full_damper(rows), _along_damper_curve(rows))]
    weight = pl.when(col("drift").abs() > col("doubt")).then(1.0 / col("doubt") ** 2).otherwise(0.0)
    total = weight.sum()
    mean = pl.when(total > 0).then((col("drift") * weight).sum() / total).otherwise(0.0)
    drift = pl.concat([*by_damper, _at_zero(rows), mixing]).group_by(BY_DAY).agg(drift=mean)
    days = rows.group_by(BY_DAY).agg(hours=pl.len() * col("step").first()).join(drift, on=BY_DAY, how="left")
    faulty = (col("drift").abs() > 0.15).fill_null(False)
    # Within a day the drift is one figure: runs of rows are runs of days.
    turned = (col("faulty") != col("faulty").shift()) | (col("terminal") != col("terminal").shift())
    runs = days.sort(BY_DAY).with_columns(faulty=faulty).with_columns(run=turned.cum_sum())
    lasting = col("hours").sum().over("terminal", "run") >= 4.0 - 1e-6
    hours = (
        runs.with_columns(lasting=lasting)
        .group_by("terminal")
        .agg(
            judged_hours=col("hours").filter(col("drift").is_not_null()).sum(),
            fault_hours=col("hours").filter(col("faulty") & col("lasting")).sum(),
        )
    )
    return _told(hours, "flow-sensor-drift", 4.0, 4.0)


def _medians(rows: pl.LazyFrame, there, **values) -> pl.LazyFrame:
    """Medians of each day that holds half an hour."""
    return (
        rows.filter(there)
        .group_by(BY_DAY)
        .agg(seen=pl.len() * col("step").first(), **{name: value.median() for name, value in values.items()})
        .filter(col("seen") >= 0.5)
    )


def _at_full_damper(rows: pl.LazyFrame) -> pl.LazyFrame:
    there = (col("damper_position") >= 95) & (col("primary_flow") > 10) & col("running")
    drift = col("primary_flow") / col("balanced") / col("pressure").fill_null(1.0).sqrt() - 1.0
    days = _medians(rows, there, drift=drift, unknown=col("pressure").is_null().cast(pl.Float64))
    balancing = pl.when(col("drift") > 0).then(0.35).otherwise(0.10)
    return days.with_columns(doubt=(balancing**2 + (0.10 * col("unknown")) ** 2).sqrt()).select(WAY)


def _at_zero(rows: pl.LazyFrame) -> pl.LazyFrame:
    still = ((col("damper_position") <= 2.0) | ~col("running")).fill_null(False)
    days = _medians(rows, _lasting_for(still, 10), drift=col("primary_flow") / col("balanced"))
    return days.with_columns(doubt=pl.lit(0.10)).select(WAY)


def _lasting_for(state, minutes: float):
    """True from so many minutes after the state began: since the last row without it."""
    step = (col("step") * 60 * MINUTE).cast(pl.Int64).cast(pl.Duration("us"))
    without = pl.when(~state).then(col("time")).forward_fill().over("terminal")
    since = pl.coalesce(without, col("time").first().over("terminal") - step)
    return state & (col("time") - since >= pl.duration(minutes=minutes))


def _by_mixing(rows: pl.LazyFrame) -> pl.LazyFrame:
    spread = col("plenum_temp") - pl.coalesce("primary_temp", "supply_temp")
    share = (col("plenum_temp") + FAN_RISE - col("discharge_temp")) / spread
    doubt = (0.25 + ((1 - share) * 0.5) ** 2 + (share * 0.5) ** 2 + (FAN_RISE / 2) ** 2).sqrt() / spread.abs()
    there = (col("fan_status") > 0.5) & (spread.abs() >= 5.0) & (share >= 0.15) & (col("primary_flow") > 10)
    there &= (col("reheat") == "none") | _lasting_for((col("reheat_position") <= 2.0).fill_null(False), 20)
    there &= col("outdoor_air_inlet_min").is_null() | (col("outdoor_air_flow") < 1.0)
    series = rows.filter(col("kind") == "series")
    days = _medians(series, there, drift=col("primary_flow") / (share * col("fan_flow")) - 1.0, of_share=doubt / share)
    return days.with_columns(doubt=(col("of_share") ** 2 + 0.01).sqrt()).select(WAY)


def _along_damper_curve(rows: pl.LazyFrame) -> pl.LazyFrame:
    """Fit ``ln Q = a ln d + b d + day`` from each day's sums, and compare each day with the first two."""
    damper = col("damper_position")
    steady = damper.diff().abs().over("terminal") <= 3
    there = (col("primary_flow") > 10) & (damper >= 5) & col("running") & steady
    used = rows.filter(there).select(
        *BY_DAY, "step",
        log=(damper / 100).log(),
        opening=damper / 100,
        level=col("primary_flow").log() - 0.5 * col("pressure").fill_null(1.0).log(),
    )  # fmt: skip
    names = ("log", "opening", "level")
    pairs = [(first, second) for at, first in enumerate(names[:2]) for second in names[at:]]
    within = {f"{a}*{b}": (col(a) * col(b)).sum() - col(a).sum() * col(b).sum() / pl.len() for a, b in pairs}
    days = used.group_by(BY_DAY).agg(
        hours=pl.len() * col("step").first(),
        step=col("step").first(),
        **within,
        **{name: col(name).mean() for name in names},
    )
    slopes = days.group_by("terminal").agg(*_slopes()).with_columns(**_solved())
    hours = col("hours")
    daily = (
        days.filter(hours >= 0.5)
        .join(slopes, on="terminal")
        .with_columns(level=col("level") - col("a") * col("log") - col("b") * col("opening"))
        .sort(BY_DAY)
        .with_columns(number=pl.int_range(pl.len()).over("terminal"))
    )
    first = pl.when(col("number") < 2).then(hours).otherwise(0.0)
    reference = first.sum().over("terminal")
    away = {name: col(name) - (col(name) * first).sum().over("terminal") / reference for name in names}
    scatter = 0.05**2 * (1 / hours.clip(1.0) + 1 / reference.clip(1.0))
    doubt = 2 * (scatter + (col("a_doubt") * col("log")) ** 2 + (col("b_doubt") * col("opening")) ** 2).sqrt()
    return (
        daily.with_columns(**away, scatter_of=scatter)
        .filter((col("number") >= 2) & (col("log").abs() <= np.log(3.0)))
        .with_columns(drift=col("level").exp() - 1.0, doubt=doubt)
        .select(WAY)
    )


PULL = (0.05 / 0.5) ** 2  # towards an ordinary damper's curve, as long as the days say little


def _slopes():
    def total(name):
        return (col(name) * col("step")).sum()

    yield (total("log*log") + PULL).alias("aa")
    yield total("log*opening").alias("ab")
    yield (total("opening*opening") + PULL).alias("bb")
    yield (total("log*level") + PULL).alias("al")
    yield (total("opening*level") + 0.5 * PULL).alias("bl")


def _solved() -> dict:
    determinant = col("aa") * col("bb") - col("ab") ** 2
    return {
        "a": (col("bb") * col("al") - col("ab") * col("bl")) / determinant,
        "b": (col("aa") * col("bl") - col("ab") * col("al")) / determinant,
        "a_doubt": 0.05 * (col("bb") / determinant).sqrt(),
        "b_doubt": 0.05 * (col("aa") / determinant).sqrt(),
    }


def _unless_denied(way: pl.LazyFrame, mixing: pl.LazyFrame) -> pl.LazyFrame:
    """Take back what the damper says where the mixing temperatures see no drift: the air is short, not its reading."""
    seen = mixing.group_by("terminal").agg(seen=col("drift").median(), seen_doubt=col("doubt").median())
    apart = (col("drift") - col("seen")).abs() > (col("doubt") ** 2 + col("seen_doubt") ** 2).sqrt()
    denied = (apart & (col("seen").abs() <= col("seen_doubt"))).fill_null(False)
    return (
        way.join(seen, on="terminal", how="left")
        .with_columns(drift=pl.when(denied).then(0.0).otherwise("drift"))
        .select(WAY)
    )
