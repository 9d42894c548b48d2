"""What the terminals of an air handler agree on, day by day: the median of what each of them shows.

Where an air handler's terminals are judged in several groups, what each shows is gathered first (``shown_by_day``), the
medians are taken over all of them (``agree``), and the scene of each group is given those.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd

from analyzer.signals.grouped import shared_median
from analyzer.signals.scene import Scene

# Fewer terminals agree on nothing. Judgement.
LEAST_SHARING = 5

# What a terminal can show of a day, by name: a function of the scene that returns a label for each terminal, under
# which those stand that are compared, and what each shows, shape (terminals, days), NaN where it shows nothing.
SHOWN: dict[str, Callable[[Scene], tuple[np.ndarray, np.ndarray]]] = {}
Agreed = dict[str, pd.DataFrame]


def shown(name: str):
    """Register a function of the scene as what terminals show of a day."""

    def register(function):
        SHOWN[name] = function
        return function

    return register


def agreed(scene: Scene, name: str) -> np.ndarray:
    """Return what the terminals under each terminal's label agree on; NaN where fewer than five show anything.

    Returns
    -------
    ndarray of float, shape (terminals, days)
    """
    label, table = SHOWN[name](scene)
    if scene.agreed is None:
        return shared_median(label, table, LEAST_SHARING)
    return scene.agreed[name].reindex(index=label, columns=scene.local_days).to_numpy()


def shown_by_day(scene: Scene) -> Agreed:
    """Return what each terminal of a scene shows: name to a table, index label, a column for each local day."""
    told = {name: function(scene) for name, function in SHOWN.items()}
    return {name: pd.DataFrame(table, index=label, columns=scene.local_days) for name, (label, table) in told.items()}


def agree(groups: Sequence[Agreed]) -> Agreed:
    """Return what all terminals under a label agree on, from what the terminals of each group show."""
    return {name: _medians(pd.concat([group[name] for group in groups]).sort_index(axis=1)) for name in SHOWN}


def _medians(shown: pd.DataFrame) -> pd.DataFrame:
    medians = shared_median(shown.index.to_numpy().astype(str), shown.to_numpy(), LEAST_SHARING)
    return pd.DataFrame(medians, shown.index, shown.columns)[~shown.index.duplicated()]
