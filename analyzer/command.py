"""Run the command as a user meets it: every ending is a status and at most one line, whatever went wrong."""

from __future__ import annotations

import errno
import os
import sys
import warnings
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TextIO

from analyzer import interrupts
from analyzer.errors import LONGEST, UserError, printable, without_secrets

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS}
# What a file's name or its permissions bring about, whoever opens it.
_OF_A_NAME = {errno.EACCES, errno.EPERM, errno.ELOOP, errno.ENAMETOOLONG, errno.ENOTDIR, errno.ESTALE, errno.EIO}


def run(load: Callable[[], Callable[..., Any]]) -> None:
    """Load the command, run it, and leave with its status.

    Parameters
    ----------
    load : callable
        Imports and returns the command, so that an interruption of the import itself is told in one line too.
    """
    sys.unraisablehook = _swallowed
    if not sys.warnoptions and not os.environ.get("TRENDWRIGHT_TRACEBACK"):
        warnings.simplefilter("ignore")  # a library's word to its programmers is none to a user
    try:
        interrupts.listen()
        _stand_in_for_closed_streams()
        status = load()(standalone_mode=False) or 0
        interrupts.check()  # the library that parses the call takes an interruption for an ending of its own
    except UserError as error:
        status = _refused(str(error))
    except KeyboardInterrupt:
        status = _refused(_stopped())
    except BrokenPipeError:
        status = 0  # whoever read the output has seen enough
    except MemoryError:
        status = _refused("the machine ran out of memory; give fewer exports at a time")
    except OSError as error:
        status = _refused(_of_the_system(error))
    except Exception as error:  # the last resort: a fault of ours, told as one
        status = _refused(_stopped() if interrupts.asked() else _other(error))
    if interrupts.asked():
        _leave_at_once(status)
    _leave(status)


def _leave_at_once(status: int) -> None:
    """Leave without waiting for a thread that still reads: all that was written is in place or taken away by now."""
    with suppress(OSError):
        sys.stdout.flush()
    with suppress(OSError):
        sys.stderr.flush()
    os._exit(status)


def _swallowed(unraisable: Any) -> None:
    """Say nothing of what a library's clean-up swallowed: an interruption among it is remembered and heard later."""
    if os.environ.get("TRENDWRIGHT_TRACEBACK"):
        sys.__unraisablehook__(unraisable)


def _stopped() -> str:
    from analyzer.staging import placed

    if placed:
        return f"interrupted; {placed[-1]} was written whole before"
    return "interrupted; nothing was written"


def _of_the_system(error: OSError) -> str:
    """Say what the system refused; where it names no file, the fault is ours."""
    where = f"{os.fsdecode(error.filename)}: " if isinstance(error.filename, str | bytes) else ""
    if error.errno in _NO_ROOM:
        return f"{where}cannot be written ({error.strerror}). Free space, and run again."
    if where and error.errno in _OF_A_NAME:
        return f"{where}cannot be used ({error.strerror}). Check the name, and that you may read it."
    return _own_fault(error)


def _other(error: Exception) -> str:
    """Tell what may be the system's refusal under another name: as of a link that leads to itself."""
    refused = error.__context__
    if isinstance(error, RuntimeError) and isinstance(refused, OSError) and refused.errno == errno.ELOOP:
        return _of_the_system(refused)
    return _own_fault(error)


def _own_fault(error: Exception) -> str:
    if hasattr(error, "format_message"):  # what typer found wrong in the call
        command = getattr(getattr(error, "ctx", None), "command_path", "trendwright")
        return f"{error.format_message().rstrip('.')}. See '{command} --help'."
    if os.environ.get("TRENDWRIGHT_TRACEBACK"):
        raise error
    return (
        f"a fault of trendwright itself ({type(error).__name__}: {error}). "
        "Set TRENDWRIGHT_TRACEBACK=1, run again, and report what it prints."
    )


def _refused(sentence: str) -> int:
    if sys.stderr.isatty():
        sys.stderr.write("\r\x1b[K")
    line = f"trendwright: {without_secrets(printable(' '.join(sentence.split())))}"
    over = len(line) - LONGEST + 1
    if over > 0:  # what to do stands at the end and is kept
        found, mark, remedy = line.rpartition("…") if "…" in line else (line, "", "")
        line = found[:-over] + mark + remedy
    print(line, file=sys.stderr)
    return 2


class _Plain:
    """A stream that passes no sign on that would command a terminal: names in exports are other people's."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        return self._stream.write(without_secrets("\n".join(map(printable, text.expandtabs().split("\n")))))


def _stand_in_for_closed_streams() -> None:
    """Give a closed standard stream to the null device, lest a file opened later be taken for it; keep output plain."""
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the lowest number that is free: this one
        if getattr(sys, name) is None:
            setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    sys.stdout = _Plain(sys.stdout)


def _leave(status: int) -> None:
    """Write out what is left to say, and leave; an output that nobody reads any more is no fault."""
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _to_nowhere(sys.stdout)
    except OSError as error:
        _to_nowhere(sys.stdout)
        status = _refused(f"standard output cannot be written ({error.strerror}). Free space, and run again.")
    sys.exit(status)


def _to_nowhere(stream: TextIO) -> None:
    """Send what a stream still holds to the null device, so that the interpreter's own last flush is quiet."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
