"""A folder for what a command needs while it runs; what a killed process left is cleared at the next start."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from analyzer.errors import CallError

PREFIX = "trendwright-"
_LOCK = ".in-use"  # locked by the process whose folder it is, for as long as that lives


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
        tempfile.gettempdir()
    except FileNotFoundError as error:
        raise CallError(
            "the temporary folder",
            f"cannot be written ({error.strerror})",
            "Make room there, or name another in TMPDIR.",
        ) from None
    with tempfile.TemporaryDirectory(prefix=PREFIX, ignore_cleanup_errors=True) as name:
        lock = _locked_in(Path(name))
        try:
            yield Path(name)
        finally:
            if lock is not None:
                os.close(lock)


def clear_abandoned() -> None:
    """Remove the temporary folders of this user whose processes are gone."""
    try:
        import fcntl
    except ImportError:  # no such locks on this system: nothing tells whose process is gone
        return
    with suppress(OSError):
        for lock in Path(tempfile.gettempdir()).glob(f"{PREFIX}*/{_LOCK}"):
            with suppress(OSError):  # another's, or gone meanwhile
                if lock.lstat().st_uid != os.geteuid() or lock.parent.is_symlink():
                    continue
                handle = os.open(lock, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
                try:
                    fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    shutil.rmtree(lock.parent, ignore_errors=True)
                finally:
                    os.close(handle)


def _locked_in(folder: Path) -> int | None:
    """Lock a folder as this process's; the lock is held before anybody can see it."""
    try:
        import fcntl
    except ImportError:
        return None
    handle = os.open(folder / f"{_LOCK}-new", os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o600)
    fcntl.flock(handle, fcntl.LOCK_EX)
    os.rename(folder / f"{_LOCK}-new", folder / _LOCK)
    return handle
