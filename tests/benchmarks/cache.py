"""A name for what the generator makes: it changes when the generator does, so that nothing stale is measured."""

from __future__ import annotations

import hashlib
from pathlib import Path

HERE = Path(__file__).resolve().parent
SOURCES = [HERE / "building.py", HERE / "exports.py", *sorted((HERE.parents[1] / "sample_trends").glob("*.py"))]


def fingerprint() -> str:
    """Return eight letters that stand for the generator's sources."""
    digest = hashlib.sha256()
    for source in SOURCES:
        digest.update(source.read_bytes())
    return digest.hexdigest()[:8]
