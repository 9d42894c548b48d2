"""How a process that is ours alone handles memory. A library leaves that to its host."""

from __future__ import annotations

import ctypes
import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress

_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3  # of GNU's malloc.h


def reuse_memory() -> None:
    """Keep the memory of arrays that are done with for the next ones, where the C library can be told to.

    It would give each large array back to the system, and get every page of the next one anew: up to a third of the
    time of reading and of judging.
    """
    with suppress(OSError, AttributeError):
        library = ctypes.CDLL(None)
        library.mallopt(_MMAP_THRESHOLD, 1 << 30)
        library.mallopt(_TRIM_THRESHOLD, 1 << 30)


def give_back() -> None:
    """Give memory that is done with back to the system, between pieces of work: another process may need it."""
    if pyarrow := sys.modules.get("pyarrow"):
        pyarrow.default_memory_pool().release_unused()
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)


def look_for_garbage_seldom() -> None:
    """Look for garbage after a hundred thousand new objects, not seven hundred: nearly all goes by itself.

    A fifteenth of the time of judging.
    """
    gc.set_threshold(100_000, 20, 20)


@contextmanager
def loading() -> Iterator[None]:
    """Load modules without looking for garbage among what they make: it is there to stay, and is not looked at again.

    The search takes a tenth of a small review.
    """
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()
