"""The list of the files that make up a stored table, where not all that lie in its folder do, and its window.

A store that grows keeps one: it takes each delivery in, and what is replaced lies there until the next.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from analyzer.errors import ExportError
from analyzer.ledger import ExportFile
from analyzer.trends import Window

MANIFEST = "store.json"
EXPORTS = "exports.json"  # of a delivery
FORMAT = "trendwright-store/1"
_REMEDY = "Take it from a copy of the store, or normalize the exports into a new one."


@dataclass
class Manifest:
    """What a stored table is made of.

    Attributes
    ----------
    time_zone : str
    files : list of str
        The paths of its files in its folder, by ``/``.
    deliveries : list of dict
        What each delivery brought, the first first.
    window : Window
        Of which alone rows are read.
    """

    time_zone: str = "UTC"
    files: list[str] = field(default_factory=list)
    deliveries: list[dict[str, Any]] = field(default_factory=list)
    window: Window = field(default_factory=Window)

    def write(self, folder: Path) -> Path:
        """Write it into a folder, and return its path."""
        path = folder / MANIFEST
        told = {
            "format": FORMAT,
            "time_zone": self.time_zone,
            "window": self.window.told(),
            "files": self.files,
            "deliveries": self.deliveries,
        }
        path.write_text(json.dumps(told, indent=1, ensure_ascii=False), "utf-8")
        return path

    def reaching_into(self, window: Window) -> list[dict[str, Any]]:
        """Return the deliveries that brought anything of a window."""
        return [told for told in self.deliveries if not window.misses(*map(_moment, (told["from"], told["to"])))]


def delivery_folder(number: int) -> str:
    """Return the path in a store of what is kept of a delivery."""
    return f"deliveries/{number:04}"


def delivered_exports(system: Any, folder: str, manifest: Manifest, window: Window) -> list[ExportFile]:
    """Return the files that were delivered with anything of a window, as they were then.

    Raises
    ------
    ExportError
        What is kept of a delivery is damaged.
    """
    found: list[ExportFile] = []
    for told in manifest.reaching_into(window):
        path = f"{folder.rstrip('/')}/{delivery_folder(told['number'])}/{EXPORTS}"
        try:
            with system.open_input_file(path) as file:
                files = json.loads(file.read())["files"]
            found += [ExportFile(**one | {"folders": tuple(one["folders"])}) for one in files]
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise ExportError(path, f"cannot be read ({error})", _REMEDY) from None
    return list(dict.fromkeys(found))


def _moment(text: str) -> np.datetime64:
    return np.datetime64(text.removesuffix("+00:00"), "us")


def is_store(folder: Path) -> bool:
    """Tell whether a folder of this machine holds such a list."""
    return (folder / MANIFEST).is_file()


def read_manifest(system: Any, folder: str) -> Manifest | None:
    """Read the list of a folder; None where it holds none.

    Parameters
    ----------
    system : pyarrow.fs.FileSystem
    folder : str
        Its path there.

    Raises
    ------
    ExportError
        It is damaged, or of a newer version.
    """
    path = f"{folder.rstrip('/')}/{MANIFEST}"
    try:
        if not system.get_file_info(path).is_file:
            return None
        with system.open_input_file(path) as file:
            text = file.read()
    except (OSError, ValueError) as error:
        raise ExportError(path, f"cannot be read ({error})", "Check the name, and that you may read it.") from None
    try:
        told = json.loads(text)
        if told["format"] != FORMAT:
            raise ExportError(path, f"is of another format than {FORMAT}", "Read it with the version that wrote it.")
        files, deliveries = [str(file) for file in told["files"]], list(told["deliveries"])
        return Manifest(str(told["time_zone"]), files, deliveries, Window.of(told["window"]))
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ExportError(path, f"is damaged ({error})", _REMEDY) from None
