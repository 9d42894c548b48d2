"""``python -m tests.drawn [--times N]``: every property with N times the examples that the suite draws."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path

from tests.drawn import TIMES

TESTS = Path(__file__).resolve().parents[1]


def main() -> int:
    """Run the files that draw examples, and return pytest's status."""
    parser = argparse.ArgumentParser(prog="python -m tests.drawn", description=__doc__)
    parser.add_argument("--times", type=int, default=10)
    times = parser.parse_args().times
    files = [file for file in sorted(TESTS.rglob("test_*.py")) if "@drawn(" in file.read_text(encoding="utf-8")]
    call = [sys.executable, "-m", "pytest", "-q", "--timeout", "0", *map(str, files)]
    return subprocess.run(call, cwd=TESTS.parent, env=os.environ | {TIMES: str(times)}).returncode


if __name__ == "__main__":
    sys.exit(main())
