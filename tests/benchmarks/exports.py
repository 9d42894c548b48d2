"""A synthetic building's trends written as exports, a file for each fifty terminals, so that memory stays bounded.

wide      a column a point, month-first local times, the unit in each header, On and Off
long      a row a reading: time, point, value, unit; in the order of time
tidy      a row a terminal and time, a column a quantity; the air handlers' points in wide files beside it
trends    the normalized table that trendwright itself writes, one Parquet file, and the air handlers' beside it
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet as pq

from analyzer.dataset.metadata import FORMAT_KEY, LOGGING_KEY, ZONE_KEY
from analyzer.dataset.writing import ROW_GROUP
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.trends import AIR_HANDLER_COLUMNS, AIR_HANDLERS_FILE, FORMAT, TERMINAL_COLUMNS
from sample_trends.exports import schedule_in_ip
from sample_trends.points import ABBREVIATIONS, STATES
from sample_trends.readings import STORED, to_si
from tests.benchmarks.building import Model, Tile, tiles, whole_schedule

SHAPES = ("wide", "long", "tidy")
WORDS = {"occupied": ("Unocc", "Occ")}
_HEADERS = {name: name.replace("_", " ").title() for name in ABBREVIATIONS}
_SITE = """\
[site]
name = "Synthetic building"
time_zone = "{zone}"
units = "ip"
altitude = "190 m"
terminals = "terminals.csv"
date_order = "month-first"
outdoor_air_fraction = 0.35

[hours]
occupied = {{ mon-fri = "07:00-18:00", sat = "09:00-13:00" }}

[accuracy]
zone_temp = "0.3 K"
"""


def write_site(of: Model, terminals: int, folder: Path) -> None:
    """Write the site file and the terminal schedule."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(_SITE.format(zone=of.time.tz))
    schedule_in_ip(whole_schedule(of, terminals)).to_csv(folder / "terminals.csv", lineterminator="\n")


def write_exports(of: Model, terminals: int, shape: str, kind: str, folder: Path) -> None:
    """Write a building's exports into a folder, whole or not at all.

    Parameters
    ----------
    of : Model
    terminals : int
    shape : {"wide", "long", "tidy", "trends"}
    kind : {"csv", "parquet"}
    folder : path
        Left alone where it is there already.
    """
    if folder.exists():
        return
    part = folder.with_name(folder.name + ".part")
    shutil.rmtree(part, ignore_errors=True)
    write_site(of, terminals, part)
    if shape == "trends":
        _write_trends(of, terminals, part)
    else:
        (part / "exports").mkdir()
        write = {"wide": _wide, "long": _long, "tidy": _tidy}[shape]
        for tile in tiles(of, terminals):
            for name, table in write(tile, as_text=kind == "csv"):
                _write(table, part / "exports" / f"{name}-{tile.number + 1:03d}.{kind}")
    part.rename(folder)


def _write(table: pa.Table, path: Path) -> None:
    if path.suffix == ".csv":
        pyarrow.csv.write_csv(table, path, pyarrow.csv.WriteOptions(quoting_style="none"))
    else:
        pq.write_table(table, path, compression="zstd")


# Columns -----------------------------------------------------------------------------------------------------------


def _column(name: str, values: np.ndarray, as_text: bool) -> pa.Array:
    """Return readings as a system stores them: states as words in text and whole numbers in Parquet."""
    missing = np.isnan(values)
    if name in STATES:
        state = np.where(missing, 0, values).astype(np.int8)
        if not as_text:
            return pa.array(state, mask=missing)
        words = pa.array(WORDS.get(name, ("Off", "On")))
        return pa.DictionaryArray.from_arrays(pa.array(state, mask=missing), words).cast(pa.string())
    if as_text and STORED[name][1] >= 1.0:
        return pa.array(np.where(missing, 0, values).astype(np.int64), mask=missing)
    return pa.array(values, mask=missing)


def _points(tile: Tile, *, of_terminals: bool = True):
    """Yield owner, quantity and readings, point by point."""
    if of_terminals:
        readings = tile.readings()
        for at, tag in enumerate(tile.tags):
            for name, values in readings.items():
                column = values[:, at]
                if not np.isnan(column).all():
                    yield tag, name, column
    for at, tag in enumerate(tile.handler_tags):
        for name, values in tile.of.air_handlers.items():
            yield tag, name, values[:, at]


def _stamps(time: pd.DatetimeIndex, form: str) -> pa.Array:
    return pa.array(time.strftime(form), pa.string())


def _unit(name: str) -> str:
    unit = STORED[name][0]
    return f" ({unit})" if unit else ""


# Shapes ------------------------------------------------------------------------------------------------------------


def _wide(tile: Tile, *, as_text: bool, of_terminals: bool = True):
    time = tile.of.time
    columns = {"Timestamp": _stamps(time, "%m/%d/%Y %H:%M")} if as_text else {"TimeUTC": _utc(time)}
    for owner, name, values in _points(tile, of_terminals=of_terminals):
        columns[f"{owner}.{ABBREVIATIONS[name]}{_unit(name)}"] = _column(name, values, as_text)
    yield "wide" if of_terminals else "air-handlers", pa.table(columns)


