"""The command, run as a user runs it: a process of its own, in a folder of its own."""

import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    status: int
    out: str
    err: str


@pytest.fixture(scope="session")
def trendwright():
    """Return a function that runs the command: ``trendwright("review", "demo", cwd=folder)``."""

    def run(*call, cwd: Path) -> Ran:
        ended = subprocess.run(
            [sys.executable, "-m", "analyzer", *map(str, call)],
            cwd=cwd, capture_output=True, text=True, timeout=300, env={"PATH": "/usr/bin:/bin", "PYTHONPATH": str(CHECKOUT)},
        )  # fmt: skip
        assert "Traceback" not in ended.stderr, ended.stderr
        return Ran(ended.returncode, ended.stdout, ended.stderr)

    return run


@pytest.fixture(scope="session")
def demo(trendwright, tmp_path_factory):
    """The demo building's exports in every shape, and a review of each: shape to (exports, review folder, how it ended)."""
    room = tmp_path_factory.mktemp("demo")
    reviews = {}
    for shape in ("mix", "wide", "long", "parquet"):
        assert trendwright("demo", shape, "--shape", shape, cwd=room).status == 0
        ran = trendwright("review", shape, "--out", f"review-{shape}", cwd=room)
        reviews[shape] = (room / shape, room / f"review-{shape}", ran)
    return reviews
