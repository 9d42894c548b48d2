"""Write the demo's exports, in the shapes that a controls contractor's systems give."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.quantities import find_unit
from sample_trends.building import CFM, FT2, INCH_WC, Building
from sample_trends.changes import change_log
from sample_trends.documents import write_balancing_report, write_schedule
from sample_trends.faults import truth
from sample_trends.points import STATES, Points, simulate_week
from sample_trends.quillfeather import OUTDOOR_AIR_FRACTION, quillfeather_house
from sample_trends.scenario import FIRST, FUNCTIONAL_TEST, RETEST, WEEKS

_IP = {
    "primary_max": "cfm", "balanced_max": "cfm", "primary_min": "cfm", "ventilation_min": "cfm",
    "heating_primary": "cfm",
    "fan_flow": "cfm", "outdoor_air_min": "cfm", "outdoor_air_inlet_min": "cfm", "reheat_capacity": "kW",
    "inlet_diameter": "in", "flow_coefficient": "cfm/sqrt(in.w.c.)", "area": "ft2", "zone_volume": "ft3",
}  # fmt: skip
_SCALES = {
    "cfm": CFM, "kW": 1000.0, "in": 0.0254, "cfm/sqrt(in.w.c.)": CFM / np.sqrt(INCH_WC), "ft2": FT2,
    "ft3": find_unit("ft3", "volume").to_si(1.0),
}  # fmt: skip
_ON_OFF = {
    "fan_status": ("Off", "On"),
    "fan_command": ("Off", "On"),
    "supply_fan_status": ("Off", "On"),
    "occupied": ("Unocc", "Occ"),
}

_SITE = """\
# Quillfeather House, an invented building: the demo's site file.

[site]
name = "{name}"
time_zone = "{time_zone}"
units = "ip"
altitude = "{altitude:g} m"
terminals = "terminals.csv"
documents = ["documents/terminal_schedule.xlsx", "documents/balancing_report.pdf"]
date_order = "month-first"
outdoor_air_fraction = {fraction}

[hours]
occupied = {{ mon-fri = "07:00-18:00", sat = "09:00-13:00" }}
holidays = ["2026-01-19", "2026-02-16"]

[setpoints]
heating = "70 degF"
cooling = "75 degF"

[policy]
heating = "68 to 72 degF"
cooling = "73 to 78 degF"

[[functional_test]]
terminals = ["VAV-2-06"]
from = "{test[0]}"
to = "{test[1]}"
name = "heating sequence"
steps = ["damper", "reheat"]

[accuracy]
zone_temp = "0.3 K"
primary_flow = {{ of_reading = 0.05, at_least = "5 L/s" }}

[tariff]
currency = "USD"
electricity = 0.14
heat = 0.05
"""


def write_exports(folder: str | Path, seed: int) -> list[Path]:
    """Simulate both demo weeks and write every export, the site file, the schedule and the truth.

    Parameters
    ----------
    folder : path
        Made if missing; files of the same names are replaced.
    seed : int
        Of weather, people and noise; the building stays the same.

    Returns
    -------
    list of Path
        The files written.
    """
    folder = Path(folder)
    house = quillfeather_house()
    for name in ("wide", "long", "parquet", "retest"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    first = simulate_week(house, FIRST, seed)
    written = [write_wide(first, handler, folder / "wide" / f"{handler}.csv") for handler in house.air_handlers.index]
    written.append(write_changes(first, folder / "long" / "changes.csv"))
    written.append(write_parquet(first, folder / "parquet" / "trends.parquet"))
    written.append(write_parquet(simulate_week(house, RETEST, seed), folder / "retest" / "retest_week.parquet"))
    (folder / "site.toml").write_text(
        _SITE.format(
            name=house.name,
            time_zone=house.time_zone,
            altitude=house.altitude,
            fraction=OUTDOOR_AIR_FRACTION,
            test=FUNCTIONAL_TEST,
        )
    )
    schedule_in_ip(house).to_csv(folder / "terminals.csv", lineterminator="\n")
    documents = write_documents(schedule_in_ip(house), folder / "documents")
    truths = [truth(house, week.faults, week.start, week.days, week.name) for week in WEEKS]
    pd.concat(truths).to_csv(folder / "truth.csv", index=False, lineterminator="\n")
    return [*written, *documents, *(folder / name for name in ("site.toml", "terminals.csv", "truth.csv"))]


def write_documents(table: pd.DataFrame, folder: Path) -> list[Path]:
    """Write the schedule of the drawings and the balancing report as they are handed over."""
    folder.mkdir(exist_ok=True)
    return [
        write_schedule(table, folder / "terminal_schedule.xlsx"),
        write_balancing_report(table, folder / "balancing_report.pdf"),
    ]


def schedule_in_ip(building: Building) -> pd.DataFrame:
    """Return the terminal schedule as the drawings show it: IP, the unit in the header's brackets."""
    table = building.schedule()
    for name, unit in _IP.items():
        table[name] = _plain(np.round(table[name] / _SCALES[unit], 2))
    table["people"] = _plain(table["people"])
    return table.rename(columns={name: f"{name} [{unit}]" for name, unit in _IP.items()})


