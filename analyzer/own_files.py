"""What a command wrote into a folder: it takes over no other folder, and keeps what others laid into this one.

``written.json`` is the mark: it lists every file that was written, with a digest of those in which a reader may write.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath

from analyzer.errors import CallError

MARK = "written.json"
FORMAT = "trendwright-written/1"
_LARGEST_DIGESTED = 64 * 1024**2  # bytes; what is larger is a table of trends, in which nobody writes


@dataclass(frozen=True)
class OwnFiles:
    """The files that a command wrote into a folder.

    Attributes
    ----------
    digests : dict
        Path within the folder to the digest of what was written; empty where none was taken.
    is_own : callable
        Tells of a path that is not listed whether it is the tool's: an earlier release left no list.
    """

    digests: dict[str, str] = field(default_factory=dict)
    is_own: Callable[[PurePosixPath], bool] = lambda _: False

    def unchanged(self, path: PurePosixPath, file: Path) -> bool:
        """Tell whether a file is as the tool wrote it, so that it may be replaced."""
        known = self.digests.get(str(path))
        if known is None:
            return self.is_own(path)
        return not known or _digest(file) == known


def mark_written(folder: Path, by: str) -> None:
    """Write the list of all files that stand in a folder, as what the command ``by`` wrote."""
    paths = [path for path in _files(folder) if path != PurePosixPath(MARK)]
    files = {str(path): _digest(folder / path) if len(path.parts) == 1 else "" for path in paths}
    told = {"format": FORMAT, "by": by, "files": files}
    (folder / MARK).write_text(json.dumps(told, indent=1, ensure_ascii=False), "utf-8")


def read_mark(folder: Path, by: str) -> OwnFiles | None:
    """Read the list that ``by`` left in a folder; None where it left none.

    Raises
    ------
    CallError
        The list is there and cannot be read.
    """
    try:
        told = json.loads((folder / MARK).read_text("utf-8"))
        ours = told.get("format") == FORMAT and told.get("by") == by
        return OwnFiles({**told["files"], MARK: ""}) if ours else None
    except FileNotFoundError:
        return None
    except (OSError, ValueError, AttributeError, KeyError, TypeError) as error:
        raise CallError(
            folder / MARK, f"cannot be read ({type(error).__name__}), so nothing tells which files here are the tool's",
            "Name another folder with --out.",
        ) from None  # fmt: skip


def listed(folder: Path) -> set[str]:
    """Return the paths that the list in a folder names, whoever wrote it; none where there is none that can be read."""
    try:
        return {*json.loads((folder / MARK).read_text("utf-8"))["files"], MARK}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def is_free(folder: Path) -> bool:
    """Tell whether nothing stands at a folder's place, or an empty folder.

    Raises
    ------
    CallError
        The folder cannot be looked into.
    """
    try:
        return not folder.is_dir() or not any(folder.iterdir())
    except OSError as error:
        raise CallError(folder, f"cannot be read ({error.strerror})", "Name another folder with --out.") from None


def keep_others(folder: Path, staging: Path, own: OwnFiles, aside: str, *, passed: tuple[str, ...] = ()) -> list[str]:
    """Carry over what is not the tool's own, and what was changed since it was written.

    Parameters
    ----------
    own : OwnFiles
        What the tool wrote into the folder.
    aside : str
        The folder within ``staging`` for whatever stands where a new file was written.
    passed : tuple of str
        Files and folders that the caller carries over by itself.

    Returns
    -------
    list of str
        The paths of those that were laid aside.
    """
    laid_aside, made = [], []
    for path in _files(folder, passed):
        file = folder / path
        if own.unchanged(path, file):
            continue
        target = staging / path
        if _taken(target, staging):
            target = _aside(staging / aside, file, path)
            laid_aside.append(target.relative_to(staging).as_posix())
        else:
            made += [above for above in path.parents if not (staging / above).exists()]
        target.parent.mkdir(parents=True, exist_ok=True)
        if file.is_dir() and not file.is_symlink():
            target.mkdir(exist_ok=True)
            made.append(path)
        else:
            _link(file, target)
    for path in made:  # not before: a folder may be closed to writers
        shutil.copystat(folder / path, staging / path)
    return laid_aside


def _files(folder: Path, passed: tuple[str, ...] = ()) -> Iterator[PurePosixPath]:
    """Every file below a folder, links as they are and folders that are empty, in order.

    Raises
    ------
    OSError
        A folder cannot be looked into: what is in it would be lost.
    """
    for place, folders, names in os.walk(folder, onerror=_refuse):
        inside = PurePosixPath(Path(place).relative_to(folder).as_posix())
        if inside == PurePosixPath("."):
            folders[:], names = ([name for name in found if name not in passed] for found in (folders, names))
        links = [name for name in folders if os.path.islink(os.path.join(place, name))]
        folders[:] = sorted(set(folders) - set(links))
        yield from (inside / name for name in sorted([*names, *links]))
        if not (folders or names or links) and inside.parts:
            yield inside


def _refuse(error: OSError) -> None:
    raise error


def _taken(target: Path, staging: Path) -> bool:
    """Tell whether something else stands at a path, or a file where one of its folders would."""
    if os.path.lexists(target):
        return True
    return any(os.path.lexists(above) and not above.is_dir() for above in target.parents if above != staging.parent)


def _aside(folder: Path, file: Path, path: PurePosixPath) -> Path:
    """Return a free place for a file, in a folder named by when the file was last written."""
    stamp = datetime.fromtimestamp(file.lstat().st_mtime, UTC).strftime("%Y-%m-%dT%H%M%SZ")
    number, target = 1, folder / stamp / path
    while os.path.lexists(target):
        number += 1
        target = folder / f"{stamp}-{number}" / path
    return target


def _digest(file: Path) -> str:
    if file.is_symlink() or not file.is_file() or file.stat().st_size > _LARGEST_DIGESTED:
        return ""
    return hashlib.sha256(file.read_bytes()).hexdigest()


def _link(source: Path, target: Path) -> None:
    """Give a file a second name, or copy it where the file system has no such thing."""
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, target, follow_symlinks=False)
