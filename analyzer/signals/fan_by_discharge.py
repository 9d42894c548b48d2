"""Whether a fan that its status calls off runs all the same: plenum air in the discharge tells."""

from __future__ import annotations

import numpy as np

from analyzer.signals.coil_off import LEAST_AIR, MOST_SHARED, SETTLED
from analyzer.signals.grouped import Groups
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# Plenum air that a fan draws in warms the discharge by this much at the least, with the air in the room or the plenum
# so much warmer than primary air; without a fan it is warmed by no more than this [K]. Judgement: twice what two
# sensors differ by, and a fifth of the air.
DRAWN, NONE_DRAWN, WARMER = 3.0, 1.0, 5.0
LEAST_SEEN = 0.5  # h


@signal(
    "state",
    needs=("discharge_temp", "primary_flow", "fan_status", "fan_command"),
    settled_by=(
        "the trends discharge_temp, primary_temp (or the air handler's supply_temp), primary_flow and reheat_position"
    ),
)
def fan_by_discharge(scene: Scene) -> np.ndarray:
    """Whether a fan that is commanded on and whose status is off runs, by what its terminal discharges with no heat.

    The discharge's rise over primary air with the fan commanded on is held against that with it commanded off, medians
    of half an hour or more, 20 minutes after the last heat or change of the command: 1 where it is 3 K more, 0 where
    it is no more than 1 K, and the room or plenum was 5 K warmer than primary air. A terminal that is never seen with
    the command off shows a fan by a rise that no duct explains.
    """
    rise = scene.trend("discharge_temp") - scene.value("primary_temp")
    shut = np.where(scene.per_row(scene.words("reheat") == "none"), True, scene.value("reheat_shut_for") >= SETTLED)
    command = scene.trend("fan_command")
    here = shut & (scene.trend("primary_flow") > LEAST_AIR) & (scene.trend("fan_status") < 0.5) & ~np.isnan(rise)
    here &= scene.value("fan_command_steady_for") >= SETTLED
    commanded, resting = here & (command > 0.5), here & (command < 0.5)
    on, off = _medians(scene, rise, commanded), _medians(scene, rise, resting)
    warm = np.fmax(scene.trend("plenum_temp"), scene.trend("zone_temp")) - scene.value("primary_temp")
    tells = _medians(scene, warm, commanded) >= WARMER
    # Never seen with the command off: more than any duct warms the air.
    drawn = np.where(np.isnan(off), on > MOST_SHARED, on - off > DRAWN)
    none_drawn = np.where(np.isnan(off), on, on - off) <= NONE_DRAWN
    runs = np.where(drawn, 1.0, np.where(none_drawn, 0.0, np.nan))
    return scene.per_row(np.where(tells, runs, np.nan))


def _medians(scene: Scene, values: np.ndarray, where: np.ndarray) -> np.ndarray:
    """Return each terminal's median over some rows; NaN where they are less than half an hour."""
    rows = np.flatnonzero(where & ~np.isnan(values))
    groups = Groups(scene.code[rows], scene.count)
    return np.where(groups.sum(scene.hours[rows]) >= LEAST_SEEN, groups.median(values[rows]), np.nan)
