"""Stored tables read back: whole, or some terminals at a time."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analyzer.dataset.index import Index, join_logging
from analyzer.dataset.manifest import Manifest, delivered_exports, read_manifest
from analyzer.dataset.metadata import AIR_HANDLERS_KEY, FORMAT_KEY, LOGGING_KEY, ZONE_KEY
from analyzer.dataset.rows import Rows, opened_file
from analyzer.dataset.twice import first_held_twice, held_twice, span_of
from analyzer.dataset.writing import stretches
from analyzer.errors import ExportError
from analyzer.ledger import Ledger
from analyzer.quantities import TERMINAL
from analyzer.staging import newest
from analyzer.stores import Location, files_under, is_remote, opened
from analyzer.trends import (
    AIR_HANDLER_COLUMNS,
    AIR_HANDLERS_FILE,
    FORMAT,
    TABLE_FILE,
    TERMINAL_COLUMNS,
    Trends,
    Window,
    companion,
    no_air_handlers,
    observed_logging,
)

if TYPE_CHECKING:
    import pyarrow.parquet as pq

_OF_A_STORE = (
    "The trends are of a store: cells that were rejected when a delivery was laid into it are in that delivery's "
    "account, and not in this one."
)
# Of so many rows at a time the moments are looked at.
LOOKED_AT = 1_000_000
# So many files of a dataset are held open at a time.
MOST_HELD = 64


def is_normalized(path: str | Path) -> bool:
    """Tell whether a Parquet file is a normalized table that this program wrote."""
    import pyarrow.parquet as pq

    try:
        metadata = pq.read_schema(path).metadata or {}
    except Exception:  # not a Parquet file at all: whoever reads it as an export will say so
        return False
    return FORMAT_KEY in metadata


def read_normalized(location: Location, terminals: list[str] | None = None, window: Window | None = None) -> Trends:
    """Read a stored table back as it was written.

    Parameters
    ----------
    location : path
        A file (with its air handlers' table beside it, if there), or the folder of a dataset.
    terminals : list of str, optional
        The only terminals to read; of a large building the rest is never loaded.
    window : Window, optional
        The only rows to read.

    Raises
    ------
    ExportError
        A file is no Parquet, of a newer format, or lacks columns of the table.
    """
    dataset = open_dataset(location, window)
    trends = dataset.of(dataset.tags if terminals is None else terminals, dataset.air_handler_tags)
    trends.ledger = dataset.ledger
    return trends


def logging_of(location: Location) -> pd.DataFrame:
    """Read how often each point was logged, as ``Trends.logging`` holds it, and nothing else.

    Raises
    ------
    ExportError
        A file is no Parquet, or not of this format.
    """
    system, paths, _ = _files(location)
    logged: dict[str, dict[str, float]] = {}
    for path in paths:
        metadata = opened_file(system, path).schema_arrow.metadata or {}
        join_logging(logged, json.loads(metadata.get(LOGGING_KEY, b"{}")))
    return _logging(logged)


def reach_of(location: Location) -> tuple[np.datetime64, np.datetime64] | None:
    """Return the first and the last moment of a stored table, as its files' own statistics say; None where none does.

    Raises
    ------
    ExportError
        A file is no Parquet.
    """
    system, paths, _ = _files(location)
    files = [opened_file(system, path) for path in paths]
    spans = [
        span
        for file in files
        for group in range(file.num_row_groups)
        if (span := span_of(file.metadata.row_group(group), file.schema_arrow)) is not None
    ]
    return (min(first for first, _ in spans), max(last for _, last in spans)) if spans else None


def _logging(logged: dict[str, dict[str, float]]) -> pd.DataFrame:
    return pd.DataFrame.from_dict(logged, orient="index").reindex(columns=list(TERMINAL)).astype(float).sort_index()


def open_dataset(location: Location, window: Window | None = None) -> Dataset:
    """Look into a stored table without loading it: which terminals it has, and where their rows stand.

    Parameters
    ----------
    location : path or URL
        A file (with its air handlers' table beside it, if there), a folder of such files, or one of an object store.
    window : Window, optional
        The only rows to look at.

    Raises
    ------
    ExportError
        A file is no Parquet, of another format, or lacks columns of the table; or two files hold the same moment of the
        same terminal or air handler.
    """
    system, paths, manifest = _files(location)
    window = manifest.window if window is None else manifest.window.within(window)
    of_terminals = Index("terminal", TERMINAL_COLUMNS, window)
    of_air_handlers = Index("air_handler", AIR_HANDLER_COLUMNS, window)
    zones: list[str] = []
    without = False
    for path in paths:
        file = opened_file(system, path)
        schema = file.schema_arrow
        metadata = schema.metadata or {}
        if metadata.get(FORMAT_KEY, b"").decode() != FORMAT:
            raise ExportError(
                path, f"is a normalized table of another format than {FORMAT}",
                "Normalize the exports again with this version.",
            )  # fmt: skip
        index = of_air_handlers if "air_handler" in schema.names else of_terminals
        index.add(path, file, schema)
        zones.append(metadata.get(ZONE_KEY, b"UTC").decode())
        without = len(paths) == 1 and metadata.get(AIR_HANDLERS_KEY, b"0") != b"0"
    if len(set(zones)) > 1:
        raise ExportError(
            location, f"holds files of different time zones: {', '.join(sorted(set(zones)))}",
            "Review the buildings one by one.",
        )  # fmt: skip
    dataset = Dataset(location, system, of_terminals, of_air_handlers, zones[0], window)
    dataset.refuse_moments_held_twice()
    if manifest.deliveries:
        dataset.ledger.exports = delivered_exports(system, opened(location)[1], manifest, window)
        dataset.ledger.assumptions = [_OF_A_STORE]
    if without:
        wanted = companion(Path(paths[0]).name, AIR_HANDLERS_FILE)
        dataset.ledger.assumptions.append(f"{wanted} is not beside the table: nothing of its air handlers was read.")
    return dataset


def _files(location: Location) -> tuple[Any, list[str], Manifest]:
    """The file system of a stored table, the paths of its files, and the list of them, empty where there is none."""
    system, path = opened(location if is_remote(location) else newest(Path(location)))
    if (manifest := read_manifest(system, path)) is not None:
        return system, [f"{path.rstrip('/')}/{file}" for file in manifest.files], manifest
    if not str(location).rstrip("/").endswith(".parquet") or (not is_remote(location) and Path(location).is_dir()):
        system, paths = files_under(location, ".parquet")
        if not paths:
            raise ExportError(location, "holds no Parquet file", "Name the folder that 'trendwright normalize' wrote.")
        return system, paths, Manifest()
    beside = _beside(system, path)
    return system, [path, beside] if beside else [path], Manifest()


def _beside(system: Any, path: str) -> str | None:
    """The path of the air handlers' table that belongs to a table; an earlier release gave it the plain name."""
    for name in dict.fromkeys((companion(Path(path).name, AIR_HANDLERS_FILE), AIR_HANDLERS_FILE)):
        found = str(Path(path).with_name(name))
        own = name != AIR_HANDLERS_FILE or Path(path).name == TABLE_FILE
        if found != path and system.get_file_info(found).is_file and (own or _is_early(opened_file(system, path))):
            return found
    return None


def beside(table: Path) -> Path | None:
    """Return the air handlers' table that is read with a table; None where there is none."""
    found = _beside(opened(table)[0], str(table)) if is_normalized(table) else None
    return Path(found) if found else None


def _is_early(file: pq.ParquetFile) -> bool:
    return AIR_HANDLERS_KEY not in (file.schema_arrow.metadata or {})


@dataclass
class Dataset:
    """Stored trends, of which some terminals at a time are read.

    What it offers of ``Trends`` (``tags``, ``rows``, ``air_handler_tags``, ``time_zone``, ``ledger``, ``of``) is all
    that a review needs of either.

    Attributes
    ----------
    location : path or URL
    system : pyarrow.fs.FileSystem
    window : Window
        Of which alone rows are read.
    """

    location: Location
    system: object
    _terminals: Index
    _air_handlers: Index
    time_zone: str
    window: Window
    ledger: Ledger = field(init=False)
    _held: dict[str, pq.ParquetFile] = field(default_factory=dict, init=False, repr=False, compare=False)
    # Of every file, once: it and its schema refer to each other, and read anew for each group they would pile up.
    _told: dict[str, pq.FileMetaData] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __getstate__(self) -> dict[str, Any]:
        return self.__dict__ | {"_held": {}, "_told": {}}

    def __post_init__(self) -> None:
        self.ledger = Ledger(
            [*self._terminals.files, *self._air_handlers.files],
            ["The table was normalized before: cells that were rejected then are not in this account."],
        )

    @property
    def tags(self) -> list[str]:
        """The terminals, sorted."""
        return self._terminals.tags

    @property
    def air_handler_tags(self) -> list[str]:
        """The air handlers that have trends, sorted."""
        return self._air_handlers.tags

    @property
    def air_handler_rows(self) -> pd.Series:
        """How many rows each air handler has, by its tag."""
        return pd.Series({tag: self._air_handlers.rows[tag] for tag in self.air_handler_tags}, dtype=np.int64)

    @property
    def rows(self) -> np.ndarray:
        """How many rows each terminal has."""
        return np.array([self._terminals.rows[tag] for tag in self.tags], dtype=np.int64)

    @property
    def files(self) -> list[str]:
        """The paths of the dataset's files in its file system."""
        return [one.file for one in self.ledger.files]

    def of(self, tags: Iterable[str], air_handlers: Iterable[str] = ()) -> Trends:
        """Read the trends of some terminals and air handlers; those that have none are left out."""
        kept = sorted({*tags} & self._terminals.rows.keys())
        table = self._read(self._terminals, kept)
        handlers = self._read(self._air_handlers, sorted({*air_handlers} & self._air_handlers.rows.keys()))
        logged = self._terminals.logged
        logging = _logging({tag: logged[tag] for tag in kept}) if logged.keys() >= {*kept} else observed_logging(table)
        return Trends(table, handlers if len(handlers) else no_air_handlers(), logging, self.time_zone)

    def refuse_moments_held_twice(self) -> None:
        """Look, before anything is judged, for moments that two row groups hold of the same terminal or air handler.

        Only where what two row groups hold of it overlaps in time are rows read, and of them the moments alone.

        Raises
        ------
        ExportError
            There is one.
        """
        for index in (self._air_handlers, self._terminals):
            for tags in stretches(*index.overlapping(), LOOKED_AT):
                self._in_order(index, tags, [index.key, "time"])

    def _read(self, index: Index, tags: list[str]) -> pd.DataFrame:
        """Read the rows of some keys, in the form of ``Trends``."""
        code, columns = self._in_order(index, tags, index.columns)
        return _formed(pd.DataFrame({index.key: code} | columns, copy=False), code, tags)

    def _file(self, path: str) -> pq.ParquetFile:
        """Open a file, or take it from those that are held open: what a large one says of itself takes long to read."""
        if path not in self._held:
            if len(self._held) == MOST_HELD:
                self._held.pop(next(iter(self._held))).close()
            self._held[path] = opened_file(self.system, path, self._told.get(path))
            self._told[path] = self._held[path].metadata
        return self._held[path]

    def _in_order(self, index: Index, tags: list[str], names: list[str]) -> tuple[np.ndarray, dict[str, np.ndarray]]:
        """Read columns of some keys, in the order of key and time: the number of each row's key, and the columns."""
        places = sorted({place for tag in tags for place in index.places[tag]})
        files = list(dict.fromkeys(path for path, _ in places))
        rows = Rows(tags, names, sum(index.rows[tag] for tag in tags), self.window)
        for number, path in enumerate(files):
            rows.take(self._file(path), [group for own, group in places if own == path], number)
        code, columns, source = rows.in_order()
        twice = first_held_twice(code, columns["time"])
        if twice is not None:
            told = [files[number] for number in source[twice : twice + 2]]
            raise held_twice(self.location, tags[code[twice]], columns["time"][twice], self.time_zone, told)
        return code, columns


def _formed(table: pd.DataFrame, code: np.ndarray, tags: list[str]) -> pd.DataFrame:
    key = table.columns[0]
    table[key] = pd.Categorical.from_codes(code, tags)
    table["time"] = pd.DatetimeIndex(table["time"].to_numpy("datetime64[us]")).tz_localize("UTC")
    return table
