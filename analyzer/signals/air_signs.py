"""What a terminal's own trends say of the air that reaches it, by quarter hours: air, next to none, far too little.

Quarter hours, so that terminals that are logged at different steps can be counted together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.signals.axes import QUARTER
from analyzer.signals.scene import Scene

# With the air handler off sound flow sensors read 0 to 10 cfm. Measured on real trends; the share is a judgement.
STILL, STILL_SHARE = 5.0, 0.10  # L/s; of the terminal's mean flow while air moves
# From so much on air clearly moves. Judgement: no minimum of a terminal is a quarter of its mean, or less than 20 cfm.
MOVES, MOVES_SHARE = 10.0, 0.25
# A setpoint of at least this asks for air [L/s]. Judgement: below some 20 cfm no inlet sensor resolves a share.
CALLED = 10.0
# A flow of this share of its setpoint is there; under that share it is cut. Judgement; ASHRAE Guideline 36, 5.6.6,
# calls 70 % low and 50 % the graver case (secondary).
THERE, CUT = 0.7, 0.5
# A damper up to this position may be shut by command [%]: as the rules take it for shut.
SHUT = 5.0
# So far above its cooling setpoint a zone wants all the air that it can have [K]. Judgement.
TOO_WARM = 1.0
# A zone wants cooling from so far under its cooling setpoint on [K]. Judgement: the band of its loop and the sensor.
NEAR_COOLING = 0.5
# A supply fan from here on has nothing left to give [%]; and the most that a terminal was seen to take, of which this
# share is not a spike. Judgement.
FULL_SPEED, OF_SEEN = 95.0, 0.8
# A terminal logged more seldom tells nothing of a quarter hour [s].
COARSEST = 3600.0
# Without air in nearly all quarter hours that tell: its own trouble, such as a dead sensor, and no word on others.
CHRONIC = 0.9
# Short for so much of the time that it asks for air: its own trouble. Judgement: an air handler is short for days, or
# for the hours of much load.
OWN_TROUBLE = 0.6
# It lost its air where it had some this long before, at the most [quarter hours].
HAD_AIR_WITHIN = 16


@dataclass(frozen=True)
class Quarters:
    """Terminals by quarter hours, an entry for each of a terminal that has a flow, in order.

    Attributes
    ----------
    terminal, quarter : ndarray of int
        The terminal's number; the quarter hours since 1970 UTC.
    still, moves, called, nothing, cut : ndarray of bool
        Next to no flow; air clearly moves; air is asked for; asked for and next to none; asked for and far too little.
    fell, in_use : ndarray of bool
        It had air before, and now has next to none or far too little; the zone is occupied.
    """

    terminal: np.ndarray
    quarter: np.ndarray
    still: np.ndarray
    moves: np.ndarray
    called: np.ndarray
    nothing: np.ndarray
    cut: np.ndarray
    fell: np.ndarray
    in_use: np.ndarray

    @property
    def lost(self) -> np.ndarray:
        return self.nothing | self.cut

    @property
    def told(self) -> np.ndarray:
        return self.lost | self.moves


def quarters_of(scene: Scene) -> Quarters:
    """Return what the terminals of a whole scene show of their air."""
    return scene.once("air by quarter hours", lambda: _quarters(scene))


def _quarters(scene: Scene) -> Quarters:
    flow = scene.trend("primary_flow")
    rows = np.flatnonzero((flow == flow) & scene.per_row(~(scene.interval > COARSEST)))
    signs = _signs(scene, flow[rows], rows)
    in_use = scene.value("occupied")[rows] > 0.5
    terminal, quarter, told = by_quarter(scene, rows, np.stack([*signs, in_use]))
    still, moves, called, nothing, cut, in_use = told
    seen, without = moves | nothing | cut, nothing | cut
    chronic = np.bincount(terminal[without], minlength=scene.count) > CHRONIC * np.bincount(
        terminal[seen], minlength=scene.count
    )
    own_trouble = chronic[terminal]
    nothing, cut = nothing & ~own_trouble, cut & ~own_trouble
    fell = _fell(terminal, quarter, moves, nothing | cut)
    return Quarters(terminal, quarter, still, moves, called, nothing, cut, fell, in_use)


def _signs(scene: Scene, flow: np.ndarray, rows: np.ndarray) -> tuple[np.ndarray, ...]:
    """At each row with a flow: still, moves, called, nothing, cut."""
    setpoint, damper = scene.trend("primary_flow_setpoint")[rows], scene.trend("damper_position")[rows]
    mean = _mean_flow(scene, flow, rows)[scene.code[rows]]
    still = flow <= np.maximum(STILL, STILL_SHARE * mean)
    asked = setpoint >= CALLED
    moves = (flow > np.maximum(MOVES, MOVES_SHARE * mean)) | (asked & (flow >= THERE * setpoint))
    # Without a setpoint a damper that is not shut asks for air while the zone is occupied: out of hours it rests where
    # it was left. Without either, being occupied does.
    in_use = scene.value("occupied")[rows] > 0.5
    blind = np.isnan(setpoint) & np.isnan(damper)
    called = asked | (in_use & ((np.isnan(setpoint) & (damper > SHUT)) | blind))
    open_to_air = called & ~(damper <= SHUT)
    nothing = open_to_air & still
    cut = open_to_air & ~still & (flow < CUT * setpoint)
    return still, moves & ~still & ~cut, called, nothing, cut


def _mean_flow(scene: Scene, flow: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """The mean flow of each terminal while more than the zero of a sensor flows; 0 where none ever does."""
    flows, owner = flow > STILL, scene.code[rows]
    total = np.bincount(owner[flows], flow[flows], scene.count)
    return total / np.maximum(np.bincount(owner[flows], minlength=scene.count), 1)


def by_quarter(scene: Scene, rows: np.ndarray, signs: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Gather signs of rows (bool, a line each) by terminal and quarter hour: what holds at half of its rows or more.

    A row that stands for longer than a quarter hour is told of each that it stands for.
    """
    lasts = np.clip(np.rint(np.nan_to_num(scene.interval, nan=QUARTER) / QUARTER), 1, COARSEST / QUARTER)
    quarter = (scene.seconds[rows] // QUARTER).astype(np.int64)
    terminal = scene.code[rows]
    new = np.append(True, (np.diff(quarter) != 0) | (np.diff(terminal) != 0))[: len(rows)]
    start = np.flatnonzero(new)
    if len(start) < len(rows):
        end = np.append(start[1:], len(rows))
        before = np.zeros((len(signs), len(rows) + 1), np.int32)
        np.cumsum(signs, axis=1, dtype=np.int32, out=before[:, 1:])
        signs = (before[:, end] - before[:, start]) * 2 >= end - start
        terminal, quarter = terminal[start], quarter[start]
    if len(quarter) and (lasts > 1).any():
        times = lasts[terminal].astype(np.int64)
        ahead = np.arange(times.sum()) - np.repeat(np.cumsum(times) - times, times)
        terminal, quarter, signs = np.repeat(terminal, times), np.repeat(quarter, times) + ahead, signs.repeat(times, 1)
        # Where the next row comes sooner than the interval says, what was told of its quarter hours already stands.
        place = terminal * (2 * abs(quarter).max(initial=0) + 1) + quarter
        new = np.append(True, place[1:] > np.maximum.accumulate(place)[:-1])
        terminal, quarter, signs = terminal[new], quarter[new], signs[:, new]
    return terminal, quarter, signs


def starved_at(scene: Scene, full_damper: float, allowed_shortfall: float) -> tuple[np.ndarray, ...]:
    """Tell for the quarter hours of ``quarters_of`` who is starved, who would show it (flow and damper are known), who
    is starved as it nearly always is, and who gets what its setpoint asks for.

    Starved is who stands fully open and lies short of its setpoint; or, without a setpoint, short of its maximum in a
    zone that is too warm, or with the supply fan at full speed. Also who lies far short of its setpoint now and then,
    whatever its damper shows: positions are counted, and what comes and goes is no stuck damper.

    Parameters
    ----------
    full_damper : float
        The position from which on a damper has nothing left to give [%].
    allowed_shortfall : float
        The share of what is asked for that may be missing.
    """
    flow, damper, setpoint = (
        scene.trend(name) for name in ("primary_flow", "damper_position", "primary_flow_setpoint")
    )
    rows = np.flatnonzero((flow == flow) & scene.per_row(~(scene.interval > COARSEST)))
    flow, damper, setpoint = flow[rows], damper[rows], setpoint[rows]
    asked = setpoint
    if np.isnan(asked).any():
        wanted = scene.trend("zone_temp")[rows] > scene.value("cooling_setpoint")[rows] + TOO_WARM
        wanted |= scene.air_handler("supply_fan_speed")[rows] >= FULL_SPEED
        asked = np.where(np.isnan(asked) & wanted, most_seen(scene)[scene.code[rows]], asked)
    starved = (damper >= full_damper) & (asked >= CALLED) & (flow < (1.0 - allowed_shortfall) * asked)
    low = (setpoint >= CALLED) & (flow < THERE * setpoint)
    fed = (setpoint >= CALLED) & (flow >= (1.0 - allowed_shortfall) * setpoint)
    signs = np.stack([starved, low, damper == damper, asked >= CALLED, fed])
    terminal, _, (starved, low, watched, asks, fed) = by_quarter(scene, rows, signs)
    starved = starved | (low & ~_chronic(low, asks, terminal, scene.count))
    return starved, watched, starved & _chronic(starved, asks, terminal, scene.count), fed & ~starved


def zones_at(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Tell for the quarter hours of ``quarters_of`` whose zone wants cooling, and of whose zone that is known."""
    flow = scene.trend("primary_flow")
    rows = np.flatnonzero((flow == flow) & scene.per_row(~(scene.interval > COARSEST)))
    over = scene.trend("zone_temp")[rows] - scene.value("cooling_setpoint")[rows]
    _, _, (warm, known) = by_quarter(scene, rows, np.stack([over > -NEAR_COOLING, over == over]))
    return warm, known


def _chronic(holds: np.ndarray, asks: np.ndarray, terminal: np.ndarray, count: int) -> np.ndarray:
    """Tell the quarter hours of terminals at which something holds for much of the time that they ask for air."""
    asked, held = np.bincount(terminal[asks], minlength=count), np.bincount(terminal[asks & holds], minlength=count)
    return (held > OWN_TROUBLE * asked)[terminal]


def most_seen(scene: Scene) -> np.ndarray:
    """The most that each terminal is balanced or scheduled to; else a cautious share of the most that was seen."""
    balanced, scheduled = scene.scheduled("balanced_max"), scene.scheduled("primary_max")
    seen = OF_SEEN * scene.reduce(np.fmax, scene.trend("primary_flow"), np.nan)
    most = np.where(np.isnan(balanced), scheduled, balanced)
    return np.where(np.isnan(most), seen, most)


def _fell(terminal: np.ndarray, quarter: np.ndarray, moves: np.ndarray, lost: np.ndarray) -> np.ndarray:
    """Tell where a terminal that had air has lost it."""
    told = np.flatnonzero(moves | lost)
    before, now = told[:-1], told[1:]
    falls = moves[before] & lost[now] & (terminal[before] == terminal[now])
    falls &= quarter[now] - quarter[before] <= HAD_AIR_WITHIN
    fell = np.zeros(len(terminal), dtype=bool)
    fell[now[falls]] = True
    return fell


def runs_of(terminal: np.ndarray, quarter: np.ndarray, holds: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Join quarter hours at which something holds into runs: terminal, first quarter hour, the one after the last."""
    terminal, quarter = terminal[holds], quarter[holds]
    if not len(terminal):
        return terminal, quarter, quarter
    begins = np.append(True, (np.diff(terminal) != 0) | (np.diff(quarter) > 1))
    ends = np.append(begins[1:], True)
    return terminal[begins], quarter[begins], quarter[ends] + 1
