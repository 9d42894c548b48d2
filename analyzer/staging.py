"""Written whole or not at all: a staging place beside the target, one writer at a time, and a swap in one step.

Beside a target ``review`` stand, while it is written, ``.review.trendwright-lock`` and ``.review.trendwright-part``.
Both are gone afterwards, whatever happened; only a process that was killed outright leaves them, and the next one that
writes the same target takes them away, or, where a swap was cut in half, finishes it.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import BaseFileLock, FileLock, Timeout

from analyzer.errors import CallError
from analyzer.interrupts import check, unbroken

PATIENCE_SECONDS = 60.0  # for how long to wait for another process that writes the same target
_ASK_AGAIN_SECONDS = 0.1
_EXCHANGE = 2  # RENAME_EXCHANGE of Linux's renameat2
_NO_EXCHANGE = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM}


placed: list[Path] = []  # what this process has put in place: an interrupted command says so


@contextmanager
def folder_replaced(folder: Path, *, remedy: str = "Name another folder with --out.") -> Iterator[Path]:
    """Give a staging folder beside ``folder``, and put it in ``folder``'s place in one step if all went well.

    Raises
    ------
    CallError
        The place cannot be written, or another process is writing it; what stood there before is untouched.
    """
    shown, folder = folder, Path(folder).resolve()  # a link stays a link to the folder that is replaced
    with _written(folder, shown, remedy) as part:
        _take_back(folder)
        part.mkdir()
        yield part
        check()
        with unbroken():
            _swap(part, folder)
            placed.append(folder)


@contextmanager
def file_replaced(path: Path, *, remedy: str) -> Iterator[Path]:
    """Give the path of a staging file, and put it in ``path``'s place if all went well.

    Raises
    ------
    CallError
        The place cannot be written, or another process is writing it.
    """
    shown, path = path, Path(path).resolve()
    with _written(path, shown, remedy) as part:
        yield part
        check()
        with unbroken():
            shutil.copymode(path, part) if path.exists() else os.chmod(part, 0o666 & ~_umask())
            os.replace(part, path)
            placed.append(path)


@contextmanager
def files_placed(target: Path, names: Iterable[str], *, remedy: str) -> Iterator[Path]:
    """Give a staging folder, and put its files ``names`` into the target's folder if all went well.

    Parameters
    ----------
    target : Path
        The file, or folder of files, after which the staging place is named; it says what is being written.

    Notes
    -----
    Several files cannot be put in place in one step. The staging folder is first renamed to say that it is ready, and
    stays whole until all are placed: a reader asks :func:`newest`, and the next writer places what was left.
    """
    shown, target = target, Path(target).resolve()
    with _written(target, shown, remedy) as part:
        _finish(target)
        part.mkdir()
        yield part
        check()
        with unbroken():
            missing = [name for name in names if not (part / name).is_file()]
            if missing:
                raise AssertionError(f"{', '.join(missing)} was to be written and was not")
            part.rename(_beside(target, "ready"))
            _finish(target)
            placed.append(target)


@contextmanager
def one_writer(folder: Path, *, remedy: str) -> Iterator[Path]:
    """Let nobody else write into a folder, and give a staging folder beside it: what is moved from there stands.

    Raises
    ------
    CallError
        The place cannot be written, or another process is writing it.
    """
    shown, folder = folder, Path(folder).resolve()
    with _written(folder, shown, remedy) as part:
        part.mkdir()
        yield part
        placed.append(folder)


def finish_placing(target: Path, *, remedy: str) -> None:
    """Place what a process that was killed had made ready beside a target, if there is anything."""
    shown, target = target, Path(target).resolve()
    if _beside(target, "ready").is_dir():
        with _written(target, shown, remedy):
            _finish(target)


def newest(path: Path) -> Path:
    """Return where a file's newest whole version stands: itself, or what a killed process left ready beside it."""
    ready = _beside(Path(path), "ready") / Path(path).name
    return ready if ready.is_file() else Path(path)


def check_name(target: Path, *, remedy: str = "Name another with --out.") -> None:
    """Refuse a name that nothing can be written to, whoever asks.

    Raises
    ------
    CallError
        It is longer than the system allows, a link that leads to itself, or of bytes that spell no text: the pages and
        tables that name it could not be written.
    """
    try:
        str(target).encode("utf-8")
        with suppress(FileNotFoundError, NotADirectoryError, PermissionError):  # looked at by whoever writes
            os.stat(target)
    except OSError as error:
        raise CallError(target, f"cannot be written ({error.strerror})", remedy) from None
    except ValueError:
        raise CallError(target, "cannot be written (the name is no UTF-8)", remedy) from None


