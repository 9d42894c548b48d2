"""Where the rows of each key stand in stored files, and the account of their cells: known before any is read."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from analyzer.dataset.metadata import LOGGING_KEY
from analyzer.dataset.rows import batches
from analyzer.dataset.twice import Place, Span, overlap, span_of
from analyzer.errors import ExportError, without_secrets
from analyzer.ledger import ColumnLedger, FileLedger
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity

if TYPE_CHECKING:
    import pyarrow as pa
    import pyarrow.parquet as pq


class Index:
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
            self.spans[path, group] = span_of(file.metadata.row_group(group), schema)
            for tag, rows in self._counted(path, file, group).items():
                self.rows[tag] = self.rows.get(tag, 0) + rows
                self.places.setdefault(tag, []).append((path, group))
        if file.metadata.num_rows:
            glossary = TERMINAL if self.key == "terminal" else AIR_HANDLER
            there = [quantity for quantity in glossary.values() if quantity.name in schema.names]
            self.files.append(
                FileLedger(without_secrets(path), [_account(file, schema, quantity) for quantity in there])
            )

    def _counted(self, path: str, file: pq.ParquetFile, group: int) -> Counter[str]:
        """Count the rows of each key in a row group."""
        counted: Counter[str] = Counter()
        without = 0
        for batch in batches(file, [group], [self.key]):
            keys = batch.column(0)
            without += keys.null_count
            for one in keys.value_counts().to_pylist():
                counted[str(one["values"])] += one["counts"]
        if without:
            raise ExportError(
                path, f"holds {without:,} rows without a value of {self.key!r}", "Normalize the exports again."
            )
        return counted

    @property
    def tags(self) -> list[str]:
        return sorted(self.rows)

    def overlapping(self) -> tuple[list[str], np.ndarray]:
        """The keys that row groups overlapping in time hold, sorted, and how many rows each has."""
        found = sorted(tag for tag, places in self.places.items() if overlap([self.spans[at] for at in places]))
        return found, np.array([self.rows[tag] for tag in found], dtype=np.int64)


def _account(file: pq.ParquetFile, schema: pa.Schema, quantity: Quantity) -> ColumnLedger:
    """Account for the cells of a stored column: a value is used, a null was missing when it was normalized."""
    groups = [file.metadata.row_group(group) for group in range(file.num_row_groups)]
    at = schema.get_field_index(quantity.name)
    known = [group.column(at).statistics for group in groups]
    if all(one is not None and one.has_null_count for one in known):
        missing = sum(one.null_count for one in known)
    else:
        every = [*range(file.num_row_groups)]
        missing = sum(batch.column(0).null_count for batch in batches(file, every, [quantity.name]))
    account = ColumnLedger(
        quantity.name, quantity=quantity.name, unit=quantity.unit, cells_used=file.metadata.num_rows - missing
    )
    account.put_aside("missing value", missing)
    return account