def write_wide(points: Points, air_handler: str, path: Path) -> Path:
    """Write one air handler's points as one wide CSV: a column a point, the unit in its header, month-first times.

    The second air handler's exports come from another server: a preamble, states as numbers, ``NaN`` for a lost sample.
    """
    time, values = points.sampled()
    chosen = (points.table["air_handler"] == air_handler).to_numpy()
    first = air_handler == points.building.air_handlers.index[0]
    columns = {"Timestamp": time.strftime("%m/%d/%Y %H:%M")}
    for row, column in zip(points.table[chosen].itertuples(), values[:, chosen].T, strict=True):
        unit = f" ({row.unit})" if row.unit else ""
        columns[f"{row.owner}.{row.abbreviation}{unit}"] = _spelled(column, row.quantity, words=first)
    with path.open("w", newline="") as file:
        if not first:
            file.write(f"Trend report,{points.building.name} - {air_handler}\nInterval,5 min\n\n")
        pd.DataFrame(columns).to_csv(file, index=False, lineterminator="\n", na_rep="" if first else "NaN")
    return path


def write_changes(points: Points, path: Path) -> Path:
    """Write all points as one long log of changes: time to the second, point, value, unit."""
    log = change_log(points)
    names = (points.table["owner"] + "." + points.table["abbreviation"]).to_numpy()
    quantities = points.table["quantity"].to_numpy()
    text = np.array(["" if np.isnan(value) else f"{value:g}" for value in log["value"]], dtype=object)
    for name, words in _ON_OFF.items():
        mine = quantities[log["point"]] == name
        text[mine] = np.array(words, dtype=object)[log.loc[mine, "value"].astype(int)]
    table = pd.DataFrame(
        {
            "Time": log["time"].dt.strftime("%Y-%m-%d %H:%M:%S"),
            "Point": names[log["point"]],
            "Value": text,
            "Unit": points.table["unit"].to_numpy()[log["point"]],
        }
    )
    table.to_csv(path, index=False, lineterminator="\n")
    return path


def write_parquet(points: Points, path: Path) -> Path:
    """Write all points as one wide Parquet: UTC times, a column a point, states as small integers."""
    time, values = points.sampled()
    columns = {"TimeUTC": time.tz_convert("UTC")}
    for row, column in zip(points.table.itertuples(), values.T, strict=True):
        unit = f" ({row.unit})" if row.unit else ""
        state = row.quantity in STATES
        columns[f"{row.owner} {row.abbreviation}{unit}"] = pd.array(column, dtype="Int8") if state else column
    pd.DataFrame(columns).to_parquet(path, index=False, compression="zstd")
    return path


def _spelled(column: np.ndarray, quantity: str, *, words: bool) -> list:
    if words and quantity in _ON_OFF:
        off, on = _ON_OFF[quantity]
        return [None if np.isnan(value) else (on if value else off) for value in column]
    return [None if np.isnan(value) else f"{value:g}" for value in column]


def _plain(column: pd.Series) -> list:
    return ["" if np.isnan(value) else f"{value:g}" for value in column]
