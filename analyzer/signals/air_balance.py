"""What an air handler supplies beside what its terminals read together: what is lost on the way between."""

from __future__ import annotations

import numpy as np

from analyzer.signals.demand import AIR, AIR_TOLD, demand_at, demand_of_nobodys
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# Fewer terminals are held against no supply airflow. Judgement.
LEAST_TERMINALS = 3


@signal(
    "fraction", settled_by="the air handler's supply_flow, with primary_flow at every one of its terminals", whole=True
)
def air_accounted(scene: Scene) -> np.ndarray:
    """What share of the supply airflow its terminals read together.

    Unknown where a terminal that is logged reads none, or hangs on no known air handler, and with fewer than three.
    """
    told, supplied = demand_at(scene, AIR_TOLD), scene.air_handler("supply_flow")
    known = (told >= LEAST_TERMINALS) & (told >= demand_at(scene, "present")) & (supplied > 0)
    known &= ~(demand_of_nobodys(scene, "present") > 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(known, demand_at(scene, AIR) / supplied, np.nan)
