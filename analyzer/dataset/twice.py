"""A stored table says once what was at a moment; where it says it twice, it is refused with the files that do."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from analyzer.errors import ExportError

if TYPE_CHECKING:
    from pyarrow import Schema
    from pyarrow.parquet import RowGroupMetaData

    from analyzer.stores import Location

# A row group: the path of its file, and its number there.
Place = tuple[str, int]
# The first and the last moment of a row group; None where the file does not say.
Span = tuple[np.datetime64, np.datetime64] | None


def span_of(group: RowGroupMetaData, schema: Schema) -> Span:
    """Return the first and the last moment of a row group, as the file's own statistics say."""
    at = schema.get_field_index("time")
    known, unit = group.column(at).statistics, getattr(schema.field(at).type, "unit", None)
    if known is None or not known.has_min_max or known.physical_type != "INT64" or unit is None:
        return None
    return np.datetime64(known.min_raw, unit), np.datetime64(known.max_raw, unit)


def overlap(spans: list[Span]) -> bool:
    """Tell whether two of several stretches of time touch, or may: one that is not known may touch any."""
    if len(spans) < 2:
        return False
    known = sorted(span for span in spans if span is not None)
    if len(known) < len(spans):
        return True
    return any(after[0] <= before[1] for before, after in zip(known, known[1:], strict=False))


def first_held_twice(code: np.ndarray, time: np.ndarray) -> int | None:
    """Return the first row, of rows in order, whose key and moment the next row has as well; None where none is."""
    same = (code[1:] == code[:-1]) & (time[1:] == time[:-1])
    return int(same.argmax()) if same.any() else None


def held_twice(location: Location, tag: str, moment: np.datetime64, time_zone: str, files: list[str]) -> ExportError:
    """Return the error that names a moment, whose it is, and the one or two files that hold it twice."""
    seconds = moment.astype("datetime64[us]").astype(np.int64) / 1e6
    at = datetime.fromtimestamp(seconds, UTC).astimezone(ZoneInfo(time_zone)).strftime("%Y-%m-%d %H:%M:%S %Z")
    first, second = files
    if first == second:
        return ExportError(first, f"holds {tag} twice at {at}", "Normalize its exports again.")
    shared = os.path.commonpath([os.path.dirname(first), os.path.dirname(second)])
    names = " and ".join(sorted(os.path.relpath(file, shared) for file in (first, second)))
    return ExportError(
        location, f"{names} both hold {tag} at {at}",
        "Take one of the two out of the folder; if they are of two buildings, review each by itself.",
    )  # fmt: skip
