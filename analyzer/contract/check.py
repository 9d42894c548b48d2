"""A check under way: the processes that load the library, what they are handed, and what they answer."""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from analyzer.errors import ContractError

if TYPE_CHECKING:  # the process is started before anything heavy is imported
    from pandas import DataFrame

# How a process loads the library; see ``analyzer.contract.lean``.
LEAN, WHOLE = "lean", "whole"


class ContractCheck:
    """A check under way. Use it as a context manager: leaving it ends its processes, whatever happened.

    The process that starts with it loads no more of the library than a check takes. Only its plain yes is taken; where
    it says anything else, or nothing, another one loads the whole library, and what that one says counts.
    """

    def __init__(self) -> None:
        self._processes: list[subprocess.Popen] = []
        self._lock = threading.Lock()
        self._left = False
        self._answer: tuple[bytes, bytes] = (b"", b"")
        self._talk: threading.Thread | None = None
        if _AHEAD:
            self._processes.append(_AHEAD.pop())
        else:
            self._start(LEAN)

    def __enter__(self) -> ContractCheck:
        return self

    def __exit__(self, *_) -> None:
        with self._lock:
            self._left = True
        for process in self._processes:
            _end(process)
        if self._talk is not None:
            self._talk.join()
        for process in self._processes:
            _close(process)

    def take(self, rows: DataFrame) -> None:
        """Hand over the rows that stand in for a table (see ``extremes``), to be checked while the caller goes on."""
        self._talk = threading.Thread(target=self._ask, args=(as_bytes(rows),), daemon=True)
        self._talk.start()

    def outcome(self) -> dict:
        """Wait for what the check of the table that was taken came to.

        Returns
        -------
        dict
            ``{"suite", "success", "expectations", "broken": [...]}``

        Raises
        ------
        ContractError
            The table breaks its contract, or the check itself could not run.
        """
        if self._talk is not None:
            self._talk.join()
        answer, complaint = self._answer
        told = _read(answer)
        if told is None:
            said = complaint.decode("utf-8", "replace").strip()[-300:]
            raise ContractError(
                None, f"the data contract could not be checked: {said or 'its process ended'}",
                "Check that great_expectations is installed and imports.",
            )  # fmt: skip
        if not told["success"]:
            raise ContractError(
                "normalized table", f"breaks its data contract: {'; '.join(told['broken'])}",
                "Check the units and point names of the exports; if they are right, report a fault of trendwright.",
            )  # fmt: skip
        return told

    def _start(self, loading: str) -> bool:
        """Start a process that loads the library, unless the check was left meanwhile; tell whether it did."""
        with self._lock:
            if not self._left:
                self._processes.append(_started(loading))
            return not self._left

    def _ask(self, table: bytes) -> None:
        self._answer = self._asked(table)
        told = _read(self._answer[0])
        if told and told["success"]:
            return
        with suppress(OSError):  # no other process can be had: what the first one said stands
            if self._start(WHOLE):
                self._answer = self._asked(table)

    def _asked(self, table: bytes) -> tuple[bytes, bytes]:
        """What the latest process answers to a table, and what it complains of."""
        try:
            return self._processes[-1].communicate(table)
        except (OSError, ValueError):  # the process is gone, or was ended meanwhile: no answer says so
            return b"", b""


_AHEAD: list[subprocess.Popen] = []


def start_ahead() -> Callable[[], None]:
    """Start the first process of the check to come, so that it loads beside the command itself.

    Returns
    -------
    callable
        Ends the process if no check has taken it by then.
    """
    with suppress(OSError):  # then the check itself will try, and say what is wrong
        _AHEAD.append(_started(LEAN))
    return _end_ahead


def _end_ahead() -> None:
    while _AHEAD:
        process = _AHEAD.pop()
        _end(process)
        _close(process)


def _end(process: subprocess.Popen) -> None:
    if process.poll() is None:
        process.kill()
    process.wait()


def _close(process: subprocess.Popen) -> None:
    for stream in filter(None, (process.stdin, process.stdout, process.stderr)):
        stream.close()


def _started(loading: str) -> subprocess.Popen:
    environment = os.environ | {
        "GX_ANALYTICS_ENABLED": "false",  # the library would report its use to its makers over the network
        "OPENBLAS_NUM_THREADS": "1",  # threads that wait for work are a burden to the review beside it
        "PYTHONWARNINGS": "ignore",
    }
    return subprocess.Popen(
        [sys.executable, "-m", "analyzer.contract", loading],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment,
    )  # fmt: skip


def as_bytes(rows: DataFrame) -> bytes:
    """Return rows as the process takes them: by column, so that it needs none of what stores tables."""
    plain = {"terminal": object, "time": "datetime64[us]"}  # else they come as types of the table library's own
    return pickle.dumps({name: rows[name].to_numpy(plain.get(name)) for name in rows}, pickle.HIGHEST_PROTOCOL)


def _read(answer: bytes) -> dict | None:
    """Read what a process answered; None where it is no answer."""
    try:
        return json.loads(answer)
    except ValueError:
        return None
