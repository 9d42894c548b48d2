"""Which column of a table says what its rows are: cooling or heating, design or actual."""

from __future__ import annotations

from analyzer.schedule.layout import Table
from analyzer.schedule.meaning import stage_of
from analyzer.schedule.words import read_heading


def column_of_modes(table: Table) -> int | None:
    """Return the column whose cells say COOLING and HEATING, a row each; None where there is none."""
    for column in table.columns:
        told = [read_heading(text) for row in table.rows if (text := table.grid.text(row, column.at))]
        modes = {each.concepts for each in told if not each.unknown and not each.units}
        if len(told) > 1 and modes == {("COOLING",), ("HEATING",)} and not any(each.unknown for each in told):
            return column.at
    return None


def column_of_stages(table: Table) -> int | None:
    """Return the column whose cells say DESIGN, ACTUAL, % OF DESIGN row by row; None where there is none."""
    for column in table.columns:
        told = [read_heading(text) for row in table.rows if (text := table.grid.text(row, column.at))]
        staged = [each for each in told if not each.unknown and (stage_of(each) or "PERCENT" in each.concepts)]
        if len(staged) > 1 and len(staged) * 10 >= len(told) * 8 and len({stage_of(each) for each in staged}) > 1:
            return column.at
    return None
