"""Running a command, and what it said where it failed."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]


def complaint(
    call: Sequence[str | Path], *, cwd: Path = CHECKOUT, env: dict[str, str] | None = None, timeout: float = 600
) -> str:
    """Run a command; return an empty text where it ended with 0, else the call and all that it said."""
    ended = subprocess.run(
        [str(word) for word in call], cwd=cwd, env=os.environ | (env or {}), capture_output=True, text=True, timeout=timeout
    )  # fmt: skip
    if ended.returncode == 0:
        return ""
    return f"$ {' '.join(map(str, call))}\n{ended.stdout}{ended.stderr}"


def first_complaint(*calls: Sequence[str | Path], cwd: Path = CHECKOUT, env: dict[str, str] | None = None) -> str:
    """Run commands one after another until one fails; return what it said."""
    return next((said for call in calls if (said := complaint(call, cwd=cwd, env=env))), "")
