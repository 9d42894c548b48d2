"""Where the time goes: a thread looks at what the main thread is doing, and counts it to a room, signal or rule.

The innermost frame that lies in ``analyzer`` says where the time is spent: what a library does for it counts as its
own. Work in threads and processes that the analyzer starts is not seen.
"""

from __future__ import annotations

import sys
import threading
import time
from collections import Counter
from pathlib import Path

import analyzer

PACKAGE = str(Path(analyzer.__file__).parent) + "/"
EVERY = 0.003  # s


class Shares(threading.Thread):
    """Samples the thread that makes it, as a context.

    Attributes
    ----------
    rooms, files, signals, rules : Counter
        Seconds by room; by file within ``analyzer``; by signal and by rule.
    """

    def __init__(self):
        super().__init__(daemon=True)
        self.rooms, self.files, self.signals, self.rules = Counter(), Counter(), Counter(), Counter()
        self._watched, self._done = threading.get_ident(), threading.Event()

    def __enter__(self) -> Shares:
        self.start()
        return self

    def __exit__(self, *_) -> None:
        self._done.set()
        self.join()

    def run(self) -> None:
        last = time.perf_counter()
        while not self._done.wait(EVERY):
            now = time.perf_counter()
            self._count(sys._current_frames().get(self._watched), now - last)
            last = now

    def _count(self, frame, seconds: float) -> None:
        stack = []
        while frame is not None:
            if frame.f_code.co_filename.startswith(PACKAGE):
                stack.append(frame)
            frame = frame.f_back
        if not stack:
            self.rooms["(the measurement itself)"] += seconds
            return
        file = stack[0].f_code.co_filename.removeprefix(PACKAGE)
        room = file.partition("/")[0].removesuffix(".py")
        self.rooms[room] += seconds
        self.files[file] += seconds
        if room in ("signals", "airside", "ventilation"):
            self.signals[_signal(stack)] += seconds
        if room == "engine":
            self.rules[_rule(stack)] += seconds


def _signal(stack: list) -> str:
    from analyzer.signals.scene import SIGNALS

    for frame in stack:
        if frame.f_code.co_name in SIGNALS:
            return frame.f_code.co_name
    return f"(no signal: {stack[0].f_code.co_name})"


def _rule(stack: list) -> str:
    for frame in stack:
        rule = frame.f_locals.get("rule") or getattr(frame.f_locals.get("self"), "rule", None)
        if hasattr(rule, "judged_when"):
            return rule.id
    return f"(no rule: {stack[0].f_code.co_name})"