def _long(tile: Tile, *, as_text: bool):
    points = list(_points(tile))
    count, times = len(points), len(tile.of.time)
    # The rows of a moment stand together: point by point is put into the order of time.
    order = np.arange(count * times).reshape(count, times).T.ravel()
    if as_text:
        value = pa.concat_arrays([_column(name, values, True).cast(pa.string()) for _, name, values in points])
        value = value.take(pa.array(order))
        time = _stamps(tile.of.time, "%Y-%m-%d %H:%M:%S")
    else:
        value = pa.array(np.stack([values for *_, values in points]).ravel()[order], from_pandas=True)
        time = _utc(tile.of.time)
    table = pa.table(
        {
            "Time": time.take(pa.array(np.repeat(np.arange(times), count))),
            "Point": _again([f"{owner}.{ABBREVIATIONS[name]}" for owner, name, _ in points], times),
            "Value": value,
            "Unit": _again([STORED[name][0] for _, name, _ in points], times),
        }
    )
    yield "long", table.filter(value.is_valid())


def _again(words: list[str], times: int) -> pa.Array:
    """Return the words over and over, as whole text: a system's export knows no dictionaries."""
    numbers = pa.array(np.tile(np.arange(len(words), dtype=np.int32), times))
    return pa.DictionaryArray.from_arrays(numbers, pa.array(words)).cast(pa.string())


def _tidy(tile: Tile, *, as_text: bool):
    readings, times, count = tile.readings(), len(tile.of.time), tile.terminals
    time = _stamps(tile.of.time, "%Y-%m-%d %H:%M:%S") if as_text else _utc(tile.of.time)
    columns = {
        "Terminal": pa.array(np.repeat(np.array(tile.tags, dtype=object), times), pa.string()),
        "Time": time.take(pa.array(np.tile(np.arange(times), count))),
    }
    for name, values in readings.items():
        columns[f"{_HEADERS[name]}{_unit(name)}"] = _column(name, values.T.ravel(), as_text)
    yield "tidy", pa.table(columns)
    yield from _wide(tile, as_text=as_text, of_terminals=False)


def _utc(time: pd.DatetimeIndex) -> pa.Array:
    return pa.array(time.tz_convert("UTC").as_unit("us"))


# The normalized table ----------------------------------------------------------------------------------------------


def _write_trends(of: Model, terminals: int, folder: Path) -> None:
    all_tiles = tiles(of, terminals)
    metadata = {FORMAT_KEY: FORMAT.encode(), ZONE_KEY: str(of.time.tz).encode()}
    logged = {LOGGING_KEY: json.dumps(_logged(all_tiles)).encode()}
    schema = _schema(TERMINAL_COLUMNS, metadata | logged)
    with pq.ParquetWriter(folder / "trends.parquet", schema, compression="zstd") as writer:
        for tile in all_tiles:
            readings = tile.readings()
            if "fan_status" in readings:
                readings["fan_starts"] = _starts(readings["fan_status"])
            _write_groups(writer, schema, tile.tags, of.time, readings, TERMINAL)
    schema = _schema(AIR_HANDLER_COLUMNS, metadata)
    with pq.ParquetWriter(folder / AIR_HANDLERS_FILE, schema, compression="zstd") as writer:
        for tile in all_tiles:
            own = {name: values[:, : len(tile.handler_tags)] for name, values in of.air_handlers.items()}
            _write_groups(writer, schema, tile.handler_tags, of.time, own, AIR_HANDLER)


def _logged(all_tiles: list[Tile]) -> dict[str, dict[str, float]]:
    """Tell how often each point is logged, as the table's metadata does [s]."""
    of = all_tiles[0].of
    seconds = (of.time[1] - of.time[0]).total_seconds()
    trended = {name: ~np.isnan(values).all(axis=0) for name, values in of.terminals.items()}
    if "fan_status" in trended:
        trended["fan_starts"] = trended["fan_status"]
    return {
        tag: {name: seconds for name, there in trended.items() if there[at]}
        for tile in all_tiles
        for at, tag in enumerate(tile.tags)
    }


def _schema(columns: list[str], metadata: dict[bytes, bytes]) -> pa.Schema:
    fields = [(columns[0], pa.string()), ("time", pa.timestamp("us", tz="UTC"))]
    return pa.schema([*fields, *((name, pa.float64()) for name in columns[2:])], metadata=metadata)


def _write_groups(writer, schema: pa.Schema, tags: list[str], time: pd.DatetimeIndex, readings, glossary) -> None:
    """Write row groups of whole terminals, about as large as trendwright's own."""
    each = max(1, ROW_GROUP // len(time))
    for first in range(0, len(tags), each):
        some = slice(first, first + each)
        own = {name: values[:, some] for name, values in readings.items()}
        table = _normalized(tags[some], time, own, glossary, schema)
        writer.write_table(table, row_group_size=len(table))


def _normalized(tags: list[str], time: pd.DatetimeIndex, readings: dict, glossary, schema: pa.Schema) -> pa.Table:
    times, count = len(time), len(tags)
    columns = [
        pa.array(np.repeat(np.array(tags, dtype=object), times), pa.string()),
        _utc(time).take(pa.array(np.tile(np.arange(times), count))),
    ]
    for name in glossary:
        values = readings.get(name)
        if values is None:
            columns.append(pa.nulls(times * count, pa.float64()))
        else:
            column = values.T.ravel()
            columns.append(pa.array(column if name == "fan_starts" else to_si(name, column), from_pandas=True))
    return pa.Table.from_arrays(columns, schema=schema)


def _starts(status: np.ndarray) -> np.ndarray:
    """Count the starts that an interval log shows: off in the last known sample, on in this one."""
    filled = pd.DataFrame(status).ffill().to_numpy()
    before = np.vstack([filled[:1], filled[:-1]])
    starts = ((filled > 0.5) & (before < 0.5)).astype(float)
    trended = ~np.isnan(status).all(axis=0)
    return np.where(trended, starts, np.nan)
