"""``main STEP EXCHANGE WHAT TARGET``: write a target in a process that kills itself before its step of that number.

It says ``whole`` where it had fewer steps. EXCHANGE is ``without`` where the file system cannot exchange two folders.
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path

from analyzer import staging

REMEDY = "Name another."


def write(folder: Path, text: str) -> None:
    """Replace a folder of two files."""
    with staging.folder_replaced(folder) as part:
        (part / "one").write_text(text)
        (part / "two").write_text(text)


def place(table: Path, text: str) -> None:
    """Put a table and a file that belongs to it in place."""
    with staging.files_placed(table, (table.name, "two"), remedy=REMEDY) as part:
        (part / table.name).write_text(text)
        (part / "two").write_text(text)


class Steps:
    """Counts what changes files, and kills this process before the step of a number."""

    def __init__(self, left: int):
        self._left = left

    def counted(self, real: Callable) -> Callable:
        """Return a function that counts as a step."""

        def call(*given, **named):
            self._left -= 1
            if self._left < 0:
                os.kill(os.getpid(), signal.SIGKILL)
            return real(*given, **named)

        return call


def main() -> None:
    """Do what the arguments say."""
    _, step, exchange, what, target = sys.argv
    steps = Steps(int(step))
    if exchange == "without":
        staging._exchange = lambda one, other: False
    for where, name in (
        (os, "rename"), (os, "replace"), (os, "link"), (shutil, "rmtree"), (os, "unlink"), (os, "close"),
        (Path, "rename"), (Path, "unlink"), (staging, "_exchange"),
    ):  # fmt: skip
        setattr(where, name, steps.counted(getattr(where, name)))
    (place if what == "place" else write)(Path(target), "new")
    print("whole")
