"""The same review over a cluster of Dask, for which the extra ``cluster`` is installed here and on every worker."""

from __future__ import annotations

import logging
import os
import pickle
import threading
import time
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

from analyzer import interrupts
from analyzer.errors import CallError

if TYPE_CHECKING:
    from distributed import Client, Future

# A piece of work is given to another worker so often when the one that had it is lost.
TRIES = 3
# A piece of work takes seconds. After so long without one that came back, nothing will come any more. Judgement.
STILL_SECONDS = 600.0
# For so long a cluster may be without a worker: another may be started by whoever runs it. Judgement.
NO_WORKER_SECONDS = 60.0
_LOOKED_AT_SECONDS = 0.5  # how often it is looked whether the cluster lives
_ANSWERED_WITHIN_SECONDS = 10
_FETCHED_WITHIN_SECONDS = 60
_CLOSED_WITHIN_SECONDS = 5


class Cluster:
    """The work is done by the workers of a scheduler; what a lost worker had is done by another.

    Parameters
    ----------
    scheduler : str
        Its address, as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    CallError
        The extra is not installed, or no scheduler answers.
    """

    def __init__(self, scheduler: str):
        try:
            from distributed import Client
        except ImportError:
            raise CallError(
                "--scheduler", "needs the extra 'cluster'", "Install it with: pip install 'trendwright[cluster]'."
            ) from None
        _keep_quiet()
        self._scheduler = scheduler
        try:
            self._client: Client = Client(scheduler, timeout="10s", set_as_default=False)
        except (OSError, ValueError) as error:
            raise CallError(
                "--scheduler", f"no scheduler answers at {scheduler} ({error})",
                "Start one with 'dask scheduler', and workers with 'dask worker'.",
            ) from None  # fmt: skip
        if self._workers() == 0:
            self._client.close()
            raise CallError("--scheduler", f"{scheduler} has no worker", f"Start one with: dask worker {scheduler}")

    def __enter__(self) -> Cluster:
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(OSError, TimeoutError):  # there may be nobody left to say goodbye to
            self._client.close(timeout=_CLOSED_WITHIN_SECONDS)

    def each(self, work: Callable[[Any, Any], Any], shared: Any, items: Iterable[Any]) -> Iterator[Any]:
        """Yield ``work(shared, item)`` for each item, in the order of the items.

        Raises
        ------
        CallError
            A piece of work was lost with every worker that had it, as happens where memory runs out; the scheduler or
            all workers are lost; or nothing came back for a long time.
        """
        # Bytes go from worker to worker as they are; what is made of them may hold, once it was used, what cannot be
        # sent. They are a task's outcome, so that they are there again where a worker is lost.
        packed = zlib.compress(pickle.dumps(shared, pickle.HIGHEST_PROTOCOL), 1)
        with self._told_when_lost():
            name = f"trendwright-{os.urandom(8).hex()}"
            ready = self._client.submit(_as_it_is, packed, key=name, pure=False)
            most = 2 * (self._workers() or 1) + 1
        under_way: list[Future[Any]] = []
        for item in items:
            with self._told_when_lost():
                under_way.append(self._client.submit(_one, work, name, ready, item, pure=False, retries=TRIES))
            if len(under_way) >= most:
                yield self._outcome(under_way)
        while under_way:
            yield self._outcome(under_way)

    def _outcome(self, under_way: list[Future[Any]]) -> Any:
        """Wait for the first of several pieces of work, as long as any of them moves."""
        first, done = under_way.pop(0), 0
        moved = lived = time.monotonic()
        ended = threading.Event()
        first.add_done_callback(lambda _: ended.set())
        while True:
            if first.done() and first.status == "error":
                self._raise(first.exception())
            with self._told_when_lost():
                if first.done():
                    if outcome := _fetched(first):
                        return outcome[0]
                elif ended.wait(_LOOKED_AT_SECONDS):
                    ended.clear()  # set again where it is lost, and then done by another worker
                    first.add_done_callback(lambda _: ended.set())
                    continue
                workers = self._workers()
            now = time.monotonic()
            lived = lived if workers == 0 else now
            if sum(one.done() for one in under_way) != done:
                done, moved = sum(one.done() for one in under_way), now
            if now - lived > NO_WORKER_SECONDS:
                raise CallError(
                    "--scheduler", f"{self._scheduler} has had no worker for {NO_WORKER_SECONDS:.0f} s",
                    f"See the workers' logs; start others with: dask worker {self._scheduler}",
                )  # fmt: skip
            if now - moved > STILL_SECONDS:
                raise CallError(
                    "--scheduler", f"no work came back from {self._scheduler} for {STILL_SECONDS:.0f} s",
                    "See the workers' logs, restart them, and run again.",
                )  # fmt: skip

    def _raise(self, error: BaseException) -> None:
        from distributed.scheduler import KilledWorker

        if isinstance(error, KilledWorker):
            raise CallError(
                "--scheduler", f"the same work was lost with {TRIES} workers ({error.last_worker})",
                "See the workers' logs; give them more memory.",
            ) from None  # fmt: skip
        raise error

    def _workers(self) -> int | None:
        """How many workers the scheduler has now; None where it does not say in time, as one that is busy may not."""
        asked = self._client.scheduler.ncores if self._client.scheduler else None
        if asked is None:
            return None
        try:
            return len(self._client.sync(asked, callback_timeout=_ANSWERED_WITHIN_SECONDS))
        except TimeoutError:
            return None

    @contextmanager
    def _told_when_lost(self) -> Iterator[None]:
        """Tell in a sentence that the scheduler is lost, with which all that was under way is lost too."""
        from asyncio import CancelledError as TaskCancelled
        from concurrent.futures import CancelledError

        from distributed.client import ClosedClientError

        try:
            yield
        except (OSError, TimeoutError, CancelledError, TaskCancelled, ClosedClientError):
            interrupts.check()
            raise CallError(
                "--scheduler", f"the scheduler at {self._scheduler} was lost",
                "See its log; start it and its workers again, and run again.",
            ) from None  # fmt: skip


def _fetched(future: Future[Any]) -> tuple[Any] | None:
    """Fetch the outcome of a piece of work; None where it does not come, as where the worker that had it was lost."""
    try:
        return (future.result(timeout=_FETCHED_WITHIN_SECONDS),)
    except TimeoutError:
        return None


def _not_of_the_library(record: logging.LogRecord) -> bool:
    return "distributed" not in record.getMessage()


def _keep_quiet() -> None:
    """Let the library write nothing of its own on what is raised and told here."""
    if not os.environ.get("TRENDWRIGHT_TRACEBACK"):
        logging.getLogger("asyncio").addFilter(_not_of_the_library)
        for name in [*logging.root.manager.loggerDict, "tornado.application"]:
            if name.split(".")[0] in ("distributed", "tornado"):
                logging.getLogger(name).setLevel(logging.CRITICAL + 1)


def _as_it_is(packed: bytes) -> bytes:
    return packed


class _Unpacked(threading.local):
    """What was unpacked last, by each thread of a worker for itself."""

    name: str = ""
    shared: Any = None


_unpacked = _Unpacked()


def _one(work: Callable[[Any, Any], Any], name: str, packed: bytes, item: Any) -> Any:
    if _unpacked.name != name:
        _unpacked.shared = None
        _unpacked.shared, _unpacked.name = pickle.loads(zlib.decompress(packed)), name
    return work(_unpacked.shared, item)
