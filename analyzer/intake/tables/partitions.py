"""Folders that are columns: ``terminal=VAV-1/point=Zone Temp/part-0.parquet``, as partitioned data sets are written."""

from __future__ import annotations

from urllib.parse import unquote

from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.vocabulary import NAME_WORDS, PLACE_WORDS, TAG_WORDS, UNIT_WORDS, fold

_SAYS = NAME_WORDS | TAG_WORDS | PLACE_WORDS | UNIT_WORDS  # what a column must head to be one: days are in the stamps
_NOTHING = "__HIVE_DEFAULT_PARTITION__"  # what the usual writers put for an empty cell; from memory


def partition(folder: str) -> tuple[str, str] | None:
    """Split a folder's name into a column and its cell; None where it is no partition.

    Examples
    --------
    >>> partition("terminal=VAV%201")
    ('terminal', 'VAV 1')
    """
    name, sign, cell = folder.partition("=")
    return (unquote(name.strip()), unquote(cell.strip())) if sign and name.strip() and cell.strip() else None


def put_partitions(table: RawTable) -> None:
    """Put the columns that the folders' names stand for to a table that has none of their names."""
    there = {fold(name) for name in table.names}
    for name, cell in filter(None, map(partition, table.folders)):
        if fold(name) in _SAYS and fold(name) not in there and cell != _NOTHING:
            table.add_column(name, cell)
