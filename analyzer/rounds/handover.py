"""The comparison's folder: its pages and tables, written whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path, PurePosixPath

from analyzer.errors import CallError
from analyzer.own_files import OwnFiles, is_free, keep_others, mark_written, read_mark
from analyzer.report import ASSETS
from analyzer.rounds.changes import Comparison
from analyzer.rounds.pages import write_pages
from analyzer.rounds.tables import FORMAT, comparison_csv, comparison_json
from analyzer.staging import folder_replaced

INDEX, JSON, CSV, PAGES = "index.html", "comparison.json", "comparison.csv", "findings"
BY, KEPT = "compare", "kept"


def write_comparison(
    comparison: Comparison, folder: Path, *, progress: Callable[[str], None] | None = None
) -> tuple[Path, list[str]]:
    """Write the comparison's folder; return the path of its index page, and what was laid aside.

    A comparison that stands there is replaced; files that are not the tool's are carried over, and copies of those that
    were changed since it wrote them are kept under ``kept/``.

    Raises
    ------
    CallError
        The folder holds something else, or cannot be written.
    """
    with folder_replaced(folder) as staging:
        own = check_output(folder)
        (staging / JSON).write_text(comparison_json(comparison), "utf-8")
        (staging / CSV).write_text(comparison_csv(comparison), "utf-8")
        write_pages(comparison, staging, progress or (lambda _: None))
        mark_written(staging, BY)
        kept = keep_others(folder, staging, own, KEPT) if folder.is_dir() else []
    return folder / INDEX, kept


def check_output(folder: Path) -> OwnFiles:
    """Return the files of a comparison that stands in a folder; refuse one that holds something else.

    Raises
    ------
    CallError
        The folder holds something, and no comparison.
    """
    if is_free(folder):
        return OwnFiles()
    if own := read_mark(folder, BY):
        return own
    try:
        ours = json.loads((folder / JSON).read_text("utf-8")).get("format") == FORMAT
    except (OSError, ValueError, AttributeError):
        ours = False
    if not ours:
        raise CallError(
            folder, "holds something, and no comparison", "Give the comparison a folder of its own with --out."
        )
    return OwnFiles(is_own=_of_an_earlier_release)


def _of_an_earlier_release(path: PurePosixPath) -> bool:
    """Tell by its name whether a comparison of an earlier release wrote a file, for it left no list of them."""
    top, *below = path.parts
    if not below:
        return top in {INDEX, JSON, CSV}
    return (ASSETS / path.relative_to(top)).is_file() if top == "assets" else len(below) == 1 and top == PAGES
