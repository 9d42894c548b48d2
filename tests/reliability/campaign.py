"""Faults, many times over: each function does one kind to one command and says how often what was left standing."""

from __future__ import annotations

import random
import signal
import time
from collections import Counter
from pathlib import Path

from tests.reliability.commands import Stage, left_behind, outcome

OURS = (
    ".trendwright-lock",
    ".trendwright-part",
    ".trendwright-old",
    ".trendwright-ready",
    ".trendwright-new",
    ".trendwright-probe",
)


ENDED_WITHIN = 20.0  # seconds, on a machine under load


class Broken(AssertionError):
    """A fault that was not survived."""


def kill(stage: Stage, times: int, seed: int) -> Counter:
    """Kill a command outright at moments spread over its whole run; then let it run through.

    What stands there is at every moment the old or the new outcome, whole; a kill leaves nothing but the tool's own
    hidden staging place, and the next run takes that away.
    """
    counted = Counter()
    for delay in _moments(stage, times, seed):
        ran = stage.run(signal=signal.SIGKILL, after=delay)
        stands = stage.stands()
        _hold(stands in ("before", "after"), stage, f"killed after {delay:.3f} s: {stands}")
        left = left_behind(stage.room)
        _hold(all(Path(name).name.endswith(OURS) for name in _tops(left)), stage, f"left behind {left[:5]}")
        _hold(_none_left_running(stage), stage, f"killed after {delay:.3f} s: {stage.runner.descendants()} still run")
        killed = ran["status"] == -signal.SIGKILL
        counted["killed" if killed else "ended before"] += 1
        if killed:
            counted[f"killed {_phase(stage, stands)}"] += 1
        counted[f"{stands} stands"] += 1
        if left:
            counted["leftovers"] += 1
            if stands == "before" or outcome(stage.room, stage.command) != stage.after:
                ran = stage.again()
                _hold(ran["status"] == 0, stage, f"the run after a kill ended with {ran['status']}: {ran['err']}")
                _hold(stage.stands() == "after", stage, f"the run after a kill left {stage.stands()}")
                _hold(left_behind(stage.room) == [], stage, f"the run after a kill left {left_behind(stage.room)}")
                counted["corrected by the next run"] += 1
    return counted


def _phase(stage: Stage, stands: str) -> str:
    """Say how far a command was that was killed: a lock alone says that it had begun and written nothing yet."""
    if stands == "after":
        return "with its outcome in place"
    return "while it wrote" if any(stage.room.rglob(".*.trendwright-part")) else "before it wrote"


def _none_left_running(stage: Stage) -> bool:
    """Tell whether all processes of a command have ended, or do so within seconds after it was killed."""
    until = time.monotonic() + ENDED_WITHIN
    while stage.runner.descendants() and time.monotonic() < until:
        time.sleep(0.05)
    return stage.runner.descendants() == []


def interrupt(stage: Stage, times: int, seed: int, **order) -> Counter:
    """Interrupt a command politely (Ctrl-C and SIGTERM in turn) at moments spread over its whole run."""
    counted = Counter()
    for number, delay in enumerate(_moments(stage, times, seed)):
        asked = (signal.SIGINT, signal.SIGTERM)[number % 2]
        ran = stage.run(signal=asked, after=delay, **order)
        stands, told = stage.stands(), ran["err"].strip().splitlines()
        shown = f"{asked.name} after {delay:.3f} s: {ran['status']}, {stands}, {ran['err']!r}"
        _hold(ran["status"] in (0, 2), stage, shown)
        _hold(stands in ("before", "after"), stage, shown)
        _hold(left_behind(stage.room) == [], stage, f"{shown} left {left_behind(stage.room)}")
        _hold(_none_left_running(stage), stage, f"{shown} left running {stage.runner.descendants()}")
        if ran["status"] == 2:
            _hold(len(told) == 1 and told[0].startswith("trendwright: interrupted; "), stage, shown)
            _hold(("nothing was written" in told[0]) == (stands == "before"), stage, shown)
        counted["interrupted" if ran["status"] == 2 else "ended before"] += 1
        counted[f"{stands} stands"] += 1
    return counted


def no_room(stage: Stage, sizes: list[int]) -> Counter:
    """Let no file grow past a size: what a full disk or a quota does to a write."""
    counted = Counter()
    for size in sizes:
        ran = stage.run(largest_file=size)
        stands, told = stage.stands(), ran["err"].strip().splitlines()
        shown = f"no file over {size} bytes: {ran['status']}, {stands}, {ran['err']!r}"
        _hold(left_behind(stage.room) == [], stage, f"{shown} left {left_behind(stage.room)}")
        if ran["status"] == 0:
            _hold(stands == "after", stage, shown)
        else:
            _hold(ran["status"] == 2 and stands == "before", stage, shown)
            _hold(len(told) == 1 and "cannot be written (" in told[0], stage, shown)
        counted["refused" if ran["status"] else "fitted"] += 1
    return counted


def _moments(stage: Stage, times: int, seed: int) -> list[float]:
    """Moments over a little more than the command's time, one in each of as many stretches of it."""
    draw = random.Random(f"{seed} {stage.command.call}")
    return [(number + draw.random()) * 1.1 * stage.seconds / times for number in range(times)]


def _tops(paths: list[str]) -> list[str]:
    """Leave out what lies below another of the paths."""
    return [path for path in paths if not any(path.startswith(other + "/") for other in paths)]


def _hold(good: bool, stage: Stage, told: str) -> None:
    if not good:
        raise Broken(f"{' '.join(stage.command.call)}: {told}")
