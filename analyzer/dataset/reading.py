"""Stored tables read back: whole, or some terminals at a time."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analyzer.dataset.metadata import AIR_HANDLERS_KEY, FORMAT_KEY, LOGGING_KEY, ZONE_KEY
from analyzer.dataset.twice import Place, Span, first_held_twice, held_twice, overlap, span_of
from analyzer.dataset.writing import stretches
from analyzer.errors import ExportError, without_secrets
from analyzer.ledger import ColumnLedger, FileLedger, Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity
from analyzer.staging import newest
from analyzer.stores import Location, files_under, is_remote, opened
from analyzer.trends import (
    AIR_HANDLER_COLUMNS,
    AIR_HANDLERS_FILE,
    FORMAT,
    TABLE_FILE,
    TERMINAL_COLUMNS,
    Trends,
    companion,
    no_air_handlers,
    observed_logging,
)

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq

# Of so many rows at a time the moments are looked at.
LOOKED_AT = 4_000_000
# So many files of a dataset are held open at a time.
MOST_HELD = 8


def is_normalized(path: str | Path) -> bool:
    """Tell whether a Parquet file is a normalized table that this program wrote."""
    import pyarrow.parquet as pq

    try:
        metadata = pq.read_schema(path).metadata or {}
    except Exception:  # not a Parquet file at all: whoever reads it as an export will say so
        return False
    return FORMAT_KEY in metadata


def read_normalized(location: Location, terminals: list[str] | None = None) -> Trends:
    """Read a stored table back as it was written.

    Parameters
    ----------
    location : path
        A file (with its air handlers' table beside it, if there), or the folder of a dataset.
    terminals : list of str, optional
        The only terminals to read; of a large building the rest is never loaded.

    Raises
    ------
    ExportError
        A file is no Parquet, of a newer format, or lacks columns of the table.
    """
    dataset = open_dataset(location)
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
    system, paths = _files(location)
    logged = {}
    for path in paths:
        metadata = _opened(system, path).schema_arrow.metadata or {}
        logged |= json.loads(metadata.get(LOGGING_KEY, b"{}"))
    return _logging(logged)


def _logging(logged: dict[str, dict[str, float]]) -> pd.DataFrame:
    return pd.DataFrame.from_dict(logged, orient="index").reindex(columns=list(TERMINAL)).astype(float).sort_index()


def open_dataset(location: Location) -> Dataset:
    """Look into a stored table without loading it: which terminals it has, and where their rows stand.

    Parameters
    ----------
    location : path or URL
        A file (with its air handlers' table beside it, if there), a folder of such files, or one of an object store.

    Raises
    ------
    ExportError
        A file is no Parquet, of another format, or lacks columns of the table; or two files hold the same moment of the
        same terminal or air handler.
    """
    system, paths = _files(location)
    of_terminals, of_air_handlers = _Index("terminal", TERMINAL_COLUMNS), _Index("air_handler", AIR_HANDLER_COLUMNS)
    zones: list[str] = []
    without = False
    for path in paths:
        file = _opened(system, path)
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
    dataset = Dataset(location, system, of_terminals, of_air_handlers, zones[0])
    dataset.refuse_moments_held_twice()
    if without:
        wanted = companion(Path(paths[0]).name, AIR_HANDLERS_FILE)
        dataset.ledger.assumptions.append(f"{wanted} is not beside the table: nothing of its air handlers was read.")
    return dataset


def _files(location: Location):
    """The file system of a stored table, and the paths of its files."""
    system, path = opened(location if is_remote(location) else newest(Path(location)))
    if not str(location).rstrip("/").endswith(".parquet") or (not is_remote(location) and Path(location).is_dir()):
        system, paths = files_under(location, ".parquet")
        if not paths:
            raise ExportError(location, "holds no Parquet file", "Name the folder that 'trendwright normalize' wrote.")
        return system, paths
    beside = _beside(system, path)
    return system, [path, beside] if beside else [path]


def _beside(system, path: str) -> str | None:
    """The path of the air handlers' table that belongs to a table; an earlier release gave it the plain name."""
    for name in dict.fromkeys((companion(Path(path).name, AIR_HANDLERS_FILE), AIR_HANDLERS_FILE)):
        found = str(Path(path).with_name(name))
        own = name != AIR_HANDLERS_FILE or Path(path).name == TABLE_FILE
        if found != path and system.get_file_info(found).is_file and (own or _is_early(_opened(system, path))):
            return found
    return None


def beside(table: Path) -> Path | None:
    """Return the air handlers' table that is read with a table; None where there is none."""
    found = _beside(opened(table)[0], str(table)) if is_normalized(table) else None
    return Path(found) if found else None


def _is_early(file: pq.ParquetFile) -> bool:
    return AIR_HANDLERS_KEY not in (file.schema_arrow.metadata or {})


def _opened(system, path: str) -> pq.ParquetFile:
    import pyarrow.parquet as pq

    try:
        source = system.open_input_file(path)
        metadata = pq.read_metadata(source)
        keys = [name for name in ("terminal", "air_handler") if name in metadata.schema.names]
        return pq.ParquetFile(source, metadata=metadata, read_dictionary=keys)
    except Exception as error:
        raise ExportError(
            path, f"is not a readable Parquet file ({type(error).__name__})", "Export it again."
        ) from None


class _Index:
    """Where the rows of each key stand, and the account of their cells."""

    def __init__(self, key: str, columns: list[str]):
        self.key, self.columns = key, columns
        self.rows: dict[str, int] = {}
        self.places: dict[str, list[Place]] = {}
        self.spans: dict[Place, Span] = {}
        self.logged: dict[str, dict[str, float]] = {}
        self.files: list[FileLedger] = []

    def add(self, path: str, file: pq.ParquetFile, schema: pa.Schema) -> None:
        # A table of an earlier release lacks the quantities that were added since: those read as null.
        missing = [name for name in self.columns[:2] if name not in schema.names]
        if missing:
            raise ExportError(path, f"lacks the columns {', '.join(missing)}", "Normalize the exports again.")
        self.logged |= json.loads((schema.metadata or {}).get(LOGGING_KEY, b"{}"))
        for group in range(file.num_row_groups):
            keys = file.read_row_group(group, columns=[self.key])[self.key]
            if keys.null_count:
                raise ExportError(
                    path,
                    f"holds {keys.null_count:,} rows without a value of {self.key!r}",
                    "Normalize the exports again.",
                )
            self.spans[path, group] = span_of(file.metadata.row_group(group), schema)
            for tag, rows in _counted(keys):
                self.rows[tag] = self.rows.get(tag, 0) + rows
                self.places.setdefault(tag, []).append((path, group))
        if file.metadata.num_rows:
            glossary = TERMINAL if self.key == "terminal" else AIR_HANDLER
            there = [quantity for quantity in glossary.values() if quantity.name in schema.names]
            self.files.append(
                FileLedger(without_secrets(path), [_account(file, schema, quantity) for quantity in there])
            )

    @property
    def tags(self) -> list[str]:
        return sorted(self.rows)

    def overlapping(self) -> tuple[list[str], np.ndarray]:
        """The keys that row groups overlapping in time hold, sorted, and how many rows each has."""
        found = sorted(tag for tag, places in self.places.items() if overlap([self.spans[at] for at in places]))
        return found, np.array([self.rows[tag] for tag in found], dtype=np.int64)


def _counted(keys: pa.ChunkedArray) -> list[tuple[str, int]]:
    """Return how many rows each key has."""
    return [(str(one["values"]), one["counts"]) for one in keys.value_counts().to_pylist()]


def _account(file: pq.ParquetFile, schema: pa.Schema, quantity: Quantity) -> ColumnLedger:
    """Account for the cells of a stored column: a value is used, a null was missing when it was normalized."""
    groups = [file.metadata.row_group(group) for group in range(file.num_row_groups)]
    at = schema.get_field_index(quantity.name)
    known = [group.column(at).statistics for group in groups]
    if all(one is not None and one.has_null_count for one in known):
        missing = sum(one.null_count for one in known)
    else:
        missing = file.read(columns=[quantity.name])[quantity.name].null_count
    account = ColumnLedger(
        quantity.name, quantity=quantity.name, unit=quantity.unit, cells_used=file.metadata.num_rows - missing
    )
    account.put_aside("missing value", missing)
    return account


@dataclass
class Dataset:
    """Stored trends, of which some terminals at a time are read.

    What it offers of ``Trends`` (``tags``, ``rows``, ``air_handler_tags``, ``time_zone``, ``ledger``, ``of``) is all
    that a review needs of either.

    Attributes
    ----------
    location : path or URL
    system : pyarrow.fs.FileSystem
    """

    location: Location
    system: object
    _terminals: _Index
    _air_handlers: _Index
    time_zone: str
    ledger: Ledger = field(init=False)
    _held: dict[str, pq.ParquetFile] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __getstate__(self) -> dict:
        return self.__dict__ | {"_held": {}}

    def __post_init__(self):
        self.ledger = Ledger(
            [*self._terminals.files, *self._air_handlers.files],
            ["The table was normalized before: cells that were set aside then are not in this account."],
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

    def _read(self, index: _Index, tags: list[str]) -> pd.DataFrame:
        """Read the rows of some keys, in the form of ``Trends``."""
        code, columns = self._in_order(index, tags, index.columns)
        return _formed(pd.DataFrame({index.key: code} | columns, copy=False), code, tags)

    def _file(self, path: str) -> pq.ParquetFile:
        """Open a file, or take it from those that are held open: what a large one says of itself takes long to read."""
        if path not in self._held:
            if len(self._held) == MOST_HELD:
                self._held.pop(next(iter(self._held))).close()
            self._held[path] = _opened(self.system, path)
        return self._held[path]

    def _in_order(self, index: _Index, tags: list[str], names: list[str]) -> tuple[np.ndarray, dict[str, np.ndarray]]:
        """Read columns of some keys, in the order of key and time: the number of each row's key, and the columns."""
        import pyarrow as pa

        places = sorted({place for tag in tags for place in index.places[tag]})
        files = {path: [group for own, group in places if own == path] for path in dict.fromkeys(p for p, _ in places)}
        parts = [
            _with_absent(self._file(path).read_row_groups(groups, columns=names, use_threads=False), names)
            for path, groups in files.items()
        ]
        if not parts:
            return np.empty(0, int), {name: np.empty(0) for name in names[1:]}
        stored = pa.concat_tables(parts).unify_dictionaries().combine_chunks()
        key = stored[index.key].combine_chunks()
        number = pd.Index(tags).get_indexer(pd.Index(key.dictionary.to_pylist()))
        code = number[key.indices.fill_null(-1).to_numpy(zero_copy_only=False)]
        columns = {name: _numpy(stored[name]) for name in names[1:]}
        at = _order(code, columns["time"])
        code, columns = code[at], {name: column[at] for name, column in columns.items()}
        twice = first_held_twice(code, columns["time"])
        if twice is not None:
            source = np.repeat(list(files), [part.num_rows for part in parts])[at]
            raise held_twice(
                self.location, tags[code[twice]], columns["time"][twice], self.time_zone, source[twice : twice + 2]
            )
        return code, columns


def _with_absent(part: pa.Table, names: list[str]) -> pa.Table:
    """Add the columns that a file of an earlier release lacks, as nulls, and put all in order."""
    import pyarrow as pa

    for name in set(names) - {*part.column_names}:
        part = part.append_column(name, pa.nulls(part.num_rows, pa.float64()))
    return part.select(names)


def _numpy(column: pa.ChunkedArray) -> np.ndarray:
    import pyarrow as pa

    if pa.types.is_timestamp(column.type):
        return column.cast(pa.timestamp("us", tz="UTC")).to_numpy()
    return column.cast(pa.float64()).to_numpy()


def _order(code: np.ndarray, time: np.ndarray) -> np.ndarray | slice:
    """Return the rows to take, in the order to take them in; a stretch of them where they stand as they should."""
    kept = np.flatnonzero(code >= 0)
    if not len(kept):
        return slice(0, 0)
    own, at = code[kept], time[kept]
    if ((own[1:] > own[:-1]) | ((own[1:] == own[:-1]) & (at[1:] >= at[:-1]))).all():
        return slice(kept[0], kept[-1] + 1) if kept[-1] + 1 - kept[0] == len(kept) else kept
    return kept[np.lexsort((at, own))]


def _formed(table: pd.DataFrame, code: np.ndarray, tags: list[str]) -> pd.DataFrame:
    key = table.columns[0]
    table[key] = pd.Categorical.from_codes(code, tags)
    table["time"] = pd.DatetimeIndex(table["time"].to_numpy("datetime64[us]")).tz_localize("UTC")
    return table
