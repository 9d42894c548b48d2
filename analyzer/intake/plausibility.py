"""Values that cannot be what they say, though they are possible as numbers: set aside, and said."""

from __future__ import annotations

import numpy as np

from analyzer.intake.points import Point
from analyzer.intake.reasons import REASON, USED
from analyzer.intake.value_text import UNREADABLE
from analyzer.intake.wording import some

_NEVER_CHANGES_DAYS = 14  # an occupancy mode that stands still this long follows no schedule; judgement
_DAY = 86_400_000_000
# What a dead sensor's input reads where nothing bounds a quantity lower: nines, or a converter's 15 or 16 bits, with
# one decimal or none. From memory. Above the others by this factor; judgement.
_FULL_SCALE = frozenset({3276.7, 6553.5, 9999.0, 9999.9, 32767.0, 65535.0, 99999.0})
_TOWERS = 2
# A reading of exactly nought this far [K or delta degF] from the log's other readings is a dead sensor's; judgement.
_DEAD_ZERO_APART = 10.0


def set_zeros_aside(point: Point, value: np.ndarray, reason: np.ndarray, said: list[str]) -> None:
    """Set temperatures of exactly 0 aside where the log's other readings are far from it, or there are no others.

    Parameters
    ----------
    value : ndarray of float
        As the file spells them.
    """
    if point.meaning.dimension != "temperature" or point.quantity == "outdoor_temp":
        return
    zero = (value == 0) & (reason == USED)
    if not zero.any():
        return
    others = value[(value != 0) & (reason == USED)]
    if not len(others) or abs(float(np.median(others))) > _DEAD_ZERO_APART:
        reason[zero] = REASON["outside physical range"]
        said.append(
            f"Temperatures of exactly 0 {point.unit or ''}".rstrip()
            + " far from the log's other readings were taken as a dead sensor's and set aside."
        )


def may_be_full_scale(greatest: float) -> bool:
    """Tell whether a log's greatest number may be a converter's full scale; so may one that is not known."""
    return greatest != greatest or round(greatest, 1) in _FULL_SCALE


def set_full_scale_aside(point: Point, value: np.ndarray, reason: np.ndarray, said: list[str]) -> None:
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
    said.append(
        f"{point.file}: {point.column!r} holds {greatest:g}, far above its other readings; it was taken as a dead "
        "sensor's and set aside."
    )


def tell_codes(point: Point, bad: np.ndarray, said: list[str]) -> None:
    """Say which numbers of a status were neither 0 nor 1.

    Parameters
    ----------
    bad : ndarray of float
        Those numbers.
    """
    codes = [f"{code:g}" for code in np.unique(bad)]
    said.append(
        f"{point.file}: {point.column!r} ({point.meaning.meaning}) holds {some(codes)}, neither 0 nor 1; these were "
        "set aside. If they are states, spell them in the point list's 'states'."
    )


def tell_stages(point: Point, value: np.ndarray, said: list[str]) -> None:
    """Say where a signal takes whole numbers up to a few only: they are read in percent, and may be stages."""
    if (value == np.round(value)).all():
        said.append(
            f"{point.file}: {point.column!r} takes whole numbers up to {value.max():g} only and was read in %. If they "
            "are stages, leave it out with 'ignore' in the point list: as percent they hide what it does."
        )


def tell_unknown_words(point: Point, kind: np.ndarray, place: np.ndarray, texts: list[str], said: list[str]) -> None:
    """Say which words of a status are no known state.

    Parameters
    ----------
    kind, place : ndarray of int
        Of each cell, what kind it is and where in ``texts`` its spelling stands.
    """
    words = [repr(texts[n]) for n in np.unique(place[kind == UNREADABLE]).tolist() if n >= 0]
    if words:
        said.append(
            f"{point.file}: {point.column!r} ({point.meaning.meaning}) holds {some(words)}, no known state; these were "
            "set aside. Spell them in the point list's 'states'."
        )


def occupancy_stands_still(point: Point, time: np.ndarray, value: np.ndarray, whole: int) -> bool:
    """Tell an occupancy mode that never changes in weeks.

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
