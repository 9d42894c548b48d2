"""Damper positions caught at what no damper does: most are counted from run time by the controller, not measured.

jump            the position steps while flow, setpoint and duct pressure stay: it was re-homed. Where pressure is not
                trended it takes more; less again where the flow dips for a single sample: the controller restarted
at a stop       the set flow is held for hours at a position that lets next to nothing through, or at full opening while
                it follows a setpoint that moves; or the position shows shut with air as well as without, day by day
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.signals.duct_pressure import RUNNING_PRESSURE, pressure_ratio
from analyzer.signals.flow_zero import LEAKAGE, SHUT, largest_flow, zero_allowed, zero_is_right, zero_is_wrong
from analyzer.signals.grouped import least_of
from analyzer.signals.scene import Scene
from analyzer.signals.windows import running_total, stepped

# A position that moves by so much in one sample has jumped [%]: counted ones jump by 10 to 65 points in real trends.
JUMP = 10.0
# The flow stays within this share over a jump: as seen in real trends.
STEADY_FLOW = 0.05
# Flow, setpoint and pressure are compared between the hours before and after [s]. Judgement: four quarter-hour samples.
WINDOW = 3600.0
# Scatter of flow (share) and position [%] within such an hour; more is a damper at work. Judgement.
FLOW_SCATTER, POSITION_SCATTER = 0.10, 3.0
# A setpoint that moves by more has stepped; a flow further off it leaves the damper something to do. Judgement.
SETPOINT_STEP, AT_SETPOINT = 0.10, 0.15
# So many steps show in what steps a position is stored. Judgement.
STEPS_SHOW = 5
# Above this position more opening may bring no more air [%]: a step from there to there says nothing. Judgement.
FLAT_FROM = 60.0
# Inlet pressure that the step would take, over what is trended; over nothing, where it is not. Judgement: dampers
# differ from the ordinary curve by less than the first, and no reset of a quarter of an hour comes to the second.
PRESSURE_DOUBT, PRESSURE_UNKNOWN = 1.5, 4.0
# In the sample of a restart the flow reads two thirds of itself in real trends; so much less is a dip. Judgement.
DIP = 0.85
# Steps that come more often than once in so many days are a damper at work where no pressure or setpoint tells.
DAYS_BETWEEN = 3.0
# A set flow of so much of the maximum does not pass a damper at this position [%]: by the ordinary curve it takes nine
# times the design pressure. Real ones showed it for hundreds of hours.
NEARLY_SHUT, SET_FLOW = 8.0, 0.15
HOURS_AT_STOP = 4.0
# A shut damper leaks by the root of pressure, and a sensor's zero stays: neither reads none for an hour and more than a
# leak for another, at half the pressure and more, on each of so many days. Judgement.
HOURS_EITHER_WAY, DAYS_EITHER_WAY, PRESSURE_EITHER_WAY = 1.0, 2, 0.5
# A flow that is held at full opening has followed its setpoint where that moved by this factor; by the second where the
# root of the trended duct pressure is taken out. Judgement: a reset moves flow by a factor of two at the most, and the
# flow at full damper keeps to the root of pressure within a few percent.
FULL, FOLLOWS, FOLLOWS_AT_PRESSURE = 95.0, 2.2, 1.5
# A controller that holds its set flow holds it this well: terminals have to hold plus or minus 5 % (UFC 4-214-02,
# 10-6.2).
HELD = 0.08
LEAST_FLOW = 10.0  # [L/s]: less than this an inlet sensor barely resolves
# How the flow of an ordinary round damper grows with its opening x: x exp((x - 1) / 2). Judgement, from inherent
# curves.


def opening_curve(position: np.ndarray) -> np.ndarray:
    """Logarithm of an ordinary round damper's flow at a position [%], over its flow at full opening."""
    opening = np.clip(position, 1.0, 100.0) / 100.0
    return np.log(opening) + 0.5 * (opening - 1.0)


def caught(scene: Scene) -> np.ndarray:
    """Tell for each terminal whether its position jumped by 10 points, or held the set flow where no damper can."""

    def work_out():
        return (jumps(scene)["largest"] >= JUMP) | (hours_at_stop(scene) >= HOURS_AT_STOP)

    return scene.once("positions caught", work_out)


