"""Whether the damper positions of a building are counted from run time: where enough were caught at it, none that was
not caught is measured for that. One make of controller is usual in a building.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analyzer.signals.agreed import counted, settled
from analyzer.signals.damper_caught import caught
from analyzer.signals.flow_zero import SHUT, zero_is_right
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

POSITIONS = "damper positions caught"
# So many positions caught, and this share of those trended, make a building whose positions are counted. Judgement: in
# trends of real buildings 20 to 24 of 47 were caught where they are counted; a single slipped linkage is no building.
LEAST_CAUGHT, LEAST_SHARE = 3, 0.05
# A flow this close to its setpoint is held there by the controller, which has a damper that is not shut to hold it by.
HELD = 0.15


def positions_are_counted(scene: Scene) -> bool:
    """Tell whether the positions of the building are counted."""
    seen = settled(scene, POSITIONS).iloc[0]
    return bool(seen["caught"] >= LEAST_CAUGHT and seen["caught"] >= LEAST_SHARE * seen["trended"])


@signal("state", needs=("damper_position",), settled_by="the trend damper_position", whole=True)
def shut_is_credible(scene: Scene) -> np.ndarray:
    """Whether a position that shows shut can be believed; 1 where the damper is not shown as shut.

    0 where the position cannot be believed at all; where the flow is held at a setpoint of more than nothing by a
    sensor that is known to read none without air; and, no setpoint being trended, where the building's positions are
    counted: their zero is where the count ends, not where the blade does.
    """
    flow, setpoint = scene.trend("primary_flow"), scene.trend("primary_flow_setpoint")
    untold = ~scene.trended("primary_flow_setpoint") & positions_are_counted(scene)
    held = (setpoint > 0) & (np.abs(flow - setpoint) <= HELD * setpoint) & scene.per_row(zero_is_right(scene))
    shut = scene.trend("damper_position") <= SHUT
    doubted = ~(scene.value("damper_credible") > 0.5) | (shut & (held | scene.per_row(untold)))
    return np.where(doubted, 0.0, 1.0)


def _add(groups: Sequence[pd.DataFrame]) -> pd.DataFrame:
    return pd.concat(groups).sum().to_frame().T


@counted(POSITIONS, add=_add, settle=lambda counts: counts)
def _positions(scene: Scene) -> pd.DataFrame:
    """Count the terminals whose position was caught, and those that have one."""
    trended = scene.trended("damper_position")
    return pd.DataFrame({"caught": [int((caught(scene) & trended).sum())], "trended": [int(trended.sum())]})
