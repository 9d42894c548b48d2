"""One change at a time in a copy of the checkout, and the tests of its room run there until the first that fails."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.mutants.places import Place, places_of

CHECKOUT = Path(__file__).resolve().parents[2]
COPIED = ("analyzer", "rules", "sample_trends", "tests", "docs", "pyproject.toml", "README.md", "CHANGELOG.md")
# The folders whose tests a room of the core answers to: the quickest first.
TESTS = {
    "airside": ("tests/engineering", "tests/signals"),
    "signals": ("tests/signals", "tests/rules", "tests/engine/test_reasons.py"),
    "engine": ("tests/engine", "tests/rules/test_cases.py", "tests/findings"),
    "intake": ("tests/intake",),
}
KILLED, SURVIVED, TOO_LONG = "killed", "survived", "killed by time"


@dataclass(frozen=True)
class Mutant:
    """A change at a place of a file, named as seen from the checkout."""

    file: str
    place: Place

    @property
    def room(self) -> str:
        return Path(self.file).parts[1]

    def __str__(self) -> str:
        return f"{self.file}:{self.place}"


def drawn(number: int, seed: int, rooms: tuple[str, ...] = tuple(TESTS)) -> list[Mutant]:
    """Draw as many mutants from each room, each of its places as likely as any other; in the order of the files."""
    chosen = []
    for at, room in enumerate(rooms):
        every = [
            Mutant(file.relative_to(CHECKOUT).as_posix(), place)
            for file in sorted((CHECKOUT / "analyzer" / room).rglob("*.py"))
            for place in places_of(file.read_text(encoding="utf-8"))
        ]
        share = number // len(rooms) + (at < number % len(rooms))
        chosen += random.Random(f"{seed} {room}").sample(every, min(share, len(every)))
    return sorted(chosen, key=lambda mutant: (mutant.file, mutant.place.line))


class Copy:
    """A copy of the checkout, in which one file at a time is changed."""

    def __init__(self, folder: Path):
        self.folder = folder
        folder.mkdir(exist_ok=True)
        for name in COPIED:
            source = CHECKOUT / name
            if source.is_dir():
                shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "*.pyc"))
            else:
                shutil.copy(source, folder / name)

    def outcome(self, mutant: Mutant, seconds: float) -> str:
        """Make a change, run the tests of its room for so long at the most, and take the change back."""
        file = self.folder / mutant.file
        source = file.read_text(encoding="utf-8")
        file.write_text(mutant.place.changed(source), encoding="utf-8")
        try:
            return self.tested(TESTS[mutant.room], seconds)
        finally:
            file.write_text(source, encoding="utf-8")

    def tested(self, tests: tuple[str, ...], seconds: float) -> str:
        """Run tests in the copy: killed where one fails."""
        told = [sys.executable, "-B", "-m", "pytest", "-o", "addopts=", "-q", "-x", "-p", "no:cacheprovider", *tests]
        place = {"PATH": os.environ["PATH"], "PYTHONPATH": str(self.folder), "HOME": str(self.folder)}
        try:
            ended = subprocess.run(told, cwd=self.folder, env=place, capture_output=True, timeout=seconds)
        except subprocess.TimeoutExpired:
            return TOO_LONG
        return KILLED if ended.returncode else SURVIVED

    def seconds_of_sound(self, room: str, most: float) -> float:
        """Return how long a room's tests take where nothing is changed; they have to pass."""
        start = time.monotonic()
        if self.tested(TESTS[room], most) != SURVIVED:
            raise SystemExit(f"the tests of {room} fail as the code stands: {' '.join(TESTS[room])}")
        return time.monotonic() - start
