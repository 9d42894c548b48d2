"""Sustained oscillation of a control loop, on the loop's own time scale: one measure for flow, reheat and zone.

A deviation is cut into half-swings where it changes sides. A half-swing counts when its integrated absolute error is
at least that of a sine of the least amplitude and its own length, ``IAE >= 2 a / omega`` with ``omega = pi / T``
(Haegglund, Control Engineering Practice 3(11), 1995, from memory; the loop's own swing stands for its integral time).
An oscillation is sustained when so many half-swings in a row count and are regular, ``r = mean(T) / (3 std(T)) > 1``
(Thornhill, Huang and Zhang, Journal of Process Control 13, 2003, from memory). Noise, a single upset and a slow drift
are neither.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.signals.layout import HOLD_INTERVALS
from analyzer.signals.scene import Scene

# A half-swing has to hold this many samples on average to be seen for what it is. Judgement: at two the sampling
# theorem is kept with a factor of two to spare; functional-testing guides ask for more.
LEAST_SAMPLES = 1.75


@dataclass(frozen=True)
class Swing:
    """A loop's oscillation, per row: ``amplitude`` in the deviation's own unit, 0 where there is none that lasts, and
    ``period`` [s]. Both are NaN where the deviation is unknown; the period is NaN too where there is no oscillation."""

    amplitude: np.ndarray
    period: np.ndarray


def sustained_swing(
    scene: Scene,
    deviation: np.ndarray,
    *,
    least_amplitude: float,
    least_swings: float,
    least_regularity: float,
    longest_period: float,
) -> Swing:
    """Find where a deviation oscillates, lastingly and regularly.

    Parameters
    ----------
    scene : Scene
    deviation : ndarray, one per row
        Reading less what it should be, or less its own slow mean; NaN where it is unknown or out of context, which ends
        a run of half-swings. 0 says "no deviation to blame the loop for".
    least_amplitude : float
        The least amplitude (half of peak to peak) that counts, in the deviation's unit.
    least_swings : float
        So many half-swings in a row make an oscillation: Haegglund's figure is 10.
    least_regularity : float
        Mean over three standard deviations of their lengths: 1 in the source.
    longest_period : float
        A slower swing is no oscillation of this loop [s].

    Returns
    -------
    Swing

    Notes
    -----
    The amplitude is that of the sine with the same integrated absolute error. A change of side counts only past half
    the least amplitude, so that noise about the middle makes no swings; its moment is interpolated between samples.
    """
    may = scene.per_row(_may_swing(scene, deviation, 2.0 / np.pi * least_amplitude, least_swings))
    amplitude, period = np.where(deviation == deviation, 0.0, np.nan), np.full(scene.size, np.nan)
    rows = np.flatnonzero(may & (deviation == deviation))
    if not len(rows):
        return Swing(amplitude, period)
    value, seconds, code = deviation[rows], scene.seconds[rows], scene.code[rows]
    run = _runs(scene, rows, seconds, code)
    side = _sides(value, run, 0.5 * least_amplitude)
    starts = np.flatnonzero(run | np.concatenate([[True], side[1:] != side[:-1]]))
    length, whole = _lengths(seconds, value, side, starts, run)
    size = np.diff(np.append(starts, len(rows)))
    sine = 0.5 * np.pi * np.add.reduceat(np.abs(value), starts) / size
    counts = whole & (sine >= least_amplitude) & (2 * length <= longest_period)
    counts &= length >= LEAST_SAMPLES * scene.interval[code[starts]]
    lasting = _lasting(counts, length, int(round(least_swings)), least_regularity)
    swinging = np.repeat(lasting, size)
    amplitude[rows[swinging]] = np.repeat(sine[lasting], size[lasting])
    period[rows[swinging]] = np.repeat(2 * length[lasting], size[lasting])
    return Swing(amplitude, period)


def _may_swing(scene: Scene, deviation: np.ndarray, reach: float, least_swings: float) -> np.ndarray:
    """Tell which terminals reach so far to either side at least as often as their half-swings would have to."""
    each_side = np.floor(round(least_swings) / 2)
    above = scene.reduce(np.add, (deviation >= reach).astype(np.int32), 0)
    below = scene.reduce(np.add, (deviation <= -reach).astype(np.int32), 0)
    return (above >= each_side) & (below >= each_side)


def _runs(scene: Scene, rows: np.ndarray, seconds: np.ndarray, code: np.ndarray) -> np.ndarray:
    """Tell at which of the rows a new run begins: another terminal, or a gap in what is known."""
    longest = HOLD_INTERVALS * scene.interval[code[1:]]
    broken = (code[1:] != code[:-1]) | (np.diff(seconds) > longest) | (np.diff(rows) > 1)
    return np.concatenate([[True], broken])


def _sides(value: np.ndarray, run: np.ndarray, band: float) -> np.ndarray:
    """Return on which side of its middle a value is: +1 or -1, kept within the band; 0 before it has left it."""
    side = np.where(value > band, 1, np.where(value < -band, -1, 0)).astype(np.int8)
    source = np.where((side != 0) | run, np.arange(len(value)), 0)
    return side[np.maximum.accumulate(source)]


def _lengths(seconds, value, side, starts, run) -> tuple[np.ndarray, np.ndarray]:
    """Return each half-swing's length [s], and whether it was seen from its beginning to its end."""
    before = np.maximum(starts - 1, 0)
    left = np.maximum(value[before] * side[before], 0.0)
    share = left / np.maximum(left + np.abs(value[starts]), 1e-12)
    crossing = seconds[before] + share * (seconds[starts] - seconds[before])
    begins_run = run[starts]
    length = np.diff(np.append(crossing, crossing[-1]))
    ends_run = np.append(begins_run[1:], True)
    return np.where(begins_run | ends_run, 0.0, length), ~(begins_run | ends_run)


def _lasting(counts: np.ndarray, length: np.ndarray, least: int, least_regularity: float) -> np.ndarray:
    """Tell which half-swings belong to ``least`` or more in a row that count and are regular.

    A half-swing at the edge of a run never counts, so that no row of them reaches into another terminal's.
    """
    if len(counts) < least:
        return np.zeros(len(counts), dtype=bool)
    length = np.where(counts, length, 0.0)
    mean = _moving_sum(length, least) / least
    variance = np.maximum(_moving_sum(np.square(length), least) / least - np.square(mean), 0.0)
    regular = mean > least_regularity * 3.0 * np.sqrt(variance)
    found = regular & (_moving_sum(counts.astype(float), least) > least - 0.5)
    # Every half-swing from the first to the last of such a row is part of it.
    first = np.flatnonzero(found)
    change = np.zeros(len(counts) + 1)
    np.add.at(change, first, 1.0)
    np.add.at(change, first + least, -1.0)
    return np.cumsum(change)[:-1] > 0.5


def _moving_sum(values: np.ndarray, count: int) -> np.ndarray:
    """Sum each ``count`` values in a row, one for each place where they begin."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    return total[count:] - total[:-count]
