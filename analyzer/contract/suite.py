"""The suite: what is expected of the rows that stand in for the terminals' table, and what became of it.

Used only in the check's own process: Great Expectations takes seconds to import.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.quantities import TERMINAL

if TYPE_CHECKING:
    from pandas import DataFrame

NAME = "normalized table"


def validate(rows: DataFrame) -> dict:
    """Run the suite over the rows that stand in for the terminals' table, as ``extremes`` returns them.

    Returns
    -------
    dict
        ``{"suite", "success", "expectations", "broken": [...]}``; success: each was checked and met.
    """
    import great_expectations as gx

    context = gx.get_context(mode="ephemeral")
    context.variables.progress_bars = {"globally": False}
    expected = list(_expectations(rows))
    asset = context.data_sources.add_pandas("trendwright").add_dataframe_asset("terminals")
    batch = asset.add_batch_definition_whole_dataframe("whole").get_batch({"dataframe": rows})
    # The suite stays out of the context's store, which would write it out anew for each expectation.
    result = batch.validate(gx.ExpectationSuite(NAME, expectations=expected), result_format="BASIC")
    broken = [_told(found) for found in result.results if not found.success or _message(found.exception_info)]
    if len(result.results) < len(expected):
        broken.append(f"the table: {len(expected) - len(result.results)} expectations were not checked")
    return {"suite": NAME, "success": not broken, "expectations": len(expected), "broken": broken}


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
    if message := _message(found.exception_info):
        return f"{column}: {message}"
    seen = found.result.get("observed_value", found.result.get("partial_unexpected_list"))
    return f"{column}: {config.type.replace('_', ' ')}, found {seen}"


def _message(info: dict | None) -> str:
    """What went wrong in the check itself, where something did."""
    if not info:
        return ""
    for part in (info, *(value for value in info.values() if isinstance(value, dict))):
        if part.get("raised_exception"):
            return str(part.get("exception_message"))
    return ""
