"""What a terminal's later days are held against: its own first days, the more of them the longer the log is."""

from __future__ import annotations

import numpy as np

# The reference takes a fifth of the days that show anything, and three at the least. Judgement: two days are no
# reference for seven weeks, and a week has to leave days to compare.
SHARE_OF_DAYS, LEAST_DAYS = 0.2, 3


def reference_days(hours: np.ndarray) -> np.ndarray:
    """Tell which days are a terminal's reference.

    Parameters
    ----------
    hours : ndarray, shape (terminals, days)
        What each day shows [h]; 0 for a day that shows nothing.

    Returns
    -------
    ndarray of bool, shape (terminals, days)
    """
    shows = hours > 0
    number = np.cumsum(shows, axis=1)
    wanted = np.maximum(np.ceil(SHARE_OF_DAYS * shows.sum(axis=1)), LEAST_DAYS)
    return shows & (number <= wanted[:, None])


def against_reference(daily: np.ndarray, hours: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return each later day less the mean of the reference, and the scatter that a day may have.

    Parameters
    ----------
    daily, hours : ndarray, shape (terminals, days)
        A figure of each day, NaN where there is none, and what it rests on [h].

    Returns
    -------
    away : ndarray, shape (terminals, days)
        NaN in the reference itself, without a full reference, and where the day has no figure.
    scatter : ndarray, shape (terminals, 1)
        How far a single day may lie from the mean of the reference by scatter alone, 19 times in 20: the reference's
        own standard deviation, times Student's factor for so few days, and the doubt of the mean itself.
    """
    known = ~np.isnan(daily)
    reference = reference_days(np.where(known, hours, 0.0))
    count = reference.sum(axis=1, keepdims=True)
    safe = np.where(count >= LEAST_DAYS, count, np.nan)
    values = np.where(reference, daily, 0.0)
    mean = values.sum(axis=1, keepdims=True) / safe
    scatter = np.sqrt(np.where(reference, np.square(daily - mean), 0.0).sum(axis=1, keepdims=True) / (safe - 1))
    # Student's factor at 95 %, two-sided, within 3 % for 3 days and more: 4.30 at 3, 2.78 at 5, 2.26 at 10, 1.96 at
    # many.
    factor = 1.96 + 2.4 / (safe - 1) + 4.6 / np.square(safe - 1)
    return np.where(known & ~reference, daily - mean, np.nan), factor * scatter * np.sqrt(1.0 + 1.0 / safe)
