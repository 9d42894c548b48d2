"""Copy the demo building's exports to a folder of the user's, in the shape wanted."""

from __future__ import annotations

import shutil
from pathlib import Path

from analyzer.errors import CallError, nearest
from analyzer.places import demo_exports
from analyzer.staging import folder_replaced

SHAPES = ("mix", "wide", "long", "parquet")


def copy_demo(folder: str | Path, *, shape: str = "mix", retest: bool = False) -> list[Path]:
    """Copy the demo building's site file, schedule and exports to a folder.

    Parameters
    ----------
    folder : path
        Made if missing; must be empty.
    shape : str
        ``wide`` (one CSV an air handler), ``long`` (one log of changes), ``parquet``, or ``mix``: the first air
        handler's terminals from the wide CSV, half of the second's from the log of changes, the others from the
        Parquet, no terminal twice.
    retest : bool
        The week after the contractor's repairs instead of the first; it exists in one shape, whatever ``shape`` says.

    Returns
    -------
    list of Path
        The files copied.

    Raises
    ------
    CallError
        The folder is a file or not empty, or the shape is unknown; nothing is written then.
    """
    folder = Path(folder)
    if shape not in SHAPES:
        raise CallError(
            "--shape", f"{shape!r} is no shape{nearest(shape, SHAPES)}", f"Choose one of {', '.join(SHAPES)}."
        )
    _check_empty(folder)
    with folder_replaced(folder, remedy="Name a folder that you may write to.") as staging:
        _check_empty(folder)
        _fill(staging, demo_exports(), "retest" if retest else shape)
    return sorted(path for path in folder.iterdir())


def _check_empty(folder: Path) -> None:
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        raise CallError(folder, "exists and is not an empty folder", "Name a new or an empty folder.")
    if folder.resolve() == Path.cwd():
        raise CallError(folder, "is the folder you work in", "Name a new folder.")


def _fill(folder: Path, source: Path, shape: str) -> None:
    for name in ("site.toml", "terminals.csv"):
        shutil.copyfile(source / name, folder / name)
    shutil.copytree(source / "documents", folder / "documents")
    if shape == "mix":
        _mix(folder, source)
        return
    for path in sorted((source / shape).iterdir()):
        shutil.copyfile(path, folder / path.name)


def _mix(folder: Path, source: Path) -> None:
    """Give each terminal one shape: the log of changes and the Parquet are filtered to their own terminals."""
    import pandas as pd

    owners = pd.read_csv(source / "terminals.csv", usecols=["terminal", "air_handler"], dtype=str)
    first, *others = owners["air_handler"].unique()
    shutil.copyfile(source / "wide" / f"{first}.csv", folder / f"{first}.csv")
    rest = owners.loc[owners["air_handler"] != first, "terminal"]
    logged, stored = set(rest[::2]), {*rest[1::2], *others}
    _filter_lines(source / "long" / "changes.csv", folder / "changes.csv", logged)
    _filter_columns(source / "parquet" / "trends.parquet", folder / "trends.parquet", stored)


def _filter_lines(source: Path, target: Path, tags: set[str]) -> None:
    with source.open(newline="") as lines, target.open("w", newline="") as kept:
        kept.write(next(lines))
        kept.writelines(line for line in lines if line.split(",", 2)[1].split(".", 1)[0] in tags)


def _filter_columns(source: Path, target: Path, tags: set[str]) -> None:
    import pyarrow.parquet as pq

    time, *points = pq.read_schema(source).names
    chosen = [time, *(name for name in points if name.split(" ", 1)[0] in tags)]
    pq.write_table(pq.read_table(source, columns=chosen), target, compression="zstd")
