"""Normalized trends as files: a row group holds whole terminals."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.dataset.metadata import AIR_HANDLERS_KEY, FORMAT_KEY, LOGGING_KEY, ZONE_KEY
from analyzer.trends import AIR_HANDLERS_FILE, FORMAT, Trends, companion

# So many rows of whole terminals stand in one row group: a week of some thirty terminals at five minutes.
ROW_GROUP = 65_536
# So many rows stand in one file of a dataset.
PART = 16 * ROW_GROUP


def write_trends(trends: Trends, path: Path) -> None:
    """Write trends as one file, and the air handlers' table that belongs to it beside it."""
    also = {AIR_HANDLERS_KEY: str(len(trends.air_handlers))}
    _write(trends.terminals, path, trends.time_zone, trends.logging, also)
    _write(trends.air_handlers, path.with_name(companion(path.name, AIR_HANDLERS_FILE)), trends.time_zone)


def write_dataset(trends: Trends, folder: Path, rows: int = PART) -> None:
    """Write trends into an empty folder: files of whole terminals, and ``air_handlers.parquet``."""
    for number, tags in enumerate(stretches(trends.tags, trends.rows, rows)):
        part = trends.of(tags)
        _write(part.terminals, folder / f"trends-{number:05}.parquet", trends.time_zone, part.logging)
    _write(trends.air_handlers, folder / AIR_HANDLERS_FILE, trends.time_zone)


def stretches(tags: list[str], rows: np.ndarray, most: int) -> Iterator[list[str]]:
    """Cut a list of terminals into stretches that hold so many rows at the most, or one terminal."""
    stretch: list[str] = []
    held = 0
    for tag, own in zip(tags, rows, strict=True):
        if stretch and held + own > most:
            yield stretch
            stretch, held = [], 0
        stretch.append(tag)
        held += own
    yield stretch


def _write(
    table: pd.DataFrame,
    path: Path,
    time_zone: str,
    logging: pd.DataFrame | None = None,
    also: dict[bytes, str] | None = None,
) -> None:
    key = table.columns[0]
    keys = list(table[key].cat.categories)
    rows = np.bincount(table[key].cat.codes, minlength=len(keys))
    ends = dict(zip(keys, np.cumsum(rows).tolist(), strict=True))
    with TableWriter(path, list(table.columns), time_zone, logging, also) as writer:
        first = 0
        for stretch in stretches(keys, rows, ROW_GROUP):
            last = ends[stretch[-1]] if stretch else 0
            writer.add(table.iloc[first:last])
            first = last


class TableWriter:
    """A stored file that is written a row group at a time.

    Parameters
    ----------
    path : Path
    columns : list of str
        That of the keys, ``time``, and quantities.
    time_zone : str
    logging : DataFrame, optional
        How each point was logged, as ``Trends.logging``.
    also : dict, optional
        More of what the file's schema says of it.
    """

    def __init__(
        self,
        path: Path,
        columns: list[str],
        time_zone: str,
        logging: pd.DataFrame | None = None,
        also: dict[bytes, str] | None = None,
    ):
        import pyarrow as pa
        import pyarrow.parquet as pq

        metadata = {FORMAT_KEY: FORMAT, ZONE_KEY: time_zone} | (also or {})
        if logging is not None:
            metadata[LOGGING_KEY] = _told(logging)
        self._schema = pa.schema(
            [(columns[0], pa.string()), ("time", pa.timestamp("us", tz="UTC"))]
            + [(name, pa.float64()) for name in columns[2:]],
            metadata,
        )
        self._writer = pq.ParquetWriter(path, self._schema, compression="zstd")

    def __enter__(self) -> TableWriter:
        return self

    def __exit__(self, *_: object) -> None:
        self._writer.close()

    def add(self, table: pd.DataFrame) -> None:
        """Write rows of whole terminals as one row group."""
        import pyarrow as pa

        stored = pa.Table.from_pandas(table, preserve_index=False).cast(self._schema)
        self._writer.write_table(stored, row_group_size=max(len(table), 1))


def _told(logging: pd.DataFrame) -> str:
    return json.dumps({
        terminal: {name: seconds for name, seconds in row.items() if not np.isnan(seconds)}
        for terminal, row in logging.to_dict("index").items()
    })  # fmt: skip