# Jumps --------------------------------------------------------------------------------------------------------------


def jumps(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("damper jumps", lambda: _find_jumps(scene))


def _find_jumps(scene: Scene) -> dict[str, np.ndarray]:
    rows = _candidates(scene)
    sides = _Sides(scene, rows)
    untold = np.isnan(sides.mean("root")[0] + sides.mean("root")[1])
    no_setpoint = np.isnan(sides.mean("setpoint")[0] + sides.mean("setpoint")[1])
    found = _flow_stays(sides) & _position_steps(sides) & (no_setpoint | _at_setpoint(sides))
    found &= _beyond_pressure(scene, rows, sides, untold)
    found &= _rare(scene, rows, found & (untold | no_setpoint))
    before, after = sides.mean("position")
    rows, moved = rows[found], np.abs(after - before)[found]
    largest = np.zeros(scene.count)
    np.maximum.at(largest, scene.code[rows], moved)
    return {"largest": largest, "count": np.bincount(scene.code[rows], minlength=scene.count).astype(float)}


def _flow_stays(sides: _Sides) -> np.ndarray:
    before, after = sides.mean("flow")
    stays = (np.abs(after - before) <= STEADY_FLOW * before) & (np.minimum(before, after) > LEAST_FLOW)
    return stays & sides.scatter("flow", FLOW_SCATTER * before)


def _position_steps(sides: _Sides) -> np.ndarray:
    before, after = sides.positions()
    steps = (np.abs(after - before) >= JUMP) & (np.minimum(before, after) < FLAT_FROM)
    return steps & sides.scatter("position", POSITION_SCATTER)


def _at_setpoint(sides: _Sides) -> np.ndarray:
    """Tell where the setpoint stays, and the flow is at it before and after: the damper had nothing to do."""
    before, after = sides.mean("setpoint")
    flow_before, flow_after = sides.mean("flow")
    stays = np.abs(after - before) <= SETPOINT_STEP * before
    return (
        stays
        & (np.abs(flow_before - before) <= AT_SETPOINT * before)
        & (np.abs(flow_after - after) <= AT_SETPOINT * after)
    )


def _beyond_pressure(scene: Scene, rows: np.ndarray, sides: _Sides, untold: np.ndarray) -> np.ndarray:
    """Tell where the inlet pressure that the step would take is not what happened to the duct's."""
    root_before, root_after = sides.mean("root")
    flow_before, flow_after = (np.where(flow > 0, flow, np.nan) for flow in sides.mean("flow"))
    position_before, position_after = sides.positions()
    wanted = np.log(flow_after / flow_before) - (opening_curve(position_after) - opening_curve(position_before))
    there = np.where(untold, 0.0, np.log(root_after / root_before))
    dips = scene.trend("primary_flow")[rows] < DIP * np.minimum(flow_before, flow_after)
    doubt = np.log(np.where(untold & ~dips, PRESSURE_UNKNOWN, PRESSURE_DOUBT))
    return 2.0 * np.abs(wanted - there) >= doubt


def _candidates(scene: Scene) -> np.ndarray:
    """Rows at which the position steps, with rows of the same terminal on both sides."""
    step = np.abs(stepped(scene.trend("damper_position"), scene.first))
    rows = np.flatnonzero(step >= JUMP)
    inside = (rows - 1 > scene.first[scene.code[rows]]) & (rows + 2 < scene.first[scene.code[rows] + 1])
    return rows[inside & _air_flows(scene)[rows]]


def _air_flows(scene: Scene) -> np.ndarray:
    """Tell at which rows air is supplied at a pressure that is one, where that is trended."""
    return (scene.value("air_available") > 0.5) & ~(scene.value("duct_pressure") < RUNNING_PRESSURE)


def _resolution(scene: Scene) -> np.ndarray:
    """The smallest step by which each position moves: whole volts are no jumps. 0 where it rarely moves."""
    step = np.abs(stepped(scene.trend("damper_position"), scene.first))
    rows = np.flatnonzero(step > 1e-6)
    often = np.bincount(scene.code[rows], minlength=scene.count) >= STEPS_SHOW
    return np.where(often, np.nan_to_num(least_of(step[rows], scene.code[rows], scene.count)), 0.0)


def _rare(scene: Scene, rows: np.ndarray, loose: np.ndarray) -> np.ndarray:
    """Tell of each step whether its terminal takes so few that nothing else told of that they are no damper at work."""
    count = np.bincount(scene.code[rows[loose]], minlength=scene.count)
    days = scene.per_terminal(scene.hours) / 24.0
    return ~loose | (count <= np.maximum(days / DAYS_BETWEEN, 1.0))[scene.code[rows]]


@dataclass
class _Sides:
    """Means of flow, setpoint, position and the root of pressure over the hour before and the hour after some rows."""

    scene: Scene
    rows: np.ndarray

    def __post_init__(self):
        scene, rows = self.scene, self.rows
        before = scene.past(WINDOW)[rows - 1] if len(rows) else rows
        after = scene.ahead(WINDOW)[rows] if len(rows) else rows
        # The sample itself is left out: in it controllers restart.
        self.spans = (before, rows), (rows + 1, after)
        pressure = scene.value("duct_pressure")
        self.values = {
            "flow": scene.trend("primary_flow"),
            "setpoint": scene.trend("primary_flow_setpoint"),
            "position": scene.trend("damper_position"),
            "root": np.sqrt(np.where(pressure > 0, pressure, np.nan)),
        }
        self._means: dict[tuple[str, bool], tuple[np.ndarray, np.ndarray]] = {}

    def mean(self, name: str, *, squared: bool = False) -> tuple[np.ndarray, np.ndarray]:
        """Return the mean, or that of the squares, before and after; NaN where fewer than half are known."""
        if (name, squared) not in self._means:
            values = self.values[name]
            self._means[name, squared] = self._mean(np.square(values) if squared else values)
        return self._means[name, squared]

    def positions(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the mean position before and after, drawn together by the step in which it is stored."""
        before, after = self.mean("position")
        half = np.minimum(0.5 * _resolution(self.scene)[self.scene.code[self.rows]], 0.5 * np.abs(after - before))
        towards = np.sign(after - before) * half
        return before + towards, after - towards

    def scatter(self, name: str, most) -> np.ndarray:
        """Tell whether the scatter on both sides stays within so much."""
        calm = np.ones(len(self.rows), dtype=bool)
        for squares, mean in zip(self.mean(name, squared=True), self.mean(name), strict=True):
            calm &= np.sqrt(np.maximum(squares - np.square(mean), 0.0)) <= most
        return calm

    def _mean(self, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        known = ~np.isnan(values)
        total, count = running_total(np.where(known, values, 0.0)), running_total(known.astype(np.int32))

        def over(start: np.ndarray, end: np.ndarray) -> np.ndarray:
            seen = count[end] - count[start]
            enough = (seen >= 1) & (seen >= 0.5 * (end - start))
            return np.where(enough, (total[end] - total[start]) / np.where(enough, seen, 1.0), np.nan)

        before, after = self.spans
        return over(*before), over(*after)


# At a stop -----------------------------------------------------------------------------------------------------------


def hours_at_stop(scene: Scene) -> np.ndarray:
    """How long in all each terminal held its set flow at a position where no damper can, at rest [h]."""
    return scene.once(
        "hours at a stop", lambda: scene.per_terminal((_nearly_shut(scene) | _at_full(scene)) * scene.hours)
    )


def _nearly_shut(scene: Scene) -> np.ndarray:
    """Tell at which rows the set flow is held at a position under 8 %, at rest.

    A damper that is shut altogether may as well be shut, and the sensor's zero off: that counts where the zero is known
    to be right, or the flow follows a setpoint that moves.
    """
    flow, position = scene.trend("primary_flow"), scene.trend("damper_position")
    passes = (position <= NEARLY_SHUT) & (flow > scene.per_row(SET_FLOW * largest_flow(scene)))
    passes &= _held_at_rest(scene) & ~scene.per_row(zero_is_wrong(scene))
    follows = _setpoint_spread(scene, passes) >= 1.0 + 2 * AT_SETPOINT
    held = passes & ((position > SHUT) | scene.per_row(zero_is_right(scene) | follows))
    return held | _shut_either_way(scene)


def _shut_either_way(scene: Scene) -> np.ndarray:
    """Tell at which rows air is held at a position that shows shut, of terminals that read none there just as often."""
    flow, pressure = scene.trend("primary_flow"), scene.value("duct_pressure")
    shut = (scene.trend("damper_position") <= SHUT) & _air_flows(scene)
    air = shut & (flow > scene.per_row(LEAKAGE * largest_flow(scene))) & _held_at_rest(scene)
    with_air = scene.reduce(np.fmax, np.where(air, pressure, np.nan), np.nan)
    none = shut & (flow <= scene.per_row(zero_allowed(scene)))
    none &= ~(pressure < PRESSURE_EITHER_WAY * scene.per_row(with_air))
    of_day = scene.group_of_day
    hours = [np.bincount(of_day[of], scene.hours[of], minlength=scene.groups) for of in (none, air)]
    both = (hours[0] >= HOURS_EITHER_WAY) & (hours[1] >= HOURS_EITHER_WAY)
    days = both.reshape(scene.count, -1).sum(axis=1)
    return air & scene.per_row((days >= DAYS_EITHER_WAY) & ~zero_is_wrong(scene))


def _at_full(scene: Scene) -> np.ndarray:
    """Tell at which rows the flow is held at full opening, at rest, and follows a setpoint that moves there in a day.

    Over weeks the flow that a full damper passes may change, with the sensor or the duct, and meet its setpoint by
    chance.
    """
    setpoint = scene.trend("primary_flow_setpoint")
    held = (scene.trend("damper_position") >= FULL) & _held_at_rest(scene) & ~np.isnan(setpoint)
    told = held & (pressure_ratio(scene) > 0)
    setpoint_at_usual = setpoint / np.sqrt(np.where(told, pressure_ratio(scene), np.nan))
    by_pressure = _spread_of_day(scene, setpoint_at_usual) >= FOLLOWS_AT_PRESSURE
    return (told & by_pressure) | (held & (_spread_of_day(scene, np.where(held, setpoint, np.nan)) >= FOLLOWS))


def _held_at_rest(scene: Scene) -> np.ndarray:
    """Tell at which rows the damper rests and the flow is at its setpoint, or stays as it was where none is trended."""
    flow, setpoint = scene.trend("primary_flow"), scene.trend("primary_flow_setpoint")
    at_rest = np.abs(stepped(scene.trend("damper_position"), scene.first)) <= 1.0
    stays = np.abs(stepped(flow, scene.first)) <= STEADY_FLOW * flow
    held = np.where(np.isnan(setpoint), stays, np.abs(flow - setpoint) <= HELD * setpoint)
    return at_rest & held & (flow > LEAST_FLOW) & _air_flows(scene)


def _spread_of_day(scene: Scene, values: np.ndarray) -> np.ndarray:
    """Highest over lowest of the known values of each terminal's day, per row; NaN where there is none."""
    least, most = np.full(scene.groups, np.inf), np.full(scene.groups, -np.inf)
    rows = np.flatnonzero(values > 0)
    day = scene.group_of_day[rows]
    np.minimum.at(least, day, values[rows])
    np.maximum.at(most, day, values[rows])
    seen = most > 0
    return np.where(seen, np.where(seen, most, 1.0) / np.where(seen, least, 1.0), np.nan)[scene.group_of_day]


def _setpoint_spread(scene: Scene, where: np.ndarray) -> np.ndarray:
    """Highest over lowest setpoint of some rows, for each terminal; NaN where there is none."""
    setpoint = np.where(where, scene.trend("primary_flow_setpoint"), np.nan)
    least, most = scene.reduce(np.fmin, setpoint, np.nan), scene.reduce(np.fmax, setpoint, np.nan)
    return most / np.where(least > 0, least, np.nan)
