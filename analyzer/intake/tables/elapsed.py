"""Loggers that count the time since a start which a line above the header names: counts made moments."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.date_order import DateOrder
from analyzer.intake.tables.raw_table import RawTable, text_column
from analyzer.intake.tables.stamps import GOOD, read_stamps
from analyzer.intake.words.elapsed import elapsed_unit, start_told
from analyzer.intake.words.stamps import SECOND

_AMONG = 3  # columns, the first, one of which may count; judgement


def count_from_start(table: RawTable, zone: str, order: DateOrder) -> None:
    """Put moments in the place of a column that counts the time since a start.

    Parameters
    ----------
    zone : str
        The site's IANA zone, in which the start is told where it has no offset. The count itself knows no clock change.

    Raises
    ------
    UndecidedDates
        Month and day of the start cannot be told apart.
    """
    at = next((n for n in range(min(_AMONG, len(table.names))) if elapsed_unit(table.names[n], table.units[n])), None)
    start = start_told(table.preamble)
    if at is None or start is None:
        return
    column = table.columns[at]
    if not (pa.types.is_integer(column.type) or pa.types.is_floating(column.type)):
        return
    beside = [table.stem, *reversed(table.folders), *table.preamble]
    told = read_stamps(text_column([start]), table.label, "start", zone, order, beside)
    if told.reason[0] != GOOD:
        return
    size = elapsed_unit(table.names[at], table.units[at]) * SECOND
    count = pc.fill_null(column.cast(pa.float64()), np.nan).to_numpy()
    known = np.isfinite(count)
    micros = int(told.first[0]) + np.round(np.where(known, count, 0) * size).astype(np.int64)
    moments = pa.array(micros, pa.int64(), mask=~known).cast(pa.timestamp("us", tz="UTC"))
    name = table.names[at]
    table.put_together([at], pa.chunked_array([moments]), "time")
    table.assume(f"{name!r} counts from a start, which a line above the header tells: {{detail}}.", start)
