"""Where the rows of each key stand in stored files, and the account of their cells: known before any is read."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from analyzer.dataset.metadata import LOGGING_KEY
from analyzer.dataset.rows import batches, moments
from analyzer.dataset.twice import Place, Span, overlap, span_of
from analyzer.errors import ExportError, without_secrets
from analyzer.ledger import ColumnLedger, FileLedger
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity
from analyzer.trends import Window

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq


class Index:
    """Where the rows of each key stand within a window, and the account of their cells."""

    def __init__(self, key: str, columns: list[str], window: Window):
        self.key, self.columns, self.window = key, columns, window
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
        glossary = TERMINAL if self.key == "terminal" else AIR_HANDLER
        there = [quantity for quantity in glossary.values() if quantity.name in schema.names]
        whole, rows, used = [], 0, dict.fromkeys((quantity.name for quantity in there), 0)
        for group in range(file.num_row_groups):
            span = span_of(file.metadata.row_group(group), schema)
            if span is not None and self.window.misses(*span):
                continue
            if self._covers(span):
                whole.append(group)
                counted = self._counted(path, file, group)
            else:
                counted = self._counted_within(path, file, group, used)
            self.spans[path, group] = span
            for tag, count in counted.items():
                rows += count
                self.rows[tag] = self.rows.get(tag, 0) + count
                self.places.setdefault(tag, []).append((path, group))
        if rows:
            for quantity in there:
                used[quantity.name] += _used(file, schema, whole, quantity.name)
            accounts = [_account(quantity, used[quantity.name], rows) for quantity in there]
            self.files.append(FileLedger(without_secrets(path), accounts))
            join_logging(self.logged, json.loads((schema.metadata or {}).get(LOGGING_KEY, b"{}")))

    def _covers(self, span: Span) -> bool:
        """Tell whether a row group is within the window as a whole."""
        return self.window == Window() or (span is not None and self.window.covers(*span))

    def _counted(self, path: str, file: pq.ParquetFile, group: int) -> Counter[str]:
        """Count the rows of each key in a row group."""
        counted: Counter[str] = Counter()
        for batch in batches(file, [group], [self.key]):
            self._count(path, batch.column(0), counted)
        return counted

    def _counted_within(self, path: str, file: pq.ParquetFile, group: int, used: dict[str, int]) -> Counter[str]:
        """Count the rows of each key that a row group holds within the window, and add up their values."""
        import pyarrow as pa

        counted: Counter[str] = Counter()
        for batch in batches(file, [group], [self.key, "time", *used]):
            batch = batch.filter(pa.array(self.window.holds(moments(batch.column("time")))))
            self._count(path, batch.column(self.key), counted)
            for name in used:
                used[name] += len(batch) - batch.column(name).null_count
        return counted

    def _count(self, path: str, keys: pa.Array, counted: Counter[str]) -> None:
        if keys.null_count:
            raise ExportError(
                path, f"holds {keys.null_count:,} rows without a value of {self.key!r}", "Normalize the exports again."
            )
        for one in keys.value_counts().to_pylist():
            counted[str(one["values"])] += one["counts"]

    @property
    def tags(self) -> list[str]:
        return sorted(self.rows)

    def overlapping(self) -> tuple[list[str], np.ndarray]:
        """The keys that row groups overlapping in time hold, sorted, and how many rows each has."""
        found = sorted(tag for tag, places in self.places.items() if overlap([self.spans[at] for at in places]))
        return found, np.array([self.rows[tag] for tag in found], dtype=np.int64)


def join_logging(logged: dict[str, dict[str, float]], more: dict[str, dict[str, float]]) -> None:
    """Add what a file says of how points were logged.

    The files of a dataset may hold a month each, and a point of one of them be missing in the next. Where they differ
    the coarser counts: on-change logs of one month show no more than the intervals of the other do.
    """
    for tag, points in more.items():
        known = logged.setdefault(tag, {})
        for name, seconds in points.items():
            known[name] = max(seconds, known.get(name, 0.0))


def _used(file: pq.ParquetFile, schema: pa.Schema, groups: list[int], name: str) -> int:
    """Count the values of a column in some row groups."""
    every = [file.metadata.row_group(group) for group in groups]
    at = schema.get_field_index(name)
    known = [group.column(at).statistics for group in every]
    rows = sum(group.num_rows for group in every)
    if all(one is not None and one.has_null_count for one in known):
        return int(rows - sum(one.null_count for one in known))
    return int(rows - sum(batch.column(0).null_count for batch in batches(file, groups, [name])))


def _account(quantity: Quantity, used: int, rows: int) -> ColumnLedger:
    """Account for the cells of a stored column: a value is used, a null was missing when it was normalized."""
    account = ColumnLedger(quantity.name, quantity=quantity.name, unit=quantity.unit, cells_used=used)
    account.put_aside("missing value", rows - used)
    return account
