"""What the rules came to, laid out as one table of verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.engine.episodes import Episodes
from analyzer.engine.reasons import Reasons
from analyzer.engine.sentences import Sentences
from analyzer.signals import Scene

COLUMNS = [
    "terminal", "rule", "verdict", "confidence", "reason", "judged_hours", "fault_hours", "first_seen", "last_seen",
]  # fmt: skip


@dataclass
class Outcome:
    """What one rule came to; arrays run over the terminals of the scene.

    Attributes
    ----------
    applies, enough, faulty, stands : ndarray of bool
        Whether the rule applies; whether it came to a verdict; whether to a fault; whether that is firm.
    judged_hours, fault_hours : ndarray of float
    episodes : Episodes
        Of the faults.
    """

    rule: str
    applies: np.ndarray
    enough: np.ndarray
    faulty: np.ndarray
    stands: np.ndarray
    judged_hours: np.ndarray
    fault_hours: np.ndarray
    episodes: Episodes
    reasons: Reasons

    def columns(self) -> dict[str, np.ndarray]:
        """Return the verdicts' columns, an entry for each terminal to which the rule applies; times in seconds."""
        at = np.flatnonzero(self.applies)
        enough, faulty = self.enough[at], self.faulty[at]
        first, last = self._span()
        return {
            "terminal": at,
            "rule": np.full(len(at), self.rule),
            "verdict": np.where(faulty, "fault", np.where(enough, "clear", "not-judged")),
            "confidence": np.where(faulty, np.where(self.stands[at], "firm", "marginal"), ""),
            "reason": Sentences(self.reasons).all(self.faulty, self.enough, self.fault_hours)[at],
            "judged_hours": self.judged_hours[at],
            "fault_hours": np.where(faulty, self.fault_hours[at], 0.0),
            "first_seen": first[at],
            "last_seen": last[at],
        }

    def _span(self) -> tuple[np.ndarray, np.ndarray]:
        """First and last moment of each faulty terminal's episodes [s]; NaN elsewhere. Episodes stand in time order."""
        first, last = np.full(len(self.faulty), np.nan), np.full(len(self.faulty), np.nan)
        last[self.episodes.terminal] = self.episodes.end
        first[self.episodes.terminal[::-1]] = self.episodes.start[::-1]
        return first, last


def verdict_table(scene: Scene, outcomes: Sequence[Outcome]) -> pd.DataFrame:
    """Return the verdicts: ``COLUMNS``, a row for each terminal and rule that applies, in the order of both."""
    if not outcomes:
        return pd.DataFrame(columns=COLUMNS)
    parts = [outcome.columns() for outcome in outcomes]
    whole = {name: np.concatenate([part[name] for part in parts]) for name in COLUMNS}
    order = np.lexsort((whole["rule"], whole["terminal"]))
    whole = {name: values[order] for name, values in whole.items()}
    whole["terminal"] = scene.terminals[whole["terminal"]]
    for name in ("judged_hours", "fault_hours"):
        whole[name] = np.round(whole[name], 3)
    for name in ("first_seen", "last_seen"):
        whole[name] = _moments(whole[name])
    return pd.DataFrame(whole)


def _moments(seconds: np.ndarray) -> pd.DatetimeIndex:
    micro = np.where(np.isnan(seconds), np.iinfo(np.int64).min, np.nan_to_num(seconds) * 1e6).astype("int64")
    return pd.DatetimeIndex(micro.view("datetime64[us]")).tz_localize("UTC")
