"""Values that cannot be what they say, though they are possible as numbers: rejected, and said."""

from __future__ import annotations

import numpy as np

from analyzer.intake.points.point import Point
from analyzer.intake.points.told import Told
from analyzer.intake.values.reasons import REASON, USED
from analyzer.intake.words.values import UNREADABLE

_NEVER_CHANGES_DAYS = 6  # a mode that stands still through working days and a weekend follows no schedule; judgement
_DAY = 86_400_000_000
# What a dead sensor's input reads where nothing bounds a quantity lower: nines, or a converter's 15 or 16 bits, with
# one decimal or none. From memory. Above the others by this factor; judgement.
_FULL_SCALE = frozenset({3276.7, 6553.5, 9999.0, 9999.9, 32767.0, 65535.0, 99999.0})
_TOWERS = 2
# A temperature of exactly one of these, this far [K, delta degF] from the log's others, is a dead sensor's; judgement.
DEAD = (0.0, -1.0)
_DEAD_APART = 10.0
_RARE = 0.1  # share of a log's readings up to which whole numbers of -1 are taken as no signal; judgement
_NO_CO2 = 1.0  # ppm: air holds hundreds; what reads no more has no sensor
# An outdoor airflow that reads one round number throughout, of so many samples, is no flow; judgement.
_ROUND_FLOW, _MANY = 1000.0, 24
# What runs may spell its states 1 and 2, or 0 and 2: 2 is running. As field trends have it; judgement.
_RUNNING = ("fan_status", "fan_command", "supply_fan_status")


def set_sentinels_aside(point: Point, value: np.ndarray, reason: np.ndarray, told: Told) -> None:
    """Set temperatures of exactly 0 or -1 aside where the log's other readings are far from it, or there are no others.

    Parameters
    ----------
    value : ndarray of float
        As the file spells them.
    """
    if point.meaning.dimension != "temperature":
        return
    used = reason == USED
    others = value[used & ~np.isin(value, DEAD)]
    for dead in DEAD:
        hit = used & (value == dead)
        if not hit.any():
            continue
        # Outdoor air may be at 0; where it never comes near, a 0 among its readings is no air's either.
        nearest = np.min if point.quantity == "outdoor_temp" else np.median
        if not len(others) or nearest(np.abs(others - dead)) > _DEAD_APART:
            reason[hit] = REASON["outside physical range"]
            told.of(
                point,
                f"Temperatures of exactly {dead:g} {point.unit or ''}".rstrip()
                + " far from the log's other readings were taken as a dead sensor's and rejected: {points}.",
            )


def set_minus_one_aside(point: Point, value: np.ndarray, reason: np.ndarray, told: Told) -> None:
    """Set signals in percent of exactly -1 aside where the log has no other reading below 0: no signal stands there.

    Where they are many and all readings are whole numbers they may be a damper's that is shut, and stay.

    Parameters
    ----------
    value : ndarray of float
        As the file spells them.
    """
    used = reason == USED
    none = used & (value == -1.0)
    others = value[used & ~none]
    if not none.any() or (others < 0).any():
        return
    if len(others) and none.sum() > _RARE * used.sum() and (others == np.round(others)).all():
        return
    reason[none] = REASON["outside physical range"]
    told.of(point, "A signal of exactly -1 was taken as one that is not connected and rejected: {points}.")


def may_be_full_scale(greatest: float) -> bool:
    """Tell whether a log's greatest number may be a converter's full scale; so may one that is not known."""
    return greatest != greatest or round(greatest, 1) in _FULL_SCALE


def set_full_scale_aside(point: Point, value: np.ndarray, reason: np.ndarray, told: Told) -> None:
    """Set readings of a converter's full scale, or of nines, aside that tower above the log's others.

    Parameters
    ----------
    value : ndarray of float
        As the file spells them.
    """
    used = value[reason == USED]
    greatest = float(np.nanmax(used)) if np.isfinite(used).any() else 0.0
    others = used[used < greatest]
    if not may_be_full_scale(greatest) or (len(others) and others.max() * _TOWERS > greatest):
        return
    reason[(value == greatest) & (reason == USED)] = REASON["outside physical range"]
    told.of(
        point,
        "Readings of {details}, far above a log's others, were taken as a dead sensor's and rejected: {points}.",
        [f"{greatest:g}"],
    )


