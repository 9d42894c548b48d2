"""The normalized table's data contract, as a Great Expectations suite, checked in every review.

The library takes seconds to import. It is loaded in a process of its own, which starts when the review starts and is
handed the extremes of the table when there is one: by then it is ready, and the check runs beside the writing.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import subprocess
import sys
import threading
import types
from typing import TYPE_CHECKING

from analyzer.errors import ContractError
from analyzer.quantities import TERMINAL

if TYPE_CHECKING:  # the process is started before anything heavy is imported
    from pandas import DataFrame

NAME = "normalized table"


class ContractCheck:
    """A check under way. Use it as a context manager: leaving it ends the process, whatever happened."""

    def __init__(self):
        # The library would report its use to its makers over the network.
        environment = os.environ | {"GX_ANALYTICS_ENABLED": "false", "PYTHONWARNINGS": "ignore"}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "analyzer.contract"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment,
        )  # fmt: skip
        self._answer: tuple[bytes, bytes] = (b"", b"")
        self._talk: threading.Thread | None = None

    def __enter__(self) -> ContractCheck:
        return self

    def __exit__(self, *_) -> None:
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        if self._talk is not None:
            self._talk.join()
        for stream in (self._process.stdin, self._process.stdout, self._process.stderr):
            stream.close()

    def take(self, rows: DataFrame) -> None:
        """Hand over the rows that stand in for a table (see ``extremes``), to be checked while the caller goes on."""
        self._talk = threading.Thread(target=self._send, args=(_as_bytes(rows),), daemon=True)
        self._talk.start()

    def _send(self, table: bytes) -> None:
        try:
            self._answer = self._process.communicate(table)
        except (OSError, ValueError):  # the process is gone, or was ended meanwhile: no answer says so
            self._answer = (b"", b"")

    def outcome(self) -> dict:
        """Wait for what the check of the table that was taken came to.

        Returns
        -------
        dict
            ``{"suite", "success", "expectations", "broken": [...]}``

        Raises
        ------
        ContractError
            The table breaks its contract, or the check itself could not run.
        """
        if self._talk is not None:
            self._talk.join()
        answer, complaint = self._answer
        try:
            told = json.loads(answer)
        except ValueError:
            said = complaint.decode("utf-8", "replace").strip()[-300:]
            raise ContractError(
                None, f"the data contract could not be checked: {said or 'its process ended'}",
                "Check that great_expectations is installed and imports.",
            ) from None  # fmt: skip
        if not told["success"]:
            raise ContractError(
                "normalized table", f"breaks its data contract: {'; '.join(told['broken'])}",
                "Check the units and point names of the exports; if they are right, report a fault of trendwright.",
            )  # fmt: skip
        return told


def extremes(table: DataFrame) -> DataFrame:
    """Return the rows that stand in for a table where its contract is checked: what holds for them holds for all.

    Returns
    -------
    DataFrame
        The table's columns and types, and ``in_order``; three rows (none for an empty table): the lowest value of each
        column, the highest, and of a state the one furthest from being 0 or 1; missing where a column has none. The
        key and the time are missing in them where they are in any row.
    """
    import numpy as np
    import pandas as pd

    from analyzer.quantities import TERMINAL

    if not len(table):
        return table.assign(in_order=pd.Series(dtype=bool))
    kept = pd.concat([table.iloc[:1]] * 3, ignore_index=True)
    key, time = table.columns[0], table["time"].astype("int64").to_numpy()
    code = table[key].cat.codes.to_numpy()
    kept[key] = table[key].iloc[0] if (code >= 0).all() else None
    kept["time"] = table["time"].iloc[0] if table["time"].notna().all() else pd.NaT
    for name in table.columns[2:]:
        values = table[name].to_numpy()
        if values.dtype == np.float64:
            low, high = np.fmin.reduce(values), np.fmax.reduce(values)
            state = name in TERMINAL and TERMINAL[name].state
            kept[name] = [low, high, _least_like_a_state(values) if state else np.nan]
    in_order = ((code[1:] > code[:-1]) | ((code[1:] == code[:-1]) & (time[1:] > time[:-1]))).all()
    return kept.assign(in_order=bool(in_order))


def _least_like_a_state(values) -> float:
    import numpy as np

    off = np.abs(np.abs(values - 0.5) - 0.5)
    return values[np.nanargmax(off)] if not np.isnan(off).all() else np.nan


def _as_bytes(rows: DataFrame) -> bytes:
    import pyarrow as pa

    table = pa.Table.from_pandas(rows.assign(terminal=rows["terminal"].astype(object)), preserve_index=False)
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    return sink.getvalue().to_pybytes()


# In the process of its own ------------------------------------------------------------------------------------------


def validate(rows) -> dict:
    """Run the suite over the rows that stand in for the terminals' table, as ``extremes`` returns them."""
    import great_expectations as gx

    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = {"globally": False}
    suite = context.suites.add(gx.ExpectationSuite(NAME))
    for expectation in _expectations(rows):
        suite.add_expectation(expectation)
    asset = context.data_sources.add_pandas("trendwright").add_dataframe_asset("terminals")
    batch = asset.add_batch_definition_whole_dataframe("whole").get_batch({"dataframe": rows})
    result = batch.validate(suite, result_format="BASIC")
    broken = [_told(found) for found in result.results if not found.success]
    return {"suite": NAME, "success": bool(result.success), "expectations": len(result.results), "broken": broken}


