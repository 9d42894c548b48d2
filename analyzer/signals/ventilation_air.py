"""Ventilation air: what reaches the zone, and what it needs, in the same terms.

Where the schedule gives ``ventilation_min`` (the primary airflow that ventilation needs) both are primary air; where it
is blank both are outdoor air: its share in the primary air and what a dedicated inlet brings, against what people and
floor area need.
"""

from __future__ import annotations

import numpy as np

from analyzer import ventilation
from analyzer.signals.agreed import agreed, shown
from analyzer.signals.days import per_row_of_day
from analyzer.signals.grouped import Groups
from analyzer.signals.in_force import in_use
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ratio, since_change, trailing_mean

# A window has to be there for the most part before its mean is judged.
LEAST_SEEN = 0.9


@signal("flow", settled_by="ventilation_min (or outdoor_air_min, or people and area) in the terminal schedule")
def ventilation_air_required(scene: Scene) -> np.ndarray:
    """Ventilation air that the zone needs: scheduled, else worked out from people, area and air distribution."""
    scheduled = scene.value("ventilation_min")
    blank = np.isnan(scene.scheduled("ventilation_min"))
    if not blank.any():
        return scheduled
    at = scene.part(blank)
    return scene.lay(at, _zone_outdoor_air(at), scheduled)


def _zone_outdoor_air(scene: Scene) -> np.ndarray:
    scheduled = scene.value("outdoor_air_min")
    effectiveness = ventilation.distribution_effectiveness(
        underfloor=scene.per_row(scene.words("distribution") == "underfloor"),
        discharge_rise=np.nan_to_num(scene.trend("discharge_temp") - scene.trend("zone_temp")),
    )
    worked_out = ventilation.zone_outdoor_flow(
        breathing_zone_flow=scene.per_row(_breathing_zone(scene)), effectiveness=effectiveness
    )
    neither = np.isnan(scene.scheduled("ventilation_min")) & np.isnan(scene.scheduled("outdoor_air_min"))
    scene.name_them(
        "Where the schedule gives neither a ventilation minimum nor outdoor air, office rates per person and floor "
        "area are assumed, at {count} terminals: {terminals}.",
        neither & ~np.isnan(_breathing_zone(scene)),
    )
    return np.where(np.isnan(scheduled), worked_out, scheduled)


def _breathing_zone(scene: Scene) -> np.ndarray:
    return ventilation.breathing_zone_flow(people=scene.scheduled("people"), area=scene.scheduled("area"))


@signal(
    "flow",
    needs=("primary_flow",),
    settled_by=(
        "the trend primary_flow and, without a scheduled ventilation_min, the outdoor-air fraction of the primary air "
        "and the dedicated inlet's outdoor_air_flow"
    ),
)
def ventilation_air(scene: Scene) -> np.ndarray:
    """Ventilation air that reaches the zone: primary air, or the outdoor air in it and from a dedicated inlet."""
    primary = scene.trend("primary_flow")
    blank = np.isnan(scene.scheduled("ventilation_min"))
    if not blank.any():
        return primary
    at = scene.part(blank)
    outdoor = ventilation.outdoor_flow_to_zone(
        primary_flow=at.trend("primary_flow"),
        outdoor_air_fraction=at.value("outdoor_air_fraction"),
        inlet_flow=_inlet_flow(at),
    )
    return scene.lay(at, outdoor, primary)


def _inlet_flow(scene: Scene) -> np.ndarray:
    """Flow of the dedicated inlet: none where there is no inlet, unknown where there is one without a trend."""
    return np.where(scene.per_row(scene.has_outdoor_air_inlet), scene.trend("outdoor_air_flow"), 0.0)


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow")
def ventilation_air_average(scene: Scene, *, averaging_time: float) -> np.ndarray:
    """Ventilation air averaged over the past occupied ``averaging_time``, or the zone's own time where it is shorter.

    The zone's own time follows from its volume and the outdoor air that its breathing zone needs. Only occupied time in
    which the air handler has air to give counts; the mean is unknown until nine tenths of the window were such, and
    logged.
    """
    own = ventilation.averaging_seconds(
        zone_volume=scene.scheduled("zone_volume"), breathing_zone_flow=_breathing_zone(scene)
    )
    width = np.fmin(own, averaging_time)
    least = scene.per_row(LEAST_SEEN * width / 3600)
    counted = scene.hours * (in_use(scene) & (scene.value("air_available") > 0.5))
    return trailing_mean(scene.value("ventilation_air"), counted, scene.past(width), least)


@signal(
    "flow",
    settled_by="ventilation_min in the terminal schedule, or the zone's outdoor air and the outdoor-air fraction",
)
def ventilation_primary(scene: Scene) -> np.ndarray:
    """Primary airflow that ventilation needs: scheduled, else the outdoor air needed over its share in primary air.

    What a dedicated inlet brings is taken off first. Unknown where the outdoor-air fraction is: outdoor air is not
    compared with primary air.
    """
    scheduled = scene.value("ventilation_min")
    blank = np.isnan(scene.scheduled("ventilation_min"))
    if not blank.any():
        return scheduled
    at = scene.part(blank)
    missing = np.maximum(at.value("ventilation_air_required") - _inlet_flow(at), 0.0)
    fraction = at.value("outdoor_air_fraction")
    return scene.lay(at, ratio(missing, fraction, fraction > 0), scheduled)


@signal("time", needs=("primary_flow",), settled_by="the trend primary_flow, and ventilation_min in the schedule")
def primary_enough_for(scene: Scene, *, fan_helps_below: float) -> np.ndarray:
    """How long primary air has been enough for ventilation without a parallel fan [s], or since the trends begin.

    Enough is ``fan_helps_below`` times what ventilation needs. Unknown where the flow or the need is.
    """
    flow, need = scene.trend("primary_flow"), scene.value("ventilation_primary")
    enough = since_change(flow < fan_helps_below * need, scene.first, scene.seconds)
    enough[np.isnan(flow) | np.isnan(need)] = np.nan
    return enough


# Days without air ---------------------------------------------------------------------------------------------------

# So many terminals tell whether a day is in use; air that moves at all is this much [L/s]. Judgement.
LEAST_TERMINALS = 4
MOVES = 10.0
# A day tells of its occupied hours where so many of them were logged [h]. Judgement.
LEAST_IN_USE = 2.0


@signal("fraction", settled_by="the trend primary_flow of the air handler's other terminals", whole=True)
def others_get_air(scene: Scene) -> np.ndarray:
    """Part of the day's occupied hours in which the air handler's terminals got primary air: their median.

    Of the whole building where no air handler is known. Near 0 the day is not in use (a holiday that nobody listed) or
    the air handler gives no air: nothing of the one terminal.
    """
    return per_row_of_day(scene, agreed(scene, "air in occupied hours").ravel())


@shown("air in occupied hours", least=LEAST_TERMINALS)
def _air_in_use(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """The part of its occupied hours of each day in which primary air moved at each terminal."""
    flow = scene.trend("primary_flow")
    rows = np.flatnonzero(in_use(scene) & ~np.isnan(flow))
    groups = Groups(scene.group_of_day[rows], scene.groups)
    hours = groups.sum(scene.hours[rows])
    total = np.where(hours >= LEAST_IN_USE, hours, np.nan)
    share = groups.mean((flow[rows] >= MOVES).astype(float), scene.hours[rows], total)
    return scene.words("air_handler").astype(str), share.reshape(scene.count, -1)
