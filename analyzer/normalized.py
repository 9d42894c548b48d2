"""The normalized table and its ledger as files of their own: what ``trendwright normalize`` writes."""

from __future__ import annotations

import glob
import json
import os
import re
from collections.abc import Iterable
from pathlib import Path

from analyzer.dataset import beside, is_normalized, write_dataset, write_trends
from analyzer.errors import CallError
from analyzer.intake.files.stored import stored_table
from analyzer.ledger import FORMAT
from analyzer.own_files import MARK
from analyzer.staging import check_place, files_placed, folder_replaced
from analyzer.trends import AIR_HANDLERS_FILE, TABLE_FILE, Trends, companion

LEDGER = "ledger.json"
_PART = re.compile(rf"trends-\d{{5,}}\.parquet|{re.escape(AIR_HANDLERS_FILE)}")
_ADDRESS = re.compile(r"[a-zA-Z][a-zA-Z0-9+.-]+:/")
_REMEDY = "Name another file with --out."


def write_normalized(trends: Trends, path: Path) -> list[Path]:
    """Write the normalized table and its ledger: one file, or the folder of a dataset.

    Parameters
    ----------
    trends : Trends
    path : Path
        A file's that ends in ``.parquet``; the air handlers' table and the ledger are written beside it: beside
        ``trends.parquet`` under their plain names, beside any other under its name. Or a folder's, which is replaced
        whole where it holds a dataset.

    Raises
    ------
    CallError
        The path cannot be written; then nothing is.
    """
    path = Path(path)
    check_output(path)
    if path.suffix != ".parquet":
        with folder_replaced(path) as staging:
            check_output(path)
            write_dataset(trends, staging)
            _write_ledger(trends, staging / LEDGER)
        return [path]
    names = [path.name, *_companions(path.name)]
    with files_placed(path, names, remedy=_REMEDY) as staging:
        check_output(path)
        write_trends(trends, staging / path.name)
        _write_ledger(trends, staging / companion(path.name, LEDGER))
    return [path.with_name(name) for name in names]


def _companions(table: str) -> tuple[str, str]:
    return companion(table, AIR_HANDLERS_FILE), companion(table, LEDGER)


def _write_ledger(trends: Trends, path: Path) -> None:
    path.write_text(json.dumps(trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8")


def is_address(path: Path) -> bool:
    """Tell whether a path spells the address of a store: as a path it has lost one of its slashes."""
    return bool(_ADDRESS.match(str(path)))


def check_output(path: Path, inputs: Iterable[Path] = ()) -> None:
    """Refuse a path to which the table cannot be written, before the exports are read.

    Parameters
    ----------
    path : Path
    inputs : iterable of Path
        What is read; a pattern stands for what matches it.

    Raises
    ------
    CallError
        It is what is read, a folder that holds other things than a dataset, a file that is no normalized table, one
        beside a table of an earlier release, ends in anything but ``.parquet``, or cannot be written.
    """
    remedy = "Name a file such as trends.parquet, or a folder without an ending."
    if is_address(path):
        raise CallError(path, "is an address of a store; a table is written to a folder of this machine", remedy)
    if not path.name:
        raise CallError(path, "is the folder you work in, or holds all others", remedy)
    if path.suffix not in ("", ".parquet"):
        raise CallError("--out", f"{path.name!r} does not end in .parquet", remedy)
    if path.suffix and path.is_dir():
        raise CallError(path, "is a folder", remedy)
    if not path.suffix and path.is_file():
        raise CallError(path, "is a file", remedy)
    if path.name.endswith(AIR_HANDLERS_FILE):
        raise CallError(path, "bears the name of an air handlers' table", remedy)
    check_place(path, remedy=_REMEDY)
    _refuse_inputs(path, inputs)
    if path.is_dir():
        others = [file.name for file in sorted(path.iterdir()) if not _of_a_dataset(file)]
        if others:
            raise CallError(path, f"is a folder that holds {others[0]!r}", "Name a new folder for the dataset.")
    elif path.suffix:
        _refuse_others(path)


def _refuse_inputs(path: Path, inputs: Iterable[Path]) -> None:
    """Refuse to write over what is read, or into a dataset that is read."""
    written = {file.resolve() for file in (path, *map(path.with_name, _companions(path.name)))}
    for given in inputs:
        for found in map(Path, glob.glob(str(given), recursive=True) if not given.exists() else [given]):
            read, here = found.resolve(), path.resolve()
            if read in written or here in read.parents or (read in here.parents and stored_table([read])):
                raise CallError(
                    path, f"would be written over {found}, which is read", "Name another file or folder with --out."
                )


def _refuse_others(path: Path) -> None:
    """Refuse to replace a file that this program did not write, or that belongs to another table."""
    air_handlers, ledger = map(path.with_name, _companions(path.name))
    if (path.parent / MARK).is_file():
        raise CallError(
            path, f"its folder holds a review or a comparison ({MARK}), whose trends it would replace", _REMEDY
        )  # fmt: skip
    for file, ours in ((path, is_normalized), (air_handlers, is_normalized), (ledger, _is_ledger)):
        if os.path.lexists(file) and not ours(file):
            raise CallError(file, "is there already, and trendwright did not write it", _REMEDY)
    if path.name == TABLE_FILE and air_handlers.exists():
        for other in sorted(path.parent.glob("*.parquet")):
            if other not in (path, air_handlers) and beside(other) == air_handlers:
                raise CallError(
                    path, f"{air_handlers.name} beside it belongs to {other.name}, which an earlier release wrote",
                    "Name a file in a folder of its own with --out.",
                )  # fmt: skip


def _is_ledger(path: Path) -> bool:
    try:
        return bool(json.loads(path.read_text("utf-8")).get("format") == FORMAT)
    except (OSError, ValueError, AttributeError):
        return False


def _of_a_dataset(file: Path) -> bool:
    if not file.is_file():
        return False
    if file.name == LEDGER:
        return _is_ledger(file)
    return bool(_PART.fullmatch(file.name)) and is_normalized(file)
