"""The normalized table and its ledger as files of their own: what ``trendwright normalize`` writes."""

from __future__ import annotations

import json
from pathlib import Path

from analyzer.dataset import write_trends
from analyzer.errors import CallError
from analyzer.staging import check_place, files_placed
from analyzer.trends import AIR_HANDLERS_FILE, Trends

LEDGER = "ledger.json"


def write_normalized(trends: Trends, path: Path) -> list[Path]:
    """Write the terminals' table to ``path``, and the air handlers' table and the ledger beside it.

    Raises
    ------
    CallError
        The path is no Parquet file's, or cannot be written; then nothing is.
    """
    path = Path(path)
    check_output(path)
    names = (path.name, AIR_HANDLERS_FILE, LEDGER)
    with files_placed(path, names, remedy="Name another file with --out.") as staging:
        write_trends(trends, staging / path.name)
        (staging / LEDGER).write_text(json.dumps(trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8")
    return [path.with_name(name) for name in names]


def check_output(path: Path) -> None:
    """Refuse a path to which the table cannot be written, before the exports are read.

    Raises
    ------
    CallError
        It is no Parquet file's path, or its folder cannot be written.
    """
    if path.suffix != ".parquet":
        raise CallError("--out", f"{path.name!r} does not end in .parquet", "Name a file such as trends.parquet.")
    if path.is_dir():
        raise CallError(path, "is a folder", "Name a file such as trends.parquet.")
    check_place(path, remedy="Name another file with --out.")
