"""Where the trends of a review are while it is made, and afterwards."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

from analyzer.dataset.manifest import Manifest
from analyzer.dataset.reading import Dataset
from analyzer.dataset.writing import write_trends
from analyzer.errors import without_secrets
from analyzer.stores import Location, is_remote
from analyzer.trends import AIR_HANDLERS_FILE, Trends, TrendSource, Window, companion

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
        told: dict[str, Any] = {"trends": without_secrets(str(source.location))}
        if source.window != Window():
            told["window"] = source.window.told()
        path.with_suffix(POINTER).write_text(json.dumps(told), "utf-8")
    elif Path(source.location).is_file() and source.window == Window():
        for file in source.files:
            beside = file.endswith(AIR_HANDLERS_FILE)
            _link(Path(file), path.with_name(companion(path.name, AIR_HANDLERS_FILE)) if beside else path)
    else:
        path.mkdir()
        top = Path(source.location).absolute()
        top = top.parent if top.is_file() else top
        names = ["-".join(Path(file).relative_to(top).parts) for file in source.files]
        for file, name in zip(source.files, names, strict=True):
            _link(Path(file), path / name)
        if source.window != Window():
            Manifest(source.time_zone, names, window=source.window).write(path)


def kept_trends(path: Path) -> tuple[Location, Window]:
    """Return where the trends of a review are, as ``keep_trends`` kept them, and the only rows of them to read."""
    pointer = path.with_suffix(POINTER)
    if not pointer.is_file():
        return path, Window()
    told = json.loads(pointer.read_text("utf-8"))
    return told["trends"], Window.of(told["window"]) if "window" in told else Window()


def _link(source: Path, target: Path) -> None:
    """Give a file a second name, or copy it where the file system has no such thing."""
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)
