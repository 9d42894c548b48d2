"""Why a verdict is what it is, and what would settle the rest: one sentence per terminal and rule."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.engine.rule import KINDS, Rule
from analyzer.quantities import TERMINAL
from analyzer.signals import NUMBERS, SIGNALS, Scene

GAP_COLUMNS = ["terminal", "rule", "what", "point", "interval"]
# What a gap can be: a trend that is not there, one logged too seldom, a schedule value, a context that never came, and
# samples that are missing.
TREND, INTERVAL, SCHEDULE, CONTEXT, SAMPLES = "trend", "interval", "schedule", "context", "samples"

# More than a sum of hours is off by its rounding [h]: half of a last digit is told as the next one, whatever the order
# in which the hours were summed.
ROUNDING = 1e-6


@dataclass(frozen=True)
class _Group:
    """One of several ways of judging: for which terminals it can be, and which of its names each lacks."""

    possible: np.ndarray
    lacking: dict[str, np.ndarray]


class Reasons:
    """What one rule lacks at each terminal, and the sentences that say so.

    ``can_be_judged`` tells for each terminal whether everything that the rule needs is there and logged finely enough.
    """

    def __init__(self, scene: Scene, rule: Rule, applies: np.ndarray):
        self.scene, self.rule, self.applies = scene, rule, applies
        self.lacking = {name: ~self._there(name) for name in rule.needs}
        self.groups = [self._group(group) for group in rule.needs_one_of]
        whole = [group.possible & ~_any(group.lacking.values(), scene.count) for group in self.groups]
        self.no_group = ~_any(whole, scene.count) if self.groups else np.zeros(scene.count, dtype=bool)
        self.better = {name: ~self._there(name) for name in rule.better_with}
        self.coarse = {name: self._every(name) > rule.longest_interval + 1e-6 for name in self._logged()}
        self.missing = _any(self.lacking.values(), scene.count) | self.no_group
        self.too_coarse = _any(self.coarse.values(), scene.count) & ~self.missing
        self.can_be_judged = ~self.missing & ~self.too_coarse

    def _group(self, group: tuple[str, ...]) -> _Group:
        """One way of judging: what it needs; a kind among its names keeps it to terminals of that kind."""
        kinds = [name for name in group if name in KINDS]
        possible = np.isin(self.scene.kinds, kinds) if kinds else np.ones(self.scene.count, dtype=bool)
        return _Group(possible, {name: ~self._there(name) for name in group if name not in KINDS})

    def _there(self, name: str) -> np.ndarray:
        return self.scene.available(name, self.rule.values)

    def _every(self, name: str) -> np.ndarray:
        return np.nan_to_num(self.scene.logged_every(name))

    def _logged(self) -> list[str]:
        """The trends whose interval bears on the rule: those it needs, and those that its signals are made of."""
        points = []
        for name in self.rule.needs:
            points += SIGNALS[name].needs if name in SIGNALS else [name] if name in TERMINAL else []
        return list(dict.fromkeys(points))

    def weigh(self, enough: np.ndarray, in_context: np.ndarray) -> None:
        """Tell apart, where too little was judged, a context that never came from samples that are missing."""
        short = self.can_be_judged & ~enough
        least = self.rule.judged_hours_at_least
        self.no_samples = short & (in_context >= least)
        self.no_context = short & ~self.no_samples
        self.in_context = in_context

    # Sentences ----------------------------------------------------------------------------------------------------

    def sentences(self, faulty, enough, judged_hours, fault_hours) -> np.ndarray:
        """Return one sentence per terminal."""
        told = np.full(self.scene.count, "", dtype=object)
        self._tell_missing(told)
        self._tell_coarse(told)
        least = self.rule.judged_hours_at_least
        for at in np.flatnonzero(self.applies & self.no_context):
            told[at] = (
                f"{self.rule.text.context}: {_hours(self.in_context[at])} in that state, {_hours(least)} are needed"
            )
        for at in np.flatnonzero(self.applies & self.no_samples):
            told[at] = (
                f"samples are missing or too far apart: of {_hours(self.in_context[at])} in context only "
                f"{_hours(judged_hours[at])} could be judged"
            )
        partly = self._partly()
        for at in np.flatnonzero(self.applies & enough):
            seen = f"{_hours(fault_hours[at])} of {_hours(judged_hours[at])} judged" if faulty[at] else (
                f"no fault in {_hours(judged_hours[at])} judged"
            )  # fmt: skip
            told[at] = seen + partly[at]
        return told

    def _tell_missing(self, told: np.ndarray) -> None:
        """One sentence for each combination of missing names, given to all terminals that share it."""
        for at, names in _combinations(self.lacking, self.applies & self.missing & ~self.no_group):
            told[at] = f"missing: {_and(map(describe, names))}"
        ways = {number: group.possible for number, group in enumerate(self.groups)}
        for at, found in _combinations(self.lacking | ways, self.applies & self.no_group):
            names = [name for name in found if name in self.lacking]
            either = [_and(map(describe, self.groups[number].lacking)) for number in found if number in ways]
            also = f"{_and(map(describe, names))}; and " if names else ""
            told[at] = f"missing: {also}{'one of: ' if len(either) > 1 else ''}{'; or '.join(either)}"

    def _tell_coarse(self, told: np.ndarray) -> None:
        for at, names in _combinations(self.coarse, self.applies & self.too_coarse):
            told[at] = (
                f"logged too seldom to show it: {_and(names)}; it takes {_minutes(self.rule.longest_interval)} or "
                "less, or a log on every change"
            )

    def _partly(self) -> np.ndarray:
        """What a verdict that was reached could not take into account."""
        told = np.full(self.scene.count, "", dtype=object)
        absent = self._wanted(self.better)
        for at, names in _combinations(absent, self.applies & ~self.missing):
            if names:
                told[at] = f"; {_and(map(describe, names))} would settle the rest"
        for at in np.flatnonzero(self.applies & self._could_be_finer()):
            told[at] = f"{told[at]}; a log every {_minutes(self.rule.best_interval)} or on change would show more"
        return told

    def _wanted(self, lacking: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
        """Add to what is lacking what each further way of judging would take, where it is possible."""
        wanted = {name: lacks.copy() for name, lacks in lacking.items()}
        for group in self.groups:
            for name, lacks in group.lacking.items():
                wanted[name] = wanted.get(name, np.zeros(self.scene.count, dtype=bool)) | (lacks & group.possible)
        return wanted

    def _could_be_finer(self) -> np.ndarray:
        if self.rule.best_interval is None:
            return np.zeros(self.scene.count, dtype=bool)
        every = _any((self._every(name) > self.rule.best_interval for name in self._logged()), self.scene.count)
        return every & self.can_be_judged

    # The trend request --------------------------------------------------------------------------------------------

    def gaps(self) -> list[tuple[np.ndarray, str, str, float]]:
        """Return what was lacking: terminals (their numbers), what it is, the point, the interval that would do [s]."""
        rule = self.rule
        finest = rule.longest_interval if rule.best_interval is None else rule.best_interval
        lacking = [
            (lacks, SCHEDULE if name in NUMBERS else TREND, name, rule.longest_interval)
            for name, lacks in self._wanted(self.lacking | self.better).items()
        ]
        lacking += [(coarse & ~self.missing, INTERVAL, name, finest) for name, coarse in self.coarse.items()]
        lacking += [
            (self.no_context, CONTEXT, "", np.nan),
            (self.no_samples, SAMPLES, ", ".join(self._logged()), np.nan),
        ]
        return [(np.flatnonzero(lacks & self.applies), *told) for lacks, *told in lacking if lacks.any()]


def gap_table(scene: Scene, reasons: Iterable[Reasons]) -> pd.DataFrame:
    """Return what was lacking of all rules, a row per terminal and point: for ``trend_request.csv``."""
    gaps = [(at, own.rule.id, *told) for own in reasons for at, *told in own.gaps()]
    if not gaps:
        return pd.DataFrame(columns=GAP_COLUMNS)
    at, *told = zip(*gaps, strict=True)
    rows = [len(part) for part in at]
    columns = [scene.terminals[np.concatenate(at)], *(np.repeat(values, rows) for values in told)]
    return pd.DataFrame(dict(zip(GAP_COLUMNS, columns, strict=True)))


def describe(name: str) -> str:
    """Say what a user can add so that a name is known."""
    if name in SIGNALS:
        return SIGNALS[name].settled_by or SIGNALS[name].meaning
    if name in TERMINAL:
        return f"the trend {name}"
    return f"{name} in the terminal schedule"


def _combinations(lacking: dict[str, np.ndarray], among: np.ndarray):
    """Group terminals by which names they lack: (terminal numbers, names), one for each combination that occurs."""
    if not among.any():
        return
    names = list(lacking)
    pattern = np.zeros(len(among), dtype=np.int64)
    for bit, name in enumerate(names):
        pattern |= lacking[name].astype(np.int64) << bit
    at = np.flatnonzero(among)
    for value in np.unique(pattern[at]):
        yield at[pattern[at] == value], [name for bit, name in enumerate(names) if value >> bit & 1]


def _any(arrays, count: int) -> np.ndarray:
    return np.logical_or.reduce([np.zeros(count, dtype=bool), *arrays])


def _and(words) -> str:
    words = list(words)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def _hours(hours: float) -> str:
    return f"{hours + ROUNDING:.1f} h"


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:g} min"
