"""Where the trends of a review are while it is made, and afterwards."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

from analyzer.dataset.reading import Dataset
from analyzer.dataset.writing import write_trends
from analyzer.errors import without_secrets
from analyzer.stores import Location, is_remote
from analyzer.trends import AIR_HANDLERS_FILE, Trends, TrendSource, companion

# What stands in a review's folder in place of trends that stay in an object store.
POINTER = ".json"


def keep_trends(source: TrendSource, path: Path) -> None:
    """Keep the trends of a review in its folder: a table is written, stored files are linked to or copied.

    A dataset of an object store stays where it is, and ``path`` says where that is: without what opens the store.
    """
    if isinstance(source, Trends):
        write_trends(source, path)
        return
    assert isinstance(source, Dataset), "trends are a table in memory or stored files"
    if is_remote(source.location):
        path.with_suffix(POINTER).write_text(json.dumps({"trends": without_secrets(str(source.location))}), "utf-8")
    elif Path(source.location).is_file():
        for file in source.files:
            beside = file.endswith(AIR_HANDLERS_FILE)
            _link(Path(file), path.with_name(companion(path.name, AIR_HANDLERS_FILE)) if beside else path)
    else:
        path.mkdir()
        for file in source.files:
            _link(Path(file), path / "-".join(Path(file).relative_to(Path(source.location).absolute()).parts))


def kept_trends(path: Path) -> Location:
    """Return where the trends of a review are, as ``keep_trends`` kept them."""
    pointer = path.with_suffix(POINTER)
    return json.loads(pointer.read_text("utf-8"))["trends"] if pointer.is_file() else path


def _link(source: Path, target: Path) -> None:
    """Give a file a second name, or copy it where the file system has no such thing."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)
