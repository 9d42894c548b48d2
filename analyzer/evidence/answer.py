"""The evidence of one finding: the exports read again, and its cells beside the rule's condition."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analyzer.engine import Rule
from analyzer.errors import CallError, nearest
from analyzer.evidence.condition import Condition, points_of_rule, window_of
from analyzer.evidence.found import find_again
from analyzer.evidence.watch import Cells, Watch
from analyzer.exports_kept import digest, read_exports
from analyzer.findings import StoredReview, neutralised, read_review
from analyzer.intake.files.find import Source, find
from analyzer.intake.reading import survey
from analyzer.quantities import shown_unit, to_shown
from analyzer.reviews import rule_book_of
from analyzer.site import Site, read_site
from analyzer.staging import file_replaced

COLUMNS = [
    "finding", "terminal", "quantity", "time", "file", "place", "column", "raw_text", "unit_in_file", "value_used",
    "unit", "judged_when", "fault_when",
]  # fmt: skip


@dataclass
class Evidence:
    """The raw cells of a finding.

    Attributes
    ----------
    finding : dict[str, Any]
        As ``findings.json`` holds it.
    rule : Rule
    table : DataFrame
        Columns ``COLUMNS``: a row for each cell, point by point; ``value_used`` is NaN where the cell was rejected,
        ``place`` is empty where it was not found again.
    notes : list of str
        What changed since the review, and what could not be compared.
    units : str
        The site's, 'ip' or 'si'.
    """

    finding: dict[str, Any]
    rule: Rule
    table: pd.DataFrame
    notes: list[str] = field(default_factory=list)
    units: str = "ip"

    @property
    def name(self) -> str:
        """The name of its file, where none is given."""
        tag = "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in self.finding["id"])
        return f"evidence-{tag}.csv"

    def summary(self) -> list[str]:
        """Say of each point where its cells stand, and how many there are."""
        keys = ["terminal", "quantity", "file", "column", "unit_in_file"]
        told = []
        for (tag, quantity, file, column, unit), cells in self.table.groupby(keys, sort=False):
            first, held = cells.iloc[0], int((cells["fault_when"] == "true").sum())
            lost = int((cells["place"] == "").sum())
            spelled = f"{column!r} [{unit}]" if unit else repr(column)
            told.append(
                f"cells: {tag} {quantity}: {len(cells)} in {file}, column {spelled}, from "
                f"{first['place'] or 'a place not found'} ({first['raw_text']!r}); condition true at {held}"
                + (f"; {lost} not found again" if lost else "")
            )
        return told or ["cells: no cell of these exports lies within the finding's episodes"]

    def write(self, path: Path) -> Path:
        """Write the table as CSV, whole or not at all.

        Raises
        ------
        CallError
            The path is a folder, or another file than such a table stands there, or it cannot be written.
        """
        if path.is_dir():
            raise CallError(path, "is a folder", "Name a file, such as evidence.csv, with --out.")
        if path.exists() and not path.read_bytes().startswith(",".join(COLUMNS).encode()):
            raise CallError(path, "is there already, and no table of evidence", "Name another file with --out.")
        with file_replaced(path, remedy="Name another file with --out.") as staged:
            neutralised(self.table).to_csv(staged, index=False)
        return path


def evidence_of(
    folder: Path, finding: str, exports: list[str] | None = None, progress: Callable[[str], None] = lambda _: None
) -> Evidence:
    """Find the raw cells that a finding rests on.

    Parameters
    ----------
    folder : path
        A review's folder.
    finding : str
        The finding's id.
    exports : list of str, optional
        Where the exports are now; where not given, they are taken from where they were.

    Raises
    ------
    CallError
        There is no such finding, or the exports are not known or no longer where they were.
    ExportError
        An export cannot be read.
    """
    review = read_review(folder)
    told = _finding(review, finding)
    kept = read_exports(folder)
    site, notes = _site_of(review, kept)
    rules = rule_book_of(site)
    if told["rule"] not in rules:
        raise CallError(
            folder, f"the rule {told['rule']!r} of this finding is not in the rule book",
            "Put the site file and its folder of rules back where they were.",
        )  # fmt: skip
    rule = rules[told["rule"]]
    sources, changes = _sources(folder, kept, exports, site)
    own, points = points_of_rule(rule)
    tags = {(False, told["terminal"], name) for name in own}
    tags |= {(True, told["air_handler"], name) for name in (*points, *own) if told["air_handler"]}
    watch = Watch({tag for _, tag, _ in tags})
    survey(sources, site, progress, watch)
    windows = window_of(told)
    cells = watch.cells(tags, windows)
    progress("looking up the cells in the files")
    condition = Condition(review, rule, told["terminal"])
    raw = find_again(sources, cells)
    rows = [_rows(told, one, places, condition, review.site) for one, places in zip(cells, raw, strict=True)]
    table = pd.concat(rows, ignore_index=True) if rows else pd.DataFrame(columns=COLUMNS)
    return Evidence(told, rule, table[COLUMNS], [*notes, *changes], review.site.units)


def _finding(review: StoredReview, finding: str) -> dict[str, Any]:
    told = review.findings.get(finding)
    if told is None:
        raise CallError(
            "FINDING", f"{finding!r} is no finding of {review.folder}{nearest(finding, review.findings)}",
            "See the column id of findings.csv.",
        )  # fmt: skip
    if told.get("scope", "terminal") != "terminal":
        under = [name for name, one in review.findings.items() if one.get("under") == finding]
        if under:
            some = ", ".join(under[:4]) + (f" and {len(under) - 4} more" if len(under) > 4 else "")
            raise CallError("FINDING", f"{finding} is shared by several terminals: {some}", "Name one of these.")
    return told


def _site_of(review: StoredReview, kept: dict[str, Any] | None) -> tuple[Site, list[str]]:
    """Return the site as the exports were read by it: its own file, where it is still there."""
    described = [(Path(one["path"]), one["sha256"]) for one in (kept or {}).get("described_by", [])]
    if not described:
        return review.site, []
    file = described[0][0]
    if not file.is_file():
        return review.site, [f"{file} is no longer there: names were read without it and its point list."]
    changed = [str(path) for path, was in described if not path.is_file() or digest(path) != was]
    return read_site(file), [f"{path} changed since the review." for path in changed]


def _sources(
    folder: Path, kept: dict[str, Any] | None, exports: list[str] | None, site: Site
) -> tuple[list[Source], list[str]]:
    if exports:
        return _named_again(kept, find(exports, site).sources)
    if kept is None:
        raise CallError(
            folder, "does not say which exports it was made from", "Name them with --exports FILE_OR_FOLDER."
        )
    files = kept["files"]
    if gone := [one["path"] for one in files if not Path(one["path"]).is_file()]:
        more = f" (and {len(gone) - 1} more)" if len(gone) > 1 else ""
        raise CallError(gone[0], f"is no longer there{more}", "Say where the exports are with --exports FOLDER.")
    sources = [
        Source(one["label"], one["name"], Path(one["path"]), one["member"], one["named"], tuple(one["folders"]))
        for one in files
    ]
    changed = {one["path"] for one in files if digest(Path(one["path"])) != one["sha256"]}
    return sources, [
        f"{path} changed since the review: its cells are shown as they are now." for path in sorted(changed)
    ]


def _named_again(kept: dict[str, Any] | None, sources: list[Source]) -> tuple[list[Source], list[str]]:
    """Compare files that were named with those that were reviewed."""
    if kept is None:
        return sources, ["The review keeps no checksums of its exports: whether these are the same cannot be told."]
    known = {one["sha256"] for one in kept["files"]}
    now = {source.path: digest(source.path) for source in sources}
    notes = [
        f"{path} is not as any of the files that were reviewed: its cells are shown as they are in it."
        for path, found in now.items()
        if found not in known
    ]
    missing = [one["label"] for one in kept["files"] if one["sha256"] not in now.values()]
    if missing:
        notes.append(f"Reviewed, and not among the files named now as it was: {', '.join(missing[:4])}.")
    return sources, notes


def _rows(finding: dict[str, Any], one: Cells, raw: Any, condition: Condition, site: Site) -> pd.DataFrame:
    meaning = one.point.meaning
    judged, fault = condition.at(one.time)
    unit = "" if meaning.state else shown_unit(meaning.dimension, site.units)
    value = one.value if meaning.state else to_shown(one.value, meaning.dimension, site.units)
    return pd.DataFrame(
        {
            "finding": finding["id"],
            "terminal": one.point.tag,
            "quantity": one.point.quantity,
            "time": [
                moment.isoformat()
                for moment in pd.to_datetime(one.time, unit="us", utc=True).tz_convert(site.time_zone)
            ],
            "file": one.label,
            "place": [cell.place for cell in raw],
            "column": one.point.column,
            "raw_text": [cell.text for cell in raw],
            "unit_in_file": one.point.unit or "",
            "value_used": np.round(value, 6),
            "unit": unit,
            "judged_when": judged,
            "fault_when": fault,
        }
    )
