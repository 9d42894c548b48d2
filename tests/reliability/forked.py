"""The command, run again and again from one process that has loaded it: a fork each, killed or interrupted on order.

``python -m tests.reliability.forked`` reads an order a line (JSON) and answers each with a line:

    {"calls": [["review", "exports"], ...], "cwd": ".", "signal": 9, "after": 0.3, "largest_file": 10000}
    [{"status": -9, "seconds": 0.31, "out": "...", "err": "..."}, ...]

Several calls of one order run at once; the signal goes to the first.
"""

from __future__ import annotations

import importlib
import json
import os
import resource
import signal
import sys
import tempfile
import time

LOADED = (
    "pandas", "pyarrow.parquet", "pyarrow.csv", "pyarrow.compute", "openpyxl", "jinja2", "analyzer.cli",
    "analyzer.reviews", "analyzer.intake.reading", "analyzer.draft", "analyzer.normalized", "analyzer.complaint",
    "analyzer.rounds", "analyzer.rounds.handover", "analyzer.report.pages", "analyzer.demo",
)  # fmt: skip


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
    out, err = tempfile.TemporaryFile(), tempfile.TemporaryFile()
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out.fileno(), 1)
        os.dup2(err.fileno(), 2)
        os.chdir(order["cwd"])
        if "largest_file" in order:
            resource.setrlimit(resource.RLIMIT_FSIZE, (order["largest_file"], order["largest_file"]))
        sys.argv = ["trendwright", *call]
        from analyzer.__main__ import main as command

        try:
            command()
        except SystemExit as leaving:
            status = leaving.code or 0
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)
    return child, out, err


def _send(child: int, number: int, after: float) -> None:
    """Send a signal after a time, unless the command has ended by then (it stays unreaped, so its number is its own)."""
    time.sleep(after)
    os.kill(child, number)


def _end(child: int, out, err, start: float) -> dict:
    _, status = os.waitpid(child, 0)
    seconds = time.monotonic() - start
    texts = {}
    for name, file in (("out", out), ("err", err)):
        file.seek(0)
        texts[name] = file.read().decode("utf-8", "replace")
        file.close()
    code = -os.WTERMSIG(status) if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)
    return {"status": code, "seconds": seconds, **texts}


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    main()
