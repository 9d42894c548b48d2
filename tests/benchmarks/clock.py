"""Time and memory of a process and all that it starts, read from the kernel."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path

TICK = os.sysconf("SC_CLK_TCK")
PROC = Path("/proc")


@dataclass(frozen=True)
class Spent:
    """Seconds by the clock on the wall, and seconds of work by all cores together."""

    wall: float
    cpu: float

    def __add__(self, other: Spent) -> Spent:
        return Spent(self.wall + other.wall, self.cpu + other.cpu)


class Clock:
    """A context that measures what passes in it: ``spent`` afterwards."""

    def __enter__(self) -> Clock:
        self._cpu, self._wall = cpu_of_tree(), time.perf_counter()
        return self

    def __exit__(self, *_) -> None:
        self.spent = Spent(time.perf_counter() - self._wall, cpu_of_tree() - self._cpu)


def cpu_of_tree() -> float:
    """Return the work of this process, of children that have ended and of those that still run [s].

    A child that runs when a clock starts and has ended when it stops is counted for the time between only.
    """
    own = os.times()
    alive = sum(_cpu_of(child) for child in descendants(os.getpid()))
    return time.process_time() + own.children_user + own.children_system + alive


def _cpu_of(process: int) -> float:
    try:
        fields = (PROC / str(process) / "stat").read_text().rpartition(")")[2].split()
    except OSError:  # ended meanwhile
        return 0.0
    return sum(map(int, fields[11:15])) / TICK  # own and reaped children's, user and system


def descendants(process: int) -> list[int]:
    """Return the processes that a process has started, and theirs."""
    found = []
    for thread in _listed(PROC / str(process) / "task"):
        try:
            children = (thread / "children").read_text().split()
        except OSError:
            continue
        for child in map(int, children):
            found += [child, *descendants(child)]
    return found


def _listed(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []


def resident(process: int, *, shared_once: bool = False) -> int:
    """Return the resident memory of a process and all that it has started [bytes].

    ``shared_once`` counts a page that several processes share once (and takes longer).
    """
    return sum(resident_of(one, shared_once=shared_once) for one in [process, *descendants(process)])


def resident_of(process: int, *, shared_once: bool = False) -> int:
    """Return the resident memory of one process [bytes]; ``shared_once``: its share of what several have."""
    file, field = ("smaps_rollup", "Pss:") if shared_once else ("status", "VmRSS:")
    return _field(PROC / str(process) / file, field)


def highest_resident(process: int | str = "self") -> int:
    """Return the most memory that a process itself has held [bytes]."""
    return _field(PROC / str(process) / "status", "VmHWM:")


def _field(file: Path, name: str) -> int:
    try:
        for line in file.read_text().splitlines():
            if line.startswith(name):
                return int(line.split()[1]) * 1024
    except OSError:
        pass
    return 0


def available() -> int:
    """Return the memory that the machine can still give [bytes]."""
    return _field(PROC / "meminfo", "MemAvailable:")
