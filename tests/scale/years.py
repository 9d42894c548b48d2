"""Years of a large building in the layouts that a dataset may have, with some four findings a terminal.

monthly       a folder a month, row groups of some eight terminals
weekly        a folder a week, row groups of some thirty terminals
one-a-group   one file of the year, a row group a terminal
by-time       one file of the year in the order of time, as other tools write it: every terminal in every row group
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from analyzer.dataset.metadata import FORMAT_KEY, LOGGING_KEY, ZONE_KEY
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.trends import AIR_HANDLER_COLUMNS, AIR_HANDLERS_FILE, FORMAT, TERMINAL_COLUMNS
from sample_trends import Fault, invented_building
from sample_trends.catalogue import CATALOGUE
from sample_trends.readings import stored_values
from sample_trends.simulation import record
from tests.benchmarks import exports
from tests.benchmarks.building import CLIMATE, SEED, START, TILE, Model, tiles

LAYOUTS = {"monthly": 4, "weekly": 1, "one-a-group": None, "by-time": None}  # weeks in a folder
# What every terminal has that can have it.
FAULTS = ("setpoints-too-close", "no-setback", "heat-in-hand", "flow-gain-high", "fan-on-at-night")
MINUTES = 5
ROWS_BY_TIME = 1_048_576  # of a row group, as pyarrow writes it where it is not told


def faulty_week(each: int = 40) -> Model:
    """Simulate a week of fifty terminals, so many an air handler, most of which have four or five faults."""
    building = invented_building(TILE, SEED, each=each)
    faults = [Fault(kind, tag) for kind in FAULTS for tag in building.terminals.query(CATALOGUE[kind].where).index]
    recording = record(building, faults, seed=SEED, start=START, days=7, step_minutes=MINUTES, climate=CLIMATE)
    terminals, air_handlers = stored_values(recording)
    there = {name: values for name, values in terminals.items() if not np.isnan(values).all()}
    return Model(building, recording.time, there, air_handlers)


def write_year(week: Model, terminals: int, weeks: int, layout: str, folder: Path) -> None:
    """Write ``site.toml``, ``terminals.csv`` and ``dataset/`` into a folder."""
    year = week.repeated(weeks)
    exports.write_site(year, terminals, folder)
    dataset = folder / "dataset"
    dataset.mkdir()
    if layout == "by-time":
        _by_time(year, terminals, dataset)
        return
    each = (LAYOUTS[layout] or weeks) * len(week.time)
    for number, first in enumerate(range(0, len(year.time), each)):
        place = dataset / f"part-{number + 1:02d}"
        place.mkdir()
        _whole_terminals(_between(year, slice(first, first + each)), terminals, place)


def _between(of: Model, kept: slice) -> Model:
    parts = ({name: values[kept] for name, values in table.items()} for table in (of.terminals, of.air_handlers))
    terminals, air_handlers = parts
    return replace(of, time=of.time[kept], terminals=terminals, air_handlers=air_handlers)


def _schemas(of: Model, terminals: int) -> tuple[pa.Schema, pa.Schema]:
    metadata = {FORMAT_KEY: FORMAT.encode(), ZONE_KEY: str(of.time.tz).encode()}
    logged = {LOGGING_KEY: json.dumps(exports._logged(tiles(of, terminals))).encode()}
    return exports._schema(TERMINAL_COLUMNS, metadata | logged), exports._schema(AIR_HANDLER_COLUMNS, metadata)


def _readings(tile) -> dict[str, np.ndarray]:
    readings = tile.readings()
    return readings | {"fan_starts": exports._starts(readings["fan_status"])}


def _whole_terminals(of: Model, terminals: int, folder: Path) -> None:
    schema, of_handlers = _schemas(of, terminals)
    with pq.ParquetWriter(folder / "trends.parquet", schema, compression="zstd") as writer:
        for tile in tiles(of, terminals):
            exports._write_groups(writer, schema, tile.tags, of.time, _readings(tile), TERMINAL)
    _air_handlers(of, terminals, folder, of_handlers)


def _air_handlers(of: Model, terminals: int, folder: Path, schema: pa.Schema) -> None:
    with pq.ParquetWriter(folder / AIR_HANDLERS_FILE, schema, compression="zstd") as writer:
        for tile in tiles(of, terminals):
            own = {name: values[:, : len(tile.handler_tags)] for name, values in of.air_handlers.items()}
            exports._write_groups(writer, schema, tile.handler_tags, of.time, own, AIR_HANDLER)


def _by_time(of: Model, terminals: int, folder: Path) -> None:
    schema, of_handlers = _schemas(of, terminals)
    each = max(1, ROWS_BY_TIME // terminals)
    with pq.ParquetWriter(folder / "trends.parquet", schema, compression="zstd") as writer:
        for first in range(0, len(of.time), each):
            part = _between(of, slice(first, first + each))
            made = [
                exports._normalized(tile.tags, part.time, _readings(tile), TERMINAL, schema)
                for tile in tiles(part, terminals)
            ]
            writer.write_table(pa.concat_tables(made).sort_by("time"), row_group_size=ROWS_BY_TIME)
    _air_handlers(of, terminals, folder, of_handlers)
