"""The same review over a cluster of Dask, for which the extra ``cluster`` is installed here and on every worker."""

from __future__ import annotations

import logging
import pickle
import zlib
from typing import Any

from analyzer.errors import CallError

# A piece of work is given to another worker so often when the one that had it is lost.
TRIES = 3


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
        # Cut off while it waits, the library writes a trace of its own clean-up; what is to be said is raised.
        logging.getLogger("tornado.application").setLevel(logging.CRITICAL)
        try:
            self._client = Client(scheduler, timeout="10s", set_as_default=False)
        except (OSError, ValueError) as error:
            raise CallError(
                "--scheduler", f"no scheduler answers at {scheduler} ({error})",
                "Start one with 'dask scheduler', and workers with 'dask worker'.",
            ) from None  # fmt: skip
        if not self._client.scheduler_info()["workers"]:
            self._client.close()
            raise CallError("--scheduler", f"{scheduler} has no worker", f"Start one with: dask worker {scheduler}")

    def __enter__(self) -> Cluster:
        return self

    def __exit__(self, *_) -> None:
        self._client.close()

    def each(self, work, shared, items):
        """Yield ``work(shared, item)`` for each item, in the order of the items.

        Raises
        ------
        CallError
            A piece of work was lost with every worker that had it, as happens where memory runs out.
        """
        from distributed.scheduler import KilledWorker

        # Made on the workers by a task of its own, so that it can be made again where a worker is lost.
        packed = zlib.compress(pickle.dumps(shared, pickle.HIGHEST_PROTOCOL), 1)
        ready = self._client.submit(_unpacked, packed, pure=False)
        most = 2 * max(len(self._client.scheduler_info()["workers"]), 1) + 1
        under_way: list[Any] = []
        try:
            for item in items:
                under_way.append(self._client.submit(work, ready, item, pure=False, retries=TRIES))
                if len(under_way) >= most:
                    yield under_way.pop(0).result()
            while under_way:
                yield under_way.pop(0).result()
        except KilledWorker as error:
            raise CallError(
                "--scheduler", f"the same work was lost with {TRIES} workers ({error.last_worker})",
                "See the workers' logs; give them more memory.",
            ) from None  # fmt: skip


def _unpacked(packed: bytes) -> Any:
    return pickle.loads(zlib.decompress(packed))
