"""Processes that find their libraries loaded: each is forked from a server that imported them once.

``python -m tests.loaded.server ADDRESS MODULE ...`` imports the modules and listens on a socket of this machine. Whoever
calls names a module with a ``main``, its arguments, and hands over its three standard streams; it is given the number of
the process that runs it. The server ends with its standard input.
"""

from __future__ import annotations

import atexit
import gc
import importlib
import json
import os
import select
import signal
import socket
import struct
import subprocess
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
POSSIBLE = hasattr(os, "pidfd_open") and hasattr(socket, "send_fds")  # on Linux
LONGEST_CALL = 10_000  # bytes
_NUMBER = struct.Struct("i")


class Process:
    """A process under way, with as much of ``subprocess.Popen`` as its callers use; how it ended is not known."""

    def __init__(self, address: str, module: str, arguments: tuple[str, ...], streams: list[int]):
        call = json.dumps([module, *arguments]).encode()
        assert len(call) <= LONGEST_CALL
        with socket.socket(socket.AF_UNIX) as line:
            line.connect(address)
            socket.send_fds(line, [call], streams)
            (self.pid,) = _NUMBER.unpack(line.recv(_NUMBER.size))
        self.stdin = self.stdout = self.stderr = None
        self._handle = None
        with suppress(ProcessLookupError):  # it has ended already
            self._handle = os.pidfd_open(self.pid)

    def poll(self) -> int | None:
        """Return 0 where it has ended."""
        return 0 if self._handle is None or select.select([self._handle], [], [], 0)[0] else None

    def send_signal(self, number: int) -> None:
        with suppress(ProcessLookupError):
            if self._handle is not None:
                signal.pidfd_send_signal(self._handle, number)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)

    def wait(self) -> int:
        if self._handle is not None:
            select.select([self._handle], [], [])
            os.close(self._handle)
            self._handle = None
        return 0


class Server:
    """A server of its own for each set of modules: started on first use, ended with the process that started it."""

    def __init__(self, *modules: str):
        self._modules = modules
        self._process = None
        self._address = ""

    @property
    def address(self) -> str:
        """Where it listens."""
        if self._process is None:
            room = tempfile.TemporaryDirectory(prefix="trendwright-loaded-")
            atexit.register(room.cleanup)
            self._address = f"{room.name}/line"
            self._process = subprocess.Popen(
                [sys.executable, "-W", "ignore", "-m", "tests.loaded.server", self._address, *self._modules],
                cwd=CHECKOUT, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                env=os.environ | {"GX_ANALYTICS_ENABLED": "false", "OPENBLAS_NUM_THREADS": "1", "PYTHONPATH": str(CHECKOUT)},
            )  # fmt: skip
            atexit.register(self.close)
            assert self._process.stdout.readline() == b"listening\n"
        return self._address

    def close(self) -> None:
        """End it."""
        if self._process is not None:
            self._process.stdin.close()
            self._process.stdout.close()
            self._process.wait()
            self._process = None


def main(address: str, *modules: str) -> None:
    """Load modules, and fork a process for each call."""
    gc.disable()  # what is imported leaves nothing to collect
    for module in modules:
        importlib.import_module(module)
    gc.freeze()
    gc.enable()
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(address)
        listening.listen()
        print("listening", flush=True)
        while sys.stdin not in (ready := select.select([listening, sys.stdin], [], [], 1.0)[0]):
            _bury()
            if not ready:
                continue
            caller, _ = listening.accept()
            with caller:
                call, streams, _, _ = socket.recv_fds(caller, LONGEST_CALL, 3)
                caller.sendall(_NUMBER.pack(_forked(json.loads(call), streams, (caller, listening))))
                for stream in streams:
                    os.close(stream)
    _bury()


def _bury() -> None:
    """Take note of the children that have ended; what they used counts as the server's from then on."""
    with suppress(ChildProcessError):  # there is none
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def _forked(call: list[str], streams: list[int], others: tuple[socket.socket, ...]) -> int:
    """Run a call in a child; return its number."""
    child = os.fork()
    if child:
        return child
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        for other in others:
            other.close()
        for number, stream in enumerate(streams):
            os.dup2(stream, number)
            os.close(stream)
        sys.argv = call
        importlib.import_module(call[0]).main()
    finally:
        with suppress(OSError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
