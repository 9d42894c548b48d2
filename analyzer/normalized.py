"""The normalized table and its ledger as files of their own: what ``trendwright normalize`` writes."""

from __future__ import annotations

import json
from pathlib import Path

from analyzer.dataset import is_normalized, write_dataset, write_trends
from analyzer.errors import CallError
from analyzer.staging import check_place, files_placed, folder_replaced
from analyzer.trends import AIR_HANDLERS_FILE, Trends

LEDGER = "ledger.json"


def write_normalized(trends: Trends, path: Path) -> list[Path]:
    """Write the normalized table and its ledger: one file, or the folder of a dataset.

    Parameters
    ----------
    trends : Trends
    path : Path
        A file's that ends in ``.parquet``; the air handlers' table and the ledger are written beside it. Or a folder's,
        which is replaced whole where it holds a dataset.

    Raises
    ------
    CallError
        The path cannot be written; then nothing is.
    """
    path = Path(path)
    check_output(path)
    if path.suffix != ".parquet":
        with folder_replaced(path) as staging:
            write_dataset(trends, staging)
            _write_ledger(trends, staging)
        return [path]
    names = (path.name, AIR_HANDLERS_FILE, LEDGER)
    with files_placed(path, names, remedy="Name another file with --out.") as staging:
        write_trends(trends, staging / path.name)
        _write_ledger(trends, staging)
    return [path.with_name(name) for name in names]


def _write_ledger(trends: Trends, folder: Path) -> None:
    (folder / LEDGER).write_text(json.dumps(trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8")


def check_output(path: Path) -> None:
    """Refuse a path to which the table cannot be written, before the exports are read.

    Raises
    ------
    CallError
        It is a folder that holds other things than a dataset, ends in anything but ``.parquet``, or cannot be
        written.
    """
    remedy = "Name a file such as trends.parquet, or a folder without an ending."
    if path.suffix not in ("", ".parquet"):
        raise CallError("--out", f"{path.name!r} does not end in .parquet", remedy)
    if path.suffix and path.is_dir():
        raise CallError(path, "is a folder", remedy)
    if not path.suffix and path.is_file():
        raise CallError(path, "is a file", remedy)
    if path.is_dir():
        others = [file.name for file in sorted(path.iterdir()) if not _of_a_dataset(file)]
        if others:
            raise CallError(path, f"is a folder that holds {others[0]!r}", "Name a new folder for the dataset.")
    check_place(path, remedy="Name another file or folder with --out.")


def _of_a_dataset(file: Path) -> bool:
    return file.name == LEDGER or (file.is_file() and is_normalized(file))