def _expectations(table):
    import great_expectations.expectations as gxe

    from analyzer.trends import TERMINAL_COLUMNS

    yield gxe.ExpectTableColumnsToMatchOrderedList(column_list=[*TERMINAL_COLUMNS, "in_order"])
    yield gxe.ExpectTableRowCountToBeBetween(min_value=1)
    for name in ("terminal", "time"):
        yield gxe.ExpectColumnValuesToNotBeNull(column=name)
    yield gxe.ExpectColumnValuesToBeInSet(column="in_order", value_set=[True])
    for quantity in TERMINAL.values():
        yield gxe.ExpectColumnValuesToBeOfType(column=quantity.name, type_="float64")
        if quantity.name not in table or table[quantity.name].isna().all():
            continue  # nothing in it to be out of range; that the column is there is expected above
        if quantity.state:
            yield gxe.ExpectColumnValuesToBeInSet(column=quantity.name, value_set=[0.0, 1.0])
        else:
            yield gxe.ExpectColumnMinToBeBetween(column=quantity.name, min_value=quantity.low)
            yield gxe.ExpectColumnMaxToBeBetween(column=quantity.name, max_value=quantity.high)


def _told(found) -> str:
    config = found.expectation_config
    column = config.kwargs.get("column", "the table")
    if found.exception_info and (message := _message(found.exception_info)):
        return f"{column}: {message}"
    seen = found.result.get("observed_value", found.result.get("partial_unexpected_list"))
    return f"{column}: {config.type.replace('_', ' ')}, found {seen}"


def _message(info: dict) -> str:
    for part in (info, *(value for value in info.values() if isinstance(value, dict))):
        if part.get("raised_exception"):
            return str(part.get("exception_message"))
    return ""


class _Later(types.ModuleType):
    """Stands in for a module until something of it is used; then it is imported after all."""

    def __getattr__(self, name: str):
        if name.startswith("__"):
            raise AttributeError(name)
        sys.modules.pop(self.__name__, None)
        return getattr(importlib.import_module(self.__name__), name)


def _main() -> None:
    # The process lives for seconds and leaves nothing to collect; looking for garbage is a seventh of its time.
    gc.disable()
    # The library loads these at once, a third of its time, for expectations on distributions; none is used here.
    for name in ("scipy", "scipy.stats", "altair"):
        sys.modules[name] = _Later(name)
    sys.modules["scipy"].__dict__["stats"] = sys.modules["scipy.stats"]
    import great_expectations.expectations  # noqa: F401 (the long import, while the review reads its exports)
    import pyarrow as pa

    with pa.ipc.open_stream(sys.stdin.buffer) as stream:
        rows = stream.read_pandas()
    print(json.dumps(validate(rows)))


if __name__ == "__main__":
    _main()
