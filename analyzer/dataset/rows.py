"""Rows of stored files, read a batch at a time: of whatever a row group holds, only what is wanted stays in memory."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analyzer.errors import ExportError
from analyzer.trends import Window

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq

# So many rows are unpacked at a time: some 10 MB.
_BATCH = 65_536
# Of a file with larger row groups, so many bytes of a column are fetched at a time, and not the whole of it. Smaller
# ones are fetched whole, since an object store answers few large questions faster than many small ones.
_LARGE, _FETCHED = 64 * 1024**2, 1024**2


def opened_file(system: Any, path: str, metadata: pq.FileMetaData | None = None) -> pq.ParquetFile:
    """Open a stored file.

    Parameters
    ----------
    system : pyarrow.fs.FileSystem
    path : str
    metadata : pyarrow.parquet.FileMetaData, optional
        What the file says of itself, where it was read before.

    Raises
    ------
    ExportError
        It is no Parquet, or cannot be read.
    """
    import pyarrow.parquet as pq

    try:
        source = system.open_input_file(path)
        metadata = pq.read_metadata(source) if metadata is None else metadata
        keys = [name for name in ("terminal", "air_handler") if name in metadata.schema.names]
        large = any(_packed_size(metadata.row_group(group)) > _LARGE for group in range(metadata.num_row_groups))
        return pq.ParquetFile(
            source, metadata=metadata, read_dictionary=keys, buffer_size=_FETCHED if large else 0, pre_buffer=False
        )
    except Exception as error:
        raise ExportError(
            path, f"is not a readable Parquet file ({type(error).__name__})", "Export it again."
        ) from None


def _packed_size(group: pq.RowGroupMetaData) -> int:
    return sum(group.column(at).total_compressed_size for at in range(group.num_columns))


def batches(file: pq.ParquetFile, groups: list[int], names: list[str]) -> Iterator[pa.RecordBatch]:
    """Yield some columns of some row groups, a batch at a time."""
    batches: Iterator[Any] = file.iter_batches(_BATCH, row_groups=groups, columns=names, use_threads=False)
    return batches


class Rows:
    """The rows of some keys, gathered from files.

    Parameters
    ----------
    tags : sequence of str
        The keys.
    names : list of str
        The columns: first that of the keys, then ``time`` and quantities.
    count : int
        How many rows the keys have in all files together, within the window.
    window : Window
        The only rows that are taken.
    """

    def __init__(self, tags: Sequence[str], names: list[str], count: int, window: Window):
        self._key, *rest = names
        self._window = window
        self._names, self._tags, self._filled = names, pd.Index(tags, dtype=object), 0
        self._code, self._source = np.empty(count, np.int64), np.empty(count, np.int32)
        # A quantity that no row has takes no memory.
        self._count, self._columns = count, dict[str, np.ndarray | None](dict.fromkeys(rest))
        self._columns["time"] = np.empty(count, "M8[us]")

    def take(self, file: pq.ParquetFile, groups: list[int], source: int) -> None:
        """Take what some row groups of a file hold of the keys; ``source`` is the file's number."""
        there = {*file.schema_arrow.names}
        for batch in batches(file, groups, [name for name in self._names if name in there]):
            code = self._codes(batch.column(self._key))
            if self._window != Window():
                code[~self._window.holds(moments(batch.column("time")))] = -1
            kept = np.flatnonzero(code >= 0)
            if not len(kept):
                continue
            # Most often they are a stretch of the batch.
            at = slice(kept[0], kept[-1] + 1) if kept[-1] + 1 - kept[0] == len(kept) else kept
            into = slice(self._filled, self._filled + len(kept))
            self._code[into], self._source[into] = code[at], source
            for name in self._columns:
                # A file of an earlier release lacks the quantities that were added since.
                if name in there and batch.column(name).null_count < len(batch):
                    self._of(name)[into] = _numpy(batch.column(name))[at]
            self._filled = into.stop

    def _of(self, name: str) -> np.ndarray:
        """Return a column, where there is none yet without a value."""
        column = self._columns[name]
        if column is None:
            column = self._columns[name] = np.full(self._count, np.nan)
        return column

    def in_order(self) -> tuple[np.ndarray, dict[str, np.ndarray], np.ndarray]:
        """Return each row's key by its number, the columns, and each row's file, in the order of key and time."""
        at = _order(self._code[: self._filled], self._of("time")[: self._filled])
        columns = {}
        nothing = np.full(self._filled, np.nan)
        nothing.flags.writeable = False  # it is shared by all quantities that no row has
        for name in [*self._columns]:  # one after another, so that there are never two of all
            column = self._columns.pop(name)
            columns[name] = nothing if column is None else column[at]
        return self._code[at], columns, self._source[at]

    def _codes(self, keys: pa.DictionaryArray) -> np.ndarray:
        number = self._tags.get_indexer(pd.Index(keys.dictionary.to_pylist(), dtype=object))
        return np.array(number[keys.indices.to_numpy(zero_copy_only=False)])


def moments(column: pa.Array) -> np.ndarray:
    """Return moments as datetime64[us], UTC."""
    return _numpy(column).astype("M8[us]", copy=False)


def _numpy(column: pa.Array) -> np.ndarray:
    import pyarrow as pa

    if pa.types.is_timestamp(column.type):
        return np.asarray(column.cast(pa.timestamp("us", tz="UTC")).to_numpy(zero_copy_only=False))
    return np.asarray(column.cast(pa.float64()).to_numpy(zero_copy_only=False))


def _order(code: np.ndarray, time: np.ndarray) -> np.ndarray | slice:
    """Return the rows to take, in the order to take them in; all as they are where they stand as they should."""
    later = (code[1:] > code[:-1]) | ((code[1:] == code[:-1]) & (time[1:] >= time[:-1]))
    return slice(0, len(code)) if later.all() else np.lexsort((time, code))
