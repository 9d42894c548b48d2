"""Rows that stand for an interval, with a column for its begin and one for its end."""

from __future__ import annotations

from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.stamp_columns import STAMPED, stamp_share
from analyzer.intake.words.vocabulary import END_WORDS, START_WORDS


def take_start(table: RawTable, words: list[str], time: list[int]) -> tuple[list[int], int | None]:
    """Take the begin of an interval for its row's time: from then on what the row says is in force.

    Parameters
    ----------
    words : list of str
        The folded headings.
    time : list of int
        The columns that hold the stamps, as far as they alone tell.

    Returns
    -------
    list of int, int or None
        The columns that hold the time, and the one that holds the end; None where rows are no intervals.
    """
    if len(time) != 1 or words[time[0]] not in START_WORDS | END_WORDS:
        return time, None
    stamped = [n for n in range(len(words)) if words[n] in START_WORDS | END_WORDS]
    stamped = [n for n in stamped if stamp_share(table.columns[n], words[n]) >= STAMPED]
    starts, ends = ([n for n in stamped if words[n] in kind] for kind in (START_WORDS, END_WORDS))
    if len(starts) != 1 or len(ends) != 1:
        return time, None
    table.assume(
        "each row stands for an interval; {detail} was taken for its time.",
        f"its begin ({table.names[starts[0]]!r}), not its end ({table.names[ends[0]]!r}),",
    )
    return starts, ends[0]
