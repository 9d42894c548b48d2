"""The command, run in a process of its own, in a folder of its own."""

from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    status: int
    out: str
    err: str


@pytest.fixture(scope="session")
def trendwright(runner):
    """Return a function that runs the command: ``trendwright("review", "demo", cwd=folder)``."""

    def run(*call, cwd: Path) -> Ran:
        (ended,) = runner.run(map(str, call), cwd=cwd)
        assert "Traceback" not in ended["err"], ended["err"]
        return Ran(ended["status"], ended["out"], ended["err"])

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
