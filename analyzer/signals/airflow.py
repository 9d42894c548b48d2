"""The primary airflow beside its setpoint, its damper and what its sensor can resolve."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.in_force import in_use
from analyzer.signals.oscillation import Swing, sustained_swing
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.supply_air import supply_air_turned
from analyzer.signals.windows import ratio, since_change, stepped, trailing_mean, trailing_total

HOUR = 3600.0
# A setpoint that moves by more than this share between two samples has stepped: what follows is travel, no fault.
# Judgement: less than any shortfall that a rule blames.
SETPOINT_STEP = 0.20
# Amplification of the most sensitive inlet sensors: where the coefficient is not scheduled, the sensor is taken for
# one of these, which resolves the least flow. Judgement: makers' sensors lie between 2.0 and 2.8.
BEST_AMPLIFICATION = 2.8
# Most of an hour has to be there before it is averaged.
LEAST_SEEN = 0.75
# A flow follows a step of its setpoint within this time [s]. Judgement: a stroke of a slow damper actuator.
TRAVEL = 300.0
# A flow no further below its setpoint is held there. Judgement: twice the 5 % within which terminals hold it.
HELD_WITHIN = 0.10
# A grid coarser than this does not show a flow loop's swings [s].
COARSEST_GRID = 120.0
# Time-averaged control calls for air in part of the hour only; this much of it has to be there.
LEAST_CALLED = 0.25


@signal(
    "time",
    needs=("damper_position",),
    settled_by="the trend damper_position",
    where_trended=("damper_position",),
)
def damper_shut_for(scene: Scene, *, damper_shut: float) -> np.ndarray:
    """How long the damper has been shut [s]; 0 while it is open."""
    damper = scene.trend("damper_position")
    shut_for = since_change(~(damper <= damper_shut), scene.first, scene.seconds)
    shut_for[np.isnan(damper)] = np.nan
    return shut_for


@signal("time", needs=("primary_flow_setpoint",), settled_by="the trend primary_flow_setpoint")
def flow_settled_for(scene: Scene) -> np.ndarray:
    """How long neither the airflow setpoint nor the air handler has stepped [s]: flow takes a while to follow."""
    setpoint = scene.trend("primary_flow_setpoint")
    moved = np.zeros(scene.size, dtype=bool)
    before, after = setpoint[:-1], setpoint[1:]
    # Where no setpoint is trended only the air handler steps.
    known = ~np.isnan(before + after) | scene.per_row(scene.trended("primary_flow_setpoint"))[1:]
    moved[1:] = known & ~(np.abs(after - before) <= SETPOINT_STEP * np.maximum(after, before))
    return since_change(moved | air_turned(scene), scene.first, scene.seconds)


def air_turned(scene: Scene) -> np.ndarray:
    """Tell at which rows the air handler has gone on or off, or its air was lost or came back."""
    available = scene.value("air_available")
    return supply_air_turned(scene) | (np.abs(stepped(available, scene.first)) > 0.5)


@signal("fraction", settled_by="the trend primary_flow_setpoint and primary_max in the terminal schedule")
def flow_called(scene: Scene) -> np.ndarray:
    """How much air the controller asks for, as a share of the scheduled maximum."""
    most = scene.scheduled("primary_max")
    return scene.trend("primary_flow_setpoint") / scene.per_row(np.where(most > 0, most, np.nan))


@signal("flow", settled_by="the trend primary_flow, or primary_flow_setpoint")
def flow_or_setpoint(scene: Scene) -> np.ndarray:
    """The higher of primary airflow and its setpoint, of what is known [L/s]."""
    return np.fmax(scene.trend("primary_flow"), scene.trend("primary_flow_setpoint"))


@signal("state", settled_by="the trend primary_flow_setpoint")
def flow_not_held(scene: Scene) -> np.ndarray:
    """Whether an open damper may lack air: 0 where the flow is at its setpoint and the position cannot be believed.

    There the damper throttles, whatever its position says.
    """
    held = scene.trend("primary_flow") >= (1.0 - HELD_WITHIN) * scene.trend("primary_flow_setpoint")
    return np.where(held & ~(scene.value("damper_credible") > 0.5), 0.0, 1.0)


@signal("flow", settled_by="the trend primary_flow_setpoint, or primary_max in the terminal schedule")
def flow_wanted(scene: Scene) -> np.ndarray:
    """What an open damper is held against: the airflow setpoint where the flow is short of it, else the maximum.

    Short by more than a tenth, as a terminal holds its flow within half of that.
    """
    setpoint, flow = scene.trend("primary_flow_setpoint"), scene.trend("primary_flow")
    most = scene.per_row(scene.scheduled("primary_max"))
    return np.where((flow < (1.0 - HELD_WITHIN) * setpoint) | np.isnan(most), setpoint, most)


@signal("state", settled_by="the trend primary_temp, or the air handler's supply_temp")
def cooling_air(scene: Scene, *, cool_enough: float) -> np.ndarray:
    """Whether the supply air can cool the zone: colder by ``cool_enough``; 1 where its temperature is unknown."""
    return np.where(scene.value("primary_temp") > scene.trend("zone_temp") - cool_enough, 0.0, 1.0)


@signal("state", settled_by="the trends zone_temp, heating_setpoint and discharge_temp")
def overcooled(scene: Scene, *, in_heating: float) -> np.ndarray:
    """Whether the terminal cools a zone that is at its heating setpoint already, or the zone is below it; 0 if unknown.

    It cools where its discharge is colder than the zone by ``in_heating`` and more; and where it has no coil, its
    discharge not being trended, and its supply air is not known to be warm.
    """
    zone, heating = scene.trend("zone_temp"), scene.value("heating_setpoint")
    discharge = scene.trend("discharge_temp")
    no_coil = np.isnan(discharge) & scene.per_row(~scene.has_reheat) & ~(scene.value("primary_temp") > zone)
    cools = (zone - discharge > in_heating) | no_coil
    return np.where((zone < heating - in_heating) | (cools & (zone < heating + in_heating)), 1.0, 0.0)


@signal("flow", settled_by="inlet_diameter (or flow_coefficient) in the terminal schedule")
def least_measurable_flow(scene: Scene, *, least_pressure: float) -> np.ndarray:
    """The least flow that the inlet sensor resolves: by its coefficient, else as the best sensor of its size does."""
    return scene.per_row(_least_measurable(scene, least_pressure))


def _least_measurable(scene: Scene, least_pressure: float) -> np.ndarray:
    scheduled, diameter = scene.scheduled("flow_coefficient"), scene.scheduled("inlet_diameter")
    best = airside.flow_coefficient_of_inlet(diameter=diameter, amplification=BEST_AMPLIFICATION)
    coefficient = np.where(np.isnan(scheduled), best, scheduled)
    return airside.least_measurable_flow(flow_coefficient=coefficient, least_pressure=least_pressure)


@signal("flow", settled_by="primary_max or inlet_diameter in the terminal schedule")
def flow_taken_for_none(scene: Scene, *, share_of_maximum: float, least_pressure: float) -> np.ndarray:
    """A reading up to which there may be no flow at all: a share of the maximum, or what the sensor cannot resolve."""
    share = scene.scheduled("primary_max") * share_of_maximum
    return scene.per_row(np.fmax(share, _least_measurable(scene, least_pressure)))


# Hunting ------------------------------------------------------------------------------------------------------------


@signal(
    "fraction",
    needs=("primary_flow", "primary_flow_setpoint"),
    settled_by="the trends primary_flow and primary_flow_setpoint, each two minutes or faster",
    where_trended=("primary_flow", "primary_flow_setpoint"),
)
def flow_swing(
    scene: Scene, *, least_swing: float, swings_in_a_row: float, regularity: float, longest_period: float
) -> np.ndarray:
    """Amplitude with which the flow swings about its setpoint, lastingly and regularly, as a share of it; else 0."""
    return _flow_swing(scene, least_swing, swings_in_a_row, regularity, longest_period).amplitude


@signal(
    "time",
    needs=("primary_flow", "primary_flow_setpoint"),
    settled_by="the trends primary_flow and primary_flow_setpoint, each two minutes or faster",
    where_trended=("primary_flow", "primary_flow_setpoint"),
)
def flow_swing_period(
    scene: Scene, *, least_swing: float, swings_in_a_row: float, regularity: float, longest_period: float
) -> np.ndarray:
    """Period with which the flow swings about its setpoint [s]; unknown where it does not."""
    return _flow_swing(scene, least_swing, swings_in_a_row, regularity, longest_period).period


def _flow_swing(scene: Scene, least_swing, swings_in_a_row, regularity, longest_period) -> Swing:
    return scene.once(
        ("flow swing", least_swing, swings_in_a_row, regularity, longest_period),
        lambda: sustained_swing(
            scene,
            _flow_deviation(scene),
            least_amplitude=least_swing,
            least_swings=swings_in_a_row,
            least_regularity=regularity,
            longest_period=longest_period,
        ),
    )


def _flow_deviation(scene: Scene) -> np.ndarray:
    """Flow less its setpoint as a share of it; NaN without a setpoint or air; 0 while the setpoint leads the way.

    The last keeps time-averaged control out, which steps the setpoint on purpose, and a setpoint that the zone's loop
    swings: flow that lags behind it is not hunting.
    """

    def work_out():
        flow, setpoint = scene.trend("primary_flow"), scene.trend("primary_flow_setpoint")
        short = flow - setpoint
        away = ratio(short, setpoint, (setpoint > 0) & (scene.value("air_available") > 0.5))
        led = np.abs(setpoint - setpoint[scene.past(TRAVEL)]) > np.abs(short)
        on_its_way = ((scene.value("flow_settled_for") < TRAVEL) | led) & (away == away)
        away[on_its_way] = 0.0
        # A log on every change is seen on the table's grid; that must not pass for a fine log.
        blind = (scene.logged_every("primary_flow") == 0) & (scene.interval > COARSEST_GRID)
        if blind.any():
            away[scene.per_row(blind)] = np.nan
        return away

    return scene.once("flow deviation", work_out)


@signal(
    "fraction",
    needs=("primary_flow", "primary_flow_setpoint"),
    settled_by="the trends primary_flow and primary_flow_setpoint",
    where_trended=("primary_flow", "primary_flow_setpoint"),
)
def flow_unrest(scene: Scene) -> np.ndarray:
    """How far the flow lay off its setpoint on average within the past hour, either way, as a share of it."""
    return trailing_mean(np.abs(_flow_deviation(scene)), scene.hours, scene.past(HOUR), LEAST_CALLED)


@signal(
    "percent",
    needs=("damper_position",),
    settled_by="the trend damper_position",
    where_trended=("damper_position",),
)
def damper_travel(scene: Scene) -> np.ndarray:
    """How far the damper travelled within the past hour, both ways added up [% of its stroke].

    Unknown where its position cannot be believed.
    """
    travel = np.abs(stepped(scene.trend("damper_position"), scene.first))
    travel[~(scene.value("damper_credible") > 0.5)] = np.nan
    return trailing_total(travel, scene.hours, scene.past(HOUR), LEAST_SEEN)


@signal(
    "flow",
    needs=("outdoor_air_flow",),
    settled_by="the trend outdoor_air_flow",
    where_trended=("outdoor_air_flow",),
)
def outdoor_air_average(scene: Scene, *, averaging_time: float) -> np.ndarray:
    """Flow of the dedicated outdoor-air inlet, averaged over the past occupied ``averaging_time``.

    Only occupied time counts; the mean is unknown until nine tenths of the window were occupied and logged.
    """
    since = scene.past(averaging_time)
    weight = scene.hours * in_use(scene)
    return trailing_mean(scene.trend("outdoor_air_flow"), weight, since, 0.9 * averaging_time / HOUR)


@signal(
    "fraction",
    needs=("primary_flow", "primary_flow_setpoint"),
    settled_by="the trends primary_flow and primary_flow_setpoint",
    where_trended=("primary_flow", "primary_flow_setpoint"),
)
def flow_off_setpoint(scene: Scene) -> np.ndarray:
    """How far the flow lies off its setpoint, either way, as a share of the setpoint."""
    flow, setpoint = scene.trend("primary_flow"), scene.trend("primary_flow_setpoint")
    return ratio(np.abs(flow - setpoint), setpoint, setpoint > 0)
