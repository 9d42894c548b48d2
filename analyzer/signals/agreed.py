"""What the terminals of an air handler agree on: the median of what each of them shows, day by day or altogether; and
what follows from how many of them show something at once.

Where an air handler's terminals are judged in several groups, what each shows is gathered first (``shown_by``), the
medians are taken and the counts added up over all of them (``agree``), and the scene of each group is given those.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
import pandas as pd

from analyzer.signals.grouped import shared_median
from analyzer.signals.scene import Scene

Agreed = dict[str, pd.DataFrame]
T = TypeVar("T")
Showing = TypeVar("Showing", bound=Callable[[Scene], tuple[np.ndarray, np.ndarray]])
Counting = TypeVar("Counting", bound=Callable[[Scene], pd.DataFrame])


@dataclass(frozen=True)
class Shown:
    """Something that a terminal can show, to be compared with what others do.

    Attributes
    ----------
    function : callable
        Of the scene. Returns a label for each terminal, under which those stand that are compared; and what each shows,
        shape (terminals, days) or (terminals,), NaN where it shows nothing.
    least : int
        Fewer terminals agree on nothing.
    """

    function: Callable[[Scene], tuple[np.ndarray, np.ndarray]]
    least: int


@dataclass(frozen=True)
class Counted:
    """Something that is counted over terminals.

    Attributes
    ----------
    function : callable
        Of the scene. Returns a table of counts.
    add : callable
        Adds up the tables of several groups of terminals.
    settle : callable
        Of the sum: what follows from it, again a table.
    """

    function: Callable[[Scene], pd.DataFrame]
    add: Callable[[Sequence[pd.DataFrame]], pd.DataFrame]
    settle: Callable[[pd.DataFrame], pd.DataFrame]


SHOWN: dict[str, Shown] = {}
COUNTED: dict[str, Counted] = {}


def shown(name: str, *, least: int) -> Callable[[Showing], Showing]:
    """Register a function of the scene as something that terminals show."""

    def register(function: Showing) -> Showing:
        SHOWN[name] = Shown(function, least)
        return function

    return register


def counted(
    name: str, *, add: Callable[[Sequence[pd.DataFrame]], pd.DataFrame], settle: Callable[[pd.DataFrame], pd.DataFrame]
) -> Callable[[Counting], Counting]:
    """Register a function of the scene as something that is counted over terminals."""

    def register(function: Counting) -> Counting:
        COUNTED[name] = Counted(function, add, settle)
        return function

    return register


def settled(scene: Scene, name: str) -> pd.DataFrame:
    """Return what follows from what is counted over all terminals, also of a part of a scene."""
    scene = scene.whole_scene
    if scene.agreed is not None:
        return scene.agreed[name]
    return scene.once(("settled", name), lambda: COUNTED[name].settle(counts_of(scene, name)))


def counts_of(scene: Scene, name: str) -> pd.DataFrame:
    """Return what is counted over the terminals of a whole scene."""
    return scene.once(("counted", name), lambda: COUNTED[name].function(scene))


def agreed(scene: Scene, name: str) -> np.ndarray:
    """Return what the terminals under each terminal's label agree on; NaN where too few show anything.

    Returns
    -------
    ndarray of float, shape (terminals, days) or (terminals, 1)
    """
    return scene.in_whole(lambda whole: _agreed(whole, name))


def _agreed(scene: Scene, name: str) -> np.ndarray:
    table = _table(scene, name)
    if scene.agreed is None:
        return shared_median(_labels(table), table.to_numpy(), SHOWN[name].least)
    return scene.agreed[name].reindex(index=table.index, columns=table.columns).to_numpy()


def shown_by(scene: Scene) -> Agreed:
    """Return what the terminals of a scene show.

    Name to a table: of what each shows, index label, a column for each local day or one; or of counts.
    """
    return {name: _table(scene, name) for name in SHOWN} | {name: counts_of(scene, name) for name in COUNTED}


def _table(scene: Scene, name: str) -> pd.DataFrame:
    label, table = SHOWN[name].function(scene)
    columns = scene.local_days if table.ndim > 1 else ["altogether"]
    return pd.DataFrame(table.reshape(len(label), -1), index=label, columns=columns)


def in_few_bytes(counts: pd.DataFrame) -> pd.DataFrame:
    """Hold counts of terminals in two bytes where that is enough: a year has 35,000 quarter hours of each air handler.

    They are for adding up, which widens them; ``in_four_bytes`` makes them fit for any other arithmetic.
    """
    whole = counts.select_dtypes("integer").columns.difference(["quarter"])
    fits = {name: np.abs(counts[name].to_numpy()).max(initial=0) <= np.iinfo(np.int16).max for name in whole}
    return counts.astype({name: np.int16 if fits[name] else np.int32 for name in whole})


def in_four_bytes(counts: pd.DataFrame) -> pd.DataFrame:
    """Hold counts of terminals so that their sums and multiples fit, too."""
    return counts.astype(dict.fromkeys(counts.select_dtypes("integer").columns.difference(["quarter"]), np.int32))


class RunningSum(Generic[T]):
    """Adds up what groups of terminals counted as it comes: of n groups never more than log n sums are held.

    Sums of equally many groups are added at once. Neighbours have the same air handler, so that most sums are no larger
    than one group's.
    """

    def __init__(self, add: Callable[[Sequence[T]], T]):
        self._add = add
        self._held: list[tuple[int, T]] = []  # of how many groups, and their sum

    def take(self, part: T) -> None:
        """Add what one more group counted."""
        groups = 1
        while self._held and self._held[-1][0] == groups:
            part, groups = self._add([self._held.pop()[1], part]), 2 * groups
        self._held.append((groups, part))

    def total(self) -> T:
        """Return the sum of all groups."""
        return self._add([part for _, part in self._held])


def agree(groups: Iterable[Agreed]) -> Agreed:
    """Return what all terminals under a label agree on, and what follows from their counts, from those of groups.

    Groups are taken as they come, and their counts added up meanwhile, so that not all are held side by side.
    """
    shows: dict[str, list[pd.DataFrame]] = {name: [] for name in SHOWN}
    counts = {name: RunningSum(own.add) for name, own in COUNTED.items()}
    for group in groups:
        for name, tables in shows.items():
            tables.append(group[name])
        for name, summed in counts.items():
            summed.take(group[name])
    medians = {name: _medians(pd.concat(tables).sort_index(axis=1), name) for name, tables in shows.items()}
    return medians | {name: own.settle(counts[name].total()) for name, own in COUNTED.items()}


def _medians(table: pd.DataFrame, name: str) -> pd.DataFrame:
    medians = shared_median(_labels(table), table.to_numpy(), SHOWN[name].least)
    return pd.DataFrame(medians, table.index, table.columns)[~table.index.duplicated()]


def _labels(table: pd.DataFrame) -> np.ndarray:
    return table.index.to_numpy().astype(str)
