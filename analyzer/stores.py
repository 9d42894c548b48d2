"""Where files lie: a folder of this machine, or an object store that pyarrow or fsspec can reach."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from analyzer.errors import CallError
from analyzer.own_files import listed
from analyzer.temporary import temporary_folder

if TYPE_CHECKING:  # the command answers --help before anything heavy is imported
    from pyarrow.fs import FileSystem

Location = str | Path
ROUNDS = "rounds"  # where copies of what others wrote are laid


def is_remote(location: Location) -> bool:
    """Tell whether a location names an object store, as ``s3://bucket/campus`` does, and no folder of this machine."""
    return "://" in str(location) and len(urlsplit(str(location)).scheme) > 1


def opened(location: Location) -> tuple[FileSystem, str]:
    """Return the file system of a location, and the location's path in it.

    Raises
    ------
    CallError
        Nothing that is installed can reach the location.
    """
    from pyarrow import fs

    if not is_remote(location):
        return fs.LocalFileSystem(), str(Path(location).absolute())
    try:
        found: tuple[Any, str] = fs.FileSystem.from_uri(str(location))
        return found
    except _failures():
        return _through_fsspec(str(location))


def _through_fsspec(location: str) -> tuple[FileSystem, str]:
    from pyarrow import fs

    try:
        import fsspec

        system, path = fsspec.core.url_to_fs(location)
    except (ImportError, *_failures()) as error:  # type: ignore[misc]
        raise CallError(
            location, f"cannot be reached ({error})",
            "Install the fsspec package for this kind of store, or copy the files to a folder.",
        ) from None  # fmt: skip
    return fs.PyFileSystem(fs.FSSpecHandler(system)), path


def files_under(location: Location, suffix: str) -> tuple[FileSystem, list[str]]:
    """Return the file system and the paths of all files with a suffix in a folder and the folders in it, in order."""
    from pyarrow import fs

    system, path = opened(location)
    try:
        found = system.get_file_info(fs.FileSelector(path, recursive=True))
    except _failures() as error:
        raise CallError(
            str(location), f"cannot be read ({error})", "Check the name, and that you may read it."
        ) from None
    return system, sorted(one.path for one in found if one.type is fs.FileType.File and one.path.endswith(suffix))


def _failures() -> tuple[type[Exception], ...]:
    """What a store's library raises where the store does not answer, or refuses."""
    import pyarrow as pa

    return OSError, ValueError, NotImplementedError, pa.ArrowException


@contextmanager
def at_hand(
    location: Location, wanted: tuple[str, ...] = (), known_by: tuple[str, ...] = (), kept: list[str] | None = None
) -> Iterator[Path]:
    """Give a folder of this machine to write into; what is in it afterwards goes to the location.

    Of this machine that is the folder itself. To an object store, which cannot swap one folder for another, the files
    go when all are whole, ``index.html`` last: who opens the report meanwhile sees the old one or the new one.

    Parameters
    ----------
    location : path or URL
    wanted : tuple of str
        The files and folders at the location that whoever writes has to see first, where they are there.
    known_by : tuple of str
        Those of them by which a place that may be written over is known.
    kept : list of str, optional
        Takes the paths of copies: in a store, of what others laid where a file is written now.

    Raises
    ------
    CallError
        Something stands in the store, and nothing by which it is known; or the store cannot be read or written.
    """
    if not is_remote(location):
        yield Path(location)
        return
    system, path = opened(location)
    with temporary_folder() as temporary:
        folder = temporary / "folder"
        with _told_of(location):
            there = {entry.base_name for entry in system.get_file_info(_directly_in(path))}
            if there and not there & {*known_by}:
                raise CallError(location, "holds files and no review", "Give the review a place of its own with --out.")
            _fetch(system, path, folder, wanted)
        own = listed(folder)
        yield folder
        with _told_of(location):
            laid_aside = _keep_others(system, path, folder, {*own, *_fetched(folder, wanted)})
            _send(system, path, folder)
        if kept is not None:
            kept += laid_aside


def _directly_in(path: str) -> Any:
    """Select what stands at a path of a file system; nothing where there is no such path."""
    from pyarrow import fs

    return fs.FileSelector(path, allow_not_found=True)


@contextmanager
def _told_of(location: Location) -> Iterator[None]:
    try:
        yield
    except _failures() as error:
        raise CallError(
            location, f"cannot be written ({error})", "Check the name, and that you may write there."
        ) from None


def _fetch(system: FileSystem, path: str, folder: Path, wanted: tuple[str, ...]) -> None:
    from pyarrow import fs

    here = fs.LocalFileSystem()
    for name in wanted:
        there = system.get_file_info(f"{path}/{name}")
        if there.type is not fs.FileType.NotFound:
            (folder / name if there.type is fs.FileType.Directory else folder).mkdir(parents=True, exist_ok=True)
            fs.copy_files(there.path, str(folder / name), source_filesystem=system, destination_filesystem=here)


def _fetched(folder: Path, wanted: tuple[str, ...]) -> Iterator[str]:
    """The files of a folder that were fetched before: what they said is carried over by whoever writes."""
    files = (file.relative_to(folder) for file in folder.rglob("*") if file.is_file())
    return (file.as_posix() for file in files if file.parts[0] in wanted)


def _keep_others(system: FileSystem, path: str, folder: Path, own: set[str]) -> list[str]:
    """Copy what stands where a file will be written, and was written by nobody of ours; return the copies' paths."""
    from pyarrow import fs

    there = system.get_file_info(fs.FileSelector(path, recursive=True, allow_not_found=True))
    standing = {one.path.removeprefix(f"{path.rstrip('/')}/") for one in there if one.type is fs.FileType.File}
    new = {file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file()}
    stamp = datetime.now(UTC).strftime("%Y-%m-%dT%H%M%SZ")
    copies = {name: f"{ROUNDS}/{stamp}/{name}" for name in sorted((standing & new) - own)}
    for name, copy in copies.items():
        system.create_dir(f"{path}/{copy}".rpartition("/")[0], recursive=True)
        system.copy_file(f"{path}/{name}", f"{path}/{copy}")
    return [*copies.values()]


def _send(system: FileSystem, path: str, folder: Path) -> None:
    from pyarrow import fs

    files = sorted(file for file in folder.rglob("*") if file.is_file())
    for file in sorted(files, key=lambda file: file.name == "index.html" and file.parent == folder):
        target = f"{path}/{file.relative_to(folder).as_posix()}"
        system.create_dir(target.rpartition("/")[0], recursive=True)
        fs.copy_files(
            str(file), target, source_filesystem=fs.LocalFileSystem(), destination_filesystem=system, use_threads=False
        )
