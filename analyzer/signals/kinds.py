"""What kind of terminal it is, where no schedule says: read from the points that exist and how the fan behaves."""

from __future__ import annotations

from collections import Counter

import numpy as np

# Up to so much no air arrives [L/s], whatever the air handler's own points say: field, 10 cfm read with none moving.
NO_AIR = 5.0
# A series fan runs through all occupied hours; a parallel fan only on a call for heat. Common practice, no source.
SERIES_SHARE = 0.9

# Said of terminals without a scheduled kind whose fan does not tell it.
UNTOLD = (
    "The fan of {count} terminals that stand in no schedule does not tell whether they are series or parallel units: "
    "{terminals} (it was only commanded, or never seen to run while the zone was occupied). Rules for one kind are not "
    "applied; give the kind in the schedule."
)


def of_kind(scene, kind: str) -> np.ndarray:
    """Tell for each row whether its terminal is of a kind."""
    return scene.once(("of kind", kind), lambda: scene.per_row(scene.kinds == kind))


def kinds_of(scene) -> np.ndarray:
    """Return the kind of each terminal: as scheduled; else single-duct without a fan, series or parallel by the fan.

    A terminal whose fan does not tell keeps an empty kind: no rule for a kind is applied to it.
    """
    scheduled = scene.words("kind")
    if (scheduled != "").all():
        return scheduled
    has_fan = scene.trended("fan_status") | scene.trended("fan_command")
    kinds = np.where(scheduled != "", scheduled, np.where(has_fan, _by_fan(scene), "single-duct"))
    scene.kinds_read = Counter(kinds[scheduled == ""].tolist())
    scene.name_them(UNTOLD, kinds == "")
    return kinds


def kinds_told(kinds_read: Counter) -> list[str]:
    """Say of how many terminals the kind was read from their points; nothing where it was scheduled for all."""
    if not kinds_read:
        return []
    known = {kind: count for kind, count in kinds_read.items() if kind}
    if not known:
        return []
    told = ", ".join(f"{known[kind]} {kind}" for kind in sorted(known, reverse=True))
    return [f"{_terminals(sum(known.values()))} no schedule; their kind was read from their points: {told}."]


def _terminals(count: int) -> str:
    return f"{count} terminal{'s stand' if count > 1 else ' stands'} in"


def _by_fan(scene) -> np.ndarray:
    """Tell series from parallel by the fan in occupied hours with primary air, as far as is known.

    A series unit whose fan follows its air handler stands in an outage, in which the unit's own points may be frozen.

    By its status, where that is logged and the fan was ever seen to run: through nearly all of those hours it is a
    series unit. A command that is on through all of them is none: many controllers command a fan that is not there. One
    that comes and goes is a parallel unit's.
    """
    status, command = scene.trend("fan_status"), scene.trend("fan_command")
    here = (scene.value("occupied") > 0.5) & ~(scene.air_handler("supply_fan_status") < 0.5)
    here &= ~(scene.trend("primary_flow") <= NO_AIR)
    ran, commanded = _share(scene, status, here), _share(scene, command, here)
    ever = scene.reduce(np.fmax, status, np.nan) > 0.5
    comes_and_goes = scene.reduce(np.fmax, command, np.nan) > scene.reduce(np.fmin, command, np.nan)
    by_status = np.where(ran >= SERIES_SHARE, "series", "parallel")
    by_command = np.where(comes_and_goes & (commanded < SERIES_SHARE), "parallel", "")
    return np.where(ever & ~np.isnan(ran), by_status, by_command).astype(object)


def _share(scene, state: np.ndarray, here: np.ndarray) -> np.ndarray:
    """Return for each terminal how much of its hours ``here`` a state is on; NaN where it is not known in any."""
    known = here & ~np.isnan(state)
    seen = scene.per_terminal(known * scene.hours)
    on = scene.per_terminal(np.where(known, state, 0.0) * scene.hours)
    return np.divide(on, seen, out=np.full(scene.count, np.nan), where=seen > 0)
