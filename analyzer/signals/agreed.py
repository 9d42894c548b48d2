"""What the terminals of an air handler agree on: the median of what each of them shows, day by day or altogether.

Where an air handler's terminals are judged in several groups, what each shows is gathered first (``shown_by``), the
medians are taken over all of them (``agree``), and the scene of each group is given those.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.signals.grouped import shared_median
from analyzer.signals.scene import Scene

Agreed = dict[str, pd.DataFrame]


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


SHOWN: dict[str, Shown] = {}


def shown(name: str, *, least: int):
    """Register a function of the scene as something that terminals show."""

    def register(function):
        SHOWN[name] = Shown(function, least)
        return function

    return register


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
    """Return what each terminal of a scene shows: name to a table, index label, a column for each local day or one."""
    return {name: _table(scene, name) for name in SHOWN}


def _table(scene: Scene, name: str) -> pd.DataFrame:
    label, table = SHOWN[name].function(scene)
    columns = scene.local_days if table.ndim > 1 else ["altogether"]
    return pd.DataFrame(table.reshape(len(label), -1), index=label, columns=columns)


def agree(groups: Sequence[Agreed]) -> Agreed:
    """Return what all terminals under a label agree on, from what the terminals of each group show."""
    return {name: _medians(pd.concat([group[name] for group in groups]).sort_index(axis=1), name) for name in SHOWN}


def _medians(table: pd.DataFrame, name: str) -> pd.DataFrame:
    medians = shared_median(_labels(table), table.to_numpy(), SHOWN[name].least)
    return pd.DataFrame(medians, table.index, table.columns)[~table.index.duplicated()]


def _labels(table: pd.DataFrame) -> np.ndarray:
    return table.index.to_numpy().astype(str)
