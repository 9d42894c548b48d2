"""Reheat against the air that it heats."""

from __future__ import annotations

import numpy as np

from analyzer.signals.scene import Scene, signal


@signal("flow", settled_by="heating_primary (or primary_min) in the terminal schedule")
def heating_maximum(scene: Scene) -> np.ndarray:
    """The most primary air that the terminal is scheduled to take in heating: heating_primary, else its minimum.

    Not under the ventilation minimum, which holds in heating too.
    """
    scheduled = np.fmax(scene.scheduled("heating_primary"), scene.scheduled("primary_min"))
    known = ~np.isnan(scheduled)
    with_ventilation = np.fmax(scheduled, scene.scheduled("ventilation_min"))
    return scene.per_row(np.where(known, with_ventilation, np.nan))
