"""Which exports a review was made from (``exports.json``): where they lay, and a digest of each."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from analyzer.errors import CallError
from analyzer.ledger import ExportFile
from analyzer.site import Site
from analyzer.validation import read_stored

EXPORTS, FORMAT = "exports.json", "trendwright-exports/1"


def exports_json(exports: list[ExportFile], site: Site) -> str:
    """Return the text of ``exports.json``: every file that was read, and those that describe the building.

    Each with ``path``, ``bytes`` and ``sha256``; of a member of an archive those of the archive.
    """
    digests: dict[str, dict[str, Any]] = {}
    described = [path for path in (site.file, site.terminals_file, site.points_file) if path is not None]
    told = {
        "format": FORMAT,
        "files": [
            asdict(export) | (_digested(export.path, digests) if export.sha256 is None else {}) for export in exports
        ],
        "described_by": [{"path": str(path.resolve())} | _digested(str(path), digests) for path in described],
    }
    return json.dumps(told, indent=1)  # a path of bytes that spell nothing is escaped


def _digested(path: str, known: dict[str, dict[str, Any]]) -> dict[str, Any]:
    if path not in known:
        try:
            known[path] = {"bytes": Path(path).stat().st_size, "sha256": digest(Path(path))}
        except OSError:  # gone since it was read: nothing can be compared with it
            known[path] = {"bytes": None, "sha256": None}
    return known[path]


def digest(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def read_exports(folder: Path) -> dict[str, Any] | None:
    """Read a review's ``exports.json``; None where an earlier release left none, or nothing but a table was reviewed.

    Raises
    ------
    CallError
        The file is there and cannot be read.
    """
    path = folder / EXPORTS
    if not path.is_file():
        return None
    stored = read_stored(path, FORMAT, CallError, "Review the exports again.")
    return stored if stored["files"] else None
