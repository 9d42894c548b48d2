"""What kept a rule from a verdict at each terminal, and what would settle it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analyzer.engine.lacking import asked, by_pattern, lacking, satisfied
from analyzer.engine.limiting import limits, nothing
from analyzer.engine.rows import by_terminal
from analyzer.engine.rule import Rule
from analyzer.engine.wording import KINDS
from analyzer.quantities import TERMINAL
from analyzer.signals import SIGNALS, Scene
from analyzer.signals.made_of import SCHEDULED, SIGNAL, Formula, Input, all_of, inputs_of, is_there, known_at, made_of

GAP_COLUMNS = ["terminal", "rule", "what", "point", "interval"]
# What a gap can be: a trend that is not there, one logged too seldom, a schedule value, a context that never came, and
# samples that are missing.
TREND = "trend"
INTERVAL = "interval"
SCHEDULE = "schedule"
CONTEXT = "context"
SAMPLES = "samples"

# An input that is unknown in this share of the rows that could not be judged is why they could not.
MOSTLY = 0.5
# The points of a terminal fan.
OF_FANS = frozenset({"fan_status", "fan_command", "fan_starts", "fan_speed", "plenum_temp"})


@dataclass(frozen=True)
class _Way:
    """One of several ways of judging: for which terminals it can be, and which of its names each lacks."""

    possible: np.ndarray
    lacking: dict[str, np.ndarray]


class Reasons:
    """What one rule lacks at each terminal; ``analyzer.engine.sentences`` says it in words.

    ``can_be_judged`` tells for each terminal whether everything that the rule needs is there and logged finely enough.
    """

    def __init__(self, scene: Scene, rule: Rule, applies: np.ndarray):
        self.scene, self.rule, self.applies = scene, rule, applies
        self.left_out = _all_left_out(scene)
        self.lacking = {name: self._lacks(name) for name in rule.needs}
        self.ways = [self._way(names) for names in rule.needs_one_of]
        whole = [way.possible & ~_any(way.lacking.values(), scene.count) for way in self.ways]
        self.no_way = ~_any(whole, scene.count) if self.ways else np.zeros(scene.count, dtype=bool)
        self.better = {name: self._lacks(name) & self._can_have(name) for name in rule.better_with}
        self.coarse = {name: self._every(name) > rule.longest_interval + 1e-6 for name in self._logged()}
        self.missing = _any(self.lacking.values(), scene.count) | self.no_way
        self.too_coarse = _any(self.coarse.values(), scene.count) & ~self.missing
        self.can_be_judged = ~self.missing & ~self.too_coarse & ~self.left_out

    def _way(self, names: tuple[str, ...]) -> _Way:
        """One way of judging: what it needs; a kind among its names keeps it to terminals of that kind."""
        kinds = [name for name in names if name in KINDS]
        possible = np.isin(self.scene.kinds, kinds) if kinds else np.ones(self.scene.count, dtype=bool)
        return _Way(possible, {name: self._lacks(name) for name in names if name not in KINDS})

    def _lacks(self, name: str) -> np.ndarray:
        """Tell which terminals lack something that a name is made of; it may be unknown there for other reasons."""
        known = self.scene.available(name, self.rule.values)
        return known if not len(known) else ~(known if known.all() else known | satisfied(made_of(name), self.there))

    def _can_have(self, name: str) -> np.ndarray:
        """Tell which terminals can have a point: a single-duct terminal has no fan."""
        return (self.scene.kinds != "single-duct") | (name not in OF_FANS)

    def _without(self, name: str) -> np.ndarray:
        """Tell at which terminals something that a name is made of is missing."""
        key = ("without", name)
        return self.scene.once(key, lambda: ~satisfied(made_of(name), self.there))

    def there(self, wanted: Input) -> np.ndarray:
        """Tell for each terminal whether an input has any value at all."""
        return is_there(self.scene, wanted, self.rule.values)

    def _every(self, name: str) -> np.ndarray:
        return np.nan_to_num(self.scene.logged_every(name))

    def _logged(self) -> list[str]:
        """The trends whose interval bears on the rule: those it needs, and those that its signals are made of."""
        points: list[str] = []
        for name in self.rule.needs:
            points += SIGNALS[name].needs if name in SIGNALS else [name] if name in TERMINAL else []
        # Starts are counted from the fan's status: it is the status that has to be logged more finely.
        return [name for name in dict.fromkeys(points) if name != "fan_starts" or "fan_status" not in points]

    def weigh(self, enough: np.ndarray, judged_hours: np.ndarray) -> None:
        """Tell apart, where too little was judged, a context that never came from what is not known in it."""
        least, here = self.rule.least_judged_hours, self.applies & ~self.left_out
        unsettled = here & (self.missing | (self.can_be_judged & ~enough))
        self.judged_hours = judged_hours
        self.limits = (
            limits(self.scene, self.rule, unsettled, self._without, self.no_way)
            if unsettled.any()
            else nothing(self.scene.count)
        )
        possible = self.limits.possible
        self.other_way = unsettled & self._only_other_ways()
        self.no_context = (unsettled & (possible < least)) | self.other_way
        self.missing_settles = unsettled & self.missing & ~self.no_context
        self.in_dark = unsettled & ~self.missing & ~self.no_context

    def _only_other_ways(self) -> np.ndarray:
        """Tell where no more is unknown than what another way of judging would take: one way is there, and says no."""
        none = np.zeros(self.scene.count, dtype=bool)
        if not self.ways:
            return none
        unknown = self.limits.unknown
        other = {
            name: _any([way.lacking[name] for way in self.ways if name in way.lacking], len(none)) for name in unknown
        }
        beyond = _any((unknown[name] & ~other[name] for name in unknown), len(none))
        return ~self.no_way & ~beyond & _any(unknown.values(), len(none))

    # Terminals that lack the same ---------------------------------------------------------------------------------

    def missing_by_pattern(self, among: np.ndarray) -> Iterator[tuple[np.ndarray, list[str], list[list[str]]]]:
        """Group terminals that lack the same: the names that are needed, and those of each way that is possible."""
        if not among.any():
            return
        names = list(self.lacking)
        of_ways = [(way, name) for way in self.ways for name in way.lacking]
        inputs = self._inputs([*names, *(name for _, name in of_ways)])
        marks = [
            *self.lacking.values(), *(way.lacking[name] for way, name in of_ways), self.no_way,
            *(way.possible for way in self.ways), *(self.there(wanted) for wanted in inputs),
        ]  # fmt: skip
        for at, _ in by_pattern(marks, among):
            one = at[0]
            ways = [
                [name for name, lacks in way.lacking.items() if lacks[one]] for way in self.ways if way.possible[one]
            ]
            yield at, [name for name in names if self.lacking[name][one]], ways if self.no_way[one] else []

    def _inputs(self, names: Iterable[str]) -> list[Input]:
        return list(dict.fromkeys(wanted for name in names for wanted in inputs_of(made_of(name))))

    def lack_of(self, names: list[str], at: np.ndarray) -> Formula:
        """What terminals that lack the same lack of some names."""
        among = np.zeros(self.scene.count, dtype=bool)
        among[at[0]] = True
        ((_, found),) = lacking(all_of(map(made_of, names)), self.there, among)
        # Where nothing that could be added is lacking, the names are told by themselves.
        return found or all_of(Input(SIGNAL if name in SIGNALS else TREND, name) for name in names)

    def lack_of_ways(self, ways: list[list[str]], at: np.ndarray) -> list[Formula]:
        """What terminals that lack the same lack of each way; one value of the schedule each is told as one list."""
        found = [self.lack_of(names, at) for names in ways]
        inputs = [wanted for lacks in found for wanted in inputs_of(lacks)]
        one_each = len(inputs) == len(found) > 1 and all(wanted.sort == SCHEDULED for wanted in inputs)
        return [Formula("any", tuple(dict.fromkeys(inputs)))] if one_each else found

    @cached_property
    def dark(self) -> list[tuple[np.ndarray, Formula | None, list[str]]]:
        """Terminals in the dark, grouped by what limits them: their numbers, what they lack there, and the names."""
        return list(self._in_the_dark()) if self.in_dark.any() else []

    def _in_the_dark(self) -> Iterator[tuple[np.ndarray, Formula | None, list[str]]]:
        unknown = self.limits.unknown
        for at, marks in by_pattern(list(unknown.values()), self.in_dark):
            names = [name for name, mark in zip(unknown, marks, strict=True) if mark]
            among = np.zeros(self.scene.count, dtype=bool)
            among[at] = True
            if not names:
                yield at, None, []
                continue
            for some, found in lacking(all_of(map(made_of, names)), self._there_in_dark, among):
                yield some, found, names

    def _there_in_dark(self, wanted: Input) -> np.ndarray:
        """Tell for each terminal whether an input is known in most of the rows that could not be judged."""
        scene, rows = self.scene, self.limits.rows
        known = by_terminal(scene, rows, known_at(scene, wanted, self.rule.values, rows))
        return known >= MOSTLY * np.diff(np.searchsorted(rows, scene.first))

    def wanted(self, lacks: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
        """Add to what is lacking what each further way of judging would take, where it is possible."""
        wanted = {name: own.copy() for name, own in lacks.items()}
        for way in self.ways:
            for name, own in way.lacking.items():
                wanted[name] = wanted.get(name, np.zeros(self.scene.count, dtype=bool)) | (own & way.possible)
        return wanted

    def finer_wanted(self, at: int, names: list[str]) -> list[str]:
        """Return the signals, of some names, that a finer log of this terminal would settle."""
        best = self.rule.best_interval
        if best is None or not self.scene.interval[at] > best:
            return []
        told = ((name, SIGNALS[name].settled_by) for name in names if name in SIGNALS)
        return [name for name, settled_by in told if "logged" in settled_by or "faster" in settled_by]

    def could_be_finer(self) -> np.ndarray:
        """Tell at which terminals a finer log would show more."""
        if self.rule.best_interval is None:
            return np.zeros(self.scene.count, dtype=bool)
        every = _any((self._every(name) > self.rule.best_interval for name in self._logged()), self.scene.count)
        return every & self.can_be_judged

    # The trend request --------------------------------------------------------------------------------------------

    def gaps(self) -> list[tuple[np.ndarray, str, str, float]]:
        """Return what was lacking: terminals (their numbers), what it is, the point, the interval that would do [s]."""
        rule, found = self.rule, []
        finest = rule.longest_interval if rule.best_interval is None else rule.best_interval
        for at, names, ways in self.missing_by_pattern(self.applies & self.missing_settles):
            lists = [asked(lacks) for lacks in self.lack_of_ways(ways, at)]
            needed = asked(self.lack_of(names, at)) if names else []
            for own in dict.fromkeys([*needed, *min(lists, key=len, default=[])]):
                found.append((at, *_gap(own.scheduled, own.what, rule.longest_interval)))
        found += [
            (np.flatnonzero(coarse & self.applies & ~self.missing), INTERVAL, name, finest)
            for name, coarse in self.coarse.items()
        ]
        found.append((np.flatnonzero(self.no_context), CONTEXT, "", np.nan))
        found += self._gaps_in_dark()
        return [gap for gap in found if len(gap[0])]

    def _gaps_in_dark(self) -> list[tuple[np.ndarray, str, str, float]]:
        found: list[tuple[np.ndarray, str, str, float]] = []
        best = self.rule.best_interval
        for at, lacks, names in self.dark:
            if lacks is None:
                finer = np.array([bool(self.finer_wanted(one, names)) for one in at])
                if best is not None:
                    found += [(at[finer], INTERVAL, name, best) for name in self._logged()]
                found.append((at[~finer], CONTEXT, "", np.nan))
                continue
            for own in asked(lacks):
                absent = _any((~self.there(wanted) for wanted in inputs_of(lacks)), self.scene.count)[at]
                found.append((at[absent], *_gap(own.scheduled, own.what, self.rule.longest_interval)))
                found.append((at[~absent], SAMPLES, own.what, self.rule.longest_interval))
        return found


def _gap(scheduled: bool, what: str, interval: float) -> tuple[str, str, float]:
    return (SCHEDULE, what, np.nan) if scheduled else (TREND, what, interval)


def _all_left_out(scene: Scene) -> np.ndarray:
    """Tell which terminals are left out of judging at all times."""
    if scene.excluded is None:
        return np.zeros(scene.count, dtype=bool)
    return scene.reduce(np.logical_and, scene.excluded, False)


def gap_table(scene: Scene, reasons: Iterable[Reasons]) -> pd.DataFrame:
    """Return what was lacking of all rules, a row per terminal and point: for ``trend_request.csv``."""
    gaps = [(at, own.rule.id, *told) for own in reasons for at, *told in own.gaps()]
    if not gaps:
        return pd.DataFrame(columns=GAP_COLUMNS)
    at, *told = zip(*gaps, strict=True)
    rows = [len(part) for part in at]
    columns = [scene.terminals[np.concatenate(at)], *(np.repeat(values, rows) for values in told)]
    return pd.DataFrame(dict(zip(GAP_COLUMNS, columns, strict=True)))


def _any(arrays, count: int) -> np.ndarray:
    return np.logical_or.reduce([np.zeros(count, dtype=bool), *arrays])
