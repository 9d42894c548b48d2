"""A folder for what a command needs while it runs; what a killed process left is cleared at the next start."""

from __future__ import annotations

import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from analyzer.errors import CallError

PREFIX = "trendwright-"
# Beside a folder stands a file that is locked by the process whose folder it is, as long as that lives; it is there,
# and locked, before the folder is.
_LOCK = ".lock"


@contextmanager
def temporary_folder() -> Iterator[Path]:
    """Give a folder that is gone afterwards.

    Raises
    ------
    CallError
        No temporary folder can be written.
    """
    clear_abandoned()
    try:
        place = Path(tempfile.gettempdir())
    except FileNotFoundError as error:
        raise CallError(
            "the temporary folder",
            f"cannot be written ({error.strerror})",
            "Make room there, or name another in TMPDIR.",
        ) from None
    folder = place / f"{PREFIX}{secrets.token_hex(8)}"
    with FileLock(f"{folder}{_LOCK}", mode=0o600) as lock:
        try:
            folder.mkdir(mode=0o700)
            yield folder
        finally:
            _clear(folder, Path(lock.lock_file))


def clear_abandoned() -> None:
    """Remove the temporary folders of this user whose processes are gone."""
    with suppress(OSError):
        for file in Path(tempfile.gettempdir()).glob(f"{PREFIX}*{_LOCK}"):
            folder = file.with_name(file.name.removesuffix(_LOCK))
            with suppress(OSError, Timeout):  # another's, in use, or gone meanwhile
                if _is_ours(file) and not folder.is_symlink():
                    with FileLock(file, mode=0o600, blocking=False):
                        _clear(folder, file)


def _is_ours(file: Path) -> bool:
    return not hasattr(os, "geteuid") or file.lstat().st_uid == os.geteuid()


def _clear(folder: Path, lock: Path) -> None:
    """Remove a folder, and the file of its lock, which is ours."""
    shutil.rmtree(folder, ignore_errors=True)
    with suppress(PermissionError):  # where no open file can be removed, the release removes it
        lock.unlink(missing_ok=True)
