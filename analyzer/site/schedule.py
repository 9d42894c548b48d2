"""The terminal schedule: ``terminals.csv``, units in its headings, read as SI."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analyzer.errors import ScheduleError, nearest
from analyzer.formulas import KEPT
from analyzer.inputs import LARGEST_TABLE, read_bytes
from analyzer.quantities import find_unit, known_unit, spellings
from analyzer.site.model import SCHEDULE, WORDS

_HEADING = re.compile(r"\s*(.*?)\s*(?:\[(.*?)\]|\((.*?)\))?\s*$")
# Columns that ``draft`` writes beside the design values, for the eye only.
_FOR_THE_EYE = "observed"
MOST_COLUMNS = 500
_REMEDY = "Correct the schedule and run again."


def read_schedule(path: str | Path) -> pd.DataFrame:
    """Read a terminal schedule.

    Parameters
    ----------
    path : path
        CSV with a line of headings, each with its unit in brackets: ``primary_max [cfm]``. Only ``terminal`` and
        ``kind`` are required. Columns whose heading starts with "observed" are for the eye and are passed over.

    Returns
    -------
    DataFrame
        Index ``terminal``, columns ``SCHEDULE``, SI; NaN or None where blank.

    Raises
    ------
    ScheduleError
        All mistakes of the file in one sentence: unknown or doubled headings, a text in a number column, an unknown
        word, a terminal that stands twice.
    """
    path = Path(path)
    told = _read_text(path)
    columns, mistakes = _headings(told.columns)
    for name in ("terminal", "kind"):
        if name not in columns:
            mistakes.append(f"the column {name!r} is missing")
    if mistakes:
        raise ScheduleError(path, "; ".join(mistakes), _REMEDY)
    schedule = pd.DataFrame(index=told.index)
    schedule["terminal"] = told[columns["terminal"][0]]
    for name, dimension in SCHEDULE.items():
        schedule[name], wrong = _column(told, columns.get(name), name, dimension)
        mistakes += wrong
    mistakes += _wrong_tags(schedule["terminal"]) + _contradictions(schedule)
    if mistakes:
        raise ScheduleError(path, "; ".join(mistakes), _REMEDY)
    schedule = _with_defaults(schedule)
    return schedule.set_index("terminal")


def _read_text(path: Path) -> pd.DataFrame:
    try:
        data = read_bytes(path, LARGEST_TABLE)
        if data.partition(b"\n")[0].count(b",") >= MOST_COLUMNS:
            raise ScheduleError(path, f"has more than {MOST_COLUMNS} columns", "Give it the columns of a schedule.")
        # Blank lines are read, so that the index tells the line of a mistake.
        told = pd.read_csv(
            io.BytesIO(data),
            dtype=str,
            keep_default_na=False,
            encoding="utf-8-sig",
            skipinitialspace=True,
            skip_blank_lines=False,
        )
    except FileNotFoundError:
        raise ScheduleError(path, "there is no such file", "Correct the path in the site file.") from None
    except OSError as error:
        raise ScheduleError(path, f"cannot be read ({error.strerror})", "Name the schedule's CSV.") from None
    except UnicodeDecodeError:
        raise ScheduleError(path, "is not UTF-8 text", "Save it as CSV in UTF-8.") from None
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        raise ScheduleError(path, f"is no readable CSV ({error})", "Save it as CSV with a line of headings.") from None
    if not isinstance(told.index, pd.RangeIndex):
        raise ScheduleError(
            path, "has rows with more cells than there are headings", "Give every column a heading, or clear the cells."
        )
    told = told.fillna("").apply(lambda column: column.str.strip().str.replace(KEPT, "", regex=True))
    filled: pd.DataFrame = told[(told != "").any(axis=1)]
    return filled


def _headings(headings: Iterable[str]) -> tuple[dict[str, tuple[str, str | None]], list[str]]:
    """Map each known column to (its heading in the file, its unit); gather what is wrong."""
    columns: dict[str, tuple[str, str | None]] = {}
    mistakes = []
    known = ["terminal", *SCHEDULE]
    for heading in headings:
        if heading.strip().lower().startswith(_FOR_THE_EYE) or heading.startswith("Unnamed:"):
            continue
        name, unit = _name_and_unit(heading)
        if name not in known:
            mistakes.append(f"unknown column {heading!r}{nearest(name, known)}")
        elif name in columns:
            mistakes.append(f"the column {name!r} stands twice")
        else:
            columns[name] = (heading, unit)
            dimension = SCHEDULE.get(name, "text")
            if dimension not in ("text", "number") and (unit is None or find_unit(unit, dimension) is None):
                said = "no unit" if unit is None else f"the unknown unit {unit!r}"
                mistakes.append(
                    f"the column {name!r} has {said}; expected brackets with one of {', '.join(spellings(dimension))}"
                )
    return columns, mistakes


def _name_and_unit(heading: str) -> tuple[str, str | None]:
    match = _HEADING.match(heading)
    if match is None:  # a heading of several lines
        return heading, None
    return re.sub(r"[\s-]+", "_", match[1].lower()), match[2] or match[3]


def _column(
    told: pd.DataFrame, heading: tuple[str, str | None] | None, name: str, dimension: str
) -> tuple[pd.Series, list[str]]:
    if heading is None:
        empty = None if dimension == "text" else np.nan
        return pd.Series(empty, index=told.index, dtype=object if dimension == "text" else float), []
    text = told[heading[0]]
    if dimension == "text":
        return _words(text, name)
    numbers = pd.to_numeric(text.where(text != "").str.replace(",", ""), errors="coerce").astype(float)
    wrong = (text != "") & ~(np.isfinite(numbers) & (numbers >= 0))
    mistakes = [
        f"line {line + 2}, column {name!r}: {value!r} is not a number of at least 0"
        for line, value in _first_lines(text[wrong])
    ]
    if dimension != "number":
        numbers = known_unit(heading[1] or "", dimension).to_si(numbers)
    return numbers, mistakes


def _first_lines(column: pd.Series) -> Iterable[tuple[int, Any]]:
    """Return the first three values with the place of each: a message that names more is not read."""
    return zip(column.index[:3].astype(int), column.iloc[:3], strict=True)


def _words(text: pd.Series, name: str) -> tuple[pd.Series, list[str]]:
    words = text.where(text != "", None).astype(object)
    allowed = WORDS.get(name)
    if allowed is None:
        return words, []
    folded = words.str.lower().str.replace(r"[\s_]+", "-", regex=True)
    wrong = folded.notna() & ~folded.isin(allowed)
    mistakes = [
        f"line {line + 2}, column {name!r}: {text[line]!r} is not one of {', '.join(allowed)}" + nearest(value, allowed)
        for line, value in _first_lines(folded[wrong])
    ]
    if name == "kind":
        mistakes += [f"line {line + 2}: the kind is missing" for line in folded.index[folded.isna()][:3]]
    return folded.astype(object).where(folded.notna(), None), mistakes


def _wrong_tags(tags: pd.Series) -> list[str]:
    mistakes = [f"line {line + 2}: the terminal's tag is missing" for line in tags.index[tags == ""][:3]]
    twice = tags[(tags != "") & tags.duplicated()]
    mistakes += [f"line {line + 2}: the terminal {tag!r} stands twice" for line, tag in _first_lines(twice)]
    return mistakes


def _contradictions(schedule: pd.DataFrame) -> list[str]:
    wrong = schedule["primary_min"] > schedule["primary_max"]
    return [
        f"line {line + 2}: primary_min of {tag!r} is above its primary_max"
        for line, tag in _first_lines(schedule.loc[wrong, "terminal"])
    ]


def _with_defaults(schedule: pd.DataFrame) -> pd.DataFrame:
    """Fill what a blank means by the trade's usage: overhead; an empty reheat column stays unknown."""
    schedule["distribution"] = schedule["distribution"].where(schedule["distribution"].notna(), "overhead")
    return schedule
