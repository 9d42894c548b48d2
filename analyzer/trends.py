"""The normalized table: one row per terminal and time, SI, missing is null; and how it is stored."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.errors import ExportError
from analyzer.ledger import ColumnLedger, FileLedger, Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.staging import newest

FORMAT = "trendwright-trends/1"
AIR_HANDLERS_FILE = "air_handlers.parquet"
TERMINAL_COLUMNS = ["terminal", "time", *TERMINAL]
AIR_HANDLER_COLUMNS = ["air_handler", "time", *AIR_HANDLER]


@dataclass
class Trends:
    """The normalized trends of a building.

    Attributes
    ----------
    terminals : DataFrame
        Columns ``TERMINAL_COLUMNS``: ``terminal`` (categorical text, categories sorted), ``time``
        (datetime64[us, UTC]), then float64 quantities in SI with NaN for missing; states are 0.0 or 1.0. Sorted by
        terminal then time, one row for each pair, index 0..n-1.
    air_handlers : DataFrame
        Columns ``AIR_HANDLER_COLUMNS`` in the same form, keyed by ``air_handler``.
    logging : DataFrame
        How each point was logged: index terminal tags (the categories, in order), columns the terminal quantities,
        float64: the interval in seconds; 0 for a change-of-value log; NaN where the point is not there.
    time_zone : str
        The site's IANA zone ("UTC" where no site file says).
    ledger : Ledger
        The account of the cells that were read.
    """

    terminals: pd.DataFrame
    air_handlers: pd.DataFrame
    logging: pd.DataFrame
    time_zone: str = "UTC"
    ledger: Ledger = field(default_factory=Ledger)

    def write(self, path: str | Path) -> None:
        """Write ``path`` (the terminals) and ``air_handlers.parquet`` beside it."""
        path = Path(path)
        logged = {
            terminal: {name: seconds for name, seconds in row.items() if not np.isnan(seconds)}
            for terminal, row in self.logging.to_dict("index").items()
        }
        _write(self.terminals, path, self.time_zone, {"trendwright.logging": json.dumps(logged)})
        _write(self.air_handlers, path.with_name(AIR_HANDLERS_FILE), self.time_zone, {})


def _write(table: pd.DataFrame, path: Path, time_zone: str, more: dict[str, str]) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    key = table.columns[0]
    plain = table.assign(**{key: table[key].astype(object)})
    schema = pa.schema(
        [(key, pa.string()), ("time", pa.timestamp("us", tz="UTC"))]
        + [(name, pa.float64()) for name in table.columns[2:]]
    )
    stored = pa.Table.from_pandas(plain, schema=schema, preserve_index=False)
    stored = stored.replace_schema_metadata({"trendwright.format": FORMAT, "trendwright.time_zone": time_zone, **more})
    pq.write_table(stored, path, compression="zstd")


def is_normalized(path: str | Path) -> bool:
    """Tell whether a Parquet file is a normalized table that this program wrote."""
    import pyarrow.parquet as pq

    try:
        metadata = pq.read_schema(path).metadata or {}
    except Exception:  # not a Parquet file at all: whoever reads it as an export will say so
        return False
    return b"trendwright.format" in metadata


def read_normalized(path: str | Path, terminals: list[str] | None = None) -> Trends:
    """Read ``trends.parquet`` (and ``air_handlers.parquet`` beside it, if there) back as they were written.

    Parameters
    ----------
    path : path
        The terminals' table.
    terminals : list of str, optional
        The only terminals to read; of a large building the rest is never loaded.

    Raises
    ------
    ExportError
        The file is no Parquet, of a newer format, or lacks columns of the table.
    """
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    path = newest(Path(path))
    only = None if terminals is None else pc.field("terminal").isin(pa.array(terminals, pa.string()))
    table, metadata = _read(path, pq, TERMINAL_COLUMNS, only)
    beside = path.with_name(AIR_HANDLERS_FILE)
    air_handlers = _read(beside, pq, AIR_HANDLER_COLUMNS)[0] if beside.exists() else no_air_handlers()
    zone = metadata.get(b"trendwright.time_zone", b"UTC").decode()
    logged = json.loads(metadata.get(b"trendwright.logging", b"{}"))
    tags = list(table["terminal"].cat.categories)
    if logged:
        logging = (
            pd.DataFrame.from_dict(logged, orient="index").reindex(index=tags, columns=list(TERMINAL)).astype(float)
        )
    else:
        logging = observed_logging(table)
    return Trends(table, air_handlers, logging, zone, _account(path, table, air_handlers))


def _account(path: Path, terminals: pd.DataFrame, air_handlers: pd.DataFrame) -> Ledger:
    """Account for the cells of a normalized table: a value is used, a null was missing when it was normalized."""
    files = []
    beside = path.with_name(AIR_HANDLERS_FILE)
    for file, table, glossary in ((path, terminals, TERMINAL), (beside, air_handlers, AIR_HANDLER)):
        columns = []
        for name, quantity in glossary.items():
            column = ColumnLedger(name, quantity=name, unit=quantity.unit, cells_used=int(table[name].notna().sum()))
            column.put_aside("missing value", len(table) - column.cells_used)
            columns.append(column)
        if len(table):
            files.append(FileLedger(str(file), columns))
    return Ledger(files, ["The table was normalized before: cells that were set aside then are not in this account."])


def logging_of(path: str | Path) -> pd.DataFrame:
    """Read from ``trends.parquet`` how often each point was logged, as ``Trends.logging`` holds it, and nothing else.

    Raises
    ------
    ExportError
        The file is no Parquet.
    """
    import pyarrow.parquet as pq

    try:
        logged = json.loads((pq.read_schema(path).metadata or {}).get(b"trendwright.logging", b"{}"))
    except Exception as error:
        raise ExportError(
            path, f"is not a readable Parquet file ({type(error).__name__})", "Review the exports again."
        ) from None
    return pd.DataFrame.from_dict(logged, orient="index").reindex(columns=list(TERMINAL)).astype(float).sort_index()


def _read(path: Path, pq, columns: list[str], only=None) -> tuple[pd.DataFrame, dict]:
    try:
        stored = pq.read_table(path, filters=only)
    except Exception as error:
        raise ExportError(
            path, f"is not a readable Parquet file ({type(error).__name__})", "Export it again."
        ) from None
    metadata = stored.schema.metadata or {}
    if metadata.get(b"trendwright.format", b"").decode() != FORMAT:
        raise ExportError(
            path,
            f"is a normalized table of another format than {FORMAT}",
            "Normalize the exports again with this version.",
        )
    missing = [name for name in columns if name not in stored.column_names]
    if missing:
        raise ExportError(path, f"lacks the columns {', '.join(missing)}", "Normalize the exports again.")
    table = stored.select(columns).to_pandas()
    return in_form(table), metadata


def in_form(table: pd.DataFrame) -> pd.DataFrame:
    """Bring a table with the right columns into the form that ``Trends`` describes: types, order, index."""
    key = table.columns[0]
    table = table.astype(dict.fromkeys(table.columns[2:], "float64"))
    table[key] = pd.Categorical(table[key], categories=sorted(table[key].dropna().unique()))
    table["time"] = pd.to_datetime(table["time"], utc=True).astype("datetime64[us, UTC]")
    return table.sort_values([key, "time"], kind="stable", ignore_index=True)


def no_air_handlers() -> pd.DataFrame:
    """Return the air handlers' table without a row."""
    return in_form(
        pd.DataFrame(
            {name: pd.Series(dtype=object if name == "air_handler" else float) for name in AIR_HANDLER_COLUMNS}
        )
    )


def observed_logging(terminals: pd.DataFrame) -> pd.DataFrame:
    """Take each point's interval from the table itself: the median spacing of its values.

    A table that was not written by this program does not say which points were logged on change; a fan with more
    than one start in a row can only come from events, and is taken as such.
    """
    tags = list(terminals["terminal"].cat.categories)
    codes = terminals["terminal"].cat.codes.to_numpy()
    seconds = terminals["time"].astype("int64").to_numpy() / 1e6
    logging = pd.DataFrame(np.nan, index=tags, columns=list(TERMINAL))
    for name in TERMINAL:
        there = ~np.isnan(terminals[name].to_numpy())
        spacing = np.diff(seconds[there])
        owner = codes[there]
        same = owner[1:] == owner[:-1]
        median = pd.Series(spacing[same]).groupby(owner[1:][same]).median()
        logging[name] = median.reindex(range(len(tags))).to_numpy()
    events = terminals.loc[terminals["fan_starts"] > 1, "terminal"].unique()
    logging.loc[list(events), ["fan_status", "fan_starts"]] = 0.0
    return logging
