"""The command, run again and again from one process that has loaded it: a fork each, killed or interrupted on order.

``python -m tests.loaded.commands`` reads an order a line (JSON) and answers each with a line:

    {"calls": [["review", "exports"], ...], "cwd": ".", "signal": 9, "after": 0.3, "largest_file": 10000, "quick": true,
     "memory": 4000000000, "cpu": 60, "user": 65534, "checks": "/tmp/checks/line"}
    [{"status": -9, "seconds": 0.31, "out": "...", "err": "..."}, ...]

Several calls of one order run at once; the signal goes to the first. Where the tests run as root, ``user`` is whom the
command steps down to. A quick review leaves out the check of the table's contract, which takes most of a small review's
time and writes nothing; ``checks`` says where ``tests.loaded.checks`` listens, which runs it with its library loaded.
"""

from __future__ import annotations

import importlib
import json
import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

from analyzer.command import run
from tests.loaded import checks

CHECKOUT = Path(__file__).resolve().parents[2]
MARK = "TRENDWRIGHT_TEST_MARK"
LONGEST = 300  # seconds that a command may take
POLITE = {signal.SIGINT, signal.SIGTERM}
LOADED = (
    "pandas", "pyarrow.parquet", "pyarrow.csv", "pyarrow.compute", "openpyxl", "jinja2", "analyzer.cli",
    "analyzer.reviews", "analyzer.intake.reading", "analyzer.draft", "analyzer.normalized", "analyzer.complaint",
    "analyzer.rounds", "analyzer.rounds.handover", "analyzer.report.pages", "analyzer.demo",
    "encodings.utf_8_sig", "encodings.cp1252", "encodings.idna",
)  # fmt: skip


class Runner:
    """The process of ``tests.loaded.commands``, and the mark by which its descendants are known."""

    def __init__(self):
        self.mark = os.urandom(8).hex()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.loaded.commands"],
            cwd=CHECKOUT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            env={"PATH": os.environ["PATH"], "PYTHONPATH": str(CHECKOUT), MARK: self.mark},
        )  # fmt: skip

    def run(self, *calls, cwd: Path, **order) -> list[dict]:
        """Run calls at once; see the orders above. The contract's check has its library loaded unless ``checks`` is ""."""
        if checks.POSSIBLE and not order.keys() & {"quick", "checks", "user", "memory"}:
            order["checks"] = checks.CHECKS.address
        told = json.dumps({"calls": [list(call) for call in calls], "cwd": str(cwd), **order})
        self._process.stdin.write(told + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def descendants(self) -> list[str]:
        """The command lines of the processes that these commands left running."""
        return [line for pid, line in marked(self.mark) if pid != self._process.pid]

    def close(self) -> None:
        self._process.stdin.close()
        self._process.wait()
        self._process.stdout.close()


def marked(mark: str) -> list[tuple[int, str]]:
    """Find the living processes that carry a mark in their environment."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            environment = (folder / "environ").read_bytes()
            line = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode("utf-8", "replace").strip()
        except OSError:
            continue  # gone meanwhile, or another's
        if line and f"{MARK}={mark}".encode() in environment.split(b"\0"):
            found.append((int(folder.name), line))
    return found


def main() -> None:
    """Answer orders until there are no more."""
    for name in LOADED:
        importlib.import_module(name)
    for line in sys.stdin:
        print(json.dumps(_obey(json.loads(line))), flush=True)


def _obey(order: dict) -> list[dict]:
    start = time.monotonic()
    running = [_begin(call, order) for call in order["calls"]]
    if order.get("signal"):
        _send(running[0][0], order["signal"], order["after"])
    return [_end(*one, start) for one in running]


def _begin(call: list[str], order: dict):
    out, err = os.pipe(), os.pipe()
    sys.stdout.flush()
    signal.pthread_sigmask(signal.SIG_BLOCK, POLITE)  # a signal that comes early waits until the command listens
    child = os.fork()
    if child == 0:
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out[1], 1)
        os.dup2(err[1], 2)
        for end in (*out, *err):
            os.close(end)
        os.chdir(order["cwd"])
        if "largest_file" in order:
            resource.setrlimit(resource.RLIMIT_FSIZE, (order["largest_file"], order["largest_file"]))
        if "memory" in order:
            resource.setrlimit(resource.RLIMIT_AS, (order["memory"], order["memory"]))
            resource.setrlimit(resource.RLIMIT_CPU, (order["cpu"], order["cpu"]))
        if "user" in order and os.geteuid() == 0:
            os.setgroups([])
            os.setgid(order["user"])
            os.setuid(order["user"])
        if order.get("quick"):
            _leave_out_the_contract()
        elif order.get("checks"):
            checks.contract._started = lambda: checks.check_at(order["checks"])
        sys.argv = ["trendwright", *call]
        sys.stdout, sys.stderr = open(1, "w"), open(2, "w")  # noqa: SIM115 (the pipes, for the rest of its life)
        status = 1
        try:
            run(_listening)
        except SystemExit as leaving:
            status = leaving.code or 0
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, POLITE)
    os.close(out[1])
    os.close(err[1])
    return child, out[0], err[0]


def _listening():
    signal.pthread_sigmask(signal.SIG_UNBLOCK, POLITE)
    from analyzer.cli import app

    return app


def _leave_out_the_contract() -> None:
    import contextlib

    import analyzer.contract

    class Unchecked(contextlib.nullcontext):
        def __enter__(self):
            return self

        def take(self, trends) -> None:
            pass

        def outcome(self) -> dict:
            return {"suite": "left out", "success": True, "expectations": 0, "broken": []}

    analyzer.contract.ContractCheck = Unchecked


def _send(child: int, number: int, after: float) -> None:
    """Send a signal after a time, unless the command has ended by then (it stays unreaped, so its number is its own)."""
    time.sleep(after)
    os.kill(child, number)


def _end(child: int, out: int, err: int, start: float) -> dict:
    """Wait for a command and take what it says; one that hangs is ended and shows as killed."""
    said = {out: b"", err: b""}
    for pipe in said:
        os.set_blocking(pipe, False)
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        for pipe in said:
            said[pipe] += _there(pipe)
        if ended:
            break
        if time.monotonic() - start > LONGEST:
            os.kill(child, signal.SIGKILL)
        time.sleep(0.005)
    code = -os.WTERMSIG(status) if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)
    for pipe in said:
        os.close(pipe)
    texts = {name: said[pipe].decode("utf-8", "replace") for name, pipe in (("out", out), ("err", err))}
    return {"status": code, "seconds": time.monotonic() - start, **texts}


def _there(pipe: int) -> bytes:
    """Return what stands in a pipe; a process that outlived the command may hold its other end."""
    try:
        return os.read(pipe, 1 << 20)
    except BlockingIOError:
        return b""


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    main()
