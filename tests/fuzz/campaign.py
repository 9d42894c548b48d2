"""Many inputs, tried in processes of their own so that not even a crash of a library stops the run."""

from __future__ import annotations

import json
import os
import resource
import select
import signal
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from tests.fuzz.corpus import Files
from tests.fuzz.mutate import mutated
from tests.fuzz.trying import WHOLE_REVIEW_EVERY, lay, try_one

MEMORY = 6 * 1024**3  # bytes of address space
_BATCH = 200  # inputs a process tries
_SILENCE = 90.0  # seconds without an answer after which a process is taken to hang
_PASSES = 3  # how often a failing input is gone over to make it smaller


@dataclass
class Found:
    """What a run came to: outcomes counted, and each distinct failure with the number of its first input."""

    seed: int
    counted: Counter = field(default_factory=Counter)
    failures: dict[str, int] = field(default_factory=dict)

    @property
    def inputs(self) -> int:
        return sum(self.counted.values())

    def note(self, number: int, outcome: str) -> None:
        kind = outcome if outcome in ("read", "refused") else "failed"
        self.counted[kind] += 1
        if kind == "failed":
            self.failures.setdefault(outcome, number)


def run(seed: int, *, runs: int, seconds: float, first: int = 0) -> Found:
    """Try inputs of a seed until so many were tried or so many seconds are over."""
    found, until, number = Found(seed), time.monotonic() + seconds, first
    while number < first + runs and time.monotonic() < until:
        number = _batch(found, number, min(number + _BATCH, first + runs), until)
    return found


def _batch(found: Found, first: int, end: int, until: float) -> int:
    """Try some inputs in a process of their own; return the number of the next."""
    receiving, sending = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(receiving)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        _try_all(found.seed, first, end, until, sending)
        os._exit(0)
    os.close(sending)
    number, heard = first, b""
    while True:
        ready, _, _ = select.select([receiving], [], [], _SILENCE)
        part = os.read(receiving, 65536) if ready else b""
        if not part:
            break
        heard += part
        *lines, heard = heard.split(b"\n")
        for line in lines:
            number, outcome = json.loads(line)
            found.note(number, outcome)
            number += 1
    if not ready:
        os.kill(child, signal.SIGKILL)
    os.close(receiving)
    _, status = os.waitpid(child, 0)
    if not ready or status:
        found.note(number, "hung" if not ready else f"crashed with status {status}")
        number += 1
    return number


def _try_all(seed: int, first: int, end: int, until: float, sending: int) -> None:
    for number in range(first, end):
        if time.monotonic() > until:
            return
        outcome = try_one(mutated(seed, number)[1], whole=number % WHOLE_REVIEW_EVERY == 0)
        os.write(sending, json.dumps([number, outcome]).encode() + b"\n")


# A failure, made small -----------------------------------------------------------------------------------------------


def smallest(files: Files, outcome: str, *, whole: bool) -> Files:
    """Leave out files and lines of a failing input as long as it fails in the same way."""
    words = outcome.split(":")[0]

    def fails(some: Files) -> bool:
        return try_one(some, whole=whole).split(":")[0] == words

    for name in sorted(files):
        fewer = {other: data for other, data in files.items() if other != name}
        if fewer and fails(fewer):
            files = fewer
    for name in sorted(files):
        for part in (2**power for power in range(_PASSES * 2, -1, -1)):
            files = _shortened(files, name, part, fails)
    return files


def _shortened(files: Files, name: str, parts: int, fails) -> Files:
    """Try to leave out one of so many parts of a file's lines after another."""
    lines = files[name].split(b"\n")
    size = max(1, len(lines) // parts)
    for begin in reversed(range(0, len(lines), size)):
        fewer = files | {name: b"\n".join(lines[:begin] + lines[begin + size :])}
        if len(lines) > size and fails(fewer):
            lines, files = lines[:begin] + lines[begin + size :], fewer
    return files


def keep(folder: Path, found: Found) -> list[Path]:
    """Write each distinct failure, made small, into a folder of its own, with how to run it again."""
    kept = []
    for outcome, number in found.failures.items():
        name, files = mutated(found.seed, number)
        whole = number % WHOLE_REVIEW_EVERY == 0
        if outcome.split(" ")[0] not in ("hung", "crashed"):
            files = smallest(files, outcome, whole=whole)
        place = folder / f"{found.seed}-{number}"
        lay(files, place / "input")
        (place / "failure.txt").write_text(
            f"{outcome}\nof the sample: {name}\nagain: python -m tests.fuzz --seed {found.seed} --only {number}\n",
            "utf-8",
        )
        kept.append(place)
    return kept
