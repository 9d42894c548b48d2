"""Where files lie: a folder of this machine, or an object store that pyarrow or fsspec can reach."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from analyzer.errors import CallError

if TYPE_CHECKING:  # the command answers --help before anything heavy is imported
    from pyarrow.fs import FileSystem

Location = str | Path


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
        return fs.FileSystem.from_uri(str(location))
    except (ValueError, NotImplementedError, OSError):
        return _through_fsspec(str(location))


def _through_fsspec(location: str) -> tuple[FileSystem, str]:
    from pyarrow import fs

    try:
        import fsspec

        system, path = fsspec.core.url_to_fs(location)
    except (ImportError, ValueError, OSError) as error:
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
    except OSError as error:
        raise CallError(
            str(location), f"cannot be read ({error})", "Check the name, and that you may read it."
        ) from None
    return system, sorted(one.path for one in found if one.type is fs.FileType.File and one.path.endswith(suffix))
