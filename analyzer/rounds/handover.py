"""The comparison's folder: its pages and tables, written whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from analyzer.errors import CallError
from analyzer.handover import keep_others
from analyzer.rounds.changes import Comparison
from analyzer.rounds.pages import write_pages
from analyzer.rounds.tables import FORMAT, comparison_csv, comparison_json
from analyzer.staging import folder_replaced

INDEX, JSON, CSV, PAGES = "index.html", "comparison.json", "comparison.csv", "findings"
OWN = {INDEX, JSON, CSV, PAGES, "assets"}


def write_comparison(comparison: Comparison, folder: Path, *, progress: Callable[[str], None] | None = None) -> Path:
    """Write the comparison's folder; return the path of its index page.

    A comparison that stands there is replaced; files that are not the tool's are carried over.

    Raises
    ------
    CallError
        The folder holds something else, or cannot be written.
    """
    with folder_replaced(folder) as staging:
        check_output(folder)
        (staging / JSON).write_text(comparison_json(comparison), "utf-8")
        (staging / CSV).write_text(comparison_csv(comparison), "utf-8")
        write_pages(comparison, staging, progress or (lambda _: None))
        if folder.is_dir():
            keep_others(folder, staging, OWN)
    return folder / INDEX


def check_output(folder: Path) -> None:
    """Refuse a folder whose own pages the comparison's would replace.

    Raises
    ------
    CallError
        The folder holds something, and no comparison.
    """
    if not folder.is_dir() or not any(folder.iterdir()):
        return
    try:
        ours = json.loads((folder / JSON).read_text("utf-8")).get("format") == FORMAT
    except (OSError, ValueError, AttributeError):
        ours = False
    if not ours:
        raise CallError(
            folder, "holds something, and no comparison", "Give the comparison a folder of its own with --out."
        )