def set_no_sensor_aside(point: Point, value: np.ndarray, reason: np.ndarray, told: Told) -> None:
    """Set CO2 that no air has aside, and an outdoor airflow that reads one round number throughout.

    Parameters
    ----------
    value : ndarray of float
        As the file spells them.
    """
    used = reason == USED
    if point.quantity == "co2" and (none := used & (value <= _NO_CO2)).any():
        reason[none] = REASON["outside physical range"]
        told.of(point, "CO2 of 0 or 1 ppm was taken as a sensor that is not connected and rejected: {points}.")
    if point.quantity == "outdoor_air_flow" and np.count_nonzero(used) >= _MANY:
        flow = value[used]
        if flow[0] >= _ROUND_FLOW and flow[0] % _ROUND_FLOW == 0 and (flow == flow[0]).all():
            reason[used] = REASON["outside physical range"]
            told.of(
                point,
                "An outdoor airflow of {details} throughout was taken as a sensor that is not connected and set "
                "aside: {points}.",
                [f"{flow[0]:g}"],
            )


def read_running(point: Point, value: np.ndarray, reason: np.ndarray, told: Told) -> bool:
    """Read a fan's codes 1 and 2, or 0 and 2, as stopped and running, where they stand; tell whether that was done."""
    used = reason == USED
    codes = set(np.unique(value[used]).tolist())
    if point.quantity not in _RUNNING or codes not in ({0.0, 2.0}, {1.0, 2.0}):
        return False
    value[used] = value[used] == 2.0
    told.of(point, f"A fan's code 2 was read as running, and {min(codes):g} as stopped: {{points}}.")
    return True


def tell_codes(point: Point, bad: np.ndarray, told: Told) -> None:
    """Say which numbers of a status were neither 0 nor 1.

    Parameters
    ----------
    bad : ndarray of float
        Those numbers.
    """
    codes = [f"{code:g}" for code in np.unique(bad)]
    place = " The site's occupied hours were taken in its place." if point.quantity == "occupied" else ""
    if codes == ["-1"]:
        told.of(point, f"A status of -1 was taken as one that is not connected and rejected: {{points}}.{place}")
        return
    told.of(
        point,
        f"{{points}} ({point.meaning.meaning}): {{details}} is neither 0 nor 1 and was rejected. If it is a state, "
        f"spell it in the point list's 'states'.{place}",
        codes,
    )


def read_stages(point: Point, value: np.ndarray, reason: np.ndarray, told: Told) -> None:
    """Read a count of stages as a share of the highest stage seen, in percent, where it stands.

    A count that never changes says nothing: it is rejected, unless it is 0. A point whose name does not say that it
    counts stages, but whose numbers are whole and few, is left in percent, and its stages are asked after.
    """
    used = reason == USED
    seen = value[used]
    if not len(seen) or (seen != np.round(seen)).any() or seen.min() < 0:
        return
    highest = seen.max()
    if not point.stages:
        if highest > 1:
            told.of(
                point,
                "Only whole numbers up to {details} are logged in {points}; they were read in %. If they are stages, "
                "leave the point out with 'ignore' in the point list: percent would hide the stages.",
                [f"{highest:g}"],
            )
    elif (seen == highest).all() and highest > 0:
        reason[used] = REASON["outside physical range"]
        told.of(point, "A count of stages that never changes was taken as a code and rejected: {points}.")
    elif highest > 1:
        value[used] *= 100.0 / highest
        told.of(
            point,
            "A count of stages was read as a share of the highest seen, {details} = 100 %: {points}.",
            [f"{highest:g}"],
        )


def tell_unknown_words(point: Point, kind: np.ndarray, place: np.ndarray, texts: list[str], told: Told) -> None:
    """Say which words of a status are no known state.

    Parameters
    ----------
    kind, place : ndarray of int
        Of each cell, what kind it is and where in ``texts`` its spelling stands.
    """
    words = [repr(texts[n]) for n in np.unique(place[kind == UNREADABLE]).tolist() if n >= 0]
    if words:
        told.of(
            point,
            f"{{points}} ({point.meaning.meaning}): {{details}} is no known state and was rejected. Spell it in the "
            "point list's 'states'.",
            words,
        )


def occupancy_stands_still(point: Point, time: np.ndarray, value: np.ndarray, whole: int) -> bool:
    """Tell an occupancy mode that never changes through working days and a weekend.

    Parameters
    ----------
    time, value : ndarray
        The log's samples that have a value, with their moments [us].
    whole : int
        The span of the log's table [us]: that of a change-of-value log is its own only if it changes.
    """
    if point.quantity != "occupied" or not len(value) or (value != value[0]).any():
        return False
    return max(int(np.ptp(time)), whole) >= _NEVER_CHANGES_DAYS * _DAY
