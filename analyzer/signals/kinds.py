"""What kind of terminal it is, where no schedule says: read from the points that exist and how the fan behaves."""

from __future__ import annotations

from collections import Counter

import numpy as np

# A series fan runs through all occupied hours; a parallel fan only on a call for heat. Common practice, no source.
SERIES_SHARE = 0.9


def of_kind(scene, kind: str) -> np.ndarray:
    """Tell for each row whether its terminal is of a kind."""
    return scene.once(("of kind", kind), lambda: scene.per_row(scene.kinds == kind))


def kinds_of(scene) -> np.ndarray:
    """Return the kind of each terminal: as scheduled; else single-duct without a fan, series or parallel by the fan.

    A terminal whose fan was never seen in occupied hours keeps an empty kind: no rule for a kind is applied to it.
    """
    scheduled = scene.words("kind")
    if (scheduled != "").all():
        return scheduled
    has_fan = scene.trended("fan_status") | scene.trended("fan_command")
    kinds = np.where(scheduled != "", scheduled, np.where(has_fan, _by_fan(scene), "single-duct"))
    scene.kinds_read = Counter(kinds[scheduled == ""].tolist())
    return kinds


def kinds_told(kinds_read: Counter) -> list[str]:
    """Say of how many terminals the kind was read from their points; nothing where it was scheduled for all."""
    if not kinds_read:
        return []
    told = ", ".join(f"{kinds_read[kind]} {kind or 'unknown'}" for kind in sorted(kinds_read, reverse=True))
    return [f"{kinds_read.total()} terminals stand in no schedule; their kind was read from their points: {told}."]


def _by_fan(scene) -> np.ndarray:
    status = np.where(np.isnan(scene.trend("fan_status")), scene.trend("fan_command"), scene.trend("fan_status"))
    in_use = (scene.value("occupied") > 0.5) & ~np.isnan(status)
    seen = scene.per_terminal(in_use * scene.hours)
    ran = scene.per_terminal(np.where(in_use, status, 0.0) * scene.hours)
    share = np.divide(ran, seen, out=np.full(scene.count, np.nan), where=seen > 0)
    return np.where(np.isnan(share), "", np.where(share >= SERIES_SHARE, "series", "parallel")).astype(object)
