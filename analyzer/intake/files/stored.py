"""Tell exports that were normalized before, and are read back as they are, from those that are yet to be read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from analyzer.dataset import is_normalized, is_store
from analyzer.intake.files.find import JSON, OWN_NAMES, PARQUET, READABLE
from analyzer.stores import Location, is_remote


def stored_table(exports: Sequence[str | Path]) -> Location | None:
    """Return where the one normalized table is that a call names; None where it names exports.

    That is a file, a folder in which all that could be read is part of such a table, or a folder of an object store.
    """
    if len(exports) != 1:
        return None
    if is_remote(exports[0]):
        return exports[0]
    path = Path(exports[0])
    if not path.is_dir():
        return path if path.suffix in PARQUET and is_normalized(path) else None
    if is_store(path):
        return path
    if (path / "findings.json").exists():  # a review's folder is no export
        return None
    tables = READABLE - JSON  # a ledger lies beside such a table
    files = [file for file in path.rglob("*") if file.suffix.lower() in tables and file.name not in OWN_NAMES]
    return path if files and all(file.suffix in PARQUET and is_normalized(file) for file in files) else None
