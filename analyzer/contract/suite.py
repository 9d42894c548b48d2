"""The suite: what is expected of the terminals' table, and what became of it.

Used only in the check's own process: Great Expectations takes seconds to import.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import great_expectations as gx
import great_expectations.expectations as gxe
import numpy as np
from great_expectations.core import ExpectationValidationResult
from pandas import DataFrame

from analyzer.quantities import TERMINAL
from analyzer.trends import TERMINAL_COLUMNS

NAME = "normalized table"
# So many of the rows that break an expectation are named.
NAMED = 3
COLUMNS = [*TERMINAL_COLUMNS, "in_order"]


def check(tables: Iterable[DataFrame]) -> dict[str, Any]:
    """Run the suite over a table that comes in parts.

    Returns
    -------
    dict
        ``suite``, ``success``, ``expectations``, ``rows`` (how many were checked) and ``broken``: for each expectation
        that was not met its ``column``, what was ``expected``, the ``count`` of rows that break it, the first of them
        (``rows``: terminal, time, value), and whether the table cannot be used at all (``stops``).
    """
    broken: dict[tuple[str, str], dict[str, Any]] = {}
    rows = 0
    for table in tables:
        rows += len(table)
        for one in _broken(table):
            known = broken.setdefault((one["column"], one["expected"]), one | {"count": 0, "rows": []})
            known["count"] += one["count"]
            known["rows"] = [*known["rows"], *one["rows"]][:NAMED]
    return {
        "suite": NAME, "success": not broken, "expectations": sum(1 for _ in _expectations()), "rows": rows,
        "broken": [*broken.values()],
    }  # fmt: skip


def _broken(table: DataFrame) -> Iterator[dict[str, Any]]:
    """Yield what a part of the table breaks."""
    table = table.assign(in_order=_in_order(table))
    found = _validated(table, "BASIC")
    if all(one.success and not _failure(one.exception_info) for one in found):
        return
    found = _validated(table, "COMPLETE")  # which takes a third longer: the rows are wanted only now
    for one in found:
        config, failure = one.expectation_config, _failure(one.exception_info)
        column, expected = config.kwargs.get("column", "the table"), config.meta["expected"]
        if failure:
            yield _record(table, column, expected, failure)
        elif not one.success:
            at = one.result.get("unexpected_index_list") or []
            yield _record(table, column, expected, at=at) | {"stops": config.meta["stops"]}


def _validated(table: DataFrame, result_format: str) -> list[ExpectationValidationResult]:
    """Run the suite over a part of the table; every expectation has a result."""
    context = gx.get_context(mode="ephemeral")  # a new one for each part: a context keeps what it was given
    context.variables.progress_bars = {"globally": False}
    asset = context.data_sources.add_pandas("trendwright").add_dataframe_asset("terminals")
    batch = asset.add_batch_definition_whole_dataframe("whole").get_batch({"dataframe": table})
    # The suite stays out of the context's store, which would write it out anew for each expectation.
    suite = gx.ExpectationSuite(NAME, expectations=[*_expectations()])
    results = batch.validate(suite, result_format=result_format).results
    if len(results) < len(suite.expectations):
        raise RuntimeError(f"{len(results)} of {len(suite.expectations)} expectations were checked")
    return list(results)


def _record(
    table: DataFrame, column: str, expected: str, failure: str = "", at: list[int] | tuple[()] = ()
) -> dict[str, Any]:
    named = [
        {"terminal": str(row["terminal"]), "time": str(row["time"]), "value": str(row[column])}
        for row in table.loc[[*at[:NAMED]]].to_dict("records")
    ]
    return {
        "column": column,
        "expected": f"{expected} ({failure})" if failure else expected,
        "count": len(at),
        "rows": named,
        "stops": True,
    }


def _in_order(table: DataFrame) -> np.ndarray:
    """Tell of each row whether it comes after the one before it: a later terminal, or the same at a later time."""
    code, time = table["terminal"].cat.codes.to_numpy(), table["time"].astype("int64").to_numpy()
    later = (code[1:] > code[:-1]) | ((code[1:] == code[:-1]) & (time[1:] > time[:-1]))
    return np.append(np.ones(min(len(table), 1), bool), later)


def _expectations() -> Iterator[gxe.Expectation]:
    structure = {"stops": True}
    yield gxe.ExpectTableColumnsToMatchOrderedList(
        column_list=COLUMNS, meta=structure | {"expected": "the glossary's columns, in order"}
    )
    yield gxe.ExpectTableRowCountToBeBetween(min_value=1, meta=structure | {"expected": "a row at least"})
    for name in ("terminal", "time"):
        yield gxe.ExpectColumnValuesToNotBeNull(column=name, meta=structure | {"expected": "no row without"})
    yield gxe.ExpectColumnValuesToBeInSet(
        column="in_order", value_set=[True], meta=structure | {"expected": "each row after the one before it"}
    )
    for quantity in TERMINAL.values():
        name, low, high = quantity.name, quantity.low, quantity.high
        yield gxe.ExpectColumnValuesToBeOfType(column=name, type_="float64", meta=structure | {"expected": "float64"})
        if quantity.state:
            meta = {"stops": False, "expected": "0 or 1"}
            yield gxe.ExpectColumnValuesToBeInSet(column=name, value_set=[0.0, 1.0], meta=meta)
        else:
            meta = {"stops": False, "expected": f"{low:g} to {high:g} {quantity.unit}".rstrip()}
            yield gxe.ExpectColumnValuesToBeBetween(column=name, min_value=low, max_value=high, meta=meta)


def _failure(info: dict[str, Any] | None) -> str:
    """What went wrong in the check itself, where something did."""
    for part in (info or {}, *(value for value in (info or {}).values() if isinstance(value, dict))):
        if part.get("raised_exception"):
            return str(part.get("exception_message"))
    return ""
