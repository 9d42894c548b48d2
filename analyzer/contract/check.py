"""A check under way: the process that loads the library, what it is handed, and what it answers."""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from analyzer.errors import ContractError

if TYPE_CHECKING:  # the process is started before anything heavy is imported
    from concurrent.futures import Future

    from analyzer.trends import TrendSource

# So many rows are handed over and checked at a time: some 150 MB beside the library's own 250.
MOST_ROWS = 300_000


class ContractCheck:
    """A check under way. Use it as a context manager: leaving it ends its process, whatever happened."""

    def __init__(self) -> None:
        self._process = _AHEAD.pop() if _AHEAD else _started()
        self._answer: Future[bytes] | None = None
        self._rows = 0

    def __enter__(self) -> ContractCheck:
        return self

    def __exit__(self, *_: object) -> None:
        _end(self._process)

    def take(self, trends: TrendSource) -> None:
        """Hand over a table, to be checked while the caller goes on."""
        from concurrent.futures import ThreadPoolExecutor

        self._rows = int(trends.rows.sum())
        thread = ThreadPoolExecutor(1)
        self._answer = thread.submit(self._ask, trends)
        thread.shutdown(wait=False)

    def outcome(self) -> dict[str, Any]:
        """Wait for what the check of the table that was taken came to.

        Returns
        -------
        dict
            As ``analyzer.contract.suite.check`` returns it; what it says is broken are values, of rows that are named.

        Raises
        ------
        ContractError
            The table is not of the form that everything else rests on, or the check itself could not run.
        """
        found = _read(self._answer.result() if self._answer else b"")
        if found.get("rows") != self._rows:
            why = found.get("failed") or f"{found.get('rows', 'none')} of {self._rows} rows were looked at"
            raise ContractError(
                None, f"the data contract could not be checked: {' '.join(why.split())[:300]}",
                "Check that great_expectations is installed and imports.",
            )  # fmt: skip
        if stops := [_sentence(one) for one in found["broken"] if one["stops"]]:
            raise ContractError(
                "normalized table", f"breaks its data contract: {'; '.join(stops)}",
                "Check the units and point names of the exports; if they are right, report a fault of trendwright.",
            )  # fmt: skip
        return found

    def _ask(self, trends: TrendSource) -> bytes:
        """Hand the table to the process and return its answer; empty where the process is gone."""
        assert self._process.stdin and self._process.stdout
        # Where it has ended, or the pipe was closed, meanwhile, it may have said why.
        with suppress(OSError, ValueError), self._process.stdin as pipe:
            for part in _parts(trends):
                pickle.dump(part, pipe, pickle.HIGHEST_PROTOCOL)
        with suppress(OSError, ValueError):
            return self._process.stdout.read()
        return b""


def _parts(trends: TrendSource) -> Iterator[TrendSource]:
    """Yield a table in memory some terminals at a time; stored files are read by whoever checks them."""
    from analyzer.dataset import Dataset
    from analyzer.dataset.writing import stretches

    if isinstance(trends, Dataset):
        yield trends
    else:
        yield from map(trends.of, stretches(trends.tags, trends.rows, MOST_ROWS))


def _sentence(broken: dict[str, Any]) -> str:
    rows = ", ".join(f"{row['terminal']} {row['time']}" for row in broken["rows"])
    return f"{broken['column']}: expected {broken['expected']}" + (f", not so at {rows}" if rows else "")


def _read(answer: bytes) -> dict[str, Any]:
    """Read what the process answered; empty where it is no answer."""
    try:
        found = json.loads(answer)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


_AHEAD: list[subprocess.Popen[bytes]] = []


def start_ahead() -> Callable[[], None]:
    """Start the process of the check to come, so that it loads beside the command itself.

    Returns
    -------
    callable
        Ends the process if no check has taken it by then.
    """
    with suppress(OSError):  # then the check itself will try, and say what is wrong
        _AHEAD.append(_started())
    return _end_ahead


def _end_ahead() -> None:
    while _AHEAD:
        _end(_AHEAD.pop())


def _end(process: subprocess.Popen[bytes]) -> None:
    if process.poll() is None:
        process.kill()
    process.wait()
    for stream in filter(None, (process.stdin, process.stdout)):
        with suppress(OSError):  # what was not handed over yet stays so
            stream.close()


def _started() -> subprocess.Popen[bytes]:
    environment = os.environ | {
        "GX_ANALYTICS_ENABLED": "false",  # the library would report its use to its authors over the network
        "OPENBLAS_NUM_THREADS": "1",  # threads that wait for work are a burden to the review beside it
        "PYTHONWARNINGS": "ignore",
    }
    return subprocess.Popen(
        [sys.executable, "-m", "analyzer.contract"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment,
    )  # fmt: skip