def check_place(target: Path, *, remedy: str) -> None:
    """Refuse a place that cannot be written, before the work for it is done.

    Raises
    ------
    CallError
        The folder in which the target, or the first of its folders, is to be made cannot be written.
    """
    check_name(target, remedy=remedy)
    first = Path(target).resolve()
    while not first.parent.exists() and first.parent != first:
        first = first.parent
    probe = _beside(first, "probe")
    try:
        with unbroken():
            os.close(os.open(probe, os.O_WRONLY | os.O_CREAT, 0o600))
            probe.unlink()
    except OSError as error:
        raise CallError(target, f"cannot be written ({error.strerror})", remedy) from None


# One writer ----------------------------------------------------------------------------------------------------------


@contextmanager
def _written(target: Path, shown: Path, remedy: str) -> Iterator[Path]:
    """Lock a target, hand out its staging place, and leave nothing of either behind."""
    part, lock = _beside(target, "part"), FileLock(_beside(target, "lock"), mode=0o600)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _wait_for(lock, shown, remedy)
        _remove(part)
        yield part
    except OSError as error:
        raise CallError(
            shown, f"cannot be written ({_reason(error)})", f"{remedy} What stood there before is untouched."
        ) from None
    finally:
        with unbroken():
            if lock.is_locked:
                _remove(part)
                with suppress(PermissionError):  # where no open file can be removed, the release removes it
                    Path(lock.lock_file).unlink(missing_ok=True)
                lock.release()


def _reason(error: OSError) -> str:
    """Say in the system's words what went wrong; libraries wrap them in words and lists of their own."""
    told = re.search(r"\[errno (\d+)\]", str(error), re.IGNORECASE)
    if error.strerror and "errno" not in error.strerror.lower():
        return error.strerror
    return os.strerror(int(told[1])) if told else error.strerror or str(error)


def _wait_for(lock: BaseFileLock, shown: Path, remedy: str) -> None:
    """Wait until a lock is ours; a file that whoever held it before took away is no longer the lock."""
    until = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() <= until:
        with unbroken(), suppress(Timeout):
            lock.acquire(blocking=False)
            return
        time.sleep(_ASK_AGAIN_SECONDS)
    raise CallError(
        shown, f"is being written by another trendwright, for more than {PATIENCE_SECONDS:.0f} s",
        f"Wait until it is done. {remedy}",
    )  # fmt: skip


def _beside(target: Path, what: str) -> Path:
    return target.with_name(f".{target.name}.trendwright-{what}")


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)


# The swap ------------------------------------------------------------------------------------------------------------


def _swap(part: Path, folder: Path) -> None:
    """Put a staging folder in a folder's place: in one step where the file system can, else in two."""
    if not folder.exists():
        os.chmod(part, 0o777 & ~_umask())
        part.rename(folder)
        return
    shutil.copymode(folder, part)
    if _exchange(part, folder):
        return  # what stood there is at the staging place now, and goes with it
    old = _beside(folder, "old")
    folder.rename(old)
    try:
        part.rename(folder)
    except OSError:
        old.rename(folder)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step; False where the system or the file system cannot."""
    import ctypes

    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None) if os.name == "posix" else None
    if renameat2 is None:
        return False
    here = -100  # AT_FDCWD: the paths are absolute
    if renameat2(here, os.fsencode(one), here, os.fsencode(other), _EXCHANGE) == 0:
        return True
    number = ctypes.get_errno()
    if number in _NO_EXCHANGE:
        return False
    raise OSError(number, os.strerror(number))


def _take_back(folder: Path) -> None:
    """Put back what a process that was killed between the two steps of a swap left aside."""
    old = _beside(folder, "old")
    if old.is_dir():
        if folder.exists():
            shutil.rmtree(old, ignore_errors=True)
        else:
            old.rename(folder)


def _finish(target: Path) -> None:
    """Place the files that stand ready; they stay ready until all are placed."""
    ready = _beside(target, "ready")
    if not ready.is_dir():
        return
    into = target if target.is_dir() else target.parent
    for file in sorted(ready.iterdir()):
        if (into / file.name).exists() and file.samefile(into / file.name):
            continue  # it was placed before, as a link
        beside = _beside(into / file.name, "new")
        beside.unlink(missing_ok=True)
        try:
            os.link(file, beside)
        except OSError:
            shutil.copy2(file, beside)
        os.replace(beside, into / file.name)
    ready.rename(_beside(target, "part"))
    _remove(_beside(target, "part"))


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
