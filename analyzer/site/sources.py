"""Where the values of the terminal schedule come from: ``sources.csv`` beside ``terminals.csv``."""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

import pandas as pd

from analyzer.errors import ScheduleError
from analyzer.formulas import as_meant
from analyzer.inputs import LARGEST_TABLE, read_bytes
from analyzer.quantities import parse_quantity
from analyzer.site.model import SCHEDULE, ValueSource

NAME = "sources.csv"
COLUMNS = ("terminal", "column", "value", "file", "sheet", "cell", "text", "document", "note")
_REMEDY = "Draft it again, or delete it: without it values have no source."
_SAME = 0.005  # of a value: what a table's digits leave out


Sources = dict[str, dict[str, ValueSource]]


def read_sources(terminals_file: Path, schedule: pd.DataFrame) -> Sources:
    """Read the sources beside a schedule: terminal -> column -> source.

    A value that was changed in the schedule since has no source any more.

    Raises
    ------
    ScheduleError
        The file is there and cannot be read.
    """
    path = terminals_file.with_name(NAME)
    if not path.is_file():
        return {}
    try:
        text = read_bytes(path, LARGEST_TABLE).decode("utf-8-sig")
    except OSError as error:
        raise ScheduleError(path, f"cannot be read ({error.strerror})", _REMEDY) from None
    except UnicodeDecodeError:
        raise ScheduleError(path, "is not UTF-8 text", _REMEDY) from None
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or tuple(rows[0]) != COLUMNS:
        return {}  # another's file of that name
    known = schedule.to_dict("index")
    found: Sources = {}
    for line, row in enumerate(rows[1:], 2):
        if len(row) != len(COLUMNS):
            raise ScheduleError(path, f"has {len(row)} cells; expected {len(COLUMNS)}", _REMEDY, place=f"line {line}")
        told = dict(zip(COLUMNS, map(as_meant, row), strict=True))
        terminal, column = told["terminal"], told["column"]
        if terminal in known and column in SCHEDULE and _still(known[terminal].get(column), told["value"], column):
            source = ValueSource(*(told[name] for name in ("file", "sheet", "cell", "text", "document", "note")))
            found.setdefault(terminal, {})[column] = source
    return found


def _still(value: object, told: str, column: str) -> bool:
    """Tell whether the schedule still holds the value that a source was told for."""
    if SCHEDULE[column] == "text":
        return isinstance(value, str) and value == told
    if not isinstance(value, float) or math.isnan(value):
        return False
    try:
        was = float(told) if SCHEDULE[column] == "number" else parse_quantity(told, SCHEDULE[column])
    except ValueError:
        return False
    return abs(value - was) <= _SAME * max(abs(value), abs(was), 1e-6)
