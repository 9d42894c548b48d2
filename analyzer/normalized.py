"""The normalized table and its ledger as files of their own: what ``trendwright normalize`` writes."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from pathlib import Path

from analyzer.errors import CallError
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
    if path.suffix != ".parquet":
        raise CallError("--out", f"{path.name!r} does not end in .parquet", "Name a file such as trends.parquet.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        staging = Path(tempfile.mkdtemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent))
    except OSError as error:
        raise CallError(path, f"cannot be written ({error.strerror})", "Name another file with --out.") from None
    try:
        trends.write(staging / path.name)
        (staging / LEDGER).write_text(json.dumps(trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8")
        names = (path.name, AIR_HANDLERS_FILE, LEDGER)
        for name in names:
            os.replace(staging / name, path.with_name(name))
    except OSError as error:
        raise CallError(path, f"cannot be written ({error.strerror})", "Name another file with --out.") from None
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    return [path.with_name(name) for name in names]
