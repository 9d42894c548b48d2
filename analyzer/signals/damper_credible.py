"""Whether a damper's position can be believed, by all that gives a counted one away."""

from __future__ import annotations

import numpy as np

from analyzer.signals.damper_caught import caught, hours_at_stop, jumps
from analyzer.signals.damper_curve import curve_creep
from analyzer.signals.flow_zero import zero_is_right
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene


@signal("state", needs=("damper_position",), settled_by="the trend damper_position", whole=True)
def damper_credible(scene: Scene) -> np.ndarray:
    """Whether the damper's position can be believed; unknown where it is not trended.

    0 where it jumped by 10 points or more at steady flow, held the set flow for four hours where no damper can, or
    crept.
    """

    def work_out():
        wrong = caught(scene) | (_creep(scene) > 0)
        return scene.per_row(np.where(scene.trended("damper_position"), np.where(wrong, 0.0, 1.0), np.nan))

    return scene.once("damper credible", work_out)


@signal(
    "percent",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow",
    where_trended=("damper_position", "primary_flow"),
)
def damper_jump(scene: Scene) -> np.ndarray:
    """Largest step of the position, within a sample or two, at steady flow, setpoint and pressure [%]; 0 for none."""
    return scene.per_row(jumps(scene)["largest"])


@signal(
    "count",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow",
    where_trended=("damper_position", "primary_flow"),
)
def damper_jumps(scene: Scene) -> np.ndarray:
    """How many times the position stepped so within the log."""
    return scene.per_row(jumps(scene)["count"])


@signal(
    "time",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow",
    where_trended=("damper_position", "primary_flow"),
)
def set_flow_at_stop_for(scene: Scene) -> np.ndarray:
    """How long in all the set flow was held under 8 % position, or at full opening by a setpoint that moves [s]."""
    return scene.per_row(hours_at_stop(scene) * 3600.0)


@signal(
    "fraction",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow, and the air handler's duct_static_pressure",
    whole=True,
)
def damper_creep(scene: Scene) -> np.ndarray:
    """How far the flow at the same position moved from the first days, the zero being right, as a share; else 0.

    Only where the other terminals of the air handler do not keep their curves either, duct pressure taken out.
    """
    return scene.per_row(_creep(scene))


def _creep(scene: Scene) -> np.ndarray:
    return scene.once("damper creep", lambda: np.where(zero_is_right(scene), curve_creep(scene), 0.0))
