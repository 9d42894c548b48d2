"""Who does the work: this process, or worker processes of this machine. What comes of it is the same."""

from __future__ import annotations

import mmap
import os
import pickle
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context, parent_process
from pathlib import Path
from typing import Any, BinaryIO, Protocol

from analyzer.errors import CallError
from analyzer.memory import give_back, look_for_garbage_seldom, reuse_memory
from analyzer.temporary import temporary_folder

# Arrays begin at multiples of so many bytes.
_ALIGNED = 64
# Whether a process is gone is looked at after so many seconds without an answer; the pool itself is left so many looks
# to notice it.
_LOOK_AFTER, _LOOKS = 2.0, 3


class Crew(Protocol):
    """Does a piece of work for each of several items."""

    def each(self, work: Callable[[Any, Any], Any], shared: Any, items: Iterable[Any]) -> Iterator[Any]:
        """Yield ``work(shared, item)`` for each item, in the order of the items."""


class Alone:
    """All work is done by this process, one item after another."""

    def each(self, work: Callable[[Any, Any], Any], shared: Any, items: Iterable[Any]) -> Iterator[Any]:
        """Yield ``work(shared, item)`` for each item."""
        return (work(shared, item) for item in items)

    def __enter__(self) -> Alone:
        return self

    def __exit__(self, *_: object) -> None:
        pass


class Workers:
    """The work is done by processes of this machine.

    ``shared`` is written to a file once, and read once by each process. Its arrays stand in a file of their own, in
    which each process looks at them without a copy. Of the items, no more are under way than keep every process busy,
    so that memory is bounded by the items and not by their number.

    Parameters
    ----------
    number : int
        How many processes; they start with the first piece of work.
    """

    def __init__(self, number: int):
        self._number = number
        self._pool = ProcessPoolExecutor(number, mp_context=get_context("spawn"), initializer=_settle_in)
        self._temporary = temporary_folder()
        self._folder = self._temporary.__enter__()
        self._files = 0
        self._arrays = _Arrays(self._folder / "arrays")

    def __enter__(self) -> Workers:
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        if kind is not None:  # nobody waits for what is under way
            self._end()
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._temporary.__exit__(None, None, None)

    def each(self, work: Callable[[Any, Any], Any], shared: Any, items: Iterable[Any]) -> Iterator[Any]:
        """Yield ``work(shared, item)`` for each item, in the order of the items.

        Raises
        ------
        CallError
            A process was ended from outside, as the machine does when memory runs out.
        """
        self._files += 1
        file = self._folder / f"{self._files}.pickle"
        try:
            file.write_bytes(pickle.dumps(self._arrays.apart(shared)))
        except OSError as error:  # it is the folder for temporary files that has no room: the system does not say so
            raise OSError(error.errno, error.strerror, str(self._folder.parent)) from None
        under_way: list[Future[Any]] = []
        try:
            for item in items:
                under_way.append(self._pool.submit(_one, work, str(file), item))
                if len(under_way) > self._number:
                    yield self._answer(under_way.pop(0))
            while under_way:
                yield self._answer(under_way.pop(0))
        except BrokenProcessPool:
            raise CallError(
                None, "a worker process was ended from outside, as a machine does when its memory runs out",
                "Run again with fewer --workers, or close other programs.",
            ) from None  # fmt: skip

    def _answer(self, future: Future[Any]) -> Any:
        """Wait for an answer; where a process was ended in the midst of one, the pool waits for its rest for ever."""
        looks = 0
        while not wait([future], _LOOK_AFTER).done:
            ended = [process for process in self._processes() if process.exitcode is not None]
            looks = looks + 1 if ended else 0
            if looks >= _LOOKS:
                self._end()
        return future.result()

    def _processes(self) -> list[Any]:
        return list((self._pool._processes or {}).values())

    def _end(self) -> None:
        """End every process, and the pipe of their answers: half an answer in it would be waited for, to no end."""
        for process in self._processes():
            process.terminate()
        self._pool._result_queue._writer.close()  # type: ignore[attr-defined]


@dataclass(frozen=True)
class _Packed:
    """Something pickled, without the arrays in it: they stand at places (first byte, bytes) of a file of their own."""

    rest: bytes
    arrays: Path
    places: list[tuple[int, int]]

    def unpacked(self) -> Any:
        if not self.places:
            return pickle.loads(self.rest)
        with self.arrays.open("rb") as file:
            there = os.fstat(file.fileno()).st_size  # nothing, where all arrays are empty: that cannot be mapped
            held = memoryview(mmap.mmap(file.fileno(), there, access=mmap.ACCESS_READ) if there else b"")
        return pickle.loads(self.rest, buffers=[held[first : first + size] for first, size in self.places])


class _Arrays:
    """A file of arrays for other processes to look at; one that is handed over again is not written again.

    So none may be written to once it was handed over; all of them stay in memory as long as this does.
    """

    def __init__(self, path: Path):
        self._path = path
        self._written: dict[tuple[int, int], tuple[tuple[int, int], memoryview]] = {}

    def apart(self, shared: Any) -> _Packed:
        """Write the arrays of something to the file, and return the rest of it."""
        found: list[pickle.PickleBuffer] = []
        rest = pickle.dumps(shared, pickle.HIGHEST_PROTOCOL, buffer_callback=found.append)
        with self._path.open("ab") as file:
            return _Packed(rest, self._path, [self._place(file, one.raw()) for one in found])

    def _place(self, file: BinaryIO, array: memoryview) -> tuple[int, int]:
        import numpy as np

        if not array.nbytes:
            return 0, 0
        # What stands at one address is the same array for as long as it is held here.
        key = (np.frombuffer(array, np.uint8).ctypes.data, array.nbytes)
        if key not in self._written:
            file.write(b"\0" * (-file.tell() % _ALIGNED))
            self._written[key] = ((file.tell(), array.nbytes), array)
            file.write(array)
        return self._written[key][0]


def crew_of(workers: int) -> Alone | Workers:
    """Return a crew of so many processes; of one it is this process."""
    return Workers(workers) if workers > 1 else Alone()


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _settle_in() -> None:
    """Prepare a worker: an interrupt is for the process that was called, and no worker outlives that one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    reuse_memory()
    look_for_garbage_seldom()
    threading.Thread(target=_leave_with, args=(parent_process(),), daemon=True).start()


def _leave_with(parent: Any) -> None:
    parent.join()
    os._exit(1)


@lru_cache(maxsize=2)
def _read(file: str) -> Any:
    return pickle.loads(Path(file).read_bytes()).unpacked()  # written by the process that started this one


def _one(work: Callable[[Any, Any], Any], file: str, item: Any) -> Any:
    try:
        return work(_read(file), item)
    finally:
        give_back()
